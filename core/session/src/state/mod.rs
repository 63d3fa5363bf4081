//! What the facts of a journal come to: the state of the phone, worked out by
//! reading them in order. Nothing here decides; it only remembers.

mod enrolled;
mod heard;
mod moved;
mod past;
mod practice;
pub(crate) mod put;
mod readers;
mod reads;
mod rest;
mod runs;
mod said;
mod session;
mod visit;

pub use enrolled::Enrolled;
pub(crate) use heard::plain_number;
pub use heard::{Elsewhere, HeardList};
pub use moved::{MoveTo, Moving};
pub use past::Past;
pub use practice::{Drilled, Drilling, Page, Practice, Sat, Sitting, Watched};
pub use readers::{ChosenReader, PairedReader, Readers};
pub use rest::{EDITION, Left};
pub use runs::{Runs, SealedRun};
pub use said::Said;
pub(crate) use session::describe;
pub use session::{Closing, Happened, OpenList, Session};
pub use visit::{Correcting, Settles, Step, Visit};

use self::put::put;
use crate::map::Map;
use crate::roster::Loaded;
use std::sync::Arc;

use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::notice::{KeyRing, Notice};
use standsquare_sync::beside::Told;
use standsquare_sync::frame_id;
use standsquare_sync::log::{Checkpoint, origin};

/// Where wrong PINs stand for one person.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Misses {
    /// Wrong PINs in a row.
    pub count: u32,
    /// When the last one was, Unix milliseconds.
    pub last_ms: i64,
}

put!(Misses { count, last_ms });

/// The state of the phone.
#[derive(Debug, Default)]
pub struct State {
    /// Number of the newest event; 0 for an empty journal.
    pub seq: u64,
    /// Number of the newest event that a person or their reader made: what the office says
    /// meanwhile takes no tap away.
    pub revision: u64,
    /// The roster in use.
    pub roster: Option<Arc<Loaded>>,
    /// Measurers' public keys made on this phone.
    pub keys: Map<String, [u8; 32]>,
    /// What the office said of measurers' keys.
    pub ring: KeyRing,
    /// The texts in which it said so.
    pub notices: Vec<String>,
    /// Rosters taken in, by their hash: the last day on which each was taken or worked by,
    /// days since 1970-01-01.
    pub rosters: Map<[u8; 32], i32>,
    /// Chip readers.
    pub readers: Readers,
    /// Drills, own figures, and the page that is open beside the day's work.
    pub practice: Practice,
    /// Whose own phone this is.
    pub owner: Option<String>,
    /// Wrong PINs.
    pub misses: Map<String, Misses>,
    /// Those that the newest signature forgave.
    forgiven: Option<(String, Misses)>,
    /// The session under way or closed and not yet left.
    pub session: Option<Session>,
    /// The session that was left last, until the next one begins.
    pub last: Option<Session>,
    /// Sessions that were left before it, oldest first.
    pub earlier: Vec<Left>,
    /// Finished runs.
    pub runs: Runs,
    /// How far this phone's clock was found ahead of the office's, milliseconds; negative
    /// where it is behind, 0 where it is not known to be wrong.
    pub clock_ahead_ms: i64,
    /// The newest checkpoint of the office's log that was believed.
    checkpoint: Option<String>,
    /// Number of the newest event that was given to another phone as a signed copy; 0 for
    /// none.
    pub copied_seq: u64,
    /// The same of what another phone said that it has by reading codes.
    pub copied_in_codes: u64,
    /// The office that enrolled this phone.
    pub enrolled: Option<Enrolled>,
    /// When the office last said that it holds something, Unix milliseconds.
    pub acknowledged_ms: Option<i64>,
    /// Handlers' objections whose words are still kept here.
    pub said: Vec<Said>,
    open_run: Vec<Vec<u8>>,
    open_run_from: u64,
    device: ([u8; 32], [u8; 16]),
}

put!(State {
    seq,
    revision,
    roster,
    keys,
    ring,
    notices,
    rosters,
    readers,
    practice,
    owner,
    misses,
    forgiven,
    session,
    last,
    earlier,
    runs,
    clock_ahead_ms,
    checkpoint,
    copied_seq,
    copied_in_codes,
    enrolled,
    acknowledged_ms,
    said,
    open_run,
    open_run_from,
    device,
});

impl State {
    /// An empty state of the journal with this device key and id.
    pub fn new(device_key: [u8; 32], journal: [u8; 16]) -> Self {
        State {
            device: (device_key, journal),
            open_run_from: 1,
            ..State::default()
        }
    }

    /// This phone's public key.
    pub fn device_key(&self) -> [u8; 32] {
        self.device.0
    }

    /// Takes in the next event. `hash` is the chain's head after it, `bytes` its
    /// own bytes, and `past` finds what is not remembered.
    pub fn absorb(
        &mut self,
        seq: u64,
        at_ms: i64,
        hash: [u8; 32],
        bytes: &[u8],
        fact: &Fact,
        past: &mut dyn Past,
    ) {
        self.seq = seq;
        self.open_run.push(bytes.to_vec());
        if !matches!(
            fact,
            Fact::Acknowledged { .. }
                | Fact::Logged { .. }
                | Fact::ClockDiffers { .. }
                | Fact::EditionTaken { .. }
                | Fact::BesideTold { .. }
        ) {
            self.revision = seq;
        }
        if let Some(person) = fact.key_opened_by() {
            self.forgive(person);
        }
        match fact {
            Fact::RosterTaken { roster: hash, .. } => {
                self.roster = past.roster(hash);
                let day = crate::days::number(crate::days::of_moment(at_ms, 0));
                self.roster_used(**hash, day);
            }
            Fact::KeyMade { person, key, .. } => {
                self.keys.insert(person.clone(), **key);
            }
            Fact::KeyNoticed { notice } => self.noticed(notice.clone()),
            Fact::PhoneOwner { person, on } => self.owner = on.then(|| person.clone()),
            // Biometrics say nothing of who tried PINs.
            Fact::OpenedByOwner { .. } => {
                if let Some((person, misses)) = self.forgiven.take() {
                    self.misses.insert(person, misses);
                }
            }
            Fact::PinRefused { person } => {
                let misses = self.misses.entry(person.clone()).or_default();
                misses.count += 1;
                misses.last_ms = at_ms;
            }
            Fact::ReadersOpened { open } => self.readers.opened(*open),
            Fact::ReaderChosen {
                reader,
                name,
                carrier,
            } => self.readers.choose(reader, name, *carrier),
            Fact::ReaderPaired {
                reader,
                name,
                carrier,
                profile,
                ..
            } => self.readers.pair(reader, name, *carrier, profile, at_ms),
            Fact::SessionBegun {
                session,
                roster: hash,
                offset_min,
                day,
                ..
            } => {
                if let Some(last) = self.last.take() {
                    self.earlier.push(Left::of(&last, &self.runs));
                }
                self.roster_used(**hash, *day);
                let loaded = past.roster(hash).or_else(|| self.roster.clone());
                if let Some(loaded) = loaded {
                    self.session = Some(Session::begin(**session, loaded, *offset_min, *day, seq));
                }
            }
            Fact::SessionLeft {} => {
                if let Some(session) = self.session.take() {
                    self.last = Some(session);
                }
            }
            Fact::SessionTakenUp { session, .. } => {
                if self.last.as_ref().is_some_and(|s| s.id == **session) {
                    self.session = self.last.take();
                }
            }
            Fact::Acknowledged { frames, .. } => {
                self.runs.acknowledged(frames.iter().map(|f| **f));
                for said in &mut self.said {
                    said.held |= frames.iter().any(|f| **f == said.commitment);
                }
                self.acknowledged_ms = Some(at_ms);
            }
            Fact::Logged { frames, checkpoint } => {
                self.runs.logged(frames.iter().map(|f| **f), past);
                self.checkpoint = Some(checkpoint.clone());
            }
            Fact::PersonalErased { subjects, .. } => {
                let gone = |said: &Said| subjects.iter().any(|id| **id == said.words);
                self.said.retain(|said| !gone(said));
            }
            Fact::BesideTold { session, answer } => {
                let both = self.session.iter_mut().chain(&mut self.last);
                for one in both.filter(|s| s.id == **session) {
                    // It was checked before it was written.
                    one.told = Told::again(answer).ok();
                }
            }
            Fact::CopyGiven { to_seq, in_codes } => {
                self.copied_seq = *to_seq.max(&self.copied_seq);
                if *in_codes {
                    self.copied_in_codes = *to_seq;
                }
            }
            Fact::ClockDiffers { ahead_ms, .. } => self.clock_ahead_ms = *ahead_ms,
            Fact::Enrolled {
                body,
                address,
                office_key,
            } => {
                self.enrolled = Some(Enrolled {
                    body: body.clone(),
                    address: address.clone(),
                    office_key: **office_key,
                    edition: 0,
                    digest: [0; 32],
                });
            }
            Fact::EditionTaken { number, digest } => {
                if let Some(office) = &mut self.enrolled {
                    office.edition = *number;
                    office.digest = **digest;
                }
            }
            Fact::Sealed { .. } => self.end_run(seq),
            other
                if self
                    .practice
                    .absorb(at_ms, other, self.roster.as_ref().map(|l| &l.pack)) => {}
            other => {
                if let Some(session) = &mut self.session {
                    session.absorb(at_ms, hash, other);
                    if let Fact::Objected {
                        words, commitment, ..
                    } = other
                    {
                        self.said.push(Said {
                            words: **words,
                            commitment: **commitment,
                            seq,
                            roster: session.loaded.hash,
                            held: false,
                        });
                    }
                }
            }
        }
    }

    /// Objections' words that the office does not have and that can be sent: the run with
    /// their event is finished, so that the office can know of them.
    pub fn unsaid(&self) -> impl Iterator<Item = &Said> {
        let sealed = |said: &&Said| !said.held && said.seq < self.open_run_from;
        self.said.iter().filter(sealed)
    }

    /// Objections whose words the office does not have.
    pub fn words_waiting(&self) -> usize {
        self.said.iter().filter(|said| !said.held).count()
    }

    /// The right PIN: those before it count no more.
    fn forgive(&mut self, person: &str) {
        let misses = self.misses.remove(person);
        self.forgiven = misses.map(|m| (person.to_owned(), m));
    }

    fn noticed(&mut self, text: String) {
        if let Ok(notice) = Notice::read(&text) {
            self.ring.take(&notice);
            self.notices.push(text);
        }
    }

    fn roster_used(&mut self, hash: [u8; 32], day: i32) {
        let last = self.rosters.entry(hash).or_insert(day);
        *last = day.max(*last);
    }

    /// A seal ends a run: everything since the last seal becomes one frame.
    fn end_run(&mut self, seq: u64) {
        let events = std::mem::take(&mut self.open_run);
        let frame = standsquare_sync::Frame {
            device_key: self.device.0,
            journal: self.device.1,
            from_seq: self.open_run_from,
            events,
        };
        let number = self.runs.push(SealedRun {
            id: frame_id(&frame.encode()),
            from_seq: self.open_run_from,
            to_seq: seq,
        });
        if let Some(session) = &mut self.session {
            session.sealed_in(number);
        }
        self.open_run_from = seq + 1;
    }

    /// Runs that the office has not acknowledged, oldest first.
    pub fn unsent(&self) -> impl Iterator<Item = &SealedRun> {
        self.runs.unsent()
    }

    /// Whether the office holds the run with this number.
    pub fn office_holds(&self, run: Option<usize>) -> bool {
        self.runs.office_holds(run)
    }

    /// What the phone works by: the session's roster, or the one for the next.
    pub fn loaded(&self) -> Option<&Loaded> {
        self.session
            .as_ref()
            .map(|s| s.loaded.as_ref())
            .or(self.roster.as_deref())
    }

    /// The office's public key, if the roster gives a whole one.
    pub fn office_key(&self) -> Option<[u8; 32]> {
        self.loaded()?.office_key()
    }

    /// Whether this phone's record is another league's than the one with this id: sessions
    /// are in it, and an office takes in one unbroken record of its own league only.
    pub fn is_record_of_another(&self, league: &str) -> bool {
        let other = self.loaded().is_some_and(|l| l.roster.league.id != league);
        other && (self.session.is_some() || self.sessions_left().next().is_some())
    }

    /// The newest checkpoint of the office's log that was believed; none by another office.
    pub fn checkpoint(&self) -> Option<Checkpoint> {
        let loaded = self.loaded()?;
        let name = origin(&loaded.roster.league.id);
        Checkpoint::open(self.checkpoint.as_ref()?, &name, &loaded.office_key()?).ok()
    }

    /// Events since the last seal.
    pub fn unsealed(&self) -> usize {
        self.open_run.len()
    }

    /// Signed dogs of a session that the office does not have.
    pub fn dogs_not_at_office(&self, session: &Session) -> u32 {
        session
            .visits
            .iter()
            .filter(|v| v.is_signed() && !self.office_holds(v.run))
            .count() as u32
    }

    /// Signed dogs that the office does not have, of a session left earlier.
    pub fn left_waiting(&self, left: &Left) -> u32 {
        let waiting = left.runs.iter().filter(|run| !self.office_holds(**run));
        waiting.count() as u32
    }

    /// Signed dogs of every session that the office does not have.
    pub fn outbox(&self) -> u32 {
        let earlier: u32 = self.earlier.iter().map(|l| self.left_waiting(l)).sum();
        let whole = self.last.iter().chain(&self.session);
        earlier + whole.map(|s| self.dogs_not_at_office(s)).sum::<u32>()
    }

    /// Signed dogs of a session that are on this phone only: neither at the office nor in the
    /// newest copy.
    pub fn dogs_only_here(&self, session: &Session) -> u32 {
        let signed = session.visits.iter().filter(|v| v.is_signed());
        let only = signed.filter(|v| self.runs.waits_after(v.run, self.copied_seq));
        only.count() as u32
    }

    /// Signed dogs of a session that the office has and that are not proved to be in its log.
    pub fn dogs_at_office_only(&self, session: &Session) -> u32 {
        let signed = session.visits.iter().filter(|v| v.is_signed());
        signed.filter(|v| self.at_office_only(v.run)).count() as u32
    }

    fn at_office_only(&self, run: Option<usize>) -> bool {
        self.office_holds(run) && !self.runs.in_log(run)
    }

    /// Signed dogs of every session that the office has and that are not proved to be in
    /// its log.
    pub fn at_office(&self) -> u32 {
        let left = self.earlier.iter().flat_map(|l| &l.runs);
        let earlier = left.filter(|run| self.at_office_only(**run)).count() as u32;
        let whole = self.last.iter().chain(&self.session);
        earlier + whole.map(|s| self.dogs_at_office_only(s)).sum::<u32>()
    }

    /// Sessions that were left, newest first, as they are listed.
    pub fn sessions_left(&self) -> impl Iterator<Item = Left> {
        let last = self.last.iter().map(|s| Left::of(s, &self.runs));
        last.chain(self.earlier.iter().rev().cloned())
    }

    /// What every session came to for those who sat in it, oldest first, with its day.
    pub fn sittings(&self) -> Vec<(i32, Sat)> {
        let earlier = self.earlier.iter().map(|l| (l.day, l.sat.clone()));
        let whole = self.last.iter().chain(&self.session);
        let whole = whole.map(|s| (crate::days::number(s.day), Sat::of(s)));
        earlier.chain(whole).collect()
    }

    /// The session whose files are asked for: the one under way, or the last one left.
    pub fn latest(&self) -> Option<&Session> {
        self.session.as_ref().or(self.last.as_ref())
    }
}
