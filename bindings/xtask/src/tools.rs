//! The heavier tools are a program of their own, built when one is first wanted.

use std::ffi::OsString;
use std::process::ExitCode;

use anyhow::Result;

use crate::project::Project;
use crate::run::Program;

/// `standsquare-tools`, built.
pub fn program(project: &Project) -> Result<Program> {
    Program::new("cargo")
        .args([
            "build",
            "--quiet",
            "--package",
            "xtask",
            "--features",
            "tools",
            "--bin",
            "standsquare-tools",
        ])
        .dir(&project.root)
        .run()?;
    Ok(Program::new(project.built("standsquare-tools")))
}

/// Hands a command over to the tools, arguments and all, and ends as they did.
pub fn hand_over(project: &Project, args: impl IntoIterator<Item = OsString>) -> Result<ExitCode> {
    let status = program(project)?.args(args).status()?;
    // A tool that was ended by a signal has no status of its own.
    let code = status.code().and_then(|code| u8::try_from(code).ok());
    Ok(code.map_or(ExitCode::FAILURE, ExitCode::from))
}
