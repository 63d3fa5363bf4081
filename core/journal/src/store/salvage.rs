//! A damaged file: set aside whole, and carried over up to the last good event.
//!
//! A note beside the journal says what is under way, so that a phone which dies in the
//! middle of it takes it up again: moved aside, carried over, told in the chain.

use std::fs;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, params};

use super::files::{BESIDE, folder_of, remove_database, rename, with, write};
use super::subjects::Subject;
use super::wal::Wal;
use super::whole::{Device, Row, Tally, each_event, each_text, sha256};
use super::{Head, StoreFault, WrappedKey, people, schema, subjects};
use crate::record::{ChainCheck, Hash, chain, genesis};

/// What became of a damaged file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SalvageReport {
    /// Where the damaged file lies now.
    pub set_aside: PathBuf,
    /// What was wrong.
    pub reason: String,
    /// Events carried over, from the first on without a gap; 0 where a new journal had
    /// to be begun.
    pub events: u64,
    /// Events known to be in the file set aside and not carried over.
    pub left_behind: u64,
    /// What else could not be carried over, in words.
    pub also: Vec<String>,
}

/// What is under way, as the note beside the journal says it.
pub(super) struct Note {
    at: PathBuf,
    aside: PathBuf,
    reason: String,
}

impl Note {
    fn path(journal: &Path) -> PathBuf {
        with(journal, ".salvage")
    }

    /// The note beside a journal, if there is one.
    pub(super) fn read(journal: &Path) -> Result<Option<Note>, StoreFault> {
        let at = Note::path(journal);
        let text = match fs::read(&at) {
            Ok(bytes) => String::from_utf8_lossy(&bytes).into_owned(),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(e) => return Err(e.into()),
        };
        let (suffix, reason) = text.split_once('\n').unwrap_or((&text, ""));
        Ok(Some(Note {
            at,
            aside: with(journal, suffix),
            reason: reason.to_owned(),
        }))
    }

    /// Notes that a damaged journal is about to be set aside.
    pub(super) fn begin(journal: &Path, reason: &str, at_ms: i64) -> Result<Note, StoreFault> {
        let suffix = free_suffix(journal, at_ms);
        let at = Note::path(journal);
        write(&at, format!("{suffix}\n{reason}").as_bytes())?;
        Ok(Note {
            at,
            aside: with(journal, &suffix),
            reason: reason.to_owned(),
        })
    }

    /// Everything is done and told.
    pub(super) fn done(self) -> Result<(), StoreFault> {
        Ok(fs::remove_file(self.at)?)
    }

    /// Name of the file set aside, without its folder.
    pub(super) fn name(&self) -> String {
        self.aside
            .file_name()
            .map(|n| n.to_string_lossy().into_owned())
            .unwrap_or_default()
    }

    /// What was found wrong.
    pub(super) fn reason(&self) -> &str {
        &self.reason
    }

    /// SHA-256 of the file set aside.
    pub(super) fn hash(&self) -> Result<Hash, StoreFault> {
        Ok(sha256(&fs::read(&self.aside)?))
    }

    /// Sets the file aside and puts a new one in its place, from wherever that stopped.
    pub(super) fn carry_on(&self, journal: &Path) -> Result<SalvageReport, StoreFault> {
        let in_place = self.aside.exists() && journal.exists();
        if !in_place {
            if !self.aside.exists() {
                if !journal.exists() {
                    // Its log alone was left.
                    write(journal, &[])?;
                }
                rename(journal, &self.aside)?;
            }
            for suffix in BESIDE {
                if with(journal, suffix).exists() {
                    rename(&with(journal, suffix), &with(&self.aside, suffix))?;
                }
            }
        }
        let (found, told) = Found::best(&self.aside, &with(journal, ".reading"))?;
        if !in_place {
            let draft = with(journal, ".draft");
            remove_database(&draft)?;
            if found.can_go_on() {
                found.write(&draft)?;
                rename(&draft, journal)?;
            }
        }
        Ok(SalvageReport {
            set_aside: self.aside.clone(),
            reason: self.reason.clone(),
            events: if found.can_go_on() {
                found.events.len() as u64
            } else {
                0
            },
            left_behind: found.left_behind(),
            also: told,
        })
    }
}

/// `.damaged-<moment>`, with a number behind it if that is taken.
fn free_suffix(journal: &Path, at_ms: i64) -> String {
    let mut suffix = format!(".damaged-{at_ms}");
    let mut number = 1;
    while with(journal, &suffix).exists() {
        number += 1;
        suffix = format!(".damaged-{at_ms}-{number}");
    }
    suffix
}

/// What can be read of a damaged file.
#[derive(Default)]
struct Found {
    events: Vec<Row>,
    head: Option<Head>,
    rows: u64,
    texts: Vec<(Hash, Vec<u8>)>,
    subjects: Vec<Subject>,
    people: Vec<WrappedKey>,
    device: Option<Device>,
    tally: Option<Tally>,
}

impl Found {
    /// Reads a copy, since looking at a damaged file must not change it: once as SQLite
    /// takes it, and once with every whole frame of its log put in place. Whichever
    /// gives more events is taken.
    fn best(aside: &Path, copy: &Path) -> Result<(Found, Vec<String>), StoreFault> {
        let database = fs::read(aside)?;
        let log = fs::read(with(aside, "-wal")).unwrap_or_default();
        let mut found = Found::of(copy, &database, &log)?;
        if let Some(wal) = Wal::read(&log) {
            let mut applied = database;
            wal.apply(&mut applied);
            let other = Found::of(copy, &applied, &[])?;
            if other.weight() > found.weight() {
                found = other;
            }
        }
        let told = found.missing();
        Ok((found, told))
    }

    fn of(copy: &Path, database: &[u8], log: &[u8]) -> Result<Found, StoreFault> {
        remove_database(copy)?;
        fs::write(copy, database)?;
        if !log.is_empty() {
            fs::write(with(copy, "-wal"), log)?;
        }
        let mut found = Found::default();
        // What cannot be read stays unread: each part by itself.
        if let Ok(db) = schema::connect(copy, false) {
            found.read(&db);
        }
        remove_database(copy)?;
        Ok(found)
    }

    fn read(&mut self, db: &Connection) {
        let _ = db.execute_batch(schema::SETTINGS_OF_A_READER);
        self.tally = Tally::read(db).ok().flatten();
        let mut rows = Vec::new();
        let _ = each_event(db, 0, u64::MAX, |row| {
            rows.push(row);
            Ok(())
        });
        self.rows = rows.len() as u64;
        self.keep_good(rows);
        let _ = each_text(db, |hash, bytes| {
            if sha256(&bytes) == hash {
                self.texts.push((hash, bytes));
            }
            Ok(())
        });
        let _ = subjects::all(db, |subject| {
            self.subjects.extend(subject.ok());
            Ok(())
        });
        let _ = people::all(db, |key| {
            self.people.extend(key.ok());
            Ok(())
        });
        self.device = Device::find(db).ok();
    }

    /// Keeps the events up to the last one that a hash on file vouches for. A hash
    /// vouches for all events before it, so that a hash which rotted by itself costs
    /// nothing as long as a later one holds.
    fn keep_good(&mut self, rows: Vec<Row>) {
        let says = self.tally.map(|t| t.head);
        let mut check = ChainCheck::new();
        let mut head = genesis();
        let mut good = 0;
        for (n, (seq, hash, bytes)) in rows.iter().enumerate() {
            if *seq != n as u64 + 1 || check.feed(bytes).is_err() {
                break;
            }
            head = chain(&head, bytes);
            let at = Head {
                seq: *seq,
                hash: head,
            };
            if *hash == head || says == Some(at) {
                good = n + 1;
                self.head = Some(at);
            }
        }
        self.events = rows;
        self.events.truncate(good);
    }

    fn can_go_on(&self) -> bool {
        !self.events.is_empty() && self.device.is_some()
    }

    fn weight(&self) -> (bool, usize, usize) {
        let beside = self.texts.len() + self.subjects.len() + self.people.len();
        (self.can_go_on(), self.events.len(), beside)
    }

    /// Events that are known to have been there and are not carried over.
    fn left_behind(&self) -> u64 {
        let known = self.tally.map_or(0, |t| t.head.seq).max(self.rows);
        // A number that rotted is no count of events.
        let known = if known > self.rows.saturating_mul(2).saturating_add(1_000) {
            self.rows
        } else {
            known
        };
        match self.can_go_on() {
            true => known.saturating_sub(self.events.len() as u64),
            false => known,
        }
    }

    fn missing(&self) -> Vec<String> {
        let Some(tally) = self.tally.filter(|_| self.can_go_on()) else {
            return Vec::new();
        };
        let of = |what: &str, had: i64, have: usize| {
            let gone = had.saturating_sub(have as i64);
            (gone > 0 && gone < 1_000_000).then(|| format!("{gone} {what}"))
        };
        [
            of("rosters or rule packs", tally.texts, self.texts.len()),
            of("handlers' details", tally.subjects, self.subjects.len()),
            of("measurers' keys", tally.people, self.people.len()),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    /// Writes it all into a new file, which is on the disk when this returns.
    fn write(&self, path: &Path) -> Result<(), StoreFault> {
        let (Some(device), Some(head)) = (&self.device, self.head) else {
            return Err(StoreFault::damaged("there is nothing to carry over"));
        };
        let mut db = schema::connect(path, true)?;
        schema::prepare(&db)?;
        schema::migrate(&mut db, |tx| {
            device.write(tx)?;
            // The hash as it follows, not as it may have rotted.
            let mut hash = genesis();
            for (seq, _, bytes) in &self.events {
                hash = chain(&hash, bytes);
                tx.execute(
                    "INSERT INTO event VALUES (?, ?, ?)",
                    params![seq.cast_signed(), hash, bytes],
                )?;
            }
            for (hash, bytes) in &self.texts {
                tx.execute("INSERT INTO text VALUES (?, ?)", params![hash, bytes])?;
            }
            for subject in &self.subjects {
                subjects::write(tx, subject)?;
            }
            for key in &self.people {
                people::write(tx, key)?;
            }
            Tally {
                head,
                texts: self.texts.len() as i64,
                subjects: self.subjects.len() as i64,
                people: self.people.len() as i64,
            }
            .write(tx)
        })?;
        // Closing moves the log into the file and removes it.
        db.close().map_err(|(_, fault)| fault)?;
        fs::File::open(path)?.sync_all()?;
        super::files::sync_folder(folder_of(path))?;
        Ok(())
    }
}
