//! What the state comes to between two sessions, small enough to be kept: opening the app
//! then reads this and the newest session, not every session there ever was. It is never
//! the record: thrown away, it is worked out of the events again, with the same result.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::{Enrolled, Misses, Practice, Readers, Runs, Said, Sat, Session, State};
use crate::days;
use crate::map::{Map, map_of};
use crate::roster::Loaded;

/// Names how it was worked out. A change to anything below, or to what events mean to it,
/// needs the next number; what another number kept is then thrown away.
pub const EDITION: &str = "session/7";

/// A session that was left, as far as it is still shown.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Left {
    /// Its random id.
    #[serde(with = "hex::serde")]
    pub id: [u8; 16],
    /// Its day, days since 1970-01-01 in its own time.
    pub day: i32,
    /// Number of the event that began it.
    pub from_seq: u64,
    /// Where.
    pub venue: Option<String>,
    /// Dogs signed for.
    pub dogs: u32,
    /// For each of those that were not in the office's log then, the run it is in;
    /// `None` if it was in none.
    pub runs: Vec<Option<usize>>,
    /// What it came to for those who sat in it.
    pub sat: Sat,
}

impl Left {
    /// Of a session, by what the office holds so far.
    pub(super) fn of(session: &Session, runs: &Runs) -> Self {
        let signed = || session.visits.iter().filter(|v| v.is_signed());
        Left {
            id: session.id,
            day: days::number(session.day),
            from_seq: session.from_seq,
            venue: session.venue.clone(),
            dogs: signed().count() as u32,
            sat: Sat::of(session),
            runs: signed()
                .map(|v| v.run)
                .filter(|run| !runs.in_log(*run))
                .collect(),
        }
    }
}

#[derive(Serialize, Deserialize)]
struct Rest {
    roster: Option<Hex<32>>,
    keys: Vec<(String, Hex<32>)>,
    #[serde(with = "crate::map")]
    misses: Map<String, Misses>,
    notices: Vec<String>,
    rosters: Vec<(Hex<32>, i32)>,
    readers: Readers,
    practice: Practice,
    earlier: Vec<Left>,
    runs: Runs,
    checkpoint: Option<String>,
    clock_ahead_ms: i64,
    acknowledged_ms: Option<i64>,
    enrolled: Option<Enrolled>,
    copied_seq: u64,
    said: Vec<Said>,
    open_run_from: u64,
}

#[derive(Serialize, Deserialize)]
#[serde(transparent)]
struct Hex<const N: usize>(#[serde(with = "hex::serde")] [u8; N])
where
    [u8; N]: hex::FromHex,
    <[u8; N] as hex::FromHex>::Error: std::fmt::Display;

impl State {
    /// The state as it would stand if a session began now; `None` while one is under way.
    pub fn rest(&self) -> Option<Vec<u8>> {
        if self.session.is_some() {
            return None;
        }
        let last = self.last.iter().map(|s| Left::of(s, &self.runs));
        let rest = Rest {
            roster: self.roster.as_ref().map(|l| Hex(l.hash)),
            keys: self
                .keys
                .iter()
                .map(|(p, key)| (p.clone(), Hex(*key)))
                .collect(),
            misses: self.misses.clone(),
            notices: self.notices.clone(),
            rosters: self
                .rosters
                .iter()
                .map(|(hash, day)| (Hex(*hash), *day))
                .collect(),
            readers: self.readers.clone(),
            practice: self.practice.clone(),
            earlier: self.earlier.iter().cloned().chain(last).collect(),
            runs: self.runs.clone(),
            checkpoint: self.checkpoint.clone(),
            clock_ahead_ms: self.clock_ahead_ms,
            acknowledged_ms: self.acknowledged_ms,
            enrolled: self.enrolled.clone(),
            copied_seq: self.copied_seq,
            said: self.said.clone(),
            open_run_from: self.open_run_from,
        };
        serde_json::to_vec(&rest).ok()
    }

    /// Takes up what [`State::rest`] gave up to event number `seq`. `roster` finds a roster
    /// by its hash, and `open_run` gives the bytes of the events from a number up to `seq`.
    /// `None` if it does not read: then everything is worked out anew.
    pub fn resume(
        device: ([u8; 32], [u8; 16]),
        seq: u64,
        rest: &[u8],
        roster: &mut dyn FnMut(&[u8; 32]) -> Option<Arc<Loaded>>,
        open_run: &dyn Fn(u64) -> Option<Vec<Vec<u8>>>,
    ) -> Option<State> {
        let rest: Rest = serde_json::from_slice(rest).ok()?;
        let loaded = match rest.roster {
            Some(hash) => Some(roster(&hash.0)?),
            None => None,
        };
        let mut keys = Map::new_vec();
        for (person, key) in rest.keys {
            keys.insert(person, key.0);
        }
        let mut state = State {
            seq,
            revision: seq,
            roster: loaded,
            keys,
            misses: rest.misses,
            rosters: map_of(rest.rosters.into_iter().map(|(h, day)| (h.0, day))),
            readers: rest.readers,
            practice: rest.practice,
            session: None,
            last: None,
            earlier: rest.earlier,
            runs: rest.runs,
            checkpoint: rest.checkpoint,
            clock_ahead_ms: rest.clock_ahead_ms,
            acknowledged_ms: rest.acknowledged_ms,
            enrolled: rest.enrolled,
            copied_seq: rest.copied_seq,
            said: rest.said,
            open_run: open_run(rest.open_run_from)?,
            open_run_from: rest.open_run_from,
            device,
            ..State::default()
        };
        for text in rest.notices {
            state.noticed(text);
        }
        Some(state)
    }
}
