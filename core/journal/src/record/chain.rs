//! The hash chain and what is signed of it. Every kind of bytes that is hashed or
//! signed begins with a name of its own and the ids of its algorithms, so that one
//! can never pass for another.

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

/// The head of a journal in which nothing has been written: SHA-256 over
/// `standsquare/genesis/` and the hash algorithm's id.
pub fn genesis() -> Hash {
    sha256(&[b"standsquare/genesis/", &[ALG_SHA256]])
}

/// The head after an event: SHA-256 over `standsquare/event/`, the hash algorithm's
/// id, the head before it, and the event's bytes as they are kept.
pub fn chain(previous: &Hash, event: &[u8]) -> Hash {
    sha256(&[b"standsquare/event/", &[ALG_SHA256], previous, event])
}

/// What the chain holds of personal data: salted, so that nobody can try names until one
/// fits once the salt is gone. SHA-256 over `standsquare/subject/`, the hash algorithm's id,
/// the salt and the data.
pub fn subject_commitment(clear: &[u8], salt: &[u8; 32]) -> Hash {
    sha256(&[b"standsquare/subject/", &[ALG_SHA256], salt, clear])
}

/// Bytes that are signed under a head: their name, the ids of the signature's and the hash's
/// algorithm, the head, and what stands under it.
fn named(name: &[u8], head: &Hash, bytes: &[u8]) -> Vec<u8> {
    [name, &[ALG_ED25519, ALG_SHA256], head, bytes].concat()
}

/// What the device signs when it seals a head: `standsquare/seal/`, the ids of the
/// signature's and the hash's algorithm, and the head.
pub fn seal_bytes(head: &Hash) -> Vec<u8> {
    named(b"standsquare/seal/", head, &[])
}

/// What a measurer signs: `standsquare/sign-off/`, the ids of the signature's and the
/// hash's algorithm, the head after the statement was put up, and the statement's bytes
/// as they are kept. Nothing that came before in the journal can change without the
/// signature failing.
pub fn sign_off_bytes(head: &Hash, statement: &[u8]) -> Vec<u8> {
    named(b"standsquare/sign-off/", head, statement)
}

/// What a measurer signs to put something right: `standsquare/correction/`, the ids of
/// the signature's and the hash's algorithm, the head after the correction was put up,
/// and the correction's bytes as they are kept.
pub fn correction_bytes(head: &Hash, correction: &[u8]) -> Vec<u8> {
    named(b"standsquare/correction/", head, correction)
}

/// What a measurer signs when they open their key for the dogs that follow:
/// `standsquare/unlock/`, the ids of the signature's and the hash's algorithm, and the head.
pub fn unlock_bytes(head: &Hash) -> Vec<u8> {
    named(b"standsquare/unlock/", head, &[])
}

/// What a measurer signs at the close, where the rules have a session signed once:
/// `standsquare/list/`, the ids of the signature's and the hash's algorithm, the head after
/// the list was put up, and the list's bytes as they are kept.
pub fn list_bytes(head: &Hash, list: &[u8]) -> Vec<u8> {
    named(b"standsquare/list/", head, list)
}

/// What names a statement in a list: SHA-256 over `standsquare/statement/`, the hash
/// algorithm's id, and the statement's bytes as they are kept.
pub fn statement_hash(statement: &[u8]) -> Hash {
    sha256(&[b"standsquare/statement/", &[ALG_SHA256], statement])
}

/// What a trainer signs of a trainee's practice: `standsquare/practice/`, the ids of the
/// signature's and the hash's algorithm, and the record's bytes as they are kept. No head:
/// whoever is shown the record alone can check it.
pub fn practice_bytes(record: &[u8]) -> Vec<u8> {
    [
        b"standsquare/practice/".as_slice(),
        &[ALG_ED25519, ALG_SHA256],
        record,
    ]
    .concat()
}

/// Checks one signature, strictly: a key or signature of small order, or one written
/// in another than its one form, is refused even where RFC 8032 would let it pass.
///
/// # Errors
/// [`RecordFault::Algorithm`] for an algorithm not known here, [`RecordFault::Key`] for
/// bytes that are no key, [`RecordFault::Signature`] where it does not hold.
pub fn verify_signature(
    alg: u8,
    key: &[u8; 32],
    bytes: &[u8],
    signature: &[u8; 64],
) -> Result<(), RecordFault> {
    if alg != ALG_ED25519 {
        return Err(RecordFault::Algorithm {
            seq: 0,
            alg,
            what: "a signature",
        });
    }
    let key = VerifyingKey::from_bytes(key).map_err(|_| RecordFault::Key {
        seq: 0,
        whose: "the signer".into(),
    })?;
    key.verify_strict(bytes, &Signature::from_bytes(signature))
        .map_err(|_| RecordFault::Signature)
}
