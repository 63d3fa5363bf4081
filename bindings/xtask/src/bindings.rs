//! `cargo xtask bindings`: the library, and the Kotlin and Swift generated from it.

use std::collections::BTreeMap;
use std::env::consts::{DLL_PREFIX, DLL_SUFFIX};
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};

use crate::project::Project;
use crate::run::Program;
use crate::tools;

/// The languages generated, each into a folder of its own.
const LANGUAGES: [&str; 2] = ["kotlin", "swift"];

/// The folder beside the languages' that the library itself is copied into, so that the
/// three stay of one making when cargo builds the library again with other features.
const LIBRARY: &str = "library";

/// Where the Kotlin and the library are, for who builds against them.
#[derive(Debug)]
pub struct Made {
    /// The folder of generated Kotlin.
    pub kotlin: PathBuf,
    /// The folder of the library.
    pub library: PathBuf,
}

/// Builds the library and generates both languages' bindings from it into
/// `target/bindings`. What an earlier call left there is removed first.
pub fn make(project: &Project) -> Result<Made> {
    let library = build(project)?;
    let out = project.bindings();
    for name in LANGUAGES.into_iter().chain([LIBRARY]) {
        remove(&out.join(name))?;
    }
    let kept = out.join(LIBRARY);
    fs::create_dir_all(&kept).with_context(|| format!("{} cannot be made", kept.display()))?;
    let copy = kept.join(library.file_name().context("the library has no name")?);
    fs::copy(&library, &copy).with_context(|| format!("{} cannot be copied", library.display()))?;
    generate(project, &copy, &out)?;
    Ok(Made {
        kotlin: out.join("kotlin"),
        library: kept,
    })
}

/// Fails if what lies in `target/bindings` is not what the interface of today gives.
///
/// UniFFI's own check, when the library is loaded, covers the functions; this one covers
/// the fields of records and the cases of enums as well.
pub fn check(project: &Project) -> Result<()> {
    let library = build(project)?;
    let fresh = tempfile::tempdir()?;
    generate(project, &library, fresh.path())?;
    for language in LANGUAGES {
        let kept = project.bindings().join(language);
        if let Some(what) = difference(&files(&kept)?, &files(&fresh.path().join(language))?) {
            bail!(
                "stale bindings in {}: {what}. Make them anew: cargo xtask bindings",
                kept.display()
            );
        }
    }
    Ok(())
}

fn build(project: &Project) -> Result<PathBuf> {
    Program::new("cargo")
        .args(["build", "--package", "standsquare-bindings", "--lib"])
        .dir(&project.root)
        .run()?;
    let library = project
        .target
        .join("debug")
        .join(format!("{DLL_PREFIX}standsquare_bindings{DLL_SUFFIX}"));
    if !library.is_file() {
        bail!(
            "cargo built the bindings but {} is not there",
            library.display()
        );
    }
    Ok(library)
}

/// Generates both languages' bindings from a library, for whatever machine it is.
pub fn generate(project: &Project, library: &Path, out: &Path) -> Result<()> {
    tools::program(project)?
        .arg("bindgen")
        .arg("--library")
        .arg(library)
        .arg("--out")
        .arg(out)
        .dir(&project.root)
        .run()
}

fn remove(dir: &Path) -> Result<()> {
    match fs::remove_dir_all(dir) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => {
            Err(e).with_context(|| format!("{} cannot be removed", dir.display()))
        }
        _ => Ok(()),
    }
}

/// Every file under `dir`, by its path from there.
fn files(dir: &Path) -> Result<BTreeMap<PathBuf, Vec<u8>>> {
    let mut found = BTreeMap::new();
    let mut todo = vec![dir.to_owned()];
    while let Some(next) = todo.pop() {
        let Ok(entries) = fs::read_dir(&next) else {
            continue;
        };
        for entry in entries {
            let path = entry?.path();
            if path.is_dir() {
                todo.push(path);
            } else {
                let name = path.strip_prefix(dir).unwrap_or(&path).to_owned();
                found.insert(name, fs::read(&path)?);
            }
        }
    }
    Ok(found)
}

/// The first thing in which the files kept are not the fresh ones.
fn difference(
    kept: &BTreeMap<PathBuf, Vec<u8>>,
    fresh: &BTreeMap<PathBuf, Vec<u8>>,
) -> Option<String> {
    for (name, text) in fresh {
        match kept.get(name) {
            None => return Some(format!("{} is missing", name.display())),
            Some(old) if old != text => {
                return Some(format!(
                    "{} was generated from another interface",
                    name.display()
                ));
            }
            Some(_) => {}
        }
    }
    let more = kept.keys().find(|name| !fresh.contains_key(*name))?;
    Some(format!("{} belongs to nothing any more", more.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(files: &[(&str, &str)]) -> BTreeMap<PathBuf, Vec<u8>> {
        files
            .iter()
            .map(|(n, t)| (PathBuf::from(n), t.as_bytes().to_vec()))
            .collect()
    }

    #[test]
    fn equal_files_are_not_stale_and_any_difference_is() {
        let fresh = set(&[("a/View.kt", "val revision"), ("b/Core.kt", "fun apply")]);
        assert_eq!(difference(&fresh, &fresh), None);
        for (kept, word) in [
            (set(&[("a/View.kt", "val revision")]), "missing"),
            (
                set(&[("a/View.kt", "val revisions"), ("b/Core.kt", "fun apply")]),
                "another interface",
            ),
            (
                set(&[
                    ("a/View.kt", "val revision"),
                    ("b/Core.kt", "fun apply"),
                    ("c/Old.kt", ""),
                ]),
                "nothing any more",
            ),
        ] {
            let what = difference(&kept, &fresh).expect("stale");
            assert!(what.contains(word), "{what}");
        }
    }

    #[test]
    fn files_are_found_in_every_folder_and_a_folder_that_is_not_there_has_none() {
        let dir = tempfile::tempdir().expect("a folder");
        fs::create_dir_all(dir.path().join("x/y")).expect("folders");
        fs::write(dir.path().join("x/y/z"), "1").expect("a file");
        fs::write(dir.path().join("w"), "2").expect("a file");
        assert_eq!(
            files(dir.path()).expect("read"),
            set(&[("x/y/z", "1"), ("w", "2")])
        );
        assert_eq!(files(&dir.path().join("none")).expect("read"), set(&[]));
    }
}
