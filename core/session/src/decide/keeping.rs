//! Personal data that was kept for as long as the rule pack has it, and goes.
//!
//! What goes was brought by a roster that has not been worked by for that long, and every
//! visit under it is in the office's signed log, whole. Anything else stays, however old.

use chrono::NaiveDate;
use standsquare_journal::record::fact::Fact;
use standsquare_journal::store::{Item, StoreFault};
use standsquare_sync::{Frame, frame_id};

use super::{Context, Outcome};
use crate::days;
use crate::map::Set;
use crate::roster::Loaded;
use crate::view::{Text, Tone};

/// Events read at a time. Own choice.
const AT_A_TIME: u64 = 4_096;

type Id = [u8; 16];

/// The personal data that goes today.
pub(super) fn past_it(
    c: &Context,
    loaded: &Loaded,
    today: NaiveDate,
) -> Result<Vec<Id>, StoreFault> {
    let keep = loaded.pack.keep_personal();
    let is_over = |day: i32| keep.after(days::date(day)).is_some_and(|end| end < today);
    let old: Set<[u8; 32]> = c
        .state
        .rosters
        .iter()
        .filter(|(hash, day)| **hash != loaded.hash && is_over(**day))
        .map(|(hash, _)| *hash)
        .collect();
    let mut found = Set::new();
    for hash in old.iter() {
        let text = c.journal.blob(hash)?.unwrap_or_default();
        found.extend(Loaded::subjects_in(&text));
    }
    // What a handler objected under such a roster goes with it, once the office has it.
    let said = c.state.said.iter();
    found.extend(
        said.filter(|said| said.held && old.contains(&said.roster))
            .map(|said| said.words),
    );
    if found.is_empty() {
        return Ok(Vec::new());
    }
    let there: Set<Id> = c.journal.subjects()?.into_iter().collect();
    found.retain(|id| there.contains(id));
    if found.is_empty() {
        return Ok(Vec::new());
    }
    let held_back = Record::read(c)?.not_in_log();
    found.retain(|id| !held_back.contains(id));
    Ok(found.into_iter().collect())
}

/// Adds the erasing to what begins the session.
pub(super) fn erase(begun: Outcome, ids: &[Id], loaded: &Loaded, today: NaiveDate) -> Outcome {
    let keep = loaded.pack.keep_personal();
    let kept_days = keep.after(today).map_or(0, |end| (end - today).num_days());
    let mut out = begun.and(Fact::PersonalErased {
        subjects: ids.iter().map(|id| (*id).into()).collect(),
        kept_days: u32::try_from(kept_days).unwrap_or_default(),
    });
    out.items.push(Item::Erase { ids: ids.to_vec() });
    out.say(
        Tone::Good,
        Text::of("notice.personal_erased").count("count", ids.len() as i64),
    )
}

/// A dog called: whose data, and the events from there to its session's closing.
struct Called {
    subject: Id,
    from: u64,
    to: Option<u64>,
}

/// What the whole journal says of dogs called and of what the office's log holds.
#[derive(Default)]
struct Record {
    called: Vec<Called>,
    /// Finished runs: first and last event, and the id of the frame.
    runs: Vec<(u64, u64, [u8; 32])>,
    logged: Set<[u8; 32]>,
}

impl Record {
    fn read(c: &Context) -> Result<Record, StoreFault> {
        let mut record = Record::default();
        let mut frame = Frame {
            device_key: c.journal.device_key(),
            journal: c.journal.journal_id(),
            from_seq: 1,
            events: Vec::new(),
        };
        let head = c.journal.head().seq;
        let mut next = 1;
        while next <= head {
            for event in c.journal.events_between(next, next + AT_A_TIME - 1)? {
                next = event.seq + 1;
                frame.events.push(event.bytes);
                match event.fact {
                    Fact::DogCalled { subject, .. } => record.called.push(Called {
                        subject: *subject,
                        from: event.seq,
                        to: None,
                    }),
                    Fact::Objected { words, .. } => record.called.push(Called {
                        subject: *words,
                        from: event.seq,
                        to: Some(event.seq),
                    }),
                    Fact::SessionClosed { .. } => {
                        for called in record.called.iter_mut().rev() {
                            called.to.get_or_insert(event.seq);
                        }
                    }
                    Fact::Sealed { .. } => {
                        let id = frame_id(&frame.encode());
                        record.runs.push((frame.from_seq, event.seq, id));
                        frame.from_seq = next;
                        frame.events.clear();
                    }
                    Fact::Logged { frames, .. } => {
                        record.logged.extend(frames.iter().map(|id| **id));
                    }
                    _ => {}
                }
            }
        }
        Ok(record)
    }

    /// Whose data is held back: a visit of theirs is not in the log from its beginning to
    /// the closing of its session.
    fn not_in_log(&self) -> Set<Id> {
        let logged = |from: u64, to: u64| {
            let over: Vec<_> = self
                .runs
                .iter()
                .filter(|(first, last, _)| *last >= from && *first <= to)
                .collect();
            over.last().is_some_and(|(_, last, _)| *last >= to)
                && over.iter().all(|(.., id)| self.logged.contains(id))
        };
        let held = self
            .called
            .iter()
            .filter(|called| called.to.is_none_or(|to| !logged(called.from, to)));
        held.map(|called| called.subject).collect()
    }
}
