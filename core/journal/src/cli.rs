//! `cargo xtask journal verify FILE`: whether a journal is whole, in words.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;

use rusqlite::{Connection, OpenFlags};

use crate::record::ChainCheck;
use crate::record::fact::{Fact, Outcome, Statement};

/// Reads a copy of the file and tells in words whether it is whole, who signed
/// what, and the first event where it isn't. The second value is true where every
/// event follows and everything is sealed or named as unsealed.
pub fn verify_file(path: &Path) -> (String, bool) {
    let mut out = String::new();
    match read(path, &mut out) {
        Ok(()) => (out, true),
        Err(reason) => {
            let _ = writeln!(out, "NOT WHOLE: {reason}");
            (out, false)
        }
    }
}

fn read(path: &Path, out: &mut String) -> Result<(), String> {
    // A copy, so that a journal in use is neither held up nor changed.
    let copy = std::env::temp_dir().join(format!("standsquare-verify-{}", std::process::id()));
    std::fs::create_dir_all(&copy).map_err(|e| e.to_string())?;
    let result = read_copy(path, &copy, out);
    let _ = std::fs::remove_dir_all(&copy);
    result
}

fn read_copy(path: &Path, folder: &Path, out: &mut String) -> Result<(), String> {
    let text = |e: rusqlite::Error| e.to_string();
    let to = folder.join("journal.sqlite");
    std::fs::copy(path, &to).map_err(|e| format!("{}: {e}", path.display()))?;
    let mut wal = path.as_os_str().to_owned();
    wal.push("-wal");
    if Path::new(&wal).exists() {
        std::fs::copy(&wal, folder.join("journal.sqlite-wal")).map_err(|e| e.to_string())?;
    }
    let db = Connection::open_with_flags(&to, OpenFlags::SQLITE_OPEN_READ_WRITE).map_err(text)?;
    let mut rows = db
        .prepare("SELECT seq, bytes FROM event ORDER BY seq")
        .map_err(text)?;
    let mut rows = rows.query([]).map_err(text)?;
    let mut check = ChainCheck::new();
    let mut says = Says::default();
    while let Some(row) = rows.next().map_err(text)? {
        let seq: i64 = row.get(0).map_err(text)?;
        if seq.unsigned_abs() != check.seq() + 1 {
            return Err(format!("event {} is missing", check.seq() + 1));
        }
        let bytes: Vec<u8> = row.get(1).map_err(text)?;
        let event = check.feed(&bytes).map_err(|f| f.to_string())?;
        says.hear(seq, &event.fact, out);
    }
    if check.seq() == 0 {
        return Err("it holds no event".into());
    }
    let _ = writeln!(
        out,
        "whole: {} events, every one follows from the one before it",
        check.seq()
    );
    let open = check.seq() - check.sealed_up_to();
    let _ = match open {
        0 => writeln!(out, "sealed by the device up to the last event"),
        n => writeln!(
            out,
            "sealed by the device up to event {}; the {n} after it could still be rewritten",
            check.sealed_up_to()
        ),
    };
    Ok(())
}

/// What has been heard of people and dogs while reading.
#[derive(Default)]
struct Says {
    numbers: BTreeMap<String, String>,
    stated: Option<Statement>,
}

impl Says {
    fn hear(&mut self, seq: i64, fact: &Fact, out: &mut String) {
        let _ = match fact {
            Fact::JournalBegun {
                device_key,
                software,
                ..
            } => {
                let key: String = device_key[..8].iter().map(|b| format!("{b:02x}")).collect();
                writeln!(out, "event {seq}: begun by {software}, device key {key}…")
            }
            Fact::Seated { person, number } => {
                self.numbers.insert(person.clone(), number.clone());
                Ok(())
            }
            Fact::Stated { statement } => {
                self.stated = Statement::decode_strict(statement).ok();
                Ok(())
            }
            Fact::Signed { person, visit, .. } => {
                let number = self.numbers.get(person).map_or("", String::as_str);
                let what = self.stated.as_ref().map_or_else(String::new, |s| {
                    let outcome = match &s.outcome {
                        Outcome::Category { label, .. } => label.clone(),
                        Outcome::NotToday { reason } => format!("not today ({reason})"),
                        Outcome::Referred { reason } => format!("referred ({reason})"),
                    };
                    format!("{} {}: {outcome}", s.dog, s.chip)
                });
                writeln!(
                    out,
                    "event {seq}: dog {visit}, {what} — signed by {person} {number}"
                )
            }
            Fact::SessionClosed { .. } => writeln!(out, "event {seq}: session closed"),
            _ => Ok(()),
        };
    }
}
