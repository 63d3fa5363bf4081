//! The hash chain and what is signed of it. Every kind of bytes that is hashed or
//! signed begins with a name of its own, so that one can never pass for another.

use super::RecordFault;
use super::fact::{ALG_ED25519, ALG_SHA256};
use ed25519_dalek::{Signature, VerifyingKey};
use sha2::{Digest, Sha256};

/// A head of the chain: SHA-256.
pub type Hash = [u8; 32];

fn sha256(parts: &[&[u8]]) -> Hash {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update(part);
    }
    hash.finalize().into()
}

/// The head of a journal in which nothing has been written.
pub fn genesis() -> Hash {
    sha256(&[b"standsquare/genesis/", &[ALG_SHA256]])
}

/// The head after an event, from the head before it and the event's bytes.
pub fn chain(previous: &Hash, event: &[u8]) -> Hash {
    sha256(&[b"standsquare/event/", &[ALG_SHA256], previous, event])
}

/// What the device signs when it seals a head.
pub fn seal_bytes(head: &Hash) -> Vec<u8> {
    [b"standsquare/seal/".as_slice(), &[ALG_ED25519], head].concat()
}

/// What a measurer signs: the statement, and the head that holds it. Nothing that
/// came before in the journal can change without the signature failing.
pub fn sign_off_bytes(head: &Hash, statement: &[u8]) -> Vec<u8> {
    [
        b"standsquare/sign-off/".as_slice(),
        &[ALG_ED25519],
        head,
        statement,
    ]
    .concat()
}

/// Checks a signature strictly: no weak key, no second signature for the same bytes.
///
/// # Errors
/// [`RecordFault::Algorithm`] or [`RecordFault::Signature`].
pub fn verify_signature(
    alg: u8,
    key: &[u8; 32],
    bytes: &[u8],
    signature: &[u8; 64],
) -> Result<(), RecordFault> {
    if alg != ALG_ED25519 {
        return Err(RecordFault::Algorithm { alg });
    }
    let fault = || RecordFault::Signature {
        seq: 0,
        who: String::new(),
    };
    let key = VerifyingKey::from_bytes(key).map_err(|_| fault())?;
    key.verify_strict(bytes, &Signature::from_bytes(signature))
        .map_err(|_| fault())
}
