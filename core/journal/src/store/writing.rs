//! Writing into the file: the first event, and the items of an act.

use ed25519_dalek::{Signer, SigningKey};
use rusqlite::{Transaction, params};
use zeroize::Zeroizing;

use super::item::{Head, Item};
use super::journal::Opening;
use super::seals::{derive, open, seal};
use super::subjects::Subject;
use super::whole::{self, Device, Tally};
use super::{StoreFault, people, subjects};
use crate::record::fact::{ALG_ED25519, ALG_SHA256, Fact};
use crate::record::{ChainCheck, Event, FORMAT, Hash, seal_bytes};

/// A new journal: the device's key and the event that names it.
pub(super) fn begin(tx: &Transaction, opening: &Opening) -> Result<(), StoreFault> {
    let seed = derive::<32>("device/seed", &[], &opening.entropy);
    let id = *derive("journal/id", &[], &opening.entropy);
    let nonce = *derive("device/nonce", &[], &opening.entropy);
    let key = SigningKey::from_bytes(&seed);
    let wrap = derive("device/wrap", &[], &opening.device_secret);
    Device {
        id,
        nonce,
        sealed: seal(&wrap, &nonce, &about_device(&id), seed.as_slice()),
    }
    .write(tx)?;
    let mut tally = Tally::nothing();
    Writing {
        tx,
        chain: &mut ChainCheck::new(),
        tally: &mut tally,
        at_ms: opening.at_ms,
    }
    .fact(Fact::JournalBegun {
        device_key: key.verifying_key().to_bytes().into(),
        alg: ALG_ED25519,
        journal: id.into(),
        software: opening.software.to_owned(),
        hash_alg: ALG_SHA256,
    })?;
    tally.write(tx)
}

fn about_device(id: &[u8; 16]) -> Vec<u8> {
    [b"standsquare/device-key/".as_slice(), id].concat()
}

/// The device's key, if this secret opens it.
pub(super) fn open_device(
    kept: &Device,
    device_secret: &[u8; 32],
) -> Result<SigningKey, StoreFault> {
    let wrap = derive("device/wrap", &[], device_secret);
    let seed = open(&wrap, &kept.nonce, &about_device(&kept.id), &kept.sealed)
        .ok_or(StoreFault::WrongDeviceSecret {})?;
    let seed: &[u8; 32] = seed
        .as_slice()
        .try_into()
        .map_err(|_| StoreFault::damaged("the device's key has another length"))?;
    Ok(SigningKey::from_bytes(seed))
}

/// A transaction under way.
pub(super) struct Writing<'a> {
    pub(super) tx: &'a Transaction<'a>,
    pub(super) chain: &'a mut ChainCheck,
    pub(super) tally: &'a mut Tally,
    pub(super) at_ms: i64,
}

impl Writing<'_> {
    pub(super) fn item(
        &mut self,
        item: Item,
        device: &SigningKey,
        device_secret: &[u8; 32],
    ) -> Result<(), StoreFault> {
        match item {
            Item::Fact(fact) => self.fact(fact),
            Item::Seal { why } => {
                let head = self.tally.head.hash;
                self.fact(Fact::Sealed {
                    why,
                    alg: ALG_ED25519,
                    head: head.into(),
                    signature: device.sign(&seal_bytes(&head)).to_bytes().into(),
                })
            }
            Item::Blob { hash, bytes } => self.text(hash, &bytes),
            Item::Subject {
                id,
                clear,
                salt,
                key,
                nonce,
            } => {
                let key = Zeroizing::new(key);
                let subject = Subject::new(id, &clear, salt, &key, nonce, device_secret);
                subjects::write(self.tx, &subject)?;
                self.tally.subjects += 1;
                Ok(())
            }
            Item::Erase { ids } => {
                for id in ids {
                    self.tally.subjects -= i64::from(subjects::erase(self.tx, &id)?);
                }
                Ok(())
            }
            Item::PersonKey(key) => {
                self.tally.people += people::write(self.tx, &key)?;
                Ok(())
            }
        }
    }

    /// Appends an event. What the office would refuse is refused here.
    fn fact(&mut self, fact: Fact) -> Result<(), StoreFault> {
        let bytes = Event {
            version: FORMAT,
            at_ms: self.at_ms,
            fact,
        }
        .encode();
        self.chain
            .feed(&bytes)
            .map_err(|fault| StoreFault::refused(fault.to_string()))?;
        let hash: Hash = self.chain.head();
        self.tx
            .prepare_cached("INSERT INTO event (seq, hash, bytes) VALUES (?, ?, ?)")?
            .execute(params![self.chain.seq().cast_signed(), hash, bytes])?;
        self.tally.head = Head {
            seq: self.chain.seq(),
            hash,
        };
        Ok(())
    }

    fn text(&mut self, hash: Hash, bytes: &[u8]) -> Result<(), StoreFault> {
        if whole::sha256(bytes) != hash {
            return Err(StoreFault::refused(
                "a text under a hash that is not its own",
            ));
        }
        let new = self
            .tx
            .prepare_cached("INSERT OR IGNORE INTO text VALUES (?, ?)")?
            .execute(params![hash, bytes])?;
        self.tally.texts += new as i64;
        Ok(())
    }
}
