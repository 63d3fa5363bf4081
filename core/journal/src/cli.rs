//! `cargo xtask journal verify FILE`: whether a journal is whole, in words, and how the keys
//! that signed stood then.

mod words;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::path::Path;

use crate::record::elsewhere::Shown;
use crate::record::fact::{Fact, List, Statement};
use crate::record::notice::{KeyRing, Notice, Standing};
use crate::record::run::Run;
use crate::record::{ChainCheck, Event};
use crate::store::{Snapshot, StoreFault, Tally, each_event, each_text, sound, text};
use words::{hex, in_words, numbers, summary};

/// Tells in words whether a journal's file is whole, who signed what, and the first
/// event where it isn't. The second value is true where it is whole: every event follows
/// from the one before, every seal and sign-off holds, nothing that should be there is
/// missing. Events behind the last seal do not make it less whole; they are counted.
///
/// A copy is read: the file is not changed, and an app may have it open. No key is
/// needed.
pub fn verify_file(path: &Path) -> (String, bool) {
    verify_file_with(path, &Office::default())
}

/// What is known of the office, to judge the keys by that signed.
#[derive(Clone, Debug, Default)]
pub struct Office {
    /// Its public keys.
    pub keys: Vec<[u8; 32]>,
    /// What it said of measurers' keys (`record::notice`), a text each. Those that are kept
    /// in the journal's file are heard as well.
    pub notices: Vec<String>,
}

/// As [`verify_file`], and with an office's keys known, of each sign-off how the key that
/// made it stood at that moment. The second value is then true only where every one counts.
///
/// A file that is a copy which another phone gave (`record::run`) is verified too.
pub fn verify_file_with(path: &Path, office: &Office) -> (String, bool) {
    let mut heard = Heard::default();
    for text in &office.notices {
        heard.notice(text, office);
    }
    let result = read(path, &mut heard, office);
    let mut out = String::new();
    let mut good = result.is_ok();
    let _ = match result {
        Ok(()) => writeln!(out, "whole"),
        Err(reason) => writeln!(out, "NOT WHOLE: {reason}"),
    };
    if !office.keys.is_empty() {
        let bad = heard.judge();
        if bad > 0 {
            good = false;
            let _ = writeln!(
                out,
                "NOT ALL COUNTS: {bad} sign-offs by keys that did not count then"
            );
        }
    }
    heard.write(&mut out);
    (out, good)
}

fn read(path: &Path, heard: &mut Heard, office: &Office) -> Result<(), String> {
    if let Some(run) = copy_at(path) {
        return heard.copy(&run, office);
    }
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
        heard.noticed(&event, office);
        heard.hear(seq, event);
        Ok(())
    })
    .map_err(words)?;
    // Each carries the office's own signature: nothing else of the file has to hold for it.
    let _ = each_text(&db, |_, bytes| {
        if let Ok(text) = std::str::from_utf8(&bytes)
            && Notice::is_one(text)
        {
            heard.notice(text, office);
        }
        Ok(())
    });
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

/// A copy that another phone gave, if the file is one.
fn copy_at(path: &Path) -> Option<Run> {
    let bytes = std::fs::read(path).ok()?;
    Run::decode_strict(&bytes).ok()
}

/// A sign-off, to be judged once every notice was heard.
struct SignOff {
    /// Its place in the lines.
    line: usize,
    person: String,
    key: Option<[u8; 32]>,
    at_ms: i64,
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
    signed: Vec<SignOff>,
    /// Signatures under corrections that came from the signers' own phones.
    put_right: Vec<SignOff>,
    dogs: BTreeSet<(String, u32)>,
    /// The list that is being signed, and what was confirmed and is in none yet.
    list: Option<List>,
    confirmed: BTreeSet<(String, u32)>,
    ring: KeyRing,
    refused: Vec<String>,
}

impl Heard {
    /// Takes in what the office says of a key, if it is the office that says it.
    fn notice(&mut self, text: &str, office: &Office) {
        if office.keys.is_empty() {
            return;
        }
        match Notice::check(text, &office.keys) {
            Ok(notice) => self.ring.take(&notice),
            Err(fault) => self.refused.push(fault.to_string()),
        }
    }

    /// A notice that a phone took in is in its chain.
    fn noticed(&mut self, event: &Event, office: &Office) {
        if let Fact::KeyNoticed { notice } = &event.fact {
            self.notice(notice, office);
        }
    }

    fn copy(&mut self, run: &Run, office: &Office) -> Result<(), String> {
        if run.from_seq != 1 {
            return Err(format!(
                "it is a copy from event {} on: it can be verified only behind what came before",
                run.from_seq
            ));
        }
        for bytes in &run.events {
            let event = self.check.feed(bytes).map_err(|fault| fault.to_string())?;
            self.noticed(&event, office);
            self.hear(self.check.seq(), event);
        }
        if self.check.device_key() != Some(run.device_key) {
            return Err("it is of another phone than its first event says".into());
        }
        if self.check.sealed_up_to() != self.check.seq() {
            return Err("a copy must end with the phone's seal".into());
        }
        Ok(())
    }

    /// Says of each sign-off how its key stood; how many do not count.
    fn judge(&mut self) -> usize {
        let mut bad = 0;
        let mut judged = None;
        for signed in self.signed.iter().chain(&self.put_right) {
            let standing = match &signed.key {
                Some(key) => self.ring.standing(&signed.person, key, signed.at_ms),
                None => Standing::Unknown,
            };
            bad += usize::from(!standing.counts());
            let mark = if standing.counts() {
                ""
            } else {
                "DOES NOT COUNT: "
            };
            // A list is one line for all its dogs.
            if judged != Some(signed.line) {
                let _ = write!(self.lines[signed.line], "; {mark}{}", in_words(standing));
            }
            judged = Some(signed.line);
        }
        bad
    }

    fn hear(&mut self, seq: u64, event: Event) {
        let at_ms = event.at_ms;
        let line = match event.fact {
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
                self.sign_off(&person, visit, at_ms);
                let number = self.number_of(&person);
                let what = self.stated.get(&visit).map_or("", String::as_str);
                format!("{person} ({number}) signed dog {visit}: {what}")
            }
            Fact::SignedElsewhere {
                person,
                visit,
                head,
                key,
                device_key,
                ..
            } => {
                let what = if visit == 0 {
                    self.list_signed(Some(*key), &person, at_ms)
                } else if self.check.is_correction(visit, &head) {
                    let signed = self.signature(Some(*key), &person, at_ms);
                    self.put_right.push(signed);
                    format!("signed a correction of dog {visit}")
                } else {
                    self.sign_off_by(Some(*key), &person, visit, at_ms);
                    let what = self.stated.get(&visit).map_or("", String::as_str);
                    format!("signed dog {visit}: {what}")
                };
                let number = self.number_of(&person);
                let phone = hex(&device_key[..8]);
                format!("{person} ({number}), on their own phone ({phone}…), {what}")
            }
            Fact::SignedForOther {
                person,
                statement,
                device_key,
                ..
            } => {
                let what = match Shown::decode_strict(&statement) {
                    Ok(Shown::Statement(statement)) => summary(&statement),
                    Ok(Shown::Correction(put)) => format!("a correction of dog {}", put.visit),
                    Ok(Shown::List(list)) => {
                        let dogs: Vec<u32> = list.of(&person).map(|dog| dog.visit).collect();
                        format!("the list: dogs {}", numbers(&dogs))
                    }
                    Err(_) => String::new(),
                };
                let phone = hex(&device_key[..8]);
                format!("{person} signed here for another phone ({phone}…): {what}")
            }
            Fact::Unlocked { person, .. } => format!("{person} opened their key"),
            Fact::PhoneOwner { person, on: true } => {
                format!("the phone is {person}'s own: its biometrics open their key too")
            }
            Fact::PhoneOwner { person, on: false } => {
                format!("the phone's biometrics open {person}'s key no more")
            }
            Fact::OpenedByOwner { person } => {
                format!("{person}'s key was opened for this by the phone's biometrics")
            }
            Fact::Locked {} => "the phone was handed on: keys closed".to_owned(),
            Fact::Confirmed { person, visit, .. } => {
                self.confirmed.insert(self.name_of(visit));
                let what = self.stated.get(&visit).map_or("", String::as_str);
                format!("{person} confirmed dog {visit}: {what}")
            }
            Fact::ListStated { list } => {
                self.list = List::decode_strict(&list).ok();
                return;
            }
            Fact::ListSigned { person, .. } => {
                let key = self.check.people().get(&person).copied();
                let what = self.list_signed(key, &person, at_ms);
                format!("{person} ({}) {what}", self.number_of(&person))
            }
            Fact::ListOnPaper { person, paper } => {
                format!("{person} signed the list on paper No. {paper}: not checked here")
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

    /// One person's signature under one dog, whose line is the next.
    fn sign_off(&mut self, person: &str, visit: u32, at_ms: i64) {
        let key = self.check.people().get(person).copied();
        self.sign_off_by(key, person, visit, at_ms);
    }

    fn sign_off_by(&mut self, key: Option<[u8; 32]>, person: &str, visit: u32, at_ms: i64) {
        let signed = self.signature(key, person, at_ms);
        self.signed.push(signed);
        self.dogs.insert(self.name_of(visit));
    }

    /// One person's signature, whose line is the next.
    fn signature(&self, key: Option<[u8; 32]>, person: &str, at_ms: i64) -> SignOff {
        SignOff {
            line: self.lines.len(),
            key,
            person: person.to_owned(),
            at_ms,
        }
    }

    /// One person's signature under the list, which is one under each dog of theirs on it.
    fn list_signed(&mut self, key: Option<[u8; 32]>, person: &str, at_ms: i64) -> String {
        let list = self.list.iter().flat_map(|list| list.of(person));
        let dogs: Vec<u32> = list.map(|dog| dog.visit).collect();
        for visit in &dogs {
            self.sign_off_by(key, person, *visit, at_ms);
            self.confirmed.remove(&self.name_of(*visit));
        }
        format!("signed the list: dogs {}", numbers(&dogs))
    }

    fn name_of(&self, visit: u32) -> (String, u32) {
        (self.session.clone().unwrap_or_default(), visit)
    }

    fn number_of(&self, person: &str) -> &str {
        self.numbers.get(person).map_or("no number", String::as_str)
    }

    fn write(&self, out: &mut String) {
        let (events, sealed) = (self.check.seq(), self.check.sealed_up_to());
        let _ = writeln!(
            out,
            "{events} events follow each one from the one before; {} sign-offs under {} dogs hold",
            self.signed.len(),
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
        let unsigned: Vec<u32> = self.confirmed.iter().map(|(_, visit)| *visit).collect();
        if !unsigned.is_empty() {
            let _ = writeln!(
                out,
                "NO SIGNATURE yet, confirmed only: dogs {}",
                numbers(&unsigned)
            );
        }
        for reason in &self.refused {
            let _ = writeln!(out, "a notice of a key is not believed: {reason}");
        }
        for line in &self.lines {
            let _ = writeln!(out, "{line}");
        }
    }
}
