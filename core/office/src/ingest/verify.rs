//! Whether a frame's events follow from what is on record and are signed. Pure.

use standsquare_journal::record::fact::{Fact, List, Statement};
use standsquare_journal::record::{
    ChainCheck, Event, Hash, Proved, RecordFault, chain, genesis, seal_bytes,
};
use standsquare_measuring::gauge::practice::DrillRecord;
use standsquare_sync::{Frame, FrameFault};
use std::collections::BTreeMap;
use std::sync::Arc;

use super::change::{Change, SessionKey};
use super::prove;
use crate::years;

/// Why a frame is not taken into the record.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// Not a frame.
    #[error("{0}")]
    Frame(#[from] FrameFault),
    /// It does not end with a seal.
    #[error("the frame does not end with a seal")]
    Unsealed,
    /// The device did not sign its seal.
    #[error("the seal is not signed by the device")]
    SealForged,
    /// Another history of the same journal is on record.
    #[error("the journal has another history on record (fork)")]
    Fork,
    /// An event is not readable, or does not follow from the ones before it.
    #[error("{0}")]
    Record(RecordFault),
    /// The first event names another device or journal, or one begins in the middle.
    #[error("event {0} does not belong to this journal")]
    OtherJournal(u64),
    /// A statement is not readable, or is one of another session.
    #[error("the statement in event {0} does not belong here")]
    Statement(u64),
    /// A session of another body.
    #[error("the session in event {0} is another league's: send it to that league's office")]
    OtherBody(u64),
    /// Set aside earlier, for this reason.
    #[error("set aside earlier: {0}")]
    Before(&'static str),
    /// Too many frames of the journal wait for an earlier one.
    #[error("too many frames wait for an earlier one; send that one first")]
    TooManyWaiting,
}

impl Refusal {
    /// What the phone is told: a fixed word that its screens have words for.
    pub fn slug(&self) -> &'static str {
        match self {
            Refusal::Frame(FrameFault::TooNew(_)) => "too_new",
            Refusal::Frame(_) => "unreadable_frame",
            Refusal::Unsealed => "unsealed",
            Refusal::SealForged => "seal_forged",
            Refusal::Fork => "fork",
            Refusal::Record(fault) => match fault {
                RecordFault::TooNew { .. } => "too_new",
                RecordFault::SignOff { .. } => "sign_off_forged",
                RecordFault::Seal { .. } => "seal_forged",
                RecordFault::Statement { .. } => "statement_out_of_place",
                RecordFault::Beginning { .. } => "other_journal",
                RecordFault::Algorithm { .. } | RecordFault::Key { .. } => "unknown_algorithm",
                _ => "unreadable_event",
            },
            Refusal::OtherJournal(_) => "other_journal",
            Refusal::Statement(_) => "statement_out_of_place",
            Refusal::OtherBody(_) => "other_body",
            Refusal::TooManyWaiting => "too_many_waiting",
            Refusal::Before(slug) => slug,
        }
    }

    /// The refusal of a frame that was set aside under this word.
    pub fn before(slug: &str) -> Self {
        const KEPT: [&str; 8] = [
            "too_new",
            "unreadable_event",
            "unknown_algorithm",
            "sign_off_forged",
            "other_journal",
            "statement_out_of_place",
            "seal_forged",
            "set_aside",
        ];
        match slug {
            "fork" => Refusal::Fork,
            other => Refusal::Before(
                KEPT.into_iter()
                    .find(|k| *k == other)
                    .unwrap_or("set_aside"),
            ),
        }
    }
}

/// Where a journal stands on record.
#[derive(Clone, Debug)]
pub struct Standing {
    /// Number of the newest event; 0 for none.
    pub head_seq: u64,
    /// The chain's head.
    pub head: Hash,
    /// League of the roster in use.
    pub league: String,
    /// Session under way: its id and the year of its day.
    pub session: Option<SessionKey>,
    /// Measurers: number and, once made, public key.
    pub people: BTreeMap<String, (String, Option<[u8; 32]>)>,
}

impl Standing {
    /// A journal of which nothing is on record.
    pub fn new() -> Self {
        Standing {
            head_seq: 0,
            head: genesis(),
            league: String::new(),
            session: None,
            people: BTreeMap::new(),
        }
    }
}

/// Whether the device sealed this frame; the moment of the seal, by its clock. It
/// shows that the frame comes from the device, whatever is missing before it.
///
/// The signatures in it are checked here, those of people as far as their keys are known
/// (`keys`, or made in this very frame), and remembered in `proved`: this needs no
/// database, so that it is done before the transaction, for many frames side by side. What
/// does not hold is found again, and named, by [`follow`].
pub fn sealed_by_device(
    frame: &Frame,
    keys: &BTreeMap<String, [u8; 32]>,
    proved: &mut Proved,
) -> Result<i64, Refusal> {
    let last = frame.events.last().ok_or(Refusal::Unsealed)?;
    let event = read(last)?;
    let Fact::Sealed {
        alg,
        head,
        signature,
        ..
    } = &event.fact
    else {
        return Err(Refusal::Unsealed);
    };
    proved
        .check(*alg, &frame.device_key, &seal_bytes(head), signature)
        .map_err(|_| Refusal::SealForged)?;
    prove::sign_offs(frame, keys, proved);
    Ok(event.at_ms)
}

pub(super) fn read(bytes: &[u8]) -> Result<Event, Refusal> {
    Event::decode_strict(bytes).map_err(Refusal::Record)
}

/// A statement that was put up: its visit, its head and its bytes.
pub type OpenStatement = (u32, Hash, Vec<u8>);

/// Where a journal stands after a frame, and what the frame adds.
pub type Followed = Result<(Standing, Vec<Change>), Refusal>;

/// Follows a frame that begins right after `standing`: where the journal stands then,
/// and what it adds.
///
/// `league` is this office's: a session of another one is refused. `proved` are signatures that were checked ahead. `open` are statements that earlier frames put up: visit, head and bytes. They are
/// needed where a seal fell between a statement and its last sign-off.
pub fn follow(
    standing: &Standing,
    frame: &Frame,
    league: &str,
    open: &[OpenStatement],
    proved: &Arc<Proved>,
) -> Followed {
    same_history(standing, frame)?;
    let keys = standing.people.iter();
    let keys = keys
        .filter_map(|(person, (_, key))| Some((person.clone(), (*key)?)))
        .collect();
    let mut check = match standing.head_seq {
        0 => ChainCheck::new(),
        seq => ChainCheck::resume(frame.device_key, standing.head, seq, keys),
    }
    .believing(proved.clone());
    for (visit, head, statement) in open {
        check = check.recall(*visit, *head, statement.clone());
    }
    let mut walk = Walk {
        league,
        list: None,
        now: standing.clone(),
        changes: Vec::new(),
    };
    for (n, bytes) in frame.events.iter().enumerate() {
        let event = check.feed(bytes).map_err(Refusal::Record)?;
        // One under a correction, from the signer's own phone, is no sign-off of the dog: what
        // follows of it is stated and signed anew.
        if let Fact::SignedElsewhere { visit, head, .. } = &event.fact
            && check.is_correction(*visit, head)
        {
            continue;
        }
        walk.take(frame, frame.from_seq + n as u64, check.head(), event)?;
    }
    walk.now.head_seq = check.seq();
    walk.now.head = check.head();
    Ok((walk.now, walk.changes))
}

/// Whether the frame's last seal is over this very history. If the device signed
/// another one, that is a fork, whatever else may be wrong in it.
fn same_history(standing: &Standing, frame: &Frame) -> Result<(), Refusal> {
    let (last, before) = frame.events.split_last().ok_or(Refusal::Unsealed)?;
    let head = before
        .iter()
        .fold(standing.head, |head, bytes| chain(&head, bytes));
    match read(last)?.fact {
        Fact::Sealed { head: sealed, .. } if *sealed == head => Ok(()),
        Fact::Sealed { .. } => Err(Refusal::Fork),
        _ => Err(Refusal::Unsealed),
    }
}

struct Walk<'a> {
    league: &'a str,
    /// The list that is being signed: a frame's end ends it.
    list: Option<List>,
    now: Standing,
    changes: Vec<Change>,
}

impl Walk<'_> {
    fn take(&mut self, frame: &Frame, seq: u64, head: Hash, event: Event) -> Result<(), Refusal> {
        let at_ms = event.at_ms;
        match event.fact {
            Fact::JournalBegun {
                device_key,
                journal,
                ..
            } if *device_key != frame.device_key || *journal != frame.journal => {
                return Err(Refusal::OtherJournal(seq));
            }
            Fact::RosterTaken { league, .. } => self.now.league = league,
            Fact::SessionBegun {
                session,
                offset_min,
                day,
                ..
            } => {
                if self.now.league != self.league {
                    return Err(Refusal::OtherBody(seq));
                }
                let session = SessionKey {
                    id: *session,
                    year: years::of_day(day),
                };
                self.now.session = Some(session);
                self.changes.push(Change::Session {
                    session,
                    league: self.now.league.clone(),
                    day,
                    offset_min,
                    at_ms,
                });
            }
            Fact::VenueSet { name } => {
                if let Some(session) = self.now.session {
                    self.changes.push(Change::Venue { session, name });
                }
            }
            Fact::Seated { person, number } => self.person(person, Some(number), None),
            Fact::KeyMade { person, key, .. } => self.person(person, None, Some(*key)),
            Fact::SessionClosed { not_seen } => {
                if let Some(session) = self.now.session {
                    let not_seen = not_seen.len() as i64;
                    self.changes.push(Change::Closed {
                        session,
                        at_ms,
                        not_seen,
                    });
                }
            }
            Fact::Incident {
                visit,
                what,
                whom,
                words,
            } => {
                if let Some(session) = self.now.session {
                    self.changes.push(Change::Incident {
                        session,
                        seq,
                        at_ms,
                        visit,
                        what,
                        whom,
                        words,
                    });
                }
            }
            Fact::Objected {
                visit,
                words,
                commitment,
            } => {
                if let Some(session) = self.now.session {
                    self.changes.push(Change::Objected {
                        session,
                        seq,
                        at_ms,
                        visit,
                        words: (*words, *commitment),
                    });
                }
            }
            Fact::SessionLeft {} => self.now.session = None,
            Fact::SessionTakenUp { session, day } => {
                let session = SessionKey {
                    id: *session,
                    year: years::of_day(day),
                };
                self.now.session = Some(session);
                self.changes.push(Change::TakenUp { session, seq });
            }
            Fact::Stated { statement: bytes } => {
                let statement =
                    Statement::decode_strict(&bytes).map_err(|_| Refusal::Statement(seq))?;
                let session = self.now.session.ok_or(Refusal::Statement(seq))?;
                if session.id != *statement.session {
                    return Err(Refusal::Statement(seq));
                }
                let statement = Box::new(statement);
                self.changes.push(Change::Stated {
                    session,
                    head,
                    at_ms,
                    bytes,
                    statement,
                });
            }
            // The chain's check has verified it with the key on record. What is no drill of ours stays
            // in its frame alone.
            Fact::PracticeSigned {
                person,
                record: bytes,
                signature,
                ..
            } if self.now.league == self.league => {
                if let Ok(record) = serde_json::from_slice::<DrillRecord>(&bytes) {
                    self.changes.push(Change::Practice {
                        trainer: person,
                        bytes,
                        record: Box::new(record),
                        at_ms,
                        signature: *signature,
                    });
                }
            }
            // The chain's check holds a list to the statements as they stand, and its
            // signatures to those whom it names.
            Fact::ListStated { list } => {
                self.list = List::decode_strict(&list).ok();
            }
            Fact::ListSigned {
                person, signature, ..
            } => self.list_signed(seq, at_ms, &person, &signature, None)?,
            Fact::SignedElsewhere {
                visit: 0,
                person,
                signature,
                key,
                ..
            } => self.list_signed(seq, at_ms, &person, &signature, Some(*key))?,
            // The chain's check has verified it over the statement last put up.
            Fact::Signed {
                visit,
                person,
                signature,
                ..
            } => self.signed(seq, at_ms, visit, &person, &signature, None)?,
            Fact::SignedElsewhere {
                visit,
                person,
                signature,
                key,
                ..
            } => self.signed(seq, at_ms, visit, &person, &signature, Some(*key))?,
            _ => {}
        }
        Ok(())
    }

    /// A verified signature under the list: one under each dog on it that is theirs.
    fn list_signed(
        &mut self,
        seq: u64,
        at_ms: i64,
        person: &str,
        signature: &[u8; 64],
        elsewhere: Option<[u8; 32]>,
    ) -> Result<(), Refusal> {
        let dogs = self.list.iter().flat_map(|list| list.of(person));
        for visit in dogs.map(|dog| dog.visit).collect::<Vec<_>>() {
            self.signed(seq, at_ms, visit, person, signature, elsewhere)?;
        }
        Ok(())
    }

    /// A verified signature under one dog, its own or the list's.
    fn signed(
        &mut self,
        seq: u64,
        at_ms: i64,
        visit: u32,
        person: &str,
        signature: &[u8; 64],
        elsewhere: Option<[u8; 32]>,
    ) -> Result<(), Refusal> {
        let session = self.now.session.ok_or(Refusal::Statement(seq))?;
        let known = self.now.people.get(person);
        self.changes.push(Change::Signed {
            session,
            visit,
            number: known.map(|(number, _)| number.clone()).unwrap_or_default(),
            person: person.to_owned(),
            seq,
            at_ms,
            signature: *signature,
            elsewhere,
        });
        Ok(())
    }

    fn person(&mut self, person: String, number: Option<String>, key: Option<[u8; 32]>) {
        let known = self.now.people.entry(person.clone()).or_default();
        if let Some(number) = number {
            known.0 = number;
        }
        if key.is_some() {
            known.1 = key;
        }
        let (number, key) = known.clone();
        self.changes.push(Change::Person {
            person,
            number,
            key,
        });
    }
}
