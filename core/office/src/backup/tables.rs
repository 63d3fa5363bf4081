//! The tables that a backup holds. A test holds this list against the database's own.

use std::sync::LazyLock;

use crate::db::Value;

/// A column of a key.
#[derive(Clone, Copy)]
pub(super) enum Key {
    Int,
    Text,
    Bytes,
}

/// A table, and the statements that read and write it.
pub(super) struct Table {
    pub name: &'static str,
    /// The columns of its primary key, which come first.
    pub keys: &'static [(&'static str, Key)],
    rest: &'static [&'static str],
    /// Rows after a key, `$1` to `$n`, at most `$n+1` of them.
    pub select: &'static str,
    /// One row, column by column.
    pub insert: &'static str,
}

impl Table {
    /// What stands before every key.
    pub fn first_key(&self) -> Vec<Value> {
        let least = |key: &Key| match key {
            Key::Int => Value::Int(i64::MIN),
            Key::Text => Value::Text(String::new()),
            Key::Bytes => Value::Bytes(Vec::new()),
        };
        self.keys.iter().map(|(_, key)| least(key)).collect()
    }

    /// How many columns it has.
    pub fn columns(&self) -> usize {
        self.keys.len() + self.rest.len()
    }
}

type Spec = (
    &'static str,
    &'static [(&'static str, Key)],
    &'static [&'static str],
);

use Key::{Bytes, Int, Text};

/// Every table but `logins`: whoever was signed in signs in again.
const SPECS: &[Spec] = &[
    (
        "frames",
        &[("body", Text), ("year", Int), ("id", Bytes)],
        &[
            "device_key",
            "journal",
            "from_seq",
            "to_seq",
            "state",
            "reason",
            "received_ms",
            "bytes",
            "log_index",
        ],
    ),
    (
        "journals",
        &[("body", Text), ("device_key", Bytes), ("journal", Bytes)],
        &["head_seq", "head_hash", "league", "session", "session_year"],
    ),
    (
        "people",
        &[
            ("body", Text),
            ("device_key", Bytes),
            ("journal", Bytes),
            ("person", Text),
        ],
        &["number", "key"],
    ),
    (
        "sessions",
        &[
            ("body", Text),
            ("year", Int),
            ("session", Bytes),
            ("device_key", Bytes),
            ("journal", Bytes),
        ],
        &[
            "league",
            "day",
            "offset_min",
            "venue",
            "begun_ms",
            "closed_ms",
            "not_seen",
        ],
    ),
    (
        "visits",
        &[
            ("body", Text),
            ("year", Int),
            ("session", Bytes),
            ("device_key", Bytes),
            ("journal", Bytes),
            ("visit", Int),
        ],
        &[
            "head",
            "stated_ms",
            "day",
            "dog",
            "chip",
            "measurers",
            "statement",
            "points",
            "weight",
            "dog_key",
        ],
    ),
    (
        "signatures",
        &[
            ("body", Text),
            ("year", Int),
            ("session", Bytes),
            ("device_key", Bytes),
            ("journal", Bytes),
            ("visit", Int),
            ("person", Text),
        ],
        &["number", "seq", "signed_ms", "signature"],
    ),
    (
        "signed_elsewhere",
        &[
            ("body", Text),
            ("session", Bytes),
            ("device_key", Bytes),
            ("journal", Bytes),
            ("visit", Int),
            ("seq", Int),
        ],
        &["person", "key"],
    ),
    ("derived", &[("body", Text)], &["edition"]),
    (
        "decisions",
        &[("body", Text), ("subject", Bytes), ("nth", Int)],
        &[
            "decided_ms",
            "account",
            "name",
            "verdict",
            "reason",
            "covers",
        ],
    ),
    (
        "accounts",
        &[("body", Text), ("account", Text)],
        &["name", "role", "password", "active", "misses", "missed_ms"],
    ),
    ("log_size", &[("body", Text)], &["size"]),
    (
        "log_nodes",
        &[("body", Text), ("level", Int), ("nth", Int)],
        &["hash"],
    ),
    (
        "looked",
        &[("body", Text), ("at_ms", Int), ("nth", Int)],
        &["account", "what", "which"],
    ),
    (
        "appeals",
        &[("body", Text), ("subject", Bytes), ("nth", Int)],
        &[
            "noted_ms",
            "account",
            "name",
            "kind",
            "raised_day",
            "words",
            "interim",
            "measurers",
            "outcome",
            "reason",
        ],
    ),
    (
        "hoop_checks",
        &[("body", Text), ("hoop", Text), ("nth", Int)],
        &["noted_ms", "account", "name", "checked"],
    ),
    (
        "practice",
        &[("body", Text), ("trainee", Text), ("id", Bytes)],
        &["trainer", "day", "signed_ms", "record", "signature"],
    ),
    (
        "packs",
        &[("body", Text), ("nth", Int)],
        &["from_day", "text", "published_ms", "account", "name"],
    ),
    (
        "key_notices",
        &[("body", Text), ("nth", Int)],
        &[
            "key", "person", "notice", "edition", "said_ms", "account", "name", "reason",
        ],
    ),
    (
        "phones",
        &[("body", Text), ("device_key", Bytes)],
        &["person", "label", "enrolled_ms", "account", "name"],
    ),
    (
        "enrol_codes",
        &[("body", Text), ("hash", Bytes)],
        &[
            "person",
            "label",
            "made_ms",
            "until_ms",
            "account",
            "name",
            "device_key",
        ],
    ),
    (
        "enrol_misses",
        &[("body", Text), ("minute", Int)],
        &["misses"],
    ),
    (
        "editions",
        &[("body", Text), ("number", Int)],
        &["digest", "roster", "made_ms"],
    ),
    (
        "incidents",
        &[
            ("body", Text),
            ("session", Bytes),
            ("device_key", Bytes),
            ("journal", Bytes),
            ("seq", Int),
        ],
        &["at_ms", "visit", "what", "whom", "words"],
    ),
    (
        "objections",
        &[
            ("body", Text),
            ("session", Bytes),
            ("device_key", Bytes),
            ("journal", Bytes),
            ("seq", Int),
        ],
        &[
            "at_ms",
            "visit",
            "words_id",
            "commitment",
            "salt",
            "words",
            "words_ms",
            "erased_ms",
        ],
    ),
];

static TABLES: LazyLock<Vec<Table>> = LazyLock::new(|| SPECS.iter().map(table).collect());

/// The tables, in the order of the file.
pub(super) fn tables() -> &'static [Table] {
    &TABLES
}

fn table(&(name, keys, rest): &Spec) -> Table {
    let key_names: Vec<_> = keys.iter().map(|(name, _)| *name).collect();
    let all = [&key_names[..], rest].concat();
    let numbers = |from: usize, count: usize| {
        let numbers: Vec<_> = (from..from + count).map(|n| format!("${n}")).collect();
        numbers.join(", ")
    };
    let (columns, key) = (all.join(", "), key_names.join(", "));
    let after = numbers(1, keys.len());
    let select = format!(
        "SELECT {columns} FROM {name} WHERE ({key}) > ({after}) ORDER BY {key} LIMIT ${}",
        keys.len() + 1
    );
    // An edition that a new office noted gives way to the backup's.
    let conflict = match name {
        "derived" => " ON CONFLICT (body) DO UPDATE SET edition = excluded.edition",
        _ => "",
    };
    let values = numbers(1, all.len());
    let insert = format!("INSERT INTO {name} ({columns}) VALUES ({values}){conflict}");
    Table {
        name,
        keys,
        rest,
        // Engines keep statements by reference; these are made once in a program's life.
        select: Box::leak(select.into_boxed_str()),
        insert: Box::leak(insert.into_boxed_str()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_and_column_is_in_the_backup() {
        let db = rusqlite::Connection::open_in_memory().expect("a database");
        for step in crate::db::SQLITE_MIGRATIONS {
            db.execute_batch(step).expect("the step is taken");
        }
        let mut tables: Vec<String> = db
            .prepare("SELECT name FROM sqlite_schema WHERE type = 'table'")
            .expect("asked")
            .query_map([], |row| row.get(0))
            .expect("asked")
            .collect::<Result<_, _>>()
            .expect("names");
        tables.retain(|t| t != "logins");
        tables.sort();
        let mut ours: Vec<_> = SPECS.iter().map(|(name, ..)| (*name).to_owned()).collect();
        ours.sort();
        assert_eq!(ours, tables);
        for (name, keys, rest) in SPECS {
            let mut found: Vec<String> = db
                .prepare(&format!("SELECT name FROM pragma_table_info('{name}')"))
                .expect("asked")
                .query_map([], |row| row.get(0))
                .expect("asked")
                .collect::<Result<_, _>>()
                .expect("names");
            let mut ours: Vec<String> = keys.iter().map(|(n, _)| (*n).to_owned()).collect();
            ours.extend(rest.iter().map(|n| (*n).to_owned()));
            found.sort();
            ours.sort();
            assert_eq!(ours, found, "{name}");
        }
    }
}
