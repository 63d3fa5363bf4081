//! Names beside the journal's file, and making renames last.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// What SQLite keeps beside a file of its own.
pub(super) const BESIDE: [&str; 3] = ["-wal", "-shm", "-journal"];

/// `path` with something behind its name.
pub(super) fn with(path: &Path, suffix: &str) -> PathBuf {
    let mut name = OsString::from(path.as_os_str());
    name.push(suffix);
    PathBuf::from(name)
}

/// The folder that `path` lies in.
pub(super) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Makes names put into `folder` (or taken out of it) last. Where a system has no
/// such thing, names last by themselves.
pub(super) fn sync_folder(folder: &Path) -> io::Result<()> {
    #[cfg(unix)]
    File::open(folder)?.sync_all()?;
    #[cfg(not(unix))]
    let _ = folder;
    Ok(())
}

/// Makes `folder` with all above it, and makes that last.
pub(super) fn make_folder(folder: &Path) -> io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    let above = folder_of(folder);
    if above != folder {
        make_folder(above)?;
    }
    match fs::create_dir(folder) {
        Err(e) if e.kind() == io::ErrorKind::AlreadyExists && folder.is_dir() => Ok(()),
        other => other,
    }?;
    sync_folder(above)
}

/// Renames within one folder, to last.
pub(super) fn rename(from: &Path, to: &Path) -> io::Result<()> {
    fs::rename(from, to)?;
    sync_folder(folder_of(to))
}

/// Writes a file whole, to last.
pub(super) fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let draft = with(path, ".draft");
    fs::write(&draft, bytes)?;
    File::open(&draft)?.sync_all()?;
    rename(&draft, path)
}

/// Removes a database with all that SQLite keeps beside it, if it is there.
pub(super) fn remove_database(path: &Path) -> io::Result<()> {
    for suffix in [""].iter().chain(&BESIDE) {
        match fs::remove_file(with(path, suffix)) {
            Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(e),
            _ => {}
        }
    }
    Ok(())
}
