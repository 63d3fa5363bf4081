//! The Kotlin side, which Maven builds.

use std::fs;
use std::path::Path;

use anyhow::{Result, bail};

use crate::bindings::Made;
use crate::project::Project;
use crate::run::Program;

/// Maven on android/, over the generated Kotlin and the library it came from.
pub fn android(project: &Project, made: &Made) -> Program {
    build(project, &project.root.join("android/pom.xml"), made)
}

/// Maven on one `pom.xml`.
pub fn build(project: &Project, pom: &Path, made: &Made) -> Program {
    let property = |name: &str, value: &Path| format!("-D{name}={}", value.display());
    Program::new("mvn")
        .args([
            "--batch-mode",
            "--no-transfer-progress",
            "-Dstyle.color=never",
            "--file",
        ])
        .arg(pom)
        .arg(property("standsquare.root", &project.root))
        .arg(property("standsquare.bindings", &made.kotlin))
        .arg(property("standsquare.library", &made.library))
}

/// What the desktop preview is run with: its own classes and all that they need.
pub fn preview_classpath(project: &Project) -> Result<String> {
    let file = project.root.join("android/preview/target/classpath.txt");
    let Ok(text) = fs::read_to_string(&file) else {
        bail!("Maven built android/ but left no {}", file.display());
    };
    Ok(text.trim().to_owned())
}
