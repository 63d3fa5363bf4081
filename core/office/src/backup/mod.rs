//! Backup and restore: everything an office keeps, as one file that does not depend on the
//! engine. What was taken from SQLite can be put into PostgreSQL and the other way round.
//!
//! The file is one zstd frame (RFC 8878) of CBOR items: a head, then for each table its
//! name, its rows and their end, then the number of all rows and the SHA-256 of every item
//! before. Whoever restores reads it to its end once before anything is written.

mod file;
mod tables;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::db::{self, DbFault, Engine, Row, Sql, Value};
use file::{Head, Item, Reader, Writer};
use tables::{Table, tables};

/// The backup's format.
pub(crate) const FORMAT: u32 = 1;

/// Rows that are asked for, or put in, at a time.
const AT_A_TIME: i64 = 1_000;

/// Why there is no backup, or nothing was restored.
#[derive(Debug, thiserror::Error)]
pub enum BackupFault {
    /// A file cannot be read or written.
    #[error("{file}: {reason}")]
    File {
        /// Which.
        file: String,
        /// Why.
        reason: std::io::Error,
    },
    /// It is no backup, or a damaged one.
    #[error("{file} is not a whole backup of an office ({reason}); take another one")]
    Damaged {
        /// Which.
        file: String,
        /// What is wrong.
        reason: String,
    },
    /// Written by newer software.
    #[error("{file} was written by a newer office: restore it with that one")]
    TooNew {
        /// Which.
        file: String,
    },
    /// The place to restore to is not empty: nothing is ever overwritten.
    #[error("{0} already holds an office's data: restore into an empty place")]
    NotEmpty(String),
    /// The database failed.
    #[error(transparent)]
    Db(#[from] DbFault),
}

impl BackupFault {
    fn file(file: &Path) -> impl Fn(std::io::Error) -> BackupFault + '_ {
        |reason| BackupFault::File {
            file: file.display().to_string(),
            reason,
        }
    }

    fn damaged(file: &Path, reason: impl ToString) -> BackupFault {
        BackupFault::Damaged {
            file: file.display().to_string(),
            reason: reason.to_string(),
        }
    }
}

/// What went into a backup or came out of one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Counted {
    /// Rows of all tables.
    pub rows: u64,
    /// Tables with rows.
    pub tables: usize,
}

/// Writes everything that `engine` keeps into `file`, as it is at one moment; phones and
/// people may go on working meanwhile. `now_ms` is the office's clock, Unix milliseconds.
///
/// # Errors
/// [`BackupFault`]; a file that was there before is then still the old one.
pub fn back_up(engine: &dyn Engine, file: &Path, now_ms: i64) -> Result<Counted, BackupFault> {
    let beside = beside(file);
    let mut kept: Result<Counted, BackupFault> = Err(BackupFault::damaged(file, "nothing"));
    db::read(engine, |sql| {
        kept = take(sql, &beside, now_ms);
        Ok(())
    })?;
    let counted = kept?;
    std::fs::rename(&beside, file).map_err(BackupFault::file(file))?;
    Ok(counted)
}

fn beside(file: &Path) -> PathBuf {
    let mut name = file.file_name().unwrap_or_default().to_owned();
    name.push(".new");
    file.with_file_name(name)
}

fn take(sql: &mut dyn Sql, file: &Path, now_ms: i64) -> Result<Counted, BackupFault> {
    let mut out = Writer::create(file, now_ms).map_err(BackupFault::file(file))?;
    let mut tables_with_rows = 0;
    for table in tables() {
        let before = out.rows();
        out.table(table.name).map_err(BackupFault::file(file))?;
        let mut after = table.first_key();
        loop {
            let mut asked = after.clone();
            asked.push(AT_A_TIME.into());
            let rows = sql.query(table.select, &asked)?;
            for row in &rows {
                out.row(&row.0).map_err(BackupFault::file(file))?;
            }
            match rows.last() {
                Some(Row(last)) => after = last[..table.keys.len()].to_vec(),
                None => break,
            }
        }
        if out.rows() > before {
            tables_with_rows += 1;
        }
    }
    let rows = out.finish().map_err(BackupFault::file(file))?;
    Ok(Counted {
        rows,
        tables: tables_with_rows,
    })
}

/// Reads a backup to its end: whether it is whole, and what is in it.
///
/// # Errors
/// [`BackupFault`].
pub fn check(file: &Path) -> Result<Counted, BackupFault> {
    walk(file, |_, _| Ok(()))
}

/// Puts a backup into an empty `engine`, in one transaction: either all of it is there
/// afterwards or nothing.
///
/// # Errors
/// [`BackupFault`]; nothing is written then.
pub fn restore(engine: &dyn Engine, file: &Path, place: &str) -> Result<Counted, BackupFault> {
    let mut bodies = BTreeSet::new();
    walk(file, |_, row| {
        // Its body leads every key.
        if let Some(Value::Text(body)) = row.first() {
            bodies.insert(body.clone());
        }
        Ok(())
    })?;
    for body in &bodies {
        // A place for this body, whatever the year.
        #[allow(clippy::reversed_empty_ranges)]
        engine.make_room(body, 1..=0)?;
    }
    let mut done: Result<Counted, BackupFault> = Err(BackupFault::damaged(file, "nothing"));
    db::write(engine, |sql| {
        for table in tables() {
            let mut asked = table.first_key();
            asked.push(1_i64.into());
            // A new office has noted its rules' edition and nothing else.
            if table.name != "derived" && !sql.query(table.select, &asked)?.is_empty() {
                done = Err(BackupFault::NotEmpty(place.to_owned()));
                return Ok(());
            }
        }
        done = walk(file, |table, row| {
            sql.execute(table.insert, row)?;
            Ok(())
        });
        match &done {
            Ok(_) => Ok(()),
            // Rolls back whatever was written.
            Err(fault) => Err(DbFault::Unexpected(fault.to_string())),
        }
    })?;
    done
}

/// Every row of a backup, in its order.
fn walk(
    file: &Path,
    mut each: impl FnMut(&Table, &[Value]) -> Result<(), DbFault>,
) -> Result<Counted, BackupFault> {
    let damaged = |reason: String| BackupFault::damaged(file, reason);
    let mut from = Reader::open(file).map_err(BackupFault::file(file))?;
    match from.head().map_err(damaged)? {
        Head { format } if format > FORMAT => {
            return Err(BackupFault::TooNew {
                file: file.display().to_string(),
            });
        }
        Head { .. } => {}
    }
    let mut table: Option<&Table> = None;
    let (mut rows, mut in_table, mut tables_with_rows) = (0, 0_u64, 0);
    loop {
        match from.item().map_err(damaged)? {
            Item::Table(name) => {
                let known = tables().iter().find(|t| t.name == name);
                table = Some(known.ok_or_else(|| BackupFault::TooNew {
                    file: file.display().to_string(),
                })?);
                in_table = 0;
            }
            Item::Row(values) => {
                let table = table.ok_or_else(|| damaged("a row of no table".into()))?;
                if values.len() != table.columns() {
                    return Err(damaged(format!(
                        "a row of {} is of another make",
                        table.name
                    )));
                }
                each(table, &values)?;
                rows += 1;
                in_table += 1;
                if in_table == 1 {
                    tables_with_rows += 1;
                }
            }
            Item::End { rows: claimed } => {
                if claimed != rows {
                    return Err(damaged(format!("{rows} rows of {claimed}")));
                }
                return Ok(Counted {
                    rows,
                    tables: tables_with_rows,
                });
            }
        }
    }
}
