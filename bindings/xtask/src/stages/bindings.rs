//! The stages that see to it that bindings and library are of one making.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail, ensure};

use super::Outcome;
use crate::bindings::{self, Made};
use crate::maven;
use crate::project::Project;
use crate::run::Program;
use crate::setup::{self, For};

/// Where the generated Kotlin holds the checksums, from its folder.
const CHECKED: &str = "standsquare/core/standsquare_bindings.kt";

/// Where it holds the records and enums.
const RECORDS: &str = "standsquare/view/standsquare_session.kt";

/// Both languages generated; what lies there is what the interface gives; a file of another
/// interface is noticed.
pub fn fresh(project: &Project) -> Result<Outcome> {
    let made = bindings::make(project)?;
    bindings::check(project)?;
    let file = made.kotlin.join(RECORDS);
    let text = fs::read_to_string(&file)?;
    fs::write(&file, text.replacen("data class ", "data class Former", 1))?;
    let noticed = bindings::check(project);
    bindings::make(project)?;
    match noticed {
        Err(e) if format!("{e:#}").contains("another interface") => Ok(Outcome::Passed),
        Err(e) => Err(e),
        Ok(()) => bail!("a record of another interface went unnoticed"),
    }
}

/// Kotlin generated from another interface is refused when it meets the library: a copy with
/// one checksum altered does not load, and the same copy unaltered does.
pub fn stale(project: &Project) -> Result<Outcome> {
    setup::ready(&For::Screens)?;
    let made = bindings::make(project)?;
    let loaded = load(project, &made, "fresh", str::to_owned)?;
    ensure!(
        loaded.trim() == "loaded",
        "bindings of today are not loaded: {loaded}"
    );
    let refused = load(project, &made, "stale", alter)?;
    ensure!(
        refused.contains("UniFFI API checksum mismatch"),
        "bindings with another checksum were not refused: {refused}"
    );
    Ok(Outcome::Passed)
}

/// Compiles a copy of the generated Kotlin, changed by `change`, as android/core does, has it
/// meet the library, and gives what that printed.
fn load(project: &Project, made: &Made, name: &str, change: fn(&str) -> String) -> Result<String> {
    let work = project.target.join("stale").join(name);
    let android = work.join("android");
    let kotlin = work.join("kotlin");
    if work.exists() {
        fs::remove_dir_all(&work)
            .with_context(|| format!("{} cannot be removed", work.display()))?;
    }
    copy(&made.kotlin, &kotlin)?;
    let checked = kotlin.join(CHECKED);
    let text = fs::read_to_string(&checked)
        .with_context(|| format!("there is no {}", checked.display()))?;
    fs::write(&checked, change(&text))?;
    fs::create_dir_all(android.join("core"))?;
    for pom in ["pom.xml", "core/pom.xml"] {
        fs::copy(project.root.join("android").join(pom), android.join(pom))?;
    }
    let classpath = work.join("classpath.txt");
    let copied = Made {
        kotlin,
        library: made.library.clone(),
    };
    maven::build(project, &android.join("core/pom.xml"), &copied)
        .args(["--quiet", "compile", "dependency:build-classpath"])
        .arg(format!("-Dmdep.outputFile={}", classpath.display()))
        .run()?;
    let said = work.join("said.txt");
    Program::new("java")
        .arg(format!("-Djna.library.path={}", made.library.display()))
        .arg("-cp")
        .arg(format!(
            "{}:{}",
            android.join("core/target/classes").display(),
            fs::read_to_string(&classpath)?.trim()
        ))
        .arg(project.root.join("bindings/xtask/stale/Load.java"))
        .logged(&said)?;
    Ok(fs::read_to_string(&said)?)
}

/// The text with the first checksum changed.
fn alter(text: &str) -> String {
    const BEFORE: &str = "and 0xFFFF) != ";
    let Some((head, tail)) = text.split_once(BEFORE) else {
        return text.to_owned();
    };
    let end = tail
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(tail.len());
    let (number, rest) = tail.split_at(end);
    let other = number.parse::<u16>().map_or(0, |n| n ^ 1);
    format!("{head}{BEFORE}{other}{rest}")
}

/// Copies a folder with all that is in it.
fn copy(from: &Path, to: &Path) -> Result<()> {
    let mut todo = vec![PathBuf::new()];
    while let Some(below) = todo.pop() {
        fs::create_dir_all(to.join(&below))?;
        for entry in fs::read_dir(from.join(&below))? {
            let entry = entry?;
            let name = below.join(entry.file_name());
            if entry.path().is_dir() {
                todo.push(name);
            } else {
                fs::copy(entry.path(), to.join(&name))?;
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_checksum_is_altered_and_nothing_else() {
        let text =
            "if ((a() and 0xFFFF) != 61220) { throw }\nif ((b() and 0xFFFF) != 12848) { throw }";
        assert_eq!(alter(text), text.replace("61220", "61221"));
        assert_eq!(alter("nothing to alter"), "nothing to alter");
    }
}
