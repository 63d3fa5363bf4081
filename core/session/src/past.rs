//! Sessions that were left, read again out of the journal, and a dog's measures in them.

use std::sync::Arc;

use standsquare_journal::record::fact::Fact;
use standsquare_journal::store::{Journal, StoreFault};
use standsquare_sync::roster::EarlierMeasure;
use standsquare_sync::{Frame, frame_id};

use crate::looking::{History, Known};
use crate::roster::Loaded;
use crate::state::{Past, SealedRun, Session, State};
use crate::view::Text;
use standsquare_measuring::dates::day;
use standsquare_measuring::order;

/// Events read at a time. Own choice, no source.
const AT_A_TIME: u64 = 2_048;

/// A roster that was taken in earlier.
pub fn roster(journal: &Journal, hash: &[u8; 32]) -> Option<Arc<Loaded>> {
    let bytes = journal.blob(hash).ok().flatten()?;
    Some(Arc::new(Loaded::again(*hash, &bytes).ok()?))
}

/// The journal, as far as the state asks it for what came before.
pub struct Behind<'a> {
    journal: &'a Journal,
    known: Vec<Arc<Loaded>>,
    /// Why something could not be read.
    pub fault: Option<StoreFault>,
}

impl<'a> Behind<'a> {
    /// Of this journal; `known` need not be read again.
    pub fn new(journal: &'a Journal, known: Vec<Arc<Loaded>>) -> Self {
        Behind {
            journal,
            known,
            fault: None,
        }
    }
}

impl Past for Behind<'_> {
    fn roster(&mut self, hash: &[u8; 32]) -> Option<Arc<Loaded>> {
        if let Some(found) = self.known.iter().find(|l| l.hash == *hash) {
            return Some(found.clone());
        }
        let loaded = roster(self.journal, hash)?;
        self.known.push(loaded.clone());
        Some(loaded)
    }

    fn runs(&mut self, from_seq: u64, most: usize) -> Vec<SealedRun> {
        let mut runs = Vec::new();
        match find_runs(self.journal, from_seq, most, &mut runs) {
            Ok(()) => runs,
            Err(fault) => {
                self.fault = Some(fault);
                Vec::new()
            }
        }
    }
}

/// The finished runs from this event on, at most so many.
fn find_runs(
    journal: &Journal,
    mut from_seq: u64,
    most: usize,
    runs: &mut Vec<SealedRun>,
) -> Result<(), StoreFault> {
    let mut open = Vec::new();
    let mut next = from_seq;
    while runs.len() < most {
        let events = journal.events_between(next, next + AT_A_TIME - 1)?;
        let Some(last) = events.last() else { break };
        next = last.seq + 1;
        for event in events {
            open.push(event.bytes);
            if !matches!(event.fact, Fact::Sealed { .. }) || runs.len() == most {
                continue;
            }
            let frame = Frame {
                device_key: journal.device_key(),
                journal: journal.journal_id(),
                from_seq,
                events: std::mem::take(&mut open),
            };
            runs.push(SealedRun {
                id: frame_id(&frame.encode()),
                from_seq,
                to_seq: event.seq,
            });
            from_seq = event.seq + 1;
        }
    }
    Ok(())
}

/// The session that was begun with this event.
fn again(
    state: &State,
    journal: &Journal,
    from: u64,
    known: &mut Vec<Arc<Loaded>>,
) -> Result<Option<Session>, StoreFault> {
    let mut session: Option<Session> = None;
    // Left, and not taken up again: what comes is of no session.
    let mut left = false;
    let mut next = from;
    loop {
        let events = journal.events_between(next, next + AT_A_TIME - 1)?;
        let Some(last) = events.last() else {
            return Ok(session);
        };
        next = last.seq + 1;
        for event in &events {
            match (&event.fact, &mut session) {
                (
                    Fact::SessionBegun {
                        session: id,
                        roster: hash,
                        offset_min,
                        day,
                        ..
                    },
                    None,
                ) => {
                    let held = known.iter().find(|l| l.hash == **hash).cloned();
                    let Some(loaded) = held.or_else(|| roster(journal, hash)) else {
                        return Ok(None);
                    };
                    if !known.iter().any(|l| l.hash == loaded.hash) {
                        known.push(loaded.clone());
                    }
                    session = Some(Session::begin(**id, loaded, *offset_min, *day, event.seq));
                }
                (Fact::SessionBegun { .. }, Some(_)) => return Ok(session),
                (Fact::SessionLeft {}, Some(_)) => left = true,
                (Fact::SessionTakenUp { session: id, .. }, Some(session)) => {
                    left &= **id != session.id;
                }
                _ if left => {}
                (Fact::Sealed { .. }, Some(session)) => {
                    session.sealed_in(state.runs.number_at(event.seq));
                }
                (fact, Some(session)) => session.absorb(event.at_ms, event.hash, fact),
                (_, None) => return Ok(None),
            }
        }
    }
}

/// The session that was left with this id (hexadecimal).
///
/// # Errors
/// If the journal cannot be read.
pub fn left(state: &State, journal: &Journal, id: &str) -> Result<Option<Session>, StoreFault> {
    if let Some(last) = state.last.as_ref().filter(|s| hex::encode(s.id) == id) {
        return Ok(Some(last.clone()));
    }
    match state.earlier.iter().find(|l| hex::encode(l.id) == id) {
        Some(left) => again(state, journal, left.from_seq, &mut Vec::new()),
        None => Ok(None),
    }
}

/// All that this phone knows of the dog with this number in its record book.
///
/// # Errors
/// If the journal cannot be read.
pub fn history(state: &State, journal: &Journal, chip: &str) -> Result<History, StoreFault> {
    let mut history = History {
        chip: chip.to_owned(),
        name: String::new(),
        measures: Vec::new(),
    };
    for session in state.session.iter().chain(&state.last) {
        add(state, session, &mut history);
    }
    let mut known = Vec::new();
    for left in state.earlier.iter().rev() {
        if let Some(session) = again(state, journal, left.from_seq, &mut known)? {
            add(state, &session, &mut history);
        }
    }
    let loaded = state.session.as_ref().map(|s| &s.loaded);
    if let Some(loaded) = loaded.or(state.roster.as_ref()) {
        let dog = loaded.roster.dogs.iter().find(|d| d.chip == chip);
        if let Some(dog) = dog {
            history.name.clone_from(&dog.name);
            for earlier in &dog.earlier {
                told(loaded, earlier, &mut history);
            }
        }
    }
    order::sort_by_key(&mut history.measures, |m| std::cmp::Reverse(m.day));
    Ok(history)
}

/// What was measured of it in one session.
fn add(state: &State, session: &Session, history: &mut History) {
    for visit in session.visits.iter().filter(|v| v.is_returned()) {
        let Some((statement, ..)) = &visit.stated else {
            continue;
        };
        if statement.chip != history.chip {
            continue;
        }
        if history.name.is_empty() {
            history.name.clone_from(&statement.dog);
        }
        history.measures.push(Known {
            day: session.day,
            venue: session.venue.clone().unwrap_or_default(),
            outcome: crate::show::outcome_text(&statement.outcome),
            number: statement.measure,
            notes: crate::show::row_notes(visit, statement),
            at_office: Some(state.office_holds(visit.run)),
        });
    }
}

/// A measure that the office's roster told of.
fn told(loaded: &Loaded, earlier: &EarlierMeasure, history: &mut History) {
    let Some(day) = day(&earlier.day) else { return };
    // This phone measured it itself.
    if history.measures.iter().any(|m| m.day == day) {
        return;
    }
    let label = loaded
        .pack
        .category(&earlier.category.as_str().into())
        .map_or_else(|| earlier.category.clone(), |c| c.label.clone());
    history.measures.push(Known {
        day,
        venue: String::new(),
        outcome: Text::of("outcome.category").plain("category", label),
        number: earlier.measure,
        notes: Vec::new(),
        at_office: None,
    });
}
