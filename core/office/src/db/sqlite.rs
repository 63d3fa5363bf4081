//! The embedded engine: one SQLite file (or memory, for tests), WAL, synchronous=FULL.

use rusqlite::config::DbConfig;
use rusqlite::types::{ToSqlOutput, ValueRef};
use rusqlite::{Connection, OpenFlags, TransactionBehavior, params_from_iter};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use super::{DbFault, Engine, Row, Sql, Value, Work};

/// Every migration, oldest first. One that has been published is never edited.
pub(crate) const MIGRATIONS: &[&str] = &[
    include_str!("../../migrations/sqlite/0001.sql"),
    include_str!("../../migrations/sqlite/0002.sql"),
    include_str!("../../migrations/sqlite/0003.sql"),
    include_str!("../../migrations/sqlite/0004.sql"),
    include_str!("../../migrations/sqlite/0005.sql"),
    include_str!("../../migrations/sqlite/0006.sql"),
];

/// Says whose file it is: "SSQo" in ASCII.
const APPLICATION: i64 = 0x5353_516f;

/// Most reading connections kept for the next page.
const READERS_KEPT: usize = 4;

/// The embedded engine.
pub struct SqliteDb {
    /// One writer, which is also the one that checkpoints.
    writer: Mutex<Connection>,
    readers: Mutex<Vec<Connection>>,
    file: Option<PathBuf>,
}

impl From<rusqlite::Error> for DbFault {
    fn from(fault: rusqlite::Error) -> Self {
        DbFault::Engine(fault.to_string())
    }
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    // A panic elsewhere has rolled its transaction back: the connection is sound.
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl SqliteDb {
    /// Opens the file, or makes it, and brings it to the present version.
    ///
    /// # Errors
    /// [`DbFault`]: not a database, damaged, of a newer version, or not writable.
    pub fn open(file: &Path) -> Result<Self, DbFault> {
        let writer = Connection::open(file)?;
        Self::with(writer, Some(file.to_owned()))
    }

    /// A database that lives as long as this value.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn in_memory() -> Result<Self, DbFault> {
        Self::with(Connection::open_in_memory()?, None)
    }

    fn with(mut writer: Connection, file: Option<PathBuf>) -> Result<Self, DbFault> {
        settings(&writer)?;
        writer.pragma_update(None, "journal_mode", "WAL")?;
        // A post is some hundred pages: with the usual thousand, every third one would wait for
        // the file as well. 8,000 pages are 32 MiB; own choice, no source.
        writer.pragma_update(None, "wal_autocheckpoint", 8_000)?;
        // Only FULL keeps every acknowledged event over a power cut (facts/sync.md).
        writer.pragma_update(None, "synchronous", "FULL")?;
        migrate(&mut writer, file.as_deref())?;
        Ok(SqliteDb {
            writer: Mutex::new(writer),
            readers: Mutex::new(Vec::new()),
            file,
        })
    }

    fn reader(&self, file: &Path) -> Result<Connection, DbFault> {
        if let Some(kept) = locked(&self.readers).pop() {
            return Ok(kept);
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let reader = Connection::open_with_flags(file, flags)?;
        settings(&reader)?;
        Ok(reader)
    }
}

fn settings(connection: &Connection) -> Result<(), DbFault> {
    connection.busy_timeout(std::time::Duration::from_secs(10))?;
    // The office has some hundred statements; the usual sixteen would be parsed over and
    // over. Frames lie in the order of their hashes, so that taking one in may touch any
    // page: 64 MiB of them (own choice, no source) are kept at hand.
    connection.set_prepared_statement_cache_capacity(256);
    connection.pragma_update(None, "cache_size", -64 * 1024)?;
    // Beside a partial index SQLite would look at each value bound, and plan anew for it.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_QPSG, true)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    // On Apple's file systems only this reaches the medium; elsewhere it changes nothing.
    connection.pragma_update(None, "fullfsync", true)?;
    connection.pragma_update(None, "checkpoint_fullfsync", true)?;
    Ok(())
}

fn migrate(writer: &mut Connection, file: Option<&Path>) -> Result<(), DbFault> {
    let transaction = writer.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let number = |name: &str| transaction.pragma_query_value(None, name, |row| row.get(0));
    let found: i64 = number("user_version")?;
    let tables: i64 =
        transaction.query_row("SELECT COUNT(*) FROM sqlite_schema", [], |r| r.get(0))?;
    if number("application_id")? != APPLICATION && tables > 0 {
        let name = file.map(|f| f.display().to_string()).unwrap_or_default();
        return Err(DbFault::NotOurs(name));
    }
    let known = MIGRATIONS.len() as i64;
    if found > known {
        return Err(DbFault::TooNew { found, known });
    }
    for step in MIGRATIONS.iter().skip(usize::try_from(found).unwrap_or(0)) {
        transaction.execute_batch(step)?;
    }
    transaction.pragma_update(None, "user_version", known)?;
    transaction.pragma_update(None, "application_id", APPLICATION)?;
    transaction.commit()?;
    Ok(())
}

impl Engine for SqliteDb {
    fn write(&self, work: Work<'_>) -> Result<(), DbFault> {
        let mut writer = locked(&self.writer);
        let transaction = writer.transaction_with_behavior(TransactionBehavior::Immediate)?;
        work(&mut OnSqlite(&transaction))?;
        transaction.commit()?;
        Ok(())
    }

    fn read(&self, work: Work<'_>) -> Result<(), DbFault> {
        let Some(file) = &self.file else {
            let mut writer = locked(&self.writer);
            let transaction = writer.transaction()?;
            return work(&mut OnSqlite(&transaction));
        };
        let mut reader = self.reader(file)?;
        {
            let transaction = reader.transaction()?;
            work(&mut OnSqlite(&transaction))?;
        }
        let mut kept = locked(&self.readers);
        if kept.len() < READERS_KEPT {
            kept.push(reader);
        }
        Ok(())
    }

    fn make_room(&self, _: &str, _: std::ops::RangeInclusive<i64>) -> Result<(), DbFault> {
        Ok(())
    }
}

struct OnSqlite<'a>(&'a Connection);

impl rusqlite::ToSql for Value {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(match self {
            Value::Null => ValueRef::Null,
            Value::Int(n) => ValueRef::Integer(*n),
            Value::Text(text) => ValueRef::Text(text.as_bytes()),
            Value::Bytes(bytes) => ValueRef::Blob(bytes),
        }))
    }
}

/// SQLite numbers parameters as `?1`; `$1` would be a name, numbered as it comes up.
fn numbered(sql: &str) -> String {
    sql.replace('$', "?")
}

impl Sql for OnSqlite<'_> {
    fn execute(&mut self, sql: &'static str, values: &[Value]) -> Result<u64, DbFault> {
        let mut statement = self.0.prepare_cached(&numbered(sql))?;
        Ok(statement.execute(params_from_iter(values))? as u64)
    }

    fn query(&mut self, sql: &'static str, values: &[Value]) -> Result<Vec<Row>, DbFault> {
        let mut statement = self.0.prepare_cached(&numbered(sql))?;
        let columns = statement.column_count();
        let mut rows = statement.query(params_from_iter(values))?;
        let mut out = Vec::new();
        while let Some(row) = rows.next()? {
            let mut values = Vec::with_capacity(columns);
            for column in 0..columns {
                values.push(match row.get_ref(column)? {
                    ValueRef::Null => Value::Null,
                    ValueRef::Integer(n) => Value::Int(n),
                    ValueRef::Text(text) => Value::Text(String::from_utf8_lossy(text).into()),
                    ValueRef::Blob(bytes) => Value::Bytes(bytes.to_vec()),
                    ValueRef::Real(_) => {
                        return Err(DbFault::Unexpected(format!(
                            "a fraction in column {column}"
                        )));
                    }
                });
            }
            out.push(Row(values));
        }
        Ok(out)
    }
}
