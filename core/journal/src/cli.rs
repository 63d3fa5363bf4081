//! `cargo xtask journal verify FILE`: whether a journal is whole, in words.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::path::Path;

use crate::record::ChainCheck;
use crate::record::fact::{Fact, Outcome, Statement};
use crate::store::{Snapshot, StoreFault, Tally, each_event, sound, text};

/// Tells in words whether a journal's file is whole, who signed what, and the first
/// event where it isn't. The second value is true where it is whole: every event follows
/// from the one before, every seal and sign-off holds, nothing that should be there is
/// missing. Events behind the last seal do not make it less whole; they are counted.
///
/// A copy is read: the file is not changed, and an app may have it open. No key is
/// needed.
pub fn verify_file(path: &Path) -> (String, bool) {
    let mut heard = Heard::default();
    let result = read(path, &mut heard);
    let mut out = String::new();
    let whole = result.is_ok();
    let _ = match result {
        Ok(()) => writeln!(out, "whole"),
        Err(reason) => writeln!(out, "NOT WHOLE: {reason}"),
    };
    heard.write(&mut out);
    (out, whole)
}

fn read(path: &Path, heard: &mut Heard) -> Result<(), String> {
    // The words behind 'not whole' need no 'the journal is damaged' before them.
    let words = |fault: StoreFault| match fault {
        StoreFault::Damaged { reason } | StoreFault::Other { reason } => reason,
        other => other.to_string(),
    };
    let snapshot = Snapshot::take(path).map_err(words)?;
    if let Some(damage) = snapshot.damage_of_log() {
        return Err(damage.to_owned());
    }
    let db = snapshot.open().map_err(words)?;
    let tally = Tally::read(&db).map_err(words)?;
    each_event(&db, 0, u64::MAX, |(seq, hash, bytes)| {
        let next = heard.check.seq() + 1;
        if seq != next {
            return Err(StoreFault::damaged(format!("event {next} is missing")));
        }
        let event = heard
            .check
            .feed(&bytes)
            .map_err(|fault| StoreFault::damaged(fault.to_string()))?;
        if heard.check.head() != hash {
            return Err(StoreFault::damaged(format!(
                "event {seq} is not the one that its hash was made of"
            )));
        }
        heard.hear(seq, event.fact);
        Ok(())
    })
    .map_err(words)?;
    let Some(tally) = tally else {
        return Err("the file does not say what it holds".into());
    };
    let events = heard.check.seq();
    if (events, heard.check.head()) != (tally.head.seq, tally.head.hash) {
        return Err(format!(
            "{events} events can be read and {} should be there",
            tally.head.seq
        ));
    }
    for (event, hash) in &heard.texts {
        match text(&db, hash) {
            Ok(Some(_)) => {}
            Ok(None) => {
                return Err(format!(
                    "event {event} names a text that is not in the file"
                ));
            }
            Err(fault) => return Err(format!("event {event} names a text: {}", words(fault))),
        }
    }
    sound(&db).map_err(words)
}

/// What was heard of people and dogs while reading.
#[derive(Default)]
struct Heard {
    check: ChainCheck,
    numbers: BTreeMap<String, String>,
    stated: BTreeMap<u32, String>,
    texts: Vec<(u64, [u8; 32])>,
    session: Option<String>,
    lines: Vec<String>,
    signed: usize,
    dogs: BTreeSet<(String, u32)>,
}

impl Heard {
    fn hear(&mut self, seq: u64, fact: Fact) {
        let line = match fact {
            Fact::JournalBegun {
                device_key,
                software,
                ..
            } => format!("begun by {software}, device key {}…", hex(&device_key[..8])),
            Fact::RosterTaken { roster, pack, .. } => {
                self.texts.push((seq, *roster));
                self.texts.push((seq, *pack));
                return;
            }
            Fact::SessionBegun { session, .. } => {
                let name = hex(&session[..4]);
                self.session = Some(name.clone());
                self.stated.clear();
                format!("session {name}… begun")
            }
            Fact::Seated { person, number } => {
                self.numbers.insert(person, number);
                return;
            }
            Fact::KeyMade { person, key, .. } => {
                format!("{person} made a key, {}…", hex(&key[..8]))
            }
            Fact::Stated { statement } => {
                if let Ok(statement) = Statement::decode_strict(&statement) {
                    self.stated.insert(statement.visit, summary(&statement));
                }
                return;
            }
            Fact::Signed { person, visit, .. } => {
                self.signed += 1;
                let session = self.session.clone().unwrap_or_default();
                self.dogs.insert((session, visit));
                let number = self
                    .numbers
                    .get(&person)
                    .map_or("no number", String::as_str);
                let what = self.stated.get(&visit).map_or("", String::as_str);
                format!("{person} ({number}) signed dog {visit}: {what}")
            }
            Fact::Disagreed { person, visit } => {
                format!("{person} does not agree about dog {visit}")
            }
            Fact::CorrectionSigned { person, visit, .. } => {
                format!("{person} signed a correction of dog {visit}")
            }
            Fact::SignedOnPaper {
                person,
                visit,
                paper,
            } => format!("{person} signed dog {visit} on paper No. {paper}: not checked here"),
            Fact::SessionClosed { .. } => "session closed".to_owned(),
            Fact::Salvaged {
                set_aside, reason, ..
            } => format!("the file was damaged ({reason}); set aside as {set_aside}"),
            _ => return,
        };
        self.lines.push(format!("event {seq}: {line}"));
    }

    fn write(&self, out: &mut String) {
        let (events, sealed) = (self.check.seq(), self.check.sealed_up_to());
        let _ = writeln!(
            out,
            "{events} events follow each one from the one before; {} sign-offs under {} dogs hold",
            self.signed,
            self.dogs.len()
        );
        let _ = match events - sealed {
            0 if events == 0 => Ok(()),
            0 => writeln!(out, "sealed by the device up to the last event"),
            n if sealed == 0 => {
                writeln!(out, "not sealed: all {n} could still be rewritten unseen")
            }
            n => writeln!(
                out,
                "sealed by the device up to event {sealed}; the {n} after it could still be rewritten unseen"
            ),
        };
        for line in &self.lines {
            let _ = writeln!(out, "{line}");
        }
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

fn summary(s: &Statement) -> String {
    let outcome = match &s.outcome {
        Outcome::Category { label, .. } => label.clone(),
        Outcome::NotToday { reason } => format!("not today ({reason})"),
        Outcome::Referred { reason } => format!("referred ({reason})"),
    };
    let chip = match s.chip.as_str() {
        "" => "no chip in the record book",
        chip => chip,
    };
    format!("{}, {chip}, {outcome}", s.dog)
}
