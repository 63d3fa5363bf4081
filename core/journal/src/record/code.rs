//! Texts that the office signs and a camera reads: a name with a version, a colon, and in
//! base45 (RFC 9285) a COSE_Sign1 message (RFC 9052) with its tag: protected header
//! algorithm EdDSA, unprotected header the key's id. `docs/journal.cddl` has the form.

use coset::{CoseSign1, CoseSign1Builder, HeaderBuilder, TaggedCborSerializable, iana};
use sha2::{Digest, Sha256};

use super::chain::verify_signature;
use super::fact::ALG_ED25519;

/// What the office signs one kind of text as.
pub(super) struct Kind {
    /// What the text begins with, without its version: `SSQ`.
    pub(super) name: &'static str,
    /// The version that is written and read.
    pub(super) version: u32,
    /// Bound into the signature, so that it never passes for another of the office's.
    pub(super) purpose: &'static [u8],
}

/// Why a code is not to be believed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum CodeFault {
    /// The code is of something else.
    #[error("this is not the code of {0}")]
    Other(&'static str),
    /// A later version of this software made it.
    #[error("this code is newer than this app: update it")]
    TooNew,
    /// The code is damaged, or not in the one form that it has.
    #[error("this code cannot be read: {0}")]
    Unreadable(String),
    /// It names a key that is not among the office's known ones.
    #[error("this code is signed with a key that this phone does not know")]
    UnknownKey,
    /// The signature does not hold: it was altered, or made by somebody else.
    #[error("this code is not as the office signed it")]
    Forged,
}

pub(super) fn unreadable(what: impl Into<String>) -> CodeFault {
    CodeFault::Unreadable(what.into())
}

/// The id by which a code names its key: the first eight bytes of the key's SHA-256.
pub fn key_id(key: &[u8; 32]) -> [u8; 8] {
    let hash = Sha256::digest(key);
    let mut id = [0; 8];
    id.copy_from_slice(&hash[..8]);
    id
}

impl Kind {
    fn begins(&self) -> String {
        format!("{}{}:", self.name, self.version)
    }

    /// The text over `payload`. `sign` signs with the private half of `key`.
    pub(super) fn code(
        &self,
        payload: Vec<u8>,
        key: &[u8; 32],
        sign: impl FnOnce(&[u8]) -> [u8; 64],
    ) -> String {
        let protected = HeaderBuilder::new()
            .algorithm(iana::Algorithm::EdDSA)
            .build();
        let unprotected = HeaderBuilder::new().key_id(key_id(key).to_vec()).build();
        let message = CoseSign1Builder::new()
            .protected(protected)
            .unprotected(unprotected)
            .payload(payload)
            .create_signature(self.purpose, |bytes| sign(bytes).to_vec())
            .build();
        match message.to_tagged_vec() {
            Ok(bytes) => [self.begins(), base45::encode(bytes)].concat(),
            // Every part of it is made just above, of types that can be written.
            Err(fault) => unreachable!("writing a code into memory: {fault}"),
        }
    }

    /// The payload of a text that was checked when it was taken in: no signature is checked.
    pub(super) fn payload(&self, text: &str, what: &'static str) -> Result<Vec<u8>, CodeFault> {
        let message = self.message(text, what)?;
        message.payload.ok_or_else(|| unreadable("empty"))
    }

    /// The payload of a text, checked with the office's public keys. `what` says of what it
    /// would be the code.
    pub(super) fn open(
        &self,
        text: &str,
        keys: &[[u8; 32]],
        what: &'static str,
    ) -> Result<Vec<u8>, CodeFault> {
        let message = self.message(text, what)?;
        let key = keys
            .iter()
            .find(|key| key_id(key)[..] == message.unprotected.key_id)
            .ok_or(CodeFault::UnknownKey)?;
        let signature: &[u8; 64] = message
            .signature
            .as_slice()
            .try_into()
            .map_err(|_| CodeFault::Forged)?;
        verify_signature(ALG_ED25519, key, &message.tbs_data(self.purpose), signature)
            .map_err(|_| CodeFault::Forged)?;
        message.payload.ok_or_else(|| unreadable("empty"))
    }

    /// The message in a text, in its one form; nothing of it is checked yet.
    fn message(&self, text: &str, what: &'static str) -> Result<CoseSign1, CodeFault> {
        let text = text.trim();
        let coded = match text.strip_prefix(&self.begins()) {
            Some(coded) => coded,
            None if self.is_later(text) => return Err(CodeFault::TooNew),
            None => return Err(CodeFault::Other(what)),
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
        Ok(message)
    }

    /// The same name with a later number.
    fn is_later(&self, text: &str) -> bool {
        text.strip_prefix(self.name)
            .and_then(|rest| rest.split_once(':'))
            .is_some_and(|(number, _)| number.parse::<u32>().is_ok_and(|n| n > self.version))
    }
}
