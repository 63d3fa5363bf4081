//! The stages that use the screens as a person would, or as nobody would.

use std::path::PathBuf;

use anyhow::Result;

use super::Outcome;
use crate::phone::{self, Wanted};
use crate::project::Project;

fn pictures(project: &Project) -> PathBuf {
    project.target.join("walk")
}

/// `phone --pictures` into a fresh folder.
pub fn walk(project: &Project) -> Result<Outcome> {
    phone::run(
        project,
        Wanted {
            pictures: Some(pictures(project)),
            data: None,
        },
    )?;
    Ok(Outcome::Passed)
}

/// The phone killed between clicks and started again, till the walk comes to its end.
pub fn kill(project: &Project) -> Result<Outcome> {
    if !pictures(project).join("session.json").is_file() {
        walk(project)?;
    }
    let kills = phone::killed(project, &pictures(project))?;
    println!("Killed {kills} times, the session went on each time and came to its end whole.");
    Ok(Outcome::Passed)
}

/// Random acts on the screens over the real core, with kills.
pub fn monkey(project: &Project) -> Result<Outcome> {
    println!("{}", phone::monkey(project)?);
    Ok(Outcome::Passed)
}
