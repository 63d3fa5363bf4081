//! The stage of the Kotlin side.

use anyhow::Result;

use super::Outcome;
use crate::bindings;
use crate::maven;
use crate::project::Project;
use crate::setup::{self, For};

/// The screens' pictures alone; with `record`, drawn anew where they are no longer alike.
pub fn pictures(project: &Project, record: bool) -> Result<()> {
    setup::ready(&For::Screens)?;
    let made = bindings::make(project)?;
    maven::android(project, &made)
        .args(["--projects", "screens", "--also-make"])
        .arg("-Dtest=PictureTest,PicturesTest")
        .arg("-Dsurefire.failIfNoSpecifiedTests=false")
        .arg(format!("-Dstandsquare.record={record}"))
        .arg("verify")
        .run()
}

/// Everything of android/ that Maven builds, with its tests.
pub fn verify(project: &Project) -> Result<Outcome> {
    setup::ready(&For::Screens)?;
    let made = bindings::make(project)?;
    maven::android(project, &made).arg("verify").run()?;
    Ok(Outcome::Passed)
}
