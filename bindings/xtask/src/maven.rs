//! The Kotlin side, which Maven builds.

use std::path::{Path, PathBuf};

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
