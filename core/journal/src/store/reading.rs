//! Reading a journal without its keys, and while an app has it open.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

use rusqlite::Connection;

use super::files::with;
use super::item::Stored;
use super::wal::Wal;
use super::whole::each_event;
use super::{StoreFault, schema};
use crate::record::ChainCheck;

/// A copy of a journal at one moment, in a folder of its own that goes with it.
pub(crate) struct Snapshot {
    folder: PathBuf,
    #[cfg_attr(not(feature = "slip"), allow(dead_code))] // for the command alone
    damage: Option<String>,
}

impl Drop for Snapshot {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.folder);
    }
}

impl Snapshot {
    /// Copies the file and its log. An app may be writing meanwhile: what it appends to
    /// the log does no harm, but a log that began anew between the two copies would not
    /// belong to the file, so the copy is made again then.
    pub(crate) fn take(path: &Path) -> Result<Snapshot, StoreFault> {
        for _ in 0..10 {
            let before = beginning_of_log(path)?;
            let database = fs::read(path)?;
            let log = read_if_there(&with(path, "-wal"))?;
            let begins = log.get(..32.min(log.len())).unwrap_or_default();
            let length = fs::metadata(path)?.len();
            if before == begins && length == database.len() as u64 {
                return Self::keep(&database, &log);
            }
        }
        Err(StoreFault::Busy {
            reason: "it is being written to all the time".into(),
        })
    }

    fn keep(database: &[u8], log: &[u8]) -> Result<Snapshot, StoreFault> {
        let snapshot = Snapshot {
            folder: own_folder()?,
            damage: Wal::read(log).and_then(|wal| wal.damage()),
        };
        fs::write(snapshot.path(), database)?;
        if !log.is_empty() {
            fs::write(with(&snapshot.path(), "-wal"), log)?;
        }
        Ok(snapshot)
    }

    fn path(&self) -> PathBuf {
        self.folder.join("journal.sqlite")
    }

    /// What is damaged in the log, which SQLite passes over.
    #[cfg(feature = "slip")]
    pub(crate) fn damage_of_log(&self) -> Option<&str> {
        self.damage.as_deref()
    }

    /// Opens the copy.
    pub(crate) fn open(&self) -> Result<Connection, StoreFault> {
        let db = schema::connect(&self.path(), false)?;
        db.execute_batch(schema::SETTINGS_OF_A_READER)?;
        Ok(db)
    }
}

fn read_if_there(path: &Path) -> io::Result<Vec<u8>> {
    match fs::read(path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(Vec::new()),
        other => other,
    }
}

fn beginning_of_log(path: &Path) -> io::Result<Vec<u8>> {
    use std::io::Read;
    let mut begins = Vec::new();
    match fs::File::open(with(path, "-wal")) {
        Ok(file) => {
            file.take(32).read_to_end(&mut begins)?;
        }
        Err(e) if e.kind() == io::ErrorKind::NotFound => {}
        Err(e) => return Err(e),
    }
    Ok(begins)
}

/// A new folder that only this user can look into.
fn own_folder() -> io::Result<PathBuf> {
    static NEXT: AtomicU32 = AtomicU32::new(0);
    let mut make = fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut make, 0o700);
    loop {
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let name = format!("standsquare-{}-{number}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        match make.create(&folder) {
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {}
            other => return other.map(|()| folder),
        }
    }
}

/// Every event of a journal whose device secret is lost, each held to the chain and its
/// signatures. What was measured never depends on the secret: it can be read, exported
/// and sent. The file is not changed, and an app may have it open.
///
/// # Errors
/// [`StoreFault::Damaged`] naming the first event that does not hold; else as for any
/// file.
pub fn read_without_secret(path: &Path) -> Result<Vec<Stored>, StoreFault> {
    let snapshot = Snapshot::take(path)?;
    let db = snapshot.open()?;
    let mut check = ChainCheck::new();
    let mut out = Vec::new();
    each_event(&db, 0, u64::MAX, |(seq, hash, bytes)| {
        let event = check
            .feed(&bytes)
            .map_err(|fault| StoreFault::damaged(fault.to_string()))?;
        if check.seq() != seq || check.head() != hash {
            return Err(StoreFault::damaged(format!(
                "event {} is not as it was written",
                check.seq()
            )));
        }
        out.push(Stored {
            seq,
            at_ms: event.at_ms,
            hash,
            bytes,
            fact: event.fact,
        });
        Ok(())
    })?;
    Ok(out)
}
