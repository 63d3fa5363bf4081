//! The state as it is kept: opening the app then reads this and what came after, not every
//! event there ever was. It is never the record: thrown away, it is worked out of the events
//! again, with the same result.

use std::sync::Arc;

use super::put::{In, Out, Put, items, put};
use super::{Runs, Sat, Session, State};
use crate::days;
use crate::roster::Loaded;

/// Names how it was worked out. A change to anything below, or to what events mean to it,
/// needs the next number; what another number kept is then thrown away.
pub const EDITION: &str = "session/14";

/// A session that was left, as far as it is still shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Left {
    /// Its random id.
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

put!(Left {
    id,
    day,
    from_seq,
    venue,
    dogs,
    runs,
    sat
});
items!(Left);

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

impl State {
    /// The state as bytes. What a roster says is in them, handlers' names are not: those are
    /// read where personal data is kept, each time.
    pub fn put_away(&self) -> Vec<u8> {
        let mut out = Out::default();
        self.put(&mut out);
        let mut whole = Out::default();
        out.rosters.len().put(&mut whole);
        for loaded in out.rosters {
            loaded.as_ref().put(&mut whole);
        }
        whole.bytes.extend(out.bytes);
        whole.bytes
    }

    /// The state that [`State::put_away`] gave of this journal; `None` if it does not read:
    /// then everything is worked out anew.
    pub fn take_up(device: ([u8; 32], [u8; 16]), bytes: &[u8]) -> Option<State> {
        let mut from = In {
            bytes,
            ..In::default()
        };
        for _ in 0..u64::take(&mut from) {
            let loaded = <Loaded as Put>::take(&mut from);
            from.rosters.push(Arc::new(loaded));
            if from.wrong {
                return None;
            }
        }
        let mut state = State::take(&mut from);
        for text in std::mem::take(&mut state.notices) {
            state.noticed(text);
        }
        let whole = !from.wrong && from.bytes.is_empty();
        (whole && state.device == device).then_some(state)
    }
}
