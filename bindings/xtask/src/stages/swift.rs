//! The stage of the Swift side.

use std::fs;

use anyhow::{Context, Result};

use super::Outcome;
use crate::bindings;
use crate::project::Project;
use crate::run::Program;

/// ios/'s own script, which makes a Debian root with Swift where the machine has none.
pub fn tests(project: &Project) -> Result<Outcome> {
    bindings::make(project)?;
    fs::create_dir_all(&project.cache)
        .with_context(|| format!("{} cannot be made", project.cache.display()))?;
    Program::new("bash")
        .arg(project.root.join("ios/scripts/test.sh"))
        .env("STANDSQUARE_CACHE", &project.cache)
        .dir(&project.root)
        .run()?;
    Ok(Outcome::Passed)
}
