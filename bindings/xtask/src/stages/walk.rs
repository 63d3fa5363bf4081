//! The stage that walks the whole demo as a person would.

use anyhow::Result;

use super::Outcome;
use crate::phone::{self, Wanted};
use crate::project::Project;

/// `phone --pictures` into a fresh folder.
pub fn walk(project: &Project) -> Result<Outcome> {
    let pictures = project.target.join("walk");
    phone::run(
        project,
        Wanted {
            pictures: Some(pictures),
            data: None,
        },
    )?;
    Ok(Outcome::Passed)
}
