//! The stages that see to it that bindings and library are of one making.

use anyhow::Result;

use super::Outcome;
use crate::bindings;
use crate::project::Project;

/// Both languages generated, and what was generated is what the interface gives.
pub fn fresh(project: &Project) -> Result<Outcome> {
    bindings::make(project)?;
    bindings::check(project)?;
    Ok(Outcome::Passed)
}

/// TODO
pub fn stale(_project: &Project) -> Result<Outcome> {
    Ok(Outcome::LeftOut("not there yet".into()))
}
