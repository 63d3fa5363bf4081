//! The Kotlin side, which Maven builds.

use std::path::Path;

use anyhow::{Result, bail};

use crate::bindings::Made;
use crate::project::Project;
use crate::run::Program;

/// Maven on android/, over the generated Kotlin and the library it came from.
pub fn android(project: &Project, made: &Made) -> Program {
    Program::new("mvn")
        .args(["--batch-mode", "--no-transfer-progress"])
        .arg("--file")
        .arg(project.root.join("android/pom.xml"))
        .arg(property("standsquare.root", &project.root))
        .arg(property("standsquare.bindings", &made.kotlin))
        .arg(property("standsquare.library", &made.library))
}

fn property(name: &str, value: &Path) -> String {
    format!("-D{name}={}", value.display())
}

/// What the desktop preview is run with: its own classes and all that they need.
pub fn preview_classpath(project: &Project) -> Result<String> {
    let target = project.root.join("android/preview/target");
    let file = target.join("classpath.txt");
    let Ok(text) = std::fs::read_to_string(&file) else {
        bail!("Maven built android/ but left no {}", file.display());
    };
    Ok(text.trim().to_owned())
}
