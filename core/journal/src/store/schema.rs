//! The file's tables, and how an older file becomes a newer one.

use rusqlite::{Connection, OpenFlags, OptionalExtension, Transaction, TransactionBehavior};
use std::path::Path;

use super::StoreFault;
use crate::map::map_of;

/// Each step takes a file from its position to the next; never changed once landed.
/// After a step `head.format` and `user_version` say the same.
const STEPS: &[&str] = &[
    "
    CREATE TABLE event (
        seq   INTEGER PRIMARY KEY,
        hash  BLOB NOT NULL,
        bytes BLOB NOT NULL
    ) STRICT;
    CREATE TABLE head (
        one      INTEGER PRIMARY KEY CHECK (one = 1),
        format   INTEGER NOT NULL,
        seq      INTEGER NOT NULL,
        hash     BLOB NOT NULL,
        texts    INTEGER NOT NULL,
        subjects INTEGER NOT NULL,
        people   INTEGER NOT NULL
    ) STRICT;
    CREATE TABLE device (
        one    INTEGER PRIMARY KEY CHECK (one = 1),
        id     BLOB NOT NULL,
        nonce  BLOB NOT NULL,
        sealed BLOB NOT NULL,
        sum    BLOB NOT NULL
    ) STRICT;
    CREATE TABLE device_spare (
        one    INTEGER PRIMARY KEY CHECK (one = 1),
        id     BLOB NOT NULL,
        nonce  BLOB NOT NULL,
        sealed BLOB NOT NULL,
        sum    BLOB NOT NULL
    ) STRICT;
    CREATE TABLE text (hash BLOB PRIMARY KEY, bytes BLOB NOT NULL) STRICT, WITHOUT ROWID;
    CREATE TABLE subject (
        id     BLOB PRIMARY KEY,
        sealed BLOB NOT NULL,
        salt   BLOB NOT NULL,
        key    BLOB NOT NULL,
        nonce  BLOB NOT NULL,
        sum    BLOB NOT NULL
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE person (
        person TEXT PRIMARY KEY,
        public BLOB NOT NULL,
        salt   BLOB NOT NULL,
        nonce  BLOB NOT NULL,
        sealed BLOB NOT NULL,
        memory INTEGER NOT NULL,
        passes INTEGER NOT NULL,
        lanes  INTEGER NOT NULL,
        sum    BLOB NOT NULL
    ) STRICT, WITHOUT ROWID;
",
    "
    CREATE TABLE kept (
        one     INTEGER PRIMARY KEY CHECK (one = 1),
        edition TEXT NOT NULL,
        chain   BLOB NOT NULL,
        bytes   BLOB NOT NULL,
        sum     BLOB NOT NULL
    ) STRICT;
",
];

/// The format that this version writes.
pub(super) const FORMAT: i64 = STEPS.len() as i64;

/// SQLite's first version without the WAL-reset bug that lost committed writes
/// (facts/sync.md §2): 3.51.3.
const OLDEST_SQLITE: i32 = 3_051_003;

/// What the file says it is, in SQLite's header: 'SSJ1'.
pub(super) const APPLICATION: i32 = 0x5353_4a31;

/// SQLite's pages in every journal, bytes: its own default, written down because
/// reading a damaged write-ahead log relies on it.
pub(super) const PAGE: usize = 4096;

/// Opens the file with a path that is only ever a path.
pub(super) fn connect(path: &Path, create: bool) -> Result<Connection, StoreFault> {
    let mut flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    flags.set(OpenFlags::SQLITE_OPEN_CREATE, create);
    Ok(Connection::open_with_flags(path, flags)?)
}

/// Whether SQLite is one that keeps what it committed.
pub(super) fn new_enough(version: i32) -> bool {
    version >= OLDEST_SQLITE
}

/// What a connection is set to beside that.
const SETTINGS: &str = "
    PRAGMA synchronous = FULL;
    -- On Apple's systems only this reaches the medium; elsewhere it changes nothing.
    PRAGMA fullfsync = ON;
    PRAGMA checkpoint_fullfsync = ON;
    PRAGMA foreign_keys = ON;
    -- What is erased must not linger in free pages.
    PRAGMA secure_delete = ON;
    -- Nothing in a file from elsewhere is run, and odd pages are looked at twice.
    PRAGMA trusted_schema = OFF;
    PRAGMA cell_size_check = ON;
";

/// What a connection is set to that reads a copy and no more.
pub(super) const SETTINGS_OF_A_READER: &str = "
    PRAGMA locking_mode = EXCLUSIVE;
    PRAGMA trusted_schema = OFF;
";

/// Sets the connection up: WAL, each commit on the disk before it is answered,
/// one process at a time.
pub(super) fn prepare(db: &Connection) -> Result<(), StoreFault> {
    if !new_enough(rusqlite::version_number()) {
        return Err(StoreFault::OldSqlite {
            found: rusqlite::version().to_owned(),
        });
    }
    // A process that is just going away still holds it for a moment.
    db.busy_timeout(std::time::Duration::from_millis(250))?;
    // In the words of SQL: the library's own way of setting them brings all of the writing
    // of floating numbers along.
    db.execute_batch(&format!(
        "PRAGMA locking_mode = EXCLUSIVE; PRAGMA page_size = {PAGE};"
    ))?;
    let mode: String = db.query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0))?;
    if mode != "wal" {
        return Err(StoreFault::Other {
            reason: format!("SQLite keeps the journal in mode {mode}, not WAL"),
        });
    }
    db.execute_batch(SETTINGS)?;
    Ok(())
}

/// Brings the tables up to date in one transaction. A file in which nothing stands yet
/// is given all of them and then whatever `begin` writes, in the same transaction.
pub(super) fn migrate(
    db: &mut Connection,
    begin: impl FnOnce(&Transaction) -> Result<(), StoreFault>,
) -> Result<(), StoreFault> {
    // Nothing is to be written where it is up to date.
    if format_of(db)? == FORMAT {
        return Ok(());
    }
    let tx = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    match format_of(&tx)? {
        FORMAT => return Ok(()),
        0 => {
            tx.execute_batch(&format!("PRAGMA application_id = {APPLICATION}"))?;
            build(&tx, 0, FORMAT)?;
            begin(&tx)?;
        }
        found if found > FORMAT => {
            return Err(StoreFault::TooNew {
                found,
                known: FORMAT,
            });
        }
        found if !tables_are_of(&tx, found)? => {
            return Err(StoreFault::damaged("its tables are not those of a journal"));
        }
        found => {
            build(&tx, found, FORMAT)?;
            tx.execute("UPDATE head SET format = ?", [FORMAT])?;
        }
    }
    tx.commit()?;
    Ok(())
}

fn build(db: &Connection, from: i64, to: i64) -> Result<(), StoreFault> {
    let number = |format: i64| usize::try_from(format).unwrap_or_default();
    for step in STEPS.iter().take(number(to)).skip(number(from)) {
        db.execute_batch(step)?;
    }
    db.execute_batch(&format!("PRAGMA user_version = {to}"))?;
    Ok(())
}

/// The file's format, which stands in it twice; 0 for a file in which nothing stands.
fn format_of(db: &Connection) -> Result<i64, StoreFault> {
    let outer: i64 = db.pragma_query_value(None, "user_version", |r| r.get(0))?;
    let application: i32 = db.pragma_query_value(None, "application_id", |r| r.get(0))?;
    if (outer, application) == (0, 0) {
        let tables: i64 = db.query_row("SELECT count(*) FROM sqlite_schema", [], |r| r.get(0))?;
        if tables == 0 {
            return Ok(0);
        }
    }
    if application != APPLICATION {
        return Err(StoreFault::damaged("it does not say that it is a journal"));
    }
    let inner: Option<i64> = db
        .query_row("SELECT format FROM head", [], |r| r.get(0))
        .optional()
        .unwrap_or_default();
    match inner {
        Some(inner) if inner == outer && outer > 0 => Ok(outer),
        // A later format may keep it elsewhere.
        None if outer > FORMAT => Ok(outer),
        _ => Err(StoreFault::damaged(
            "it says two different things of its format",
        )),
    }
}

/// Whether the tables are exactly those of the format at hand.
pub(super) fn tables_are_ours(db: &Connection) -> Result<bool, StoreFault> {
    tables_are_of(db, FORMAT)
}

fn tables_are_of(db: &Connection, format: i64) -> Result<bool, StoreFault> {
    let mut find = db.prepare("SELECT type, name, tbl_name, sql FROM sqlite_schema")?;
    let rows = find.query_map([], |r| {
        let row: [Option<String>; 4] = [r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?];
        Ok(row)
    })?;
    let found: Vec<[Option<String>; 4]> = rows.collect::<Result<_, _>>()?;
    let wanted = tables(format);
    // In whatever order: no two tables have one name.
    let is_there = |(wanted, made): &(&str, &str)| {
        found.iter().any(|[kind, name, table, sql]| {
            kind.as_deref() == Some("table")
                && [name, table].iter().all(|n| n.as_deref() == Some(wanted))
                && sql.as_deref() == Some(made)
        })
    };
    Ok(found.len() == wanted.len() && wanted.iter().all(is_there))
}

/// The tables of a format by name, each with the text that SQLite keeps of it: every step
/// makes tables and nothing else, which a test holds to what SQLite says itself.
fn tables(format: i64) -> Vec<(&'static str, &'static str)> {
    let steps = STEPS
        .iter()
        .take(usize::try_from(format).unwrap_or_default());
    let made = steps.flat_map(|step| step.split(';').map(str::trim));
    let tables =
        made.filter_map(|sql| Some((sql.strip_prefix("CREATE TABLE ")?.split(' ').next()?, sql)));
    map_of(tables).into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tables_of_every_format_are_those_that_sqlite_makes() {
        for format in 1..=FORMAT {
            let db = Connection::open_in_memory().expect("opens");
            build(&db, 0, format).expect("builds");
            assert!(tables_are_of(&db, format).expect("reads"), "{format}");
            for change in [
                "CREATE INDEX more ON event (hash)",
                "ALTER TABLE event ADD COLUMN more BLOB",
                "DROP TABLE person",
                "ALTER TABLE person RENAME TO people",
            ] {
                db.execute_batch(&format!("SAVEPOINT s; {change}"))
                    .expect("changes");
                assert!(!tables_are_of(&db, format).expect("reads"), "{change}");
                db.execute_batch("ROLLBACK TO s; RELEASE s")
                    .expect("undoes");
            }
        }
    }

    #[test]
    fn sqlite_with_the_wal_reset_bug_is_refused() {
        // 3.51.2 has it, 3.51.3 has not (facts/sync.md §2).
        assert!(!new_enough(3_051_002));
        assert!(new_enough(3_051_003));
        assert!(new_enough(rusqlite::version_number()));
    }
}
