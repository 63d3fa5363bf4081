//! The stage of the Kotlin side.

use anyhow::Result;

use super::Outcome;
use crate::bindings;
use crate::maven;
use crate::project::Project;
use crate::setup::{self, For};

/// Everything of android/ that Maven builds, with its tests.
pub fn verify(project: &Project) -> Result<Outcome> {
    setup::ready(&For::Screens)?;
    let made = bindings::make(project)?;
    maven::android(project, &made).arg("verify").run()?;
    Ok(Outcome::Passed)
}
