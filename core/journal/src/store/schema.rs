//! The file's tables and how an older file becomes a newer one.

use super::StoreFault;
use rusqlite::{Connection, TransactionBehavior};

/// Each step takes a file from its position to the next; never changed once landed.
const STEPS: &[&str] = &["
    CREATE TABLE event (
        seq   INTEGER PRIMARY KEY,
        hash  BLOB NOT NULL,
        bytes BLOB NOT NULL
    ) STRICT;
    CREATE TABLE device (
        one    INTEGER PRIMARY KEY CHECK (one = 1),
        id     BLOB NOT NULL,
        nonce  BLOB NOT NULL,
        sealed BLOB NOT NULL
    ) STRICT;
    CREATE TABLE blob (hash BLOB PRIMARY KEY, bytes BLOB NOT NULL) STRICT, WITHOUT ROWID;
    CREATE TABLE subject (
        id     BLOB PRIMARY KEY,
        sealed BLOB NOT NULL,
        salt   BLOB NOT NULL,
        key    BLOB NOT NULL,
        nonce  BLOB NOT NULL
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE person (
        person TEXT PRIMARY KEY,
        public BLOB NOT NULL,
        salt   BLOB NOT NULL,
        nonce  BLOB NOT NULL,
        sealed BLOB NOT NULL,
        memory INTEGER NOT NULL,
        passes INTEGER NOT NULL,
        lanes  INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID;
"];

/// SQLite's first version without the WAL-reset bug that lost committed writes
/// (facts/sync.md §2): 3.51.3.
const OLDEST_SQLITE: i32 = 3_051_003;

/// Sets the connection up: WAL, each commit on the disk before it is answered,
/// one process at a time.
pub(super) fn prepare(db: &Connection) -> Result<(), StoreFault> {
    if rusqlite::version_number() < OLDEST_SQLITE {
        return Err(StoreFault::OldSqlite {
            found: rusqlite::version().to_owned(),
        });
    }
    db.pragma_update(None, "locking_mode", "EXCLUSIVE")?;
    db.pragma_update(None, "journal_mode", "WAL")?;
    db.pragma_update(None, "synchronous", "FULL")?;
    // On Apple's systems only this reaches the medium; elsewhere it changes nothing.
    db.pragma_update(None, "fullfsync", "ON")?;
    db.pragma_update(None, "checkpoint_fullfsync", "ON")?;
    db.pragma_update(None, "foreign_keys", "ON")?;
    // What is erased must not linger in free pages.
    db.pragma_update(None, "secure_delete", "ON")?;
    db.busy_timeout(std::time::Duration::from_millis(250))?;
    Ok(())
}

/// Brings the tables up to date, in one transaction.
pub(super) fn migrate(db: &mut Connection) -> Result<(), StoreFault> {
    let known = STEPS.len() as i64;
    let tx = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let found: i64 = tx.pragma_query_value(None, "user_version", |row| row.get(0))?;
    if found > known {
        return Err(StoreFault::TooNew { found, known });
    }
    for step in &STEPS[usize::try_from(found).unwrap_or(0)..] {
        tx.execute_batch(step)?;
    }
    if found < known {
        tx.pragma_update(None, "user_version", known)?;
    }
    tx.commit()?;
    Ok(())
}
