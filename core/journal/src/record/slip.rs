//! The handler's slip: what was found of a dog, signed by the office, in a QR code that
//! any phone can check without a signal.
//!
//! The text of the code is `SSQ1:` and, in base45 (RFC 9285), a COSE_Sign1 message
//! (RFC 9052) with its tag: protected header algorithm EdDSA, unprotected header the key's
//! id, payload a [`Slip`] in deterministic CBOR. `docs/journal.cddl` has the form.

use minicbor::Encode;
use standsquare_plain::record;

use super::canonical;
use super::code::{CodeFault, Kind, unreadable};

pub use super::code::{CodeFault as SlipFault, key_id};

const KIND: Kind = Kind {
    name: "SSQ",
    version: 1,
    purpose: b"standsquare/slip/",
};

/// What a handler takes home.
#[derive(Clone, Debug, PartialEq, Eq, Encode)]
pub struct Slip {
    /// Call name.
    #[n(0)]
    pub dog: String,
    /// The chip's number; empty if the dog has none.
    #[n(1)]
    pub chip: String,
    /// Label of the height category, or what it came to instead.
    #[n(2)]
    pub result: String,
    /// The status's id (provisional, permanent, …).
    #[n(3)]
    pub status: String,
    /// The day of the measure, days since 1970-01-01.
    #[n(4)]
    pub day: i32,
    /// First day of the second measure's window, days since 1970-01-01.
    #[n(5)]
    pub window_from: Option<i32>,
    /// Its last day.
    #[n(6)]
    pub window_to: Option<i32>,
    /// The measurers' numbers.
    #[n(7)]
    pub measurers: Vec<String>,
    /// The rule pack's id and edition.
    #[n(8)]
    pub pack: String,
    /// Whether this is the invented league. Never absent.
    #[n(9)]
    pub demo: bool,
}

record!(Slip {
    dog,
    chip,
    result,
    status,
    day,
    window_from,
    window_to,
    measurers,
    pack,
    demo
});

impl Slip {
    /// The text of its code. `sign` signs with the private half of `key`.
    pub fn code(&self, key: &[u8; 32], sign: impl FnOnce(&[u8]) -> [u8; 64]) -> String {
        KIND.code(canonical::encode(self), key, sign)
    }

    /// Reads a code and checks it with the office's public keys.
    ///
    /// # Errors
    /// [`CodeFault`]; each says what to think of it.
    pub fn check(code: &str, keys: &[[u8; 32]]) -> Result<Slip, CodeFault> {
        let payload = KIND.open(code, keys, "a slip")?;
        canonical::decode(&payload, "a slip").map_err(|fault| unreadable(fault.to_string()))
    }
}
