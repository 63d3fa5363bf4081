//! Where things are: this checkout, cargo's target folder, the folder kept between runs.

use std::env;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};

use crate::run::Program;

/// The folders that the commands work in.
#[derive(Debug, Clone)]
pub struct Project {
    /// The checkout.
    pub root: PathBuf,
    /// Cargo's target folder, wherever the caller has put it.
    pub target: PathBuf,
    /// What is costly to make and the same for every checkout (the Swift root).
    pub cache: PathBuf,
}

impl Project {
    /// Finds the checkout from where cargo was called, and asks cargo for its target folder.
    pub fn find() -> Result<Self> {
        let from = match env::var_os("CARGO_MANIFEST_DIR") {
            Some(dir) => PathBuf::from(dir),
            None => env::current_dir().context("the current folder cannot be read")?,
        };
        let Some(root) = from
            .ancestors()
            .find(|dir| is_root(dir))
            .map(Path::to_owned)
        else {
            bail!(
                "{} is not inside a checkout of this project: call cargo xtask from one",
                from.display()
            );
        };
        let text = Program::new("cargo")
            .args(["metadata", "--no-deps", "--format-version", "1"])
            .dir(&root)
            .output()?;
        let metadata: serde_json::Value =
            serde_json::from_str(&text).context("cargo metadata did not print JSON")?;
        let target = metadata["target_directory"]
            .as_str()
            .context("cargo metadata names no target_directory")?
            .into();
        Ok(Self {
            root,
            target,
            cache: cache()?,
        })
    }

    /// The folder that the generated Kotlin, the generated Swift and the library they
    /// were generated from are put in, side by side.
    pub fn bindings(&self) -> PathBuf {
        self.target.join("bindings")
    }

    /// A program built by `cargo build` in the development profile.
    pub fn built(&self, name: &str) -> PathBuf {
        self.target
            .join("debug")
            .join(format!("{name}{}", env::consts::EXE_SUFFIX))
    }
}

fn is_root(dir: &Path) -> bool {
    dir.join("bindings/xtask/Cargo.toml").is_file() && dir.join("Cargo.toml").is_file()
}

/// `STANDSQUARE_CACHE`, or `standsquare` in the user's cache folder (XDG Base Directory
/// Specification 0.8: `XDG_CACHE_HOME`, else `.cache` in the home folder).
fn cache() -> Result<PathBuf> {
    let named = |name: &str| {
        env::var_os(name)
            .filter(|v| !v.is_empty())
            .map(PathBuf::from)
    };
    if let Some(dir) = named("STANDSQUARE_CACHE") {
        return Ok(dir);
    }
    if let Some(dir) = named("XDG_CACHE_HOME") {
        return Ok(dir.join("standsquare"));
    }
    match named("HOME") {
        Some(home) => Ok(home.join(".cache/standsquare")),
        None => bail!("HOME is not set: set STANDSQUARE_CACHE to a folder to keep between runs"),
    }
}
