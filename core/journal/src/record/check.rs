//! Following a journal event by event, as the office and `journal verify` do.

mod elsewhere;
mod once;
#[cfg(feature = "store")]
mod saved;

use std::sync::Arc;

use ed25519_dalek::VerifyingKey;

use super::chain::{
    Hash, chain, correction_bytes, genesis, list_bytes, practice_bytes, seal_bytes, sign_off_bytes,
    unlock_bytes,
};
use super::correction::Correction;
use super::event::Event;
use super::fact::{ALG_ED25519, ALG_SHA256, Fact};
use super::fault::RecordFault;
use super::proved::Proved;
use super::statement::Statement;
use crate::map::{Map, Set};

/// A statement, a correction or a list that may be signed.
#[derive(Clone, Debug)]
struct Open {
    head: Hash,
    bytes: Vec<u8>,
}

/// Follows a journal from its first event or from a place already checked, and stops
/// at the first event that does not hold: its form, its place in the chain, a seal by
/// the device over all before it, a sign-off by the person's own key over the statement
/// as it was put up.
///
/// After a fault the check is where it was before that event.
#[derive(Clone, Debug)]
pub struct ChainCheck {
    head: Hash,
    seq: u64,
    sealed: u64,
    device: Option<[u8; 32]>,
    people: Map<String, [u8; 32]>,
    session: Option<[u8; 16]>,
    open: Map<u32, Open>,
    corrections: Map<u32, Open>,
    list: Option<Open>,
    /// Who has opened their key, and who confirmed the statement of a visit as it stands.
    unlocked: Set<String>,
    confirmed: Map<u32, Set<String>>,
    /// Begun at a place where those two were not told.
    in_the_middle: bool,
    proved: Arc<Proved>,
}

impl Default for ChainCheck {
    fn default() -> Self {
        ChainCheck::new()
    }
}

impl ChainCheck {
    /// From the very beginning.
    pub fn new() -> Self {
        ChainCheck {
            head: genesis(),
            seq: 0,
            sealed: 0,
            device: None,
            people: Map::new_vec(),
            session: None,
            open: Map::new_vec(),
            corrections: Map::new_vec(),
            list: None,
            unlocked: Set::new(),
            confirmed: Map::new_vec(),
            in_the_middle: false,
            proved: Arc::default(),
        }
    }

    /// From a place that was checked before: event number `seq` with the hash `head`,
    /// the last one sealed. `person_keys` are the measurers' keys as they stood there.
    ///
    /// Statements put up before that place and not yet signed by everybody have to be
    /// told with [`ChainCheck::recall`], or a later signature under them is refused. Who
    /// had opened their key by then, and who had confirmed what, is not asked after.
    pub fn resume(
        device_key: [u8; 32],
        head: Hash,
        seq: u64,
        person_keys: Map<String, [u8; 32]>,
    ) -> Self {
        ChainCheck {
            head,
            seq,
            sealed: seq,
            device: Some(device_key),
            people: person_keys,
            session: None,
            open: Map::new_vec(),
            corrections: Map::new_vec(),
            list: None,
            unlocked: Set::new(),
            confirmed: Map::new_vec(),
            in_the_middle: true,
            proved: Arc::default(),
        }
    }

    /// Tells of a statement put up before the place that was resumed from: the visit,
    /// the hash of its `Stated` event, and its bytes.
    #[must_use]
    pub fn recall(mut self, visit: u32, head: Hash, statement: Vec<u8>) -> Self {
        self.open.insert(
            visit,
            Open {
                head,
                bytes: statement,
            },
        );
        self
    }

    /// Tells of signatures that were checked ahead: they are not checked again.
    #[must_use]
    pub fn believing(mut self, proved: Arc<Proved>) -> Self {
        self.proved = proved;
        self
    }

    /// Takes the next event's bytes, as received.
    ///
    /// # Errors
    /// [`RecordFault`], naming the event and what is wrong with it.
    pub fn feed(&mut self, bytes: &[u8]) -> Result<Event, RecordFault> {
        let seq = self.seq + 1;
        let event = Event::decode_strict(bytes).map_err(|fault| fault.at(seq))?;
        let head = chain(&self.head, bytes);
        self.beginning(seq, &event.fact)?;
        match &event.fact {
            Fact::JournalBegun {
                device_key,
                alg,
                hash_alg,
                ..
            } => {
                known(seq, *alg, ALG_ED25519, "the device's key")?;
                known(seq, *hash_alg, ALG_SHA256, "hashes")?;
                is_key(seq, device_key, "the device")?;
                self.device = Some(**device_key);
            }
            Fact::KeyMade { person, key, alg } => {
                known(seq, *alg, ALG_ED25519, "a measurer's key")?;
                is_key(seq, key, person)?;
                self.people.insert(person.clone(), **key);
            }
            Fact::SessionBegun { session, .. } => self.begin_session(**session),
            Fact::Stated { statement } => {
                let visit = self.stated(seq, statement)?;
                self.put_up(visit, head, statement.clone());
            }
            Fact::Unlocked {
                person,
                alg,
                head,
                signature,
            } => {
                let key = self.unlocked_by(seq, person, head)?;
                self.holds(seq, person, *alg, &key, &unlock_bytes(head), signature)?;
                self.unlocked.insert(person.clone());
            }
            Fact::Locked {} => self.unlocked.clear(),
            Fact::SteppedAway { person, away: true } => {
                self.unlocked.remove(person);
            }
            Fact::Confirmed {
                visit,
                person,
                head,
            } => {
                self.confirmed_by(seq, *visit, person, head)?;
                self.confirm(*visit, person.clone());
            }
            Fact::ListStated { list } => {
                self.listed(seq, list)?;
                let bytes = list.clone();
                self.list = Some(Open { head, bytes });
            }
            Fact::ListLeft {} => self.list = None,
            Fact::ListSigned {
                person,
                alg,
                head,
                signature,
            } => {
                let list = self.list.as_ref();
                let open = list.filter(|open| once::names(&open.bytes, person));
                self.signed(seq, open, list_bytes, person, *alg, head, signature)?;
            }
            Fact::Signed {
                visit,
                person,
                alg,
                head,
                signature,
            } => {
                let open = self.open.get(visit);
                self.signed(seq, open, sign_off_bytes, person, *alg, head, signature)?;
            }
            Fact::SignedElsewhere {
                visit,
                person,
                alg,
                head,
                signature,
                key,
                ..
            } => {
                self.signed_elsewhere(seq, *visit, person, *alg, head, signature, key)?;
            }
            Fact::SignedForOther {
                person,
                statement,
                alg,
                head,
                signature,
                ..
            } => self.signed_for_other(seq, person, *alg, head, statement, signature)?,
            Fact::CorrectionStated { correction } => {
                let visit = self.corrected(seq, correction)?;
                let bytes = correction.clone();
                self.corrections.insert(visit, Open { head, bytes });
            }
            Fact::CorrectionSigned {
                visit,
                person,
                alg,
                head,
                signature,
            } => {
                let open = self.corrections.get(visit);
                self.signed(seq, open, correction_bytes, person, *alg, head, signature)?;
            }
            Fact::PracticeSigned {
                person,
                record,
                alg,
                signature,
            } => {
                // Its bytes stand alone; the head only has to agree with itself.
                let open = Open {
                    head,
                    bytes: record.clone(),
                };
                let over = |_: &Hash, record: &[u8]| practice_bytes(record);
                self.signed(seq, Some(&open), over, person, *alg, &head, signature)?;
            }
            Fact::Sealed {
                alg,
                head,
                signature,
                ..
            } => {
                self.sealed(seq, *alg, head, signature)?;
                self.list = None;
            }
            _ => {}
        }
        self.seq = seq;
        self.head = head;
        Ok(event)
    }

    fn beginning(&self, seq: u64, fact: &Fact) -> Result<(), RecordFault> {
        let reason = match (seq, fact) {
            (1, Fact::JournalBegun { .. }) => return Ok(()),
            (1, _) => "the journal does not begin with whose it is",
            (_, Fact::JournalBegun { .. }) => "a journal begins again in the middle",
            _ => return Ok(()),
        };
        Err(RecordFault::Beginning { seq, reason })
    }

    fn stated(&self, seq: u64, bytes: &[u8]) -> Result<u32, RecordFault> {
        let statement = Statement::decode_strict(bytes).map_err(|fault| fault.at(seq))?;
        match self.session {
            Some(session) if session != *statement.session => Err(RecordFault::Statement {
                seq,
                reason: "the statement is of another session".into(),
            }),
            _ => Ok(statement.visit),
        }
    }

    fn corrected(&self, seq: u64, bytes: &[u8]) -> Result<u32, RecordFault> {
        let correction = Correction::decode_strict(bytes).map_err(|fault| fault.at(seq))?;
        match self.session {
            Some(session) if session != *correction.session => Err(RecordFault::Statement {
                seq,
                reason: "the correction is of another session".into(),
            }),
            _ => Ok(correction.visit),
        }
    }

    #[allow(clippy::too_many_arguments)] // the fields of the event, and what they are over
    fn signed(
        &self,
        seq: u64,
        open: Option<&Open>,
        over: fn(&Hash, &[u8]) -> Vec<u8>,
        person: &str,
        alg: u8,
        head: &Hash,
        signature: &[u8; 64],
    ) -> Result<(), RecordFault> {
        let fault = |reason| not_signed(seq, person, reason);
        let open = open.ok_or_else(|| fault("no statement of that visit was put up"))?;
        if open.head != *head {
            return Err(fault("it is not over the statement last put up"));
        }
        let key = self.key_of(seq, person)?;
        self.holds(seq, person, alg, &key, &over(head, &open.bytes), signature)
    }

    fn key_of(&self, seq: u64, person: &str) -> Result<[u8; 32], RecordFault> {
        let key = self.people.get(person).copied();
        key.ok_or_else(|| not_signed(seq, person, "no key of theirs is on record"))
    }

    fn holds(
        &self,
        seq: u64,
        person: &str,
        alg: u8,
        key: &[u8; 32],
        bytes: &[u8],
        signature: &[u8; 64],
    ) -> Result<(), RecordFault> {
        let held = self.proved.holds(alg, key, bytes, signature);
        held.map_err(|why| match why {
            RecordFault::Signature => not_signed(seq, person, "the signature is not theirs"),
            other => other.at(seq),
        })
    }

    fn sealed(
        &mut self,
        seq: u64,
        alg: u8,
        head: &Hash,
        signature: &[u8; 64],
    ) -> Result<(), RecordFault> {
        let fault = |reason| RecordFault::Seal { seq, reason };
        if *head != self.head {
            return Err(fault(
                "the seal is over another journal than the events before it",
            ));
        }
        let key = self.device.ok_or_else(|| fault("no device key is known"))?;
        let held = self.proved.holds(alg, &key, &seal_bytes(head), signature);
        held.map_err(|why| match why {
            RecordFault::Signature => fault("the seal is not signed by the device"),
            other => other.at(seq),
        })?;
        self.sealed = seq;
        Ok(())
    }

    /// Takes an event that was checked when it was written and is held to its hash now:
    /// it is read only as far as later events need it, and no signature is checked.
    /// Gives what a seal says: the head it is over, and the signature.
    #[cfg(feature = "store")]
    pub(crate) fn skim(&mut self, bytes: &[u8]) -> Result<Option<(Hash, [u8; 64])>, RecordFault> {
        let seq = self.seq + 1;
        let head = chain(&self.head, bytes);
        let mut seal = None;
        if tells_of_later(bytes) {
            let event: Event = minicbor::decode(bytes)
                .map_err(|fault| RecordFault::form(fault.to_string()).at(seq))?;
            match event.fact {
                Fact::JournalBegun { device_key, .. } => self.device = Some(*device_key),
                Fact::KeyMade { person, key, .. } => {
                    self.people.insert(person, *key);
                }
                Fact::SessionBegun { session, .. } => self.begin_session(*session),
                Fact::Stated { statement } => {
                    let visit = self.stated(seq, &statement)?;
                    self.put_up(visit, head, statement);
                }
                Fact::Unlocked { person, .. } => {
                    self.unlocked.insert(person);
                }
                Fact::Locked {} => self.unlocked.clear(),
                Fact::SteppedAway { person, away: true } => {
                    self.unlocked.remove(&person);
                }
                Fact::Confirmed { visit, person, .. } => self.confirm(visit, person),
                Fact::ListStated { list: bytes } => self.list = Some(Open { head, bytes }),
                Fact::ListLeft {} => self.list = None,
                Fact::CorrectionStated { correction } => {
                    let visit = self.corrected(seq, &correction)?;
                    let bytes = correction;
                    self.corrections.insert(visit, Open { head, bytes });
                }
                Fact::Sealed {
                    head, signature, ..
                } => {
                    self.sealed = seq;
                    self.list = None;
                    seal = Some((*head, *signature));
                }
                _ => {}
            }
        }
        self.seq = seq;
        self.head = head;
        Ok(seal)
    }

    /// The head of the chain after the last event taken.
    pub fn head(&self) -> Hash {
        self.head
    }

    /// Number of the last event taken; 0 for none.
    pub fn seq(&self) -> u64 {
        self.seq
    }

    /// Number of the last seal taken: everything up to there is vouched for by the
    /// device. 0 for none. What follows it could still be rewritten unseen.
    pub fn sealed_up_to(&self) -> u64 {
        self.sealed
    }

    /// The device's public key, once it is known.
    pub fn device_key(&self) -> Option<[u8; 32]> {
        self.device
    }

    /// The measurers' public keys as they stand: id in the roster to key.
    pub fn people(&self) -> &Map<String, [u8; 32]> {
        &self.people
    }
}

/// Whether the event's fact is one that [`ChainCheck::skim`] has to read.
#[cfg(feature = "store")]
fn tells_of_later(bytes: &[u8]) -> bool {
    let mut decoder = minicbor::Decoder::new(bytes);
    let mut tag = || -> Result<u32, minicbor::decode::Error> {
        decoder.array()?;
        decoder.u8()?;
        decoder.i64()?;
        decoder.array()?;
        decoder.u32()
    };
    // JournalBegun, SessionBegun, KeyMade, Stated, Sealed, CorrectionStated, SteppedAway,
    // Unlocked, Confirmed, Locked, ListStated, ListLeft; what cannot be told is read.
    const TAGS: [u32; 12] = [1, 3, 12, 31, 40, 52, 55, 68, 69, 70, 71, 74];
    tag().map_or(true, |tag| TAGS.contains(&tag))
}

fn not_signed(seq: u64, person: &str, reason: &'static str) -> RecordFault {
    RecordFault::SignOff {
        seq,
        person: person.to_owned(),
        reason,
    }
}

fn known(seq: u64, alg: u8, want: u8, what: &'static str) -> Result<(), RecordFault> {
    if alg == want {
        Ok(())
    } else {
        Err(RecordFault::Algorithm { seq, alg, what })
    }
}

/// A key of small order would let one signature pass for many texts.
fn is_key(seq: u64, key: &[u8; 32], whose: &str) -> Result<(), RecordFault> {
    match VerifyingKey::from_bytes(key) {
        Ok(key) if !key.is_weak() => Ok(()),
        _ => Err(RecordFault::Key {
            seq,
            whose: whose.to_owned(),
        }),
    }
}
