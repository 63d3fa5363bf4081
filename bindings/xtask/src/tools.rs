//! The heavier tools are a program of their own, built when one is first wanted.

use anyhow::Result;

use crate::project::Project;
use crate::run::Program;

/// `standsquare-tools`, built.
pub fn program(project: &Project) -> Result<Program> {
    Program::new("cargo")
        .args(["build", "--quiet", "--package", "xtask", "--features", "tools", "--bin", "standsquare-tools"])
        .dir(&project.root)
        .run()?;
    Ok(Program::new(project.built("standsquare-tools")))
}

/// Hands a command over to the tools, arguments and all, and gives the status it ended with.
pub fn hand_over(project: &Project, args: &[&str]) -> Result<i32> {
    let status = program(project)?.args(args).status()?;
    // A tool that was ended by a signal has no status of its own.
    Ok(status.code().unwrap_or(1))
}
