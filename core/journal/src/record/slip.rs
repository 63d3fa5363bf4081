//! The handler's slip: what was found of a dog, signed by the office, in a QR code that
//! any phone can check without a signal.
//!
//! The text of the code is `SSQ1:` and, in base45 (RFC 9285), a COSE_Sign1 message
//! (RFC 9052) with its tag: protected header algorithm EdDSA, unprotected header the key's
//! id, payload a [`Slip`] in deterministic CBOR. `docs/journal.cddl` has the form.

use coset::{CoseSign1, CoseSign1Builder, HeaderBuilder, TaggedCborSerializable, iana};
use minicbor::{Decode, Encode};
use sha2::{Digest, Sha256};

use super::canonical;
use super::chain::verify_signature;
use super::fact::ALG_ED25519;

/// What the text of a slip's code begins with: which kind of code it is, and its version.
const BEGINS: &str = "SSQ1:";

/// Bound into the signature, so that it never passes for another of the office's.
const PURPOSE: &[u8] = b"standsquare/slip/";

/// What a handler takes home.
#[derive(Clone, Debug, PartialEq, Eq, Encode, Decode)]
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

/// Why a slip is not to be believed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum SlipFault {
    /// The code is of something else.
    #[error("this is not a slip's code")]
    NotASlip,
    /// A later version of this software made it.
    #[error("this slip is newer than this app: update it")]
    TooNew,
    /// The code is damaged, or not in the one form that a slip has.
    #[error("this slip's code cannot be read: {0}")]
    Unreadable(String),
    /// It names a key that is not among the office's known ones.
    #[error("this slip is signed with a key that this phone does not know")]
    UnknownKey,
    /// The signature does not hold: it was altered, or made by somebody else.
    #[error("this slip is not as the office signed it")]
    Forged,
}

/// The id by which a slip names its key: the first eight bytes of the key's SHA-256.
pub fn key_id(key: &[u8; 32]) -> [u8; 8] {
    let hash = Sha256::digest(key);
    let mut id = [0; 8];
    id.copy_from_slice(&hash[..8]);
    id
}

impl Slip {
    /// The text of its code. `sign` signs with the private half of `key`.
    pub fn code(&self, key: &[u8; 32], sign: impl FnOnce(&[u8]) -> [u8; 64]) -> String {
        let protected = HeaderBuilder::new()
            .algorithm(iana::Algorithm::EdDSA)
            .build();
        let unprotected = HeaderBuilder::new().key_id(key_id(key).to_vec()).build();
        let message = CoseSign1Builder::new()
            .protected(protected)
            .unprotected(unprotected)
            .payload(canonical::encode(self))
            .create_signature(PURPOSE, |bytes| sign(bytes).to_vec())
            .build();
        match message.to_tagged_vec() {
            Ok(bytes) => [BEGINS, &base45::encode(bytes)].concat(),
            // Every part of it is made just above, of types that can be written.
            Err(fault) => unreachable!("writing a slip into memory: {fault}"),
        }
    }

    /// Reads a code and checks it with the office's public keys.
    ///
    /// # Errors
    /// [`SlipFault`]; each says what to think of it.
    pub fn check(code: &str, keys: &[[u8; 32]]) -> Result<Slip, SlipFault> {
        let unreadable = |what: &str| SlipFault::Unreadable(what.to_owned());
        let text = code.trim();
        let coded = match text.strip_prefix(BEGINS) {
            Some(coded) => coded,
            None if is_later(text) => return Err(SlipFault::TooNew),
            None => return Err(SlipFault::NotASlip),
        };
        let bytes = base45::decode(coded).map_err(|_| unreadable("not base45"))?;
        let message =
            CoseSign1::from_tagged_slice(&bytes).map_err(|_| unreadable("not COSE_Sign1"))?;
        // One form only, so that two codes never say the same.
        if message.clone().to_tagged_vec().ok().as_deref() != Some(&bytes)
            || base45::encode(&bytes) != coded
        {
            return Err(unreadable("not in its one form"));
        }
        let alg = &message.protected.header.alg;
        if *alg
            != Some(coset::RegisteredLabelWithPrivate::Assigned(
                iana::Algorithm::EdDSA,
            ))
        {
            return Err(unreadable("an algorithm that is not known"));
        }
        let key = keys
            .iter()
            .find(|key| key_id(key)[..] == message.unprotected.key_id)
            .ok_or(SlipFault::UnknownKey)?;
        let signature: &[u8; 64] = message
            .signature
            .as_slice()
            .try_into()
            .map_err(|_| SlipFault::Forged)?;
        verify_signature(ALG_ED25519, key, &message.tbs_data(PURPOSE), signature)
            .map_err(|_| SlipFault::Forged)?;
        let payload = message.payload.ok_or_else(|| unreadable("empty"))?;
        canonical::decode(&payload, "a slip").map_err(|fault| unreadable(&fault.to_string()))
    }
}

/// `SSQ` with another number.
fn is_later(text: &str) -> bool {
    text.strip_prefix("SSQ")
        .and_then(|rest| rest.split_once(':'))
        .is_some_and(|(number, _)| number.parse::<u32>().is_ok_and(|n| n > 1))
}
