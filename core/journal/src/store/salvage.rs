//! A damaged file: set aside whole, and carried over up to the last good event.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags, params};

use super::fault::damaged;
use super::{StoreFault, schema};
use crate::record::{ChainCheck, Hash};

/// What became of a damaged file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SalvageReport {
    /// Where the damaged file lies now.
    pub set_aside: PathBuf,
    /// What was wrong.
    pub reason: String,
    /// Events carried over, from the first on without a gap.
    pub events: u64,
    /// Events that could still be read behind the first bad one; they are in the
    /// file set aside.
    pub left_behind: u64,
}

/// The whole file and the whole chain. Reading every event when the app starts is
/// what makes a later 'nothing was altered unseen' true.
pub(super) fn check(db: &Connection) -> Result<(), StoreFault> {
    let sound: String = db.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
    if sound != "ok" {
        return Err(damaged(sound));
    }
    let mut chain = ChainCheck::new();
    let mut rows = db.prepare("SELECT seq, hash, bytes FROM event ORDER BY seq")?;
    let mut rows = rows.query([])?;
    while let Some(row) = rows.next()? {
        follow(&mut chain, row).map_err(damaged)?;
    }
    Ok(())
}

fn follow(chain: &mut ChainCheck, row: &rusqlite::Row) -> Result<(i64, Hash, Vec<u8>), String> {
    let text = |e: rusqlite::Error| e.to_string();
    let seq: i64 = row.get(0).map_err(text)?;
    let hash: Vec<u8> = row.get(1).map_err(text)?;
    let bytes: Vec<u8> = row.get(2).map_err(text)?;
    if seq.unsigned_abs() != chain.seq() + 1 {
        return Err(format!("event {} is missing", chain.seq() + 1));
    }
    chain.feed(&bytes).map_err(|f| f.to_string())?;
    if chain.head().as_slice() != hash {
        return Err(format!(
            "event {seq} does not follow from the one before it"
        ));
    }
    Ok((seq, chain.head(), bytes))
}

/// Moves the damaged file (with what belongs to it) aside and makes a new one of
/// what can be read.
pub(super) fn set_aside(
    path: &Path,
    reason: &str,
    at_ms: i64,
) -> Result<SalvageReport, StoreFault> {
    let aside = free_name(path, at_ms);
    for suffix in ["", "-wal", "-shm"] {
        let from = with_suffix(path, suffix);
        if from.exists() {
            std::fs::rename(&from, with_suffix(&aside, suffix))?;
        }
    }
    let mut report = SalvageReport {
        set_aside: aside.clone(),
        reason: reason.to_owned(),
        events: 0,
        left_behind: 0,
    };
    // Read a copy: looking at a damaged file must not change it.
    let copy = with_suffix(&aside, ".reading");
    for suffix in ["", "-wal"] {
        let from = with_suffix(&aside, suffix);
        if from.exists() {
            std::fs::copy(&from, with_suffix(&copy, suffix))?;
        }
    }
    let result = carry_over(&copy, path, &mut report);
    for suffix in ["", "-wal", "-shm"] {
        let _ = std::fs::remove_file(with_suffix(&copy, suffix));
    }
    result?;
    Ok(report)
}

fn carry_over(from: &Path, to: &Path, report: &mut SalvageReport) -> Result<(), StoreFault> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let Ok(old) = Connection::open_with_flags(from, flags) else {
        return Ok(());
    };
    let mut new = Connection::open(to)?;
    schema::prepare(&new)?;
    schema::migrate(&mut new)?;
    let tx = new.transaction()?;
    let Ok(mut rows) = old.prepare("SELECT seq, hash, bytes FROM event ORDER BY seq") else {
        // Not even a list of events: a new journal begins, the old file is kept.
        return Ok(());
    };
    let mut chain = ChainCheck::new();
    let mut good = true;
    if let Ok(mut rows) = rows.query([]) {
        while let Ok(Some(row)) = rows.next() {
            match follow(&mut chain, row) {
                Ok((seq, hash, bytes)) if good => {
                    tx.execute(
                        "INSERT INTO event VALUES (?, ?, ?)",
                        params![seq, hash, bytes],
                    )?;
                    report.events += 1;
                }
                _ => {
                    good = false;
                    report.left_behind += 1;
                }
            }
        }
    }
    if report.events == 0 {
        // Nothing to go on from: begin a new journal with a new key.
        return Ok(());
    }
    for (table, columns) in [("device", 4), ("blob", 2), ("subject", 5), ("person", 8)] {
        copy_table(&old, &tx, table, columns)?;
    }
    let has_device: i64 = tx.query_row("SELECT count(*) FROM device", [], |row| row.get(0))?;
    if has_device == 0 {
        // Without the device's key the chain cannot go on; its events stay in the
        // file set aside, and a new journal begins.
        report.left_behind += report.events;
        report.events = 0;
        return Ok(());
    }
    tx.commit()?;
    Ok(())
}

/// Copies the rows that can be read.
fn copy_table(
    old: &Connection,
    new: &Connection,
    table: &str,
    columns: usize,
) -> Result<(), StoreFault> {
    let Ok(mut rows) = old.prepare(&format!("SELECT * FROM {table}")) else {
        return Ok(());
    };
    let marks = vec!["?"; columns].join(", ");
    let insert = format!("INSERT OR IGNORE INTO {table} VALUES ({marks})");
    let Ok(mut rows) = rows.query([]) else {
        return Ok(());
    };
    while let Ok(Some(row)) = rows.next() {
        let values: Result<Vec<rusqlite::types::Value>, _> =
            (0..columns).map(|n| row.get(n)).collect();
        if let Ok(values) = values {
            new.execute(&insert, rusqlite::params_from_iter(values))?;
        }
    }
    Ok(())
}

fn with_suffix(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(suffix);
    PathBuf::from(name)
}

/// `journal.sqlite.damaged-<moment>`, with a number behind it if that is taken.
fn free_name(path: &Path, at_ms: i64) -> PathBuf {
    let first = with_suffix(path, &format!(".damaged-{at_ms}"));
    if !first.exists() {
        return first;
    }
    (2u32..)
        .map(|n| with_suffix(path, &format!(".damaged-{at_ms}-{n}")))
        .find(|p| !p.exists())
        .unwrap_or(first)
}
