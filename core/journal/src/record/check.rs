//! Following a journal event by event, as the office and `journal verify` do.

use std::collections::BTreeMap;
use std::sync::Arc;

use ed25519_dalek::VerifyingKey;
#[cfg(feature = "store")]
use minicbor::bytes::ByteArray;

use super::chain::{Hash, chain, correction_bytes, genesis, seal_bytes, sign_off_bytes};
use super::correction::Correction;
use super::event::Event;
use super::fact::{ALG_ED25519, ALG_SHA256, Fact};
use super::fault::RecordFault;
use super::proved::Proved;
use super::statement::Statement;

/// A statement or a correction that may be signed.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "store", derive(minicbor::Encode, minicbor::Decode))]
struct Open {
    #[cfg_attr(feature = "store", n(0), cbor(with = "minicbor::bytes"))]
    head: Hash,
    #[cfg_attr(feature = "store", n(1), cbor(with = "minicbor::bytes"))]
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
    people: BTreeMap<String, [u8; 32]>,
    session: Option<[u8; 16]>,
    open: BTreeMap<u32, Open>,
    corrections: BTreeMap<u32, Open>,
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
            people: BTreeMap::new(),
            session: None,
            open: BTreeMap::new(),
            corrections: BTreeMap::new(),
            proved: Arc::default(),
        }
    }

    /// From a place that was checked before: event number `seq` with the hash `head`,
    /// the last one sealed. `person_keys` are the measurers' keys as they stood there.
    ///
    /// Statements put up before that place and not yet signed by everybody have to be
    /// told with [`ChainCheck::recall`], or a later signature under them is refused.
    pub fn resume(
        device_key: [u8; 32],
        head: Hash,
        seq: u64,
        person_keys: BTreeMap<String, [u8; 32]>,
    ) -> Self {
        ChainCheck {
            head,
            seq,
            sealed: seq,
            device: Some(device_key),
            people: person_keys,
            session: None,
            open: BTreeMap::new(),
            corrections: BTreeMap::new(),
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
            Fact::SessionBegun { session, .. } => {
                self.session = Some(**session);
                self.open.clear();
                self.corrections.clear();
            }
            Fact::Stated { statement } => {
                let visit = self.stated(seq, statement)?;
                self.open.insert(
                    visit,
                    Open {
                        head,
                        bytes: statement.clone(),
                    },
                );
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
            Fact::Sealed {
                alg,
                head,
                signature,
                ..
            } => self.sealed(seq, *alg, head, signature)?,
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
        let fault = |reason| RecordFault::SignOff {
            seq,
            person: person.to_owned(),
            reason,
        };
        let open = open.ok_or_else(|| fault("no statement of that visit was put up"))?;
        if open.head != *head {
            return Err(fault("it is not over the statement last put up"));
        }
        let key = self
            .people
            .get(person)
            .ok_or_else(|| fault("no key of theirs is on record"))?;
        let bytes = over(head, &open.bytes);
        let held = self.proved.holds(alg, key, &bytes, signature);
        held.map_err(|why| match why {
            RecordFault::Signature => fault("the signature is not theirs"),
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
                Fact::SessionBegun { session, .. } => {
                    self.session = Some(*session);
                    self.open.clear();
                    self.corrections.clear();
                }
                Fact::Stated { statement } => {
                    let visit = self.stated(seq, &statement)?;
                    let bytes = statement;
                    self.open.insert(visit, Open { head, bytes });
                }
                Fact::CorrectionStated { correction } => {
                    let visit = self.corrected(seq, &correction)?;
                    let bytes = correction;
                    self.corrections.insert(visit, Open { head, bytes });
                }
                Fact::Sealed {
                    head, signature, ..
                } => {
                    self.sealed = seq;
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
    pub fn people(&self) -> &BTreeMap<String, [u8; 32]> {
        &self.people
    }
}

/// The form in which a check is put away. A change to what a check remembers, or to what
/// facts mean to it, needs the next number.
#[cfg(feature = "store")]
const SAVED: u32 = 2;

#[cfg(feature = "store")]
#[derive(minicbor::Encode, minicbor::Decode)]
struct Saved {
    #[n(0)]
    edition: u32,
    #[n(1)]
    head: ByteArray<32>,
    #[n(2)]
    seq: u64,
    #[n(3)]
    sealed: u64,
    #[n(4)]
    device: Option<ByteArray<32>>,
    #[n(5)]
    people: Vec<(String, ByteArray<32>)>,
    #[n(6)]
    session: Option<ByteArray<16>>,
    #[n(7)]
    open: BTreeMap<u32, Open>,
    #[n(8)]
    corrections: BTreeMap<u32, Open>,
}

#[cfg(feature = "store")]
impl ChainCheck {
    /// Everything it remembers, to be put away and taken up again at the same place.
    pub(crate) fn save(&self) -> Vec<u8> {
        // Named one by one: a new field must not be forgotten here.
        let ChainCheck {
            head,
            seq,
            sealed,
            device,
            people,
            session,
            open,
            corrections,
            proved: _,
        } = self.clone();
        super::canonical::encode(&Saved {
            edition: SAVED,
            head: head.into(),
            seq,
            sealed,
            device: device.map(Into::into),
            people: people.into_iter().map(|(p, key)| (p, key.into())).collect(),
            session: session.map(Into::into),
            open,
            corrections,
        })
    }

    /// What [`ChainCheck::save`] put away; `None` if it is of another edition.
    pub(crate) fn restore(bytes: &[u8]) -> Option<Self> {
        let saved: Saved = minicbor::decode(bytes).ok()?;
        if saved.edition != SAVED {
            return None;
        }
        let mut people = BTreeMap::new();
        for (person, key) in saved.people {
            people.insert(person, *key);
        }
        Some(ChainCheck {
            head: *saved.head,
            seq: saved.seq,
            sealed: saved.sealed,
            device: saved.device.map(|key| *key),
            people,
            session: saved.session.map(|id| *id),
            open: saved.open,
            corrections: saved.corrections,
            proved: Arc::default(),
        })
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
    // JournalBegun, SessionBegun, KeyMade, Stated, Sealed, CorrectionStated; what cannot
    // be told is read.
    tag().map_or(true, |tag| [1, 3, 12, 31, 40, 52].contains(&tag))
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
