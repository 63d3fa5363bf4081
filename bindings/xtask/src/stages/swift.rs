//! The stage of the Swift side.

use std::fs;

use anyhow::{Context, Result};

use super::Outcome;
use crate::bindings;
use crate::project::Project;
use crate::run::Program;
use crate::setup::{self, For};

/// ios/'s own script, which makes a Debian root with Swift where the machine has none.
pub fn tests(project: &Project) -> Result<Outcome> {
    if !setup::debian_root() {
        let why =
            "Swift is tested on Debian as root, where the script makes a root with Swift in it";
        return Ok(Outcome::LeftOut(why.into()));
    }
    setup::ready(&For::Rust)?;
    bindings::make(project)?;
    fs::create_dir_all(&project.cache)
        .with_context(|| format!("{} cannot be made", project.cache.display()))?;
    Program::new("bash")
        .arg(project.root.join("ios/scripts/test.sh"))
        .env("STANDSQUARE_CACHE", &project.cache)
        .env("STANDSQUARE_BINDINGS", project.bindings())
        .dir(&project.root)
        .run()?;
    Ok(Outcome::Passed)
}
