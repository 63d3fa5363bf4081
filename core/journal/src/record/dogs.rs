//! The list of a table's dogs: what was measured there, signed by its phone and read by
//! another one's camera where there is no signal, so that the same dog twice is seen at once.
//!
//! A dog stands in it under a salted mark and not under its number: whoever photographs the
//! code does not read the dogs off it, and eight bytes are shorter. It is no secret: who has a
//! dog's number finds it in the list, as is meant. `docs/journal.cddl` has the form.

use minicbor::Encode;
use minicbor::bytes::ByteArray;
use sha2::{Digest, Sha256};
use standsquare_plain::record;

use super::canonical;
use super::code::{Kind, unreadable};
use super::fact::Id;

pub use super::code::CodeFault;

const KIND: Kind = Kind {
    name: "SSD",
    version: 1,
    purpose: b"standsquare/dogs/",
};

const WHAT: &str = "a list of dogs";

/// Before the salt and the number of a mark.
const MARK_DOMAIN: &[u8] = b"standsquare/dogs/mark/";

/// Most dogs in a list. Own choice, no source: more than any table measures in a day, and still
/// pieces that a camera takes in under a minute.
pub const MOST: usize = 400;

/// What [`DogDone::came`] says besides a category.
const UNTOLD: u32 = 0;
const NOT_TODAY: u32 = 1;
const REFERRED: u32 = 2;
/// The first category.
const CATEGORY: u32 = 3;

/// What came of a dog.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Came {
    /// It was measured; what was found is not told, since the rules hide it from who
    /// measures after.
    Untold,
    /// It was stopped for today.
    NotToday,
    /// The rules say who decides.
    Referred,
    /// This category: its id in the rule pack.
    Category(String),
}

/// One dog of the list.
#[derive(Clone, Debug, PartialEq, Eq, Encode)]
pub struct DogDone {
    /// [`Dogs::mark`] of a number of it.
    #[n(0)]
    pub mark: ByteArray<8>,
    /// What came of it: 0 measured and not told, 1 not today, 2 referred, from 3 on the
    /// list's categories.
    #[n(1)]
    pub came: u32,
    /// How long before the list was made, whole minutes.
    #[n(2)]
    pub ago_min: u32,
}

record!(DogDone {
    mark,
    came,
    ago_min
});

/// The list.
#[derive(Clone, Debug, PartialEq, Eq, Encode)]
pub struct Dogs {
    /// The league's id.
    #[n(0)]
    pub league: String,
    /// The session.
    #[n(1)]
    pub session: Id,
    /// The journal of the phone that made it.
    #[n(2)]
    pub journal: Id,
    /// Number of that journal's newest event: of two lists the later one has the higher.
    #[n(3)]
    pub seq: u64,
    /// When it was made by that phone's clock, Unix milliseconds.
    #[n(4)]
    pub at_ms: i64,
    /// Random: what the marks are made with.
    #[n(5)]
    pub salt: Id,
    /// Ids of the categories that occur.
    #[n(6)]
    pub categories: Vec<String>,
    /// The dogs, in the order of the day.
    #[n(7)]
    pub dogs: Vec<DogDone>,
    /// Whether this is the invented league. Never absent.
    #[n(8)]
    pub demo: bool,
}

record!(Dogs {
    league,
    session,
    journal,
    seq,
    at_ms,
    salt,
    categories,
    dogs,
    demo
});

impl Dogs {
    /// What stands for a number in a list with this salt.
    pub fn mark(salt: &[u8; 16], number: &str) -> [u8; 8] {
        let hash = Sha256::new()
            .chain_update(MARK_DOMAIN)
            .chain_update(salt)
            .chain_update(number.as_bytes())
            .finalize();
        let mut mark = [0; 8];
        mark.copy_from_slice(&hash[..8]);
        mark
    }

    /// Adds a dog that has this number.
    pub fn add(&mut self, number: &str, came: &Came, ago_min: u32) {
        let came = match came {
            Came::Untold => UNTOLD,
            Came::NotToday => NOT_TODAY,
            Came::Referred => REFERRED,
            Came::Category(id) => {
                let at = self.categories.iter().position(|c| c == id);
                let at = at.unwrap_or_else(|| {
                    self.categories.push(id.clone());
                    self.categories.len() - 1
                });
                CATEGORY + at as u32
            }
        };
        self.dogs.push(DogDone {
            mark: Self::mark(&self.salt, number).into(),
            came,
            ago_min,
        });
    }

    /// The dog with this number, if it is in the list: what came of it last, and when.
    pub fn find(&self, number: &str) -> Option<(Came, i64)> {
        let mark = Self::mark(&self.salt, number);
        let dog = self.dogs.iter().rev().find(|d| *d.mark == mark)?;
        Some((
            self.came(dog)?,
            self.at_ms - i64::from(dog.ago_min) * 60_000,
        ))
    }

    fn came(&self, dog: &DogDone) -> Option<Came> {
        Some(match dog.came {
            UNTOLD => Came::Untold,
            NOT_TODAY => Came::NotToday,
            REFERRED => Came::Referred,
            n => Came::Category(self.categories.get((n - CATEGORY) as usize)?.clone()),
        })
    }

    /// The text of its code. `sign` signs with the private half of `key`, the device's.
    pub fn code(&self, key: &[u8; 32], sign: impl FnOnce(&[u8]) -> [u8; 64]) -> String {
        KIND.code(canonical::encode(self), key, sign)
    }

    /// Whether a text is such a list, of whatever version.
    pub fn is_one(text: &str) -> bool {
        KIND.is_one(text)
    }

    /// Reads a text and checks it with these devices' public keys: whose it is, and what it
    /// says.
    ///
    /// # Errors
    /// [`CodeFault`]; each says what to think of it.
    pub fn check(text: &str, keys: &[[u8; 32]]) -> Result<([u8; 32], Dogs), CodeFault> {
        let (key, payload) = KIND.open_by(text, keys, WHAT)?;
        Ok((key, Self::of_payload(&payload)?))
    }

    /// The message in a text, as it is kept.
    ///
    /// # Errors
    /// As for [`Dogs::check`]; no signature is checked.
    pub fn message(text: &str) -> Result<Vec<u8>, CodeFault> {
        KIND.bytes(text, WHAT)
    }

    /// Reads a message again that was checked when it was taken in.
    ///
    /// # Errors
    /// As for [`Dogs::check`]; no signature is checked.
    pub fn again(message: &[u8]) -> Result<Dogs, CodeFault> {
        Self::of_payload(&KIND.payload(&KIND.text(message), WHAT)?)
    }

    fn of_payload(payload: &[u8]) -> Result<Dogs, CodeFault> {
        let dogs: Dogs =
            canonical::decode(payload, WHAT).map_err(|fault| unreadable(fault.to_string()))?;
        let long = dogs.dogs.len() > MOST || dogs.categories.len() > MOST;
        if long || dogs.dogs.iter().any(|d| dogs.came(d).is_none()) {
            return Err(unreadable("its dogs are not possible"));
        }
        // Far outside of any clock, so that no sum with it can go wrong.
        if !(0..=MOST_MS).contains(&dogs.at_ms) {
            return Err(unreadable("its time is not possible"));
        }
        Ok(dogs)
    }
}

/// The end of the year 9999, Unix milliseconds.
const MOST_MS: i64 = 253_402_300_799_999;
