//! Following a journal event by event: form, chain, seals and sign-offs.

use std::collections::BTreeMap;

use super::fact::Fact;
use super::{
    Event, Hash, RecordFault, chain, genesis, seal_bytes, sign_off_bytes, verify_signature,
};

/// A journal followed so far. Feed it the events' bytes in order.
#[derive(Clone, Debug)]
pub struct ChainCheck {
    device_key: Option<[u8; 32]>,
    head: Hash,
    seq: u64,
    sealed_up_to: u64,
    people: BTreeMap<String, [u8; 32]>,
    /// The statement last put up for signing: the head that holds it, and its bytes.
    stated: Option<(Hash, Vec<u8>)>,
}

impl Default for ChainCheck {
    fn default() -> Self {
        Self::new()
    }
}

impl ChainCheck {
    /// From the beginning of a journal.
    pub fn new() -> Self {
        ChainCheck {
            device_key: None,
            head: genesis(),
            seq: 0,
            sealed_up_to: 0,
            people: BTreeMap::new(),
            stated: None,
        }
    }

    /// From a sealed place reached earlier: the device's key, the head and number
    /// there, and the keys of people known by then.
    pub fn resume(
        device_key: [u8; 32],
        head: Hash,
        seq: u64,
        people: BTreeMap<String, [u8; 32]>,
    ) -> Self {
        ChainCheck {
            device_key: Some(device_key),
            head,
            seq,
            sealed_up_to: seq,
            people,
            stated: None,
        }
    }

    /// The next event. After a fault nothing of it is taken in.
    ///
    /// # Errors
    /// [`RecordFault`], naming the event.
    pub fn feed(&mut self, bytes: &[u8]) -> Result<Event, RecordFault> {
        let seq = self.seq + 1;
        let event = Event::decode_strict(bytes).map_err(|f| f.at(seq))?;
        let beginning = matches!(event.fact, Fact::JournalBegun { .. });
        if beginning != (seq == 1) || (seq > 1 && self.device_key.is_none()) {
            return Err(RecordFault::Beginning { seq });
        }
        let head = chain(&self.head, bytes);
        match &event.fact {
            Fact::JournalBegun { device_key, .. } => self.device_key = Some(**device_key),
            Fact::KeyMade { person, key, .. } => {
                self.people.insert(person.clone(), **key);
            }
            Fact::Stated { statement } => self.stated = Some((head, statement.clone())),
            Fact::Signed {
                person,
                alg,
                head: signed,
                signature,
                ..
            } => {
                self.sign_off(seq, person, *alg, signed, signature)?;
            }
            Fact::Sealed {
                alg,
                head: signed,
                signature,
                ..
            } => {
                if **signed != self.head {
                    return Err(RecordFault::Head { seq });
                }
                let key = self.device_key.ok_or(RecordFault::Beginning { seq })?;
                verify_signature(*alg, &key, &seal_bytes(signed), signature).map_err(
                    |f| match f {
                        RecordFault::Signature { .. } => RecordFault::Signature {
                            seq,
                            who: "the device".into(),
                        },
                        other => other,
                    },
                )?;
                self.sealed_up_to = seq;
            }
            _ => {}
        }
        self.head = head;
        self.seq = seq;
        Ok(event)
    }

    fn sign_off(
        &self,
        seq: u64,
        person: &str,
        alg: u8,
        signed: &Hash,
        signature: &[u8; 64],
    ) -> Result<(), RecordFault> {
        let Some((head, statement)) = &self.stated else {
            return Err(RecordFault::Head { seq });
        };
        if head != signed {
            return Err(RecordFault::Head { seq });
        }
        let Some(key) = self.people.get(person) else {
            return Err(RecordFault::UnknownSigner {
                seq,
                who: person.to_owned(),
            });
        };
        verify_signature(alg, key, &sign_off_bytes(head, statement), signature).map_err(|f| match f
        {
            RecordFault::Signature { .. } => RecordFault::Signature {
                seq,
                who: person.to_owned(),
            },
            other => other,
        })
    }

    /// The head reached.
    pub fn head(&self) -> Hash {
        self.head
    }

    /// The number of the last event taken in.
    pub fn seq(&self) -> u64 {
        self.seq
    }

    /// The number of the last seal: what follows it could be rewritten unseen.
    pub fn sealed_up_to(&self) -> u64 {
        self.sealed_up_to
    }

    /// The device's key, once the beginning was read.
    pub fn device_key(&self) -> Option<[u8; 32]> {
        self.device_key
    }

    /// People whose keys are known.
    pub fn people(&self) -> &BTreeMap<String, [u8; 32]> {
        &self.people
    }
}
