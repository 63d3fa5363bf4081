//! `cargo xtask library`: the library as it goes onto a phone.

use std::collections::BTreeSet;
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
    // No statement asks what a column was declared as, for dates, for UTF-16, for a blob by
    // its handle, for a whole table at once, or is watched while it runs.
    "-USQLITE_ENABLE_COLUMN_METADATA",
    "-DSQLITE_OMIT_DECLTYPE",
    "-DSQLITE_OMIT_DATETIME_FUNCS",
    "-DSQLITE_OMIT_UTF16",
    "-DSQLITE_OMIT_INCRBLOB",
    "-DSQLITE_OMIT_GET_TABLE",
    "-DSQLITE_OMIT_COMPLETE",
    "-DSQLITE_OMIT_PROGRESS_CALLBACK",
    "-DSQLITE_OMIT_AUTHORIZATION",
    "-DSQLITE_OMIT_TRACE",
    "-DSQLITE_OMIT_TCL_VARIABLE",
    // Nor for what SQLite was built with; no journal lies in memory alone or gives back
    // pages by itself.
    "-DSQLITE_OMIT_COMPILEOPTION_DIAGS",
    "-DSQLITE_OMIT_INTROSPECTION_PRAGMAS",
    "-DSQLITE_OMIT_DESERIALIZE",
    "-DSQLITE_OMIT_AUTOVACUUM",
    // Nor does any statement look for what these would find sooner.
    "-DSQLITE_OMIT_AUTOMATIC_INDEX",
    "-DSQLITE_OMIT_LIKE_OPTIMIZATION",
    "-DSQLITE_OMIT_OR_OPTIMIZATION",
    "-DSQLITE_OMIT_XFER_OPT",
    "-DSQLITE_UNTESTABLE",
    "-DSQLITE_DEFAULT_MEMSTATUS=0",
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

/// How the libraries that reckon are built, each by a setting of its own that its documents
/// give. Phones' processors have instructions for SHA-256: for the few hashes that go
/// without them, a loop does in place of a thousand lines. No phone's processor has AVX2,
/// and what is sealed is short: plain code has it sooner than code for wide registers.
const SETTINGS: &[&str] = &[
    "--cfg=sha2_backend_soft=\"compact\"",
    "--cfg=curve25519_dalek_backend=\"serial\"",
    "--cfg=chacha20_backend=\"soft\"",
    "--cfg=poly1305_backend=\"soft\"",
];

/// What UniFFI's metadata is called: from it the bindings are generated, and nothing on a
/// phone reads it.
const METADATA: &str = "UNIFFI_META_";

/// Builds the library for `target`, or for this machine, and gives its file, unstripped:
/// the bindings are generated from its metadata. What goes into a package is made of it by
/// [`package`].
pub fn build(project: &Project, target: Option<&str>) -> Result<PathBuf> {
    link(project, target, &[])
}

/// The library as it goes into a package ([`packaged`]).
///
/// For Apple's systems it stays as it is: there the app is linked and stripped by Xcode,
/// which leaves out whatever nothing refers to.
pub fn package(project: &Project, target: Option<&str>) -> Result<PathBuf> {
    let whole = build(project, target)?;
    if is_apple(target) {
        return Ok(whole);
    }
    packaged(&whole, |more| link(project, target, more))
}

/// Links a library once more without what only the making of its bindings needs; what lay at
/// `whole` lies there still. `link` links it with more arguments. Strip it when packaging
/// ([`stripped`]).
pub fn packaged(whole: &Path, link: impl FnOnce(&[String]) -> Result<PathBuf>) -> Result<PathBuf> {
    let before = symbols(whole)?;
    let (metadata, others): (BTreeSet<_>, BTreeSet<_>) = before
        .into_iter()
        .partition(|name| name.starts_with(METADATA));
    // What is local and referred to by nothing is left out by the linker.
    let local = whole.with_extension("local");
    let list = format!("{{ local: {}; }};\n", Vec::from_iter(metadata).join("; "));
    std::fs::write(&local, list).with_context(|| format!("{} not written", local.display()))?;
    let (kept, packed) = (
        whole.with_extension("whole"),
        whole.with_extension("packed"),
    );
    std::fs::copy(whole, &kept)?;
    let script = format!("link-arg=-Wl,--version-script={}", local.display());
    std::fs::rename(link(&["-C".into(), script])?, &packed)?;
    std::fs::rename(&kept, whole)?;
    ensure!(
        symbols(&packed)? == others,
        "the linker left out more than the metadata, or less: see {}",
        packed.display()
    );
    Ok(packed)
}

/// The names that a library gives to whoever loads it.
fn symbols(library: &Path) -> Result<BTreeSet<String>> {
    let listed = Program::new("nm")
        .args(["--dynamic", "--defined-only", "--just-symbols"])
        .arg(library)
        .output()?;
    Ok(listed.lines().map(str::to_owned).collect())
}

fn is_apple(target: Option<&str>) -> bool {
    target.is_some_and(|t| t.contains("apple-ios"))
}

fn link(project: &Project, target: Option<&str>, more: &[String]) -> Result<PathBuf> {
    let apple = is_apple(target);
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
        .env("CARGO_ENCODED_RUSTFLAGS", SETTINGS.join("\x1f"))
        .dir(&project.root);
    if let Some(target) = target {
        cargo = cargo.args(["--target", target]);
    }
    let arguments = linker(target).into_iter().flatten().map(str::to_owned);
    let arguments: Vec<String> = arguments.chain(more.iter().cloned()).collect();
    if !arguments.is_empty() {
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
