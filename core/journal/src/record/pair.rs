//! Two phones of one session: the one that began it shows a code, the other one reads it and
//! begins under the same id; its own code is the answer. Each keeps a record of its own.
//! `docs/journal.cddl` has the form.

use minicbor::Encode;
use standsquare_plain::record;

use super::canonical;
use super::code::{Kind, unreadable};
use super::fact::{B32, Id};

pub use super::code::CodeFault;

const KIND: Kind = Kind {
    name: "SSP",
    version: 1,
    purpose: b"standsquare/pairing/",
};

const WHAT: &str = "the other phone of a session";

/// Longest name of a venue, bytes. Own choice, no source: what a phone lets nobody type.
const LONGEST: usize = 400;

/// What one phone tells the other.
#[derive(Clone, Debug, PartialEq, Eq, Encode)]
pub struct Pairing {
    /// The league's id.
    #[n(0)]
    pub league: String,
    /// The session that both record.
    #[n(1)]
    pub session: Id,
    /// The journal of the phone that shows it.
    #[n(2)]
    pub journal: Id,
    /// SHA-256 of the rule pack's text.
    #[n(3)]
    pub pack: B32,
    /// Where; empty while nobody has said.
    #[n(4)]
    pub venue: String,
    /// The session's day, days since 1970-01-01.
    #[n(5)]
    pub day: i32,
    /// The session's time, minutes east of UTC.
    #[n(6)]
    pub offset_min: i32,
    /// Whether this is the invented league. Never absent.
    #[n(7)]
    pub demo: bool,
}

record!(Pairing {
    league,
    session,
    journal,
    pack,
    venue,
    day,
    offset_min,
    demo
});

impl Pairing {
    /// The text of its code. `sign` signs with the private half of `key`, the device's.
    pub fn code(&self, key: &[u8; 32], sign: impl FnOnce(&[u8]) -> [u8; 64]) -> String {
        KIND.code(canonical::encode(self), key, sign)
    }

    /// Whether a text is such a code, of whatever version.
    pub fn is_one(text: &str) -> bool {
        KIND.is_one(text)
    }

    /// Reads a text and checks it with these devices' public keys: whose it is, and what it
    /// says.
    ///
    /// # Errors
    /// [`CodeFault`]; each says what to think of it.
    pub fn check(text: &str, keys: &[[u8; 32]]) -> Result<([u8; 32], Pairing), CodeFault> {
        let (key, payload) = KIND.open_by(text, keys, WHAT)?;
        let pairing: Pairing =
            canonical::decode(&payload, WHAT).map_err(|fault| unreadable(fault.to_string()))?;
        // A day has 24 hours, east and west.
        let possible = (-1_440..=1_440).contains(&pairing.offset_min);
        if !possible || pairing.venue.len() > LONGEST || pairing.venue.chars().any(char::is_control)
        {
            return Err(unreadable("what it says is not possible"));
        }
        Ok((key, pairing))
    }
}
