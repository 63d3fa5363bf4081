//! The stage of the office as others meet it: in a browser, and by its document.

use std::fs;

use anyhow::{Context, Result};

use super::Outcome;
use crate::project::Project;
use crate::run::Program;
use crate::setup::{self, For};

/// Exact versions: another one may find other things.
const MODULES: [&str; 2] = ["axe-core@4.14.1", "puppeteer-core@25.16.0"];
const SCHEMATHESIS: &str = "schemathesis==4.32.5";

/// The pages in Chromium with axe-core, and schemathesis over the document.
pub fn met(project: &Project) -> Result<Outcome> {
    setup::ready(&For::Rust)?;
    setup::ready(&For::Browser)?;
    let tools = project.target.join("office-tools");
    fs::create_dir_all(&tools)?;
    let modules = tools.join("node_modules");
    if !MODULES.iter().all(|m| {
        let name = m.split('@').next().unwrap_or(m);
        modules.join(name).is_dir()
    }) {
        Program::new("npm")
            .args(["install", "--no-save", "--no-package-lock", "--no-audit"])
            .args(["--no-fund", "--silent"])
            .args(MODULES)
            .dir(&tools)
            .run()?;
    }
    let python = tools.join("python");
    let schemathesis = python.join("bin/schemathesis");
    if !schemathesis.is_file() {
        Program::new("python3")
            .args(["-m", "venv"])
            .arg(&python)
            .run()?;
        Program::new(python.join("bin/pip"))
            .args(["install", "--quiet", SCHEMATHESIS])
            .run()?;
    }
    let chromium = setup::chromium().context("Chromium is not there")?;
    Program::new("cargo")
        .args(["test", "--package", "standsquare-office", "--locked"])
        .args(["--test", "browser", "--", "--ignored"])
        .env("STANDSQUARE_CHROMIUM", chromium_path(chromium)?)
        .env("STANDSQUARE_SCHEMATHESIS", schemathesis)
        .env("NODE_MODULES", modules)
        .dir(&project.root)
        .run()?;
    Ok(Outcome::Passed)
}

/// The browser's own file: whoever drives it looks it up nowhere.
fn chromium_path(name: &str) -> Result<String> {
    let found = Program::new("which").arg(name).output()?;
    Ok(found.trim().to_owned())
}
