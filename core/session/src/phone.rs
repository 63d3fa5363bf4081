//! The phone: one journal, one state, one act at a time.

use std::path::Path;
use std::sync::Arc;

use standsquare_journal::store::{Journal, Opening};

use crate::act::{Act, ReaderLink, Stamp};
use crate::decide::{Context, decide};
use crate::fault::PhoneFault;
use crate::files;
use crate::random::Source;
use crate::reader::Reader;
use crate::roster::Loaded;
use crate::show::Glass;
use crate::state::State;
use crate::view::{Answer, Notice, View};

/// What this software calls itself in the journals it begins.
pub const SOFTWARE: &str = concat!("standsquare ", env!("CARGO_PKG_VERSION"));

/// File name of the journal in the phone's folder.
pub const JOURNAL_FILE: &str = "journal.sqlite";

/// The phone.
pub struct Phone {
    journal: Journal,
    state: State,
    reader: Reader,
    notice: Option<Notice>,
    device_secret: [u8; 32],
    now_ms: i64,
}

impl Phone {
    /// Opens the folder `dir`, or makes it. `device_secret` is 32 bytes that the
    /// platform keeps (its key store; on a desktop a file with mode 0600).
    ///
    /// # Errors
    /// See [`PhoneFault`]: each tells what can be done.
    pub fn open(dir: &Path, device_secret: [u8; 32], stamp: &Stamp) -> Result<Phone, PhoneFault> {
        let mut random = Source::new(&stamp.entropy);
        let journal = Journal::open(
            &dir.join(JOURNAL_FILE),
            Opening {
                device_secret,
                at_ms: stamp.at_ms,
                entropy: random.bytes(),
                software: SOFTWARE,
            },
        )?;
        let state = State::new(journal.device_key(), journal.journal_id());
        let mut phone = Phone {
            journal,
            state,
            reader: Reader::default(),
            notice: None,
            device_secret,
            now_ms: stamp.at_ms,
        };
        phone.catch_up()?;
        Ok(phone)
    }

    /// Takes in every event that the state does not know yet.
    fn catch_up(&mut self) -> Result<(), PhoneFault> {
        let journal = &self.journal;
        let mut known: Vec<Arc<Loaded>> = Vec::new();
        let held = self.state.roster.clone();
        let mut find = |hash: &[u8; 32]| -> Option<Arc<Loaded>> {
            if let Some(found) = known.iter().chain(&held).find(|l| l.hash == *hash) {
                return Some(found.clone());
            }
            let bytes = journal.blob(hash).ok().flatten()?;
            let loaded = Arc::new(Loaded::again(*hash, &bytes).ok()?);
            known.push(loaded.clone());
            Some(loaded)
        };
        for event in journal.events_from(self.state.seq + 1)? {
            self.state.absorb(
                event.seq,
                event.at_ms,
                event.hash,
                &event.bytes,
                &event.fact,
                &mut find,
            );
        }
        Ok(())
    }

    /// Does one act and answers with what to show and what to do.
    ///
    /// `seen` is the revision of the view that the act was made on: a second tap
    /// on a button that has already done its work changes nothing. Acts of the
    /// world (the reader, time, the office) are taken whatever was on the screen.
    ///
    /// # Errors
    /// Only where the record itself cannot be written or read; then nothing of
    /// the act is there, and everything answered before it is.
    pub fn apply(&mut self, act: &Act, seen: i64, stamp: &Stamp) -> Result<Answer, PhoneFault> {
        self.now_ms = stamp.at_ms;
        if !act.is_of_the_world() && seen != self.state.seq as i64 {
            return Ok(Answer {
                view: self.view(),
                effects: Vec::new(),
            });
        }
        let mut context = Context {
            state: &self.state,
            journal: &self.journal,
            reader: &mut self.reader,
            stamp,
            random: Source::new(&stamp.entropy),
            device_secret: &self.device_secret,
        };
        let outcome = decide(&mut context, act);
        let wrote = !outcome.items.is_empty();
        if wrote {
            self.journal.commit(stamp.at_ms, outcome.items)?;
            self.catch_up()?;
        }
        let back = matches!(
            act,
            Act::ReaderLink {
                link: ReaderLink::Connected,
                ..
            }
        );
        if back
            && self
                .notice
                .as_ref()
                .is_some_and(|n| n.text.key == "notice.reader_gone")
        {
            self.notice = None;
        }
        // A notice stays until something else happens: time and stray bytes do not wipe it.
        if outcome.notice.is_some() || wrote || !act.is_of_the_world() {
            self.notice = outcome.notice;
        }
        Ok(Answer {
            view: self.view(),
            effects: outcome.effects,
        })
    }

    /// What to show now.
    pub fn view(&self) -> View {
        let glass = Glass {
            state: &self.state,
            journal: &self.journal,
            reader: &self.reader,
            now_ms: self.now_ms,
        };
        glass.view(self.notice.clone())
    }

    /// `session.json` of the session under way, or of the last one left; empty
    /// where there has been none.
    pub fn session_json(&self) -> String {
        self.state
            .latest()
            .map(files::session_json)
            .unwrap_or_default()
    }

    /// `return.csv` of the same session.
    pub fn return_csv(&self) -> String {
        self.state
            .latest()
            .map(files::return_csv)
            .unwrap_or_default()
    }

    /// Writes a whole copy of the journal to `path`, which must not exist.
    ///
    /// # Errors
    /// As for any write.
    pub fn export_journal(&self, path: &Path) -> Result<(), PhoneFault> {
        Ok(self.journal.export_to(path)?)
    }

    /// The journal, for tests and tools.
    pub fn journal(&self) -> &Journal {
        &self.journal
    }

    /// The state, for tests and tools.
    pub fn state(&self) -> &State {
        &self.state
    }
}
