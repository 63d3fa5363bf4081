//! `core.size`: the library as it goes onto a phone, stripped and without what only the
//! making of its bindings needs, against UniFFI over bundled SQLite and nothing else
//! (`bindings/bare`), built in the same run with the same profile and packaged alike.

use std::path::PathBuf;

use anyhow::Result;

use crate::library;
use crate::project::Project;
use crate::run::Program;

/// The figure's name.
pub const NAME: &str = "core.size";
const GOAL: f64 = 2.0;

pub fn measure(project: &Project) -> Result<String> {
    let ours = library::stripped(&library::package(project, None)?)?;
    let bare = link_bare(project, &[])?;
    let bare = library::packaged(&bare, |more| link_bare(project, more))?;
    let bare = library::stripped(&bare)?;
    eprintln!("{NAME}: {ours} bytes, the bare library {bare}");
    Ok(line(ours, bare))
}

fn link_bare(project: &Project, more: &[String]) -> Result<PathBuf> {
    let folder = project.target.join("bare");
    Program::new("cargo")
        .args([
            "rustc",
            "--package",
            "standsquare-bare",
            "--lib",
            "--locked",
        ])
        .args(["--profile", "phone", "--target-dir"])
        .arg(&folder)
        .arg("--")
        .args(more)
        .dir(&project.root)
        .run()?;
    let name = library::library_name("standsquare_bare");
    Ok(folder.join("phone").join(name))
}

fn line(ours: u64, bare: u64) -> String {
    let ratio = ours as f64 / bare as f64;
    let verdict = if ratio <= GOAL { "ok" } else { "short" };
    format!("{NAME} {ratio:.3} {GOAL} {verdict}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_verdict_is_the_ratios() {
        assert_eq!(line(3_000, 1_500), "core.size 2.000 2 ok");
        assert_eq!(line(3_010, 1_500), "core.size 2.007 2 short");
    }
}
