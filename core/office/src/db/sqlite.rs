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
    include_str!("../../migrations/sqlite/0007.sql"),
    include_str!("../../migrations/sqlite/0008.sql"),
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
        // What is erased is not left in the file's unused places.
        writer.pragma_update(None, "secure_delete", true)?;
        migrate(&mut writer, file.as_deref())?;
        describe(&mut writer)?;
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

/// What the tables are taken to hold: not counted, but what a busy office has. Own choice, no
/// source; only which of two ways is shorter hangs on it.
const ROWS: u64 = 1_000_000;
/// The same of an index over few rows, such as those that wait.
const ROWS_APART: u64 = 1_000;

/// Tells SQLite that a body's name, which leads every key, says nothing of a row, and a year
/// little. Without figures it takes any first column for one that leaves ten rows, and reads
/// all rows of a body where a chip or an id is asked for. They are written and not counted
/// (`ANALYZE` would take long on a full table, and say of an empty one what soon is not true),
/// so that the plans are the same at every office.
fn describe(writer: &mut Connection) -> Result<(), DbFault> {
    // Makes the table of figures, and counts nothing.
    writer.execute_batch("ANALYZE sqlite_schema")?;
    let transaction = writer.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let list = |sql: &str| -> rusqlite::Result<Vec<[String; 3]>> {
        let mut statement = transaction.prepare(sql)?;
        let rows = statement.query_map([], |r| Ok([r.get(0)?, r.get(1)?, r.get(2)?]))?;
        rows.collect()
    };
    let indexes = list(
        "SELECT m.name, iif(i.origin = 'pk', m.name, i.name),
                i.partial || ' ' || (i.origin <> 'c') || ' ' ||
                (SELECT group_concat(name, ' ') FROM pragma_index_info(i.name))
         FROM sqlite_schema m JOIN pragma_index_list(m.name) i
         WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite%' ORDER BY 1, 2",
    )?;
    let wanted = indexes.into_iter().map(|[table, index, made]| {
        let words: Vec<&str> = made.split(' ').collect();
        let (unique, columns) = (words.get(1) == Some(&"1"), words.get(2..).unwrap_or(&[]));
        let rows = if words.first() == Some(&"1") {
            ROWS_APART
        } else {
            ROWS
        };
        let mut figures = vec![rows.to_string()];
        for (n, column) in columns.iter().enumerate() {
            // How many rows have the same values in the columns up to this one.
            let same = match (n, *column) {
                _ if unique && n + 1 == columns.len() => 1,
                (0, _) => rows,
                (_, "year") => rows / 10,
                _ => 10,
            };
            figures.push(same.to_string());
        }
        [table, index, figures.join(" ")]
    });
    let wanted: Vec<[String; 3]> = wanted.collect();
    if list("SELECT tbl, idx, stat FROM sqlite_stat1 ORDER BY 1, 2")? == wanted {
        return Ok(());
    }
    transaction.execute("DELETE FROM sqlite_stat1", [])?;
    for [table, index, figures] in &wanted {
        transaction.execute(
            "INSERT INTO sqlite_stat1 (tbl, idx, stat) VALUES (?, ?, ?)",
            (table, index, figures),
        )?;
    }
    transaction.commit()?;
    writer.execute_batch("ANALYZE sqlite_schema")?;
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

    fn sweep(&self) -> Result<(), DbFault> {
        // The log beside the file has pages from before. Whoever reads now holds it up: the
        // next time then.
        let writer = locked(&self.writer);
        writer.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))?;
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_asked_for_by_chip_head_or_id_is_found_by_its_index() {
        let dir = tempfile::tempdir().expect("a folder");
        let file = dir.path().join("office.sqlite");
        // The second time the figures are there already; a reader has them from the file.
        for _ in 0..2 {
            let db = SqliteDb::open(&file).expect("a database");
            for reading in [false, true] {
                let kept = db.reader(&file).expect("a reader");
                let writer = locked(&db.writer);
                let on = if reading { &kept } else { &*writer };
                for (asked, index) in [
                    (
                        "SELECT state FROM frames WHERE body = 'b' AND id = x'00'",
                        "frames_by_id",
                    ),
                    (
                        "SELECT id, state FROM frames
                         WHERE body = 'b' AND device_key = x'00' AND journal = x'00'
                           AND from_seq >= 4 AND from_seq <= 9 LIMIT 65",
                        "frames_by_journal",
                    ),
                    (
                        "SELECT points FROM visits WHERE body = 'b' AND chip = '1'",
                        "visits_by_chip",
                    ),
                    (
                        "SELECT points FROM visits WHERE body = 'b' AND head = x'00'",
                        "visits_by_head",
                    ),
                    (
                        "SELECT v.statement, s.closed_ms FROM visits v JOIN sessions s
                           ON s.body = v.body AND s.year = v.year AND s.session = v.session
                          AND s.device_key = v.device_key AND s.journal = v.journal
                         WHERE v.body = 'b' AND v.chip = '1'",
                        "visits_by_chip",
                    ),
                ] {
                    let asked = format!("EXPLAIN QUERY PLAN {asked}");
                    let plan: String = on.query_row(&asked, [], |r| r.get(3)).expect("a plan");
                    assert!(plan.contains(index), "{asked}: {plan}");
                }
            }
        }
    }
}
