//! `cargo xtask library`: the library as it goes onto a phone.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result, ensure};

use crate::project::Project;
use crate::run::Program;

/// Of SQLite, what no journal uses is left out. Each of these is one that SQLite's own
/// documentation allows for its one-file source (<https://www.sqlite.org/compile.html>).
const SQLITE_WITHOUT: &[&str] = &[
    "-USQLITE_ENABLE_FTS3",
    "-USQLITE_ENABLE_FTS3_PARENTHESIS",
    "-USQLITE_ENABLE_FTS5",
    "-USQLITE_ENABLE_RTREE",
    "-USQLITE_ENABLE_STAT4",
    "-USQLITE_ENABLE_DBSTAT_VTAB",
    "-USQLITE_ENABLE_LOAD_EXTENSION",
    "-USQLITE_SOUNDEX",
    "-DSQLITE_OMIT_LOAD_EXTENSION",
    "-DSQLITE_OMIT_JSON",
    "-DSQLITE_OMIT_DEPRECATED",
    "-DSQLITE_OMIT_SHARED_CACHE",
];

/// No panic ever passes through C, so that it needs no tables for it.
const C_FLAGS: &[&str] = &["-fno-unwind-tables", "-fno-asynchronous-unwind-tables"];

/// Of zstd, what no post uses is left out: posts are packed at one level, whose way of
/// searching (btultra2) stays as it is, so that they are the same bytes. The rest is what
/// zstd-sys leaves out with its feature `thin`.
const ZSTD_WITHOUT: &[&str] = &[
    "-DZSTD_EXCLUDE_DFAST_BLOCK_COMPRESSOR",
    "-DZSTD_EXCLUDE_GREEDY_BLOCK_COMPRESSOR",
    "-DZSTD_EXCLUDE_LAZY_BLOCK_COMPRESSOR",
    "-DZSTD_EXCLUDE_LAZY2_BLOCK_COMPRESSOR",
    "-DZSTD_EXCLUDE_BTLAZY2_BLOCK_COMPRESSOR",
    "-DZSTD_EXCLUDE_BTOPT_BLOCK_COMPRESSOR",
    "-DHUF_FORCE_DECOMPRESS_X1=1",
    "-DZSTD_FORCE_DECOMPRESS_SEQUENCES_SHORT=1",
    "-DZSTD_NO_INLINE=1",
    "-DZSTD_STRIP_ERROR_STRINGS=1",
    // No phone's processor has these instructions.
    "-DDYNAMIC_BMI2=0",
];

/// Builds the library for `target`, or for this machine, and gives its file, unstripped:
/// the bindings are generated from its metadata. Strip it when packaging ([`stripped`]).
pub fn build(project: &Project, target: Option<&str>) -> Result<PathBuf> {
    let apple = target.is_some_and(|t| t.contains("apple-ios"));
    let folder = project.target.join("for-phones");
    let mut cargo = Program::new("cargo")
        .args(["rustc", "--package", "standsquare-bindings", "--lib"])
        .args(["--profile", "phone", "--locked"])
        .args(["--no-default-features", "--features", "bundled"])
        .args(["--crate-type", if apple { "staticlib" } else { "cdylib" }])
        .arg("--target-dir")
        .arg(&folder)
        .env("LIBSQLITE3_FLAGS", SQLITE_WITHOUT.join(" "))
        .env("CFLAGS", [C_FLAGS, ZSTD_WITHOUT].concat().join(" "))
        .dir(&project.root);
    if let Some(target) = target {
        cargo = cargo.args(["--target", target]);
    }
    if let Some(arguments) = linker(target) {
        cargo = cargo.arg("--").args(arguments);
    }
    cargo.run()?;
    let name = match target {
        Some(_) if apple => "libstandsquare_bindings.a".to_owned(),
        Some(_) => "libstandsquare_bindings.so".to_owned(),
        None => library_name("standsquare_bindings"),
    };
    let built = target.map_or(folder.clone(), |target| folder.join(target));
    let library = built.join("phone").join(name);
    ensure!(
        library.is_file(),
        "cargo built the library but {} is not there",
        library.display()
    );
    Ok(library)
}

/// What the linker is told beside the usual: newer Android phones have memory pages of
/// 16 KiB and load no library that is laid out for smaller ones (Android developer
/// documentation, "Support 16 KB page sizes"; from memory).
fn linker(target: Option<&str>) -> Option<[&'static str; 2]> {
    target
        .is_some_and(|t| t.contains("android"))
        .then_some(["-C", "link-arg=-Wl,-z,max-page-size=16384"])
}

/// The file name of a library for this machine.
pub fn library_name(name: &str) -> String {
    use std::env::consts::{DLL_PREFIX, DLL_SUFFIX};
    format!("{DLL_PREFIX}{name}{DLL_SUFFIX}")
}

/// The size in bytes that a library has when it is stripped, as in a package.
pub fn stripped(library: &Path) -> Result<u64> {
    let folder = tempfile::tempdir()?;
    let out = folder.path().join("stripped");
    Program::new("strip")
        .arg("-o")
        .arg(&out)
        .arg(library)
        .run()?;
    let file = std::fs::metadata(&out)
        .with_context(|| format!("{} was not stripped", library.display()))?;
    Ok(file.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_android_is_told_of_large_pages() {
        let told = |target| linker(target).is_some_and(|a| a[1].ends_with("=16384"));
        assert!(told(Some("aarch64-linux-android")) && told(Some("x86_64-linux-android")));
        assert!(!told(Some("aarch64-apple-ios")) && !told(None));
    }
}
