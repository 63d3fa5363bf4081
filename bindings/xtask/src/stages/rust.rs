//! The stages of the Rust side.

use anyhow::Result;

use super::Outcome;
use crate::project::Project;
use crate::run::Program;
use crate::setup::{self, For};

/// Features that a plain `--workspace` leaves off.
const FEATURES: [&str; 2] = ["--features", "standsquare-journal/bundled,xtask/tools"];

/// A compiler's target for a phone of each kind. Apple's simulators are not among them:
/// their standard libraries could not be fetched where this was written (README says so).
const PHONES: [&str; 2] = ["aarch64-linux-android", "aarch64-apple-ios"];

fn cargo(project: &Project) -> Program {
    Program::new("cargo").dir(&project.root)
}

/// Formatting.
pub fn format(project: &Project) -> Result<Outcome> {
    setup::rust_component("fmt", "rustfmt")?;
    cargo(project).args(["fmt", "--all", "--check"]).run()?;
    Ok(Outcome::Passed)
}

/// Clippy over every target of every crate.
pub fn clippy(project: &Project) -> Result<Outcome> {
    setup::ready(&For::Rust)?;
    setup::rust_component("clippy", "clippy")?;
    cargo(project)
        .args(["clippy", "--workspace", "--all-targets", "--locked"])
        .args(FEATURES)
        .args(["--", "--deny", "warnings"])
        .run()?;
    Ok(Outcome::Passed)
}

/// The test of the layers: cheap, and first, since it explains what else may break.
pub fn layers(project: &Project) -> Result<Outcome> {
    cargo(project)
        .args(["test", "--package", "standsquare-layers", "--locked"])
        .run()?;
    Ok(Outcome::Passed)
}

/// The test that both phones are alike: read from the sources, minutes before either's own
/// stage could say so.
pub fn parity(project: &Project) -> Result<Outcome> {
    cargo(project)
        .args(["test", "--package", "standsquare-parity", "--locked"])
        .run()?;
    Ok(Outcome::Passed)
}

/// Every Rust test but those two stages'.
pub fn tests(project: &Project) -> Result<Outcome> {
    setup::ready(&For::RustTests)?;
    cargo(project)
        .args([
            "test",
            "--workspace",
            "--exclude",
            "standsquare-layers",
            "--exclude",
            "standsquare-parity",
            "--locked",
            "--no-fail-fast",
        ])
        .args(FEATURES)
        .run()?;
    Ok(Outcome::Passed)
}

/// The bindings' types for the phones. SQLite's own C needs the vendor's toolchain, so the
/// bundled feature is off.
pub fn targets(project: &Project) -> Result<Outcome> {
    for target in PHONES {
        setup::rust_target(target)?;
        cargo(project)
            .args([
                "check",
                "--package",
                "standsquare-bindings",
                "--no-default-features",
                "--locked",
            ])
            .args(["--target", target])
            .run()?;
    }
    Ok(Outcome::Passed)
}

/// Licences, duplicates and sources by cargo-deny.
pub fn deny(project: &Project) -> Result<Outcome> {
    setup::cargo_deny()?;
    println!("Left out on purpose: cargo-deny's advisories, whose list must be downloaded.");
    cargo(project)
        .args(["deny", "--workspace", "--all-features", "--locked", "check"])
        .args(["--hide-inclusion-graph", "licenses", "bans", "sources"])
        .run()?;
    Ok(Outcome::Passed)
}
