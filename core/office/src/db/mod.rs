//! The office's database. One set of SQL statements runs on every engine: columns
//! are 64-bit integers, text and bytes only, parameters are written `$1`, `$2`, ….

mod postgres;
mod sqlite;
mod value;

pub use postgres::PostgresDb;
#[cfg(test)]
pub(crate) use sqlite::MIGRATIONS as SQLITE_MIGRATIONS;
pub use sqlite::SqliteDb;
pub use value::{Row, Value};

/// Why the database did not do something. Nothing of the transaction is there then.
#[derive(Debug, thiserror::Error)]
pub enum DbFault {
    /// The engine says no: a full disk, a lost connection, a damaged file.
    #[error("the office's database failed: {0}")]
    Engine(String),
    /// The data was written by newer software.
    #[error(
        "the data are of version {found}, this program knows up to {known}: start the newer one"
    )]
    TooNew {
        /// Version of the data.
        found: i64,
        /// Newest version that is known here.
        known: i64,
    },
    /// The data are not this program's, or of a time before its first release.
    #[error("{0} holds other data than this office's: name another place, or move it away")]
    NotOurs(String),
    /// A row is not as this program writes it.
    #[error("the office's database holds something unexpected: {0}")]
    Unexpected(String),
}

/// One transaction, or one snapshot to read from.
pub trait Sql {
    /// Changes something; how many rows.
    ///
    /// # Errors
    /// [`DbFault`]; the transaction must then be given up.
    fn execute(&mut self, sql: &'static str, values: &[Value]) -> Result<u64, DbFault>;

    /// Changes something, whatever number of rows. The engine may do it later, but in order
    /// and before the next question and the commit; a fault comes up there then.
    ///
    /// # Errors
    /// [`DbFault`]; the transaction must then be given up.
    fn put(&mut self, sql: &'static str, values: &[Value]) -> Result<(), DbFault> {
        self.execute(sql, values).map(|_| ())
    }

    /// Asks for rows.
    ///
    /// # Errors
    /// [`DbFault`]; the transaction must then be given up.
    fn query(&mut self, sql: &'static str, values: &[Value]) -> Result<Vec<Row>, DbFault>;

    /// Asks the same of many keys; rows come in any order. `one` has the key as its last
    /// parameter, after what is `common`; `many` has a list of [`KEYS`] of them there. An engine
    /// in this very process is asked for one after the other (SQLite would rather read a whole
    /// table than look up a long list), one behind a wire for many at once.
    ///
    /// # Errors
    /// [`DbFault`]; the transaction must then be given up.
    fn query_many(
        &mut self,
        one: &'static str,
        many: &'static str,
        common: &[Value],
        keys: &[Value],
    ) -> Result<Vec<Row>, DbFault> {
        let _ = many;
        let mut rows = Vec::new();
        for key in keys {
            rows.extend(self.query(one, &[common, std::slice::from_ref(key)].concat())?);
        }
        Ok(rows)
    }

    /// Asks for at most one row.
    ///
    /// # Errors
    /// [`DbFault`]; the transaction must then be given up.
    fn one(&mut self, sql: &'static str, values: &[Value]) -> Result<Option<Row>, DbFault> {
        Ok(self.query(sql, values)?.into_iter().next())
    }
}

/// What is done inside a transaction. It may be done more than once: an engine that
/// finds it in conflict with another one rolls it back and begins it again.
pub type Work<'a> = &'a mut dyn FnMut(&mut dyn Sql) -> Result<(), DbFault>;

/// An engine.
pub trait Engine: Send + Sync {
    /// Runs `work` in one transaction and commits it durably before returning.
    ///
    /// # Errors
    /// [`DbFault`]; nothing of the work is there then.
    fn write(&self, work: Work<'_>) -> Result<(), DbFault>;

    /// Runs `work` on one consistent picture; what it changes is thrown away.
    ///
    /// # Errors
    /// [`DbFault`].
    fn read(&self, work: Work<'_>) -> Result<(), DbFault>;

    /// Makes room for a body's measures of these years, where an engine keeps them
    /// apart. Without it everything works just as well in one place.
    ///
    /// # Errors
    /// [`DbFault`].
    fn make_room(&self, body: &str, years: std::ops::RangeInclusive<i64>) -> Result<(), DbFault>;

    /// Leaves nothing of what was erased where this engine would keep it a while, as far as
    /// that is in its hands.
    ///
    /// # Errors
    /// [`DbFault`].
    fn sweep(&self) -> Result<(), DbFault> {
        Ok(())
    }

    /// Whether other offices may work on the same database at the same time.
    fn is_shared(&self) -> bool {
        false
    }
}

/// How many keys go into one question of [`Sql::query_many`].
pub const KEYS: usize = 64;

/// The text of a list of [`KEYS`] parameters, the first of them number `from`: `$2, $3, …`.
pub(crate) fn places(from: usize) -> String {
    let places = (from..from + KEYS).map(|n| format!("${n}"));
    places.collect::<Vec<_>>().join(", ")
}

/// Runs `work` in one durable transaction and gives back what it gives.
///
/// # Errors
/// [`DbFault`]; nothing of the work is there then.
pub fn write<T>(
    engine: &dyn Engine,
    mut work: impl FnMut(&mut dyn Sql) -> Result<T, DbFault>,
) -> Result<T, DbFault> {
    let mut out = None;
    engine.write(&mut |sql| {
        out = Some(work(sql)?);
        Ok(())
    })?;
    out.ok_or_else(|| DbFault::Unexpected("the transaction did not run".into()))
}

/// Runs `work` on one consistent picture and gives back what it gives.
///
/// # Errors
/// [`DbFault`].
pub fn read<T>(
    engine: &dyn Engine,
    mut work: impl FnMut(&mut dyn Sql) -> Result<T, DbFault>,
) -> Result<T, DbFault> {
    let mut out = None;
    engine.read(&mut |sql| {
        out = Some(work(sql)?);
        Ok(())
    })?;
    out.ok_or_else(|| DbFault::Unexpected("the question was not asked".into()))
}
