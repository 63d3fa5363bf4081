//! Measurers' keys, each wrapped by its PIN and the device's secret together.

use argon2::{Algorithm, Argon2, Params, Version};
use ed25519_dalek::{Signer, SigningKey};
use rusqlite::{Connection, OptionalExtension, Row, Transaction, params};
use zeroize::Zeroizing;

use super::StoreFault;
use super::seals::{derive, open, row_sum, seal};

/// Argon2id's cost: memory in KiB, passes, lanes. The least that is commonly
/// advised for passwords (from memory); kept beside each key, so that a later
/// version can raise it.
const COST: Cost = Cost {
    memory: 19 * 1024,
    passes: 2,
    lanes: 1,
};

/// What takes the place of a PIN on the owner's own phone is 32 random bytes: they need no
/// stretching, so this is the least that Argon2 takes (RFC 9106, 3.1: 8 KiB a lane).
const UNSTRETCHED: Cost = Cost {
    memory: 8,
    passes: 1,
    lanes: 1,
};

/// Under what the key of the phone's owner is kept a second time. Nobody has this id: those of
/// a roster hold no control character. There is one such row, as a phone has one owner.
const OWNER: &str = "\u{1}owner";

/// The most memory, in KiB, that a key on file may ask for: 1 GiB. Own choice.
const MOST_MEMORY: u32 = 1024 * 1024;

/// A key could not be made or used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum KeyFault {
    /// The PIN (or the device's secret) is not the one it was wrapped with.
    #[error("the PIN does not open this key")]
    WrongPin,
    /// Its stretching costs cannot be met here.
    #[error("the key cannot be stretched: {0}")]
    Stretch(String),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Cost {
    memory: u32,
    passes: u32,
    lanes: u32,
}

impl Cost {
    fn bytes(self) -> [u8; 12] {
        let mut out = [0; 12];
        out[..4].copy_from_slice(&self.memory.to_be_bytes());
        out[4..8].copy_from_slice(&self.passes.to_be_bytes());
        out[8..].copy_from_slice(&self.lanes.to_be_bytes());
        out
    }
}

/// A measurer's key on this phone, wrapped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrappedKey {
    person: String,
    public: [u8; 32],
    salt: [u8; 16],
    nonce: [u8; 24],
    sealed: Vec<u8>,
    cost: Cost,
}

/// Makes a measurer's key and wraps it. `entropy` is fresh and used for nothing else.
///
/// # Errors
/// [`KeyFault::Stretch`] where the machine cannot give the memory.
pub fn make_person_key(
    person: &str,
    pin: &str,
    device_secret: &[u8; 32],
    entropy: [u8; 32],
) -> Result<WrappedKey, KeyFault> {
    let entropy = Zeroizing::new(entropy);
    let seed = derive("person/seed", &[], entropy.as_slice());
    WrappedKey::wrap(person, &seed, COST, pin.as_bytes(), device_secret, &entropy)
}

impl WrappedKey {
    fn wrap(
        person: &str,
        seed: &[u8; 32],
        cost: Cost,
        secret: &[u8],
        device_secret: &[u8; 32],
        entropy: &Zeroizing<[u8; 32]>,
    ) -> Result<WrappedKey, KeyFault> {
        let mut key = WrappedKey {
            person: person.to_owned(),
            public: SigningKey::from_bytes(seed).verifying_key().to_bytes(),
            salt: *derive("person/salt", &[], entropy.as_slice()),
            nonce: *derive("person/nonce", &[], entropy.as_slice()),
            sealed: Vec::new(),
            cost,
        };
        let wrap = key.wrapping_key(secret, device_secret)?;
        key.sealed = seal(&wrap, &key.nonce, &key.about(), seed);
        Ok(key)
    }

    /// The same key wrapped a second time, for the owner of the phone: by `unlock`, which the
    /// phone's key store gives up only to its owner's biometrics, in place of the PIN, and by
    /// the phone's secret as before. `entropy` is fresh and used for nothing else.
    ///
    /// # Errors
    /// As [`WrappedKey::sign`].
    pub fn for_owner(
        &self,
        pin: &str,
        device_secret: &[u8; 32],
        unlock: &[u8; 32],
        entropy: [u8; 32],
    ) -> Result<WrappedKey, KeyFault> {
        let entropy = Zeroizing::new(entropy);
        let seed = self.opened(pin.as_bytes(), device_secret)?;
        WrappedKey::wrap(OWNER, &seed, UNSTRETCHED, unlock, device_secret, &entropy)
    }

    /// What is written in place of the owner's second wrapping to take it away.
    pub fn no_owner() -> WrappedKey {
        WrappedKey {
            person: OWNER.to_owned(),
            public: [0; 32],
            salt: [0; 16],
            nonce: [0; 24],
            sealed: Vec::new(),
            cost: UNSTRETCHED,
        }
    }

    /// Whose it is: id in the roster.
    pub fn person(&self) -> &str {
        &self.person
    }

    /// The public key.
    pub fn public(&self) -> [u8; 32] {
        self.public
    }

    /// Signs `bytes` with the key, which is open only for this call. `secret` is the PIN's
    /// digits, or the owner's unlock.
    ///
    /// # Errors
    /// [`KeyFault::WrongPin`]; [`KeyFault::Stretch`] where the machine cannot give the
    /// memory.
    pub fn sign(
        &self,
        secret: impl AsRef<[u8]>,
        device_secret: &[u8; 32],
        bytes: &[u8],
    ) -> Result<[u8; 64], KeyFault> {
        let seed = self.opened(secret.as_ref(), device_secret)?;
        // The key wipes itself when it goes.
        Ok(SigningKey::from_bytes(&seed).sign(bytes).to_bytes())
    }

    fn opened(
        &self,
        secret: &[u8],
        device_secret: &[u8; 32],
    ) -> Result<Zeroizing<[u8; 32]>, KeyFault> {
        let wrap = self.wrapping_key(secret, device_secret)?;
        let seed =
            open(&wrap, &self.nonce, &self.about(), &self.sealed).ok_or(KeyFault::WrongPin)?;
        let seed = seed.as_slice().try_into().map_err(|_| KeyFault::WrongPin)?;
        Ok(Zeroizing::new(seed))
    }

    /// What the wrapping is bound to: a key cannot be passed off as another person's.
    fn about(&self) -> Vec<u8> {
        [
            b"standsquare/person-key/".as_slice(),
            &self.public,
            &self.cost.bytes(),
            self.person.as_bytes(),
        ]
        .concat()
    }

    /// Neither a PIN guessed off the phone nor the phone's secret without the PIN
    /// gives it.
    fn wrapping_key(
        &self,
        secret: &[u8],
        device_secret: &[u8; 32],
    ) -> Result<Zeroizing<[u8; 32]>, KeyFault> {
        let fault = |e: argon2::Error| KeyFault::Stretch(e.to_string());
        if self.cost.memory > MOST_MEMORY {
            return Err(KeyFault::Stretch("it asks for too much memory".into()));
        }
        let Cost {
            memory,
            passes,
            lanes,
        } = self.cost;
        let params = Params::new(memory, passes, lanes, Some(32)).map_err(fault)?;
        let mut from_pin = Zeroizing::new([0u8; 32]);
        Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
            .hash_password_into(secret, &self.salt, from_pin.as_mut_slice())
            .map_err(fault)?;
        Ok(derive("person/wrap", from_pin.as_slice(), device_secret))
    }

    fn sum(&self) -> [u8; 32] {
        row_sum(
            "person",
            &[
                self.person.as_bytes(),
                &self.public,
                &self.salt,
                &self.nonce,
                &self.sealed,
                &self.cost.bytes(),
            ],
        )
    }
}

const COLUMNS: &str = "person, public, salt, nonce, sealed, memory, passes, lanes, sum";

fn read(row: &Row) -> Result<WrappedKey, StoreFault> {
    let key = WrappedKey {
        person: row.get(0)?,
        public: row.get(1)?,
        salt: row.get(2)?,
        nonce: row.get(3)?,
        sealed: row.get(4)?,
        cost: Cost {
            memory: row.get(5)?,
            passes: row.get(6)?,
            lanes: row.get(7)?,
        },
    };
    let sum: [u8; 32] = row.get(8)?;
    if sum == key.sum() {
        Ok(key)
    } else {
        Err(StoreFault::damaged(
            "a measurer's key is not as it was written",
        ))
    }
}

/// The key of one person.
pub(super) fn find(db: &Connection, person: &str) -> Result<Option<WrappedKey>, StoreFault> {
    let mut find = db.prepare_cached(&format!("SELECT {COLUMNS} FROM person WHERE person = ?"))?;
    find.query_row([person], |row| Ok(read(row)))
        .optional()?
        .transpose()
}

/// Every key on file; an error in place of one that is not as it was written.
pub(super) fn all(
    db: &Connection,
    mut take: impl FnMut(Result<WrappedKey, StoreFault>) -> Result<(), StoreFault>,
) -> Result<(), StoreFault> {
    let mut find = db.prepare(&format!("SELECT {COLUMNS} FROM person ORDER BY person"))?;
    let mut rows = find.query([])?;
    while let Some(row) = rows.next()? {
        take(read(row))?;
    }
    Ok(())
}

/// The second wrapping for the phone's owner.
pub(super) fn owner(db: &Connection) -> Result<Option<WrappedKey>, StoreFault> {
    find(db, OWNER)
}

/// Writes a key, in place of an older one of the same person, or takes that away where there is
/// nothing in it; by how many keys there are more.
pub(super) fn write(tx: &Transaction, key: &WrappedKey) -> Result<i64, StoreFault> {
    let gone = tx.execute("DELETE FROM person WHERE person = ?", [&key.person])? as i64;
    if key.sealed.is_empty() {
        return Ok(-gone);
    }
    tx.execute(
        &format!("INSERT INTO person ({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)"),
        params![
            key.person,
            key.public,
            key.salt,
            key.nonce,
            key.sealed,
            key.cost.memory,
            key.cost.passes,
            key.cost.lanes,
            key.sum()
        ],
    )?;
    Ok(1 - gone)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::verify_signature;

    #[test]
    fn a_key_signs_with_its_pin_on_its_phone_only() {
        let key = make_person_key("ottoline", "4711", &[1; 32], [2; 32]).expect("a key");
        let signature = key.sign("4711", &[1; 32], b"text").expect("signs");
        verify_signature(1, &key.public(), b"text", &signature).expect("holds");
        assert_eq!(key.sign("4712", &[1; 32], b"text"), Err(KeyFault::WrongPin));
        assert_eq!(key.sign("4711", &[3; 32], b"text"), Err(KeyFault::WrongPin));
        assert!(verify_signature(1, &key.public(), b"other", &signature).is_err());
        assert!(verify_signature(2, &key.public(), b"text", &signature).is_err());
    }

    #[test]
    fn the_owners_wrapping_opens_the_same_key_by_the_unlock_and_by_nothing_else() {
        let key = make_person_key("ottoline", "4711", &[1; 32], [2; 32]).expect("a key");
        let again = |pin| key.for_owner(pin, &[1; 32], &[7; 32], [8; 32]);
        assert_eq!(again("4712"), Err(KeyFault::WrongPin));
        let owner = again("4711").expect("wrapped");
        assert_eq!(owner.public(), key.public());
        let signature = owner.sign([7; 32], &[1; 32], b"text").expect("signs");
        verify_signature(1, &key.public(), b"text", &signature).expect("holds");
        let refused = Err(KeyFault::WrongPin);
        assert_eq!(
            owner.sign([6; 32], &[1; 32], b"text"),
            refused,
            "another unlock"
        );
        assert_eq!(
            owner.sign([7; 32], &[3; 32], b"text"),
            refused,
            "another phone"
        );
        assert_eq!(owner.sign("4711", &[1; 32], b"text"), refused, "the PIN");
        assert_eq!(
            key.sign([7; 32], &[1; 32], b"text"),
            refused,
            "the first wrapping"
        );
        assert!(
            WrappedKey::no_owner()
                .sign([7; 32], &[1; 32], b"text")
                .is_err()
        );
        // Neither can be passed off as the other.
        let posing = WrappedKey {
            person: key.person.clone(),
            ..owner
        };
        assert_eq!(posing.sign([7; 32], &[1; 32], b"text"), refused);
    }

    #[test]
    fn a_key_does_not_open_under_another_name_or_with_another_public_key() {
        let key = make_person_key("ottoline", "4711", &[1; 32], [2; 32]).expect("a key");
        let renamed = WrappedKey {
            person: "bram".into(),
            ..key.clone()
        };
        let posing = WrappedKey {
            public: [9; 32],
            ..key
        };
        for other in [renamed, posing] {
            assert_eq!(
                other.sign("4711", &[1; 32], b"text"),
                Err(KeyFault::WrongPin)
            );
        }
    }
}
