//! UniFFI over bundled SQLite and nothing else. `cargo xtask bench core.size` weighs the
//! phone's library against this one, built in the same run with the same profile: what is
//! heavier than it is ours.

uniffi::setup_scaffolding!();

use std::sync::{Arc, Mutex, PoisonError};

use rusqlite::{Connection, params};

/// What went wrong.
#[derive(Debug, uniffi::Error)]
pub enum BareFault {
    /// As SQLite says.
    Sqlite {
        /// In its words.
        reason: String,
    },
}

impl std::fmt::Display for BareFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let BareFault::Sqlite { reason } = self;
        f.write_str(reason)
    }
}

impl From<rusqlite::Error> for BareFault {
    fn from(error: rusqlite::Error) -> Self {
        BareFault::Sqlite {
            reason: error.to_string(),
        }
    }
}

/// A row of bytes.
#[derive(uniffi::Record)]
pub struct Row {
    /// Its number.
    pub seq: i64,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// A database in which rows are kept.
#[derive(uniffi::Object)]
pub struct Bare {
    db: Mutex<Connection>,
}

#[uniffi::export]
impl Bare {
    /// Opens the file, or makes it.
    #[uniffi::constructor]
    pub fn open(path: String) -> Result<Arc<Self>, BareFault> {
        let db = Connection::open(path)?;
        db.pragma_update(None, "journal_mode", "WAL")?;
        db.execute_batch(
            "CREATE TABLE IF NOT EXISTS event (seq INTEGER PRIMARY KEY, bytes BLOB NOT NULL)",
        )?;
        Ok(Arc::new(Bare { db: Mutex::new(db) }))
    }

    /// Keeps a row.
    pub fn put(&self, bytes: Vec<u8>) -> Result<i64, BareFault> {
        let db = self.db.lock().unwrap_or_else(PoisonError::into_inner);
        db.execute("INSERT INTO event (bytes) VALUES (?)", params![bytes])?;
        Ok(db.last_insert_rowid())
    }

    /// Every row from this number on.
    pub fn rows(&self, from: i64) -> Result<Vec<Row>, BareFault> {
        let db = self.db.lock().unwrap_or_else(PoisonError::into_inner);
        let mut find = db.prepare("SELECT seq, bytes FROM event WHERE seq >= ? ORDER BY seq")?;
        let rows = find.query_map([from], |row| {
            Ok(Row {
                seq: row.get(0)?,
                bytes: row.get(1)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}
