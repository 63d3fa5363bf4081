//! What phone and office sign for each other: a CBOR array with the signed body in it, in
//! one form, checked strictly.

use ed25519_dalek::{Signature, VerifyingKey};
use minicbor::bytes::{ByteArray, ByteVec};
use minicbor::{Decode, Encode};
use standsquare_plain::record;

use crate::frame::to_cbor;

/// The algorithm beside a signature: 1 is Ed25519 (RFC 8032), checked strictly.
const ALG_ED25519: u32 = 1;

/// What is signed.
pub(crate) struct Kind {
    /// In words, for whoever reads of a fault: `a roster's edition`.
    pub what: &'static str,
    /// The format that is written, and the newest that is read.
    pub format: u32,
    /// Goes before the bytes that are signed, so that a signature under one thing can never
    /// be used as one under another.
    pub domain: &'static [u8],
}

/// Why a signed message counts for nothing.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum SignedFault {
    /// Not such a message at all, or one that contradicts itself.
    #[error("this is not {what}: {reason}")]
    Unreadable {
        /// What it should be.
        what: &'static str,
        /// What is wrong.
        reason: String,
    },
    /// Newer software wrote it.
    #[error("{what} of format {found} is newer than this software reads: update it")]
    TooNew {
        /// What it is.
        what: &'static str,
        /// Its format.
        found: u32,
    },
    /// Readable, but not in the one allowed form.
    #[error("not in deterministic form")]
    NotDeterministic,
    /// The key that is expected is no usable Ed25519 key.
    #[error("the key is not usable")]
    BadKey,
    /// It is of, or for, another office.
    #[error("it belongs to another office than the one expected")]
    OtherOffice,
    /// The signature does not fit.
    #[error("the signature does not fit")]
    Forged,
}

#[derive(Encode)]
struct Wire {
    #[n(0)]
    format: u32,
    #[n(1)]
    alg: u32,
    #[n(2)]
    body: ByteVec,
    #[n(3)]
    signature: ByteArray<64>,
}

record!(Wire {
    format,
    alg,
    body,
    signature
});

/// A body with its signature, not yet checked.
pub(crate) struct Unchecked<T> {
    pub body: T,
    bytes: Vec<u8>,
    signature: [u8; 64],
}

impl Kind {
    pub(crate) fn unreadable(&self, reason: impl Into<String>) -> SignedFault {
        SignedFault::Unreadable {
            what: self.what,
            reason: reason.into(),
        }
    }

    fn signed_bytes(&self, body: &[u8]) -> Vec<u8> {
        [self.domain, body].concat()
    }

    /// The message over `body`.
    pub(crate) fn sign<T: Encode<()>>(
        &self,
        body: &T,
        sign: impl FnOnce(&[u8]) -> [u8; 64],
    ) -> Vec<u8> {
        let body = to_cbor(body);
        let signature = sign(&self.signed_bytes(&body));
        to_cbor(&Wire {
            format: self.format,
            alg: ALG_ED25519,
            body: body.into(),
            signature: signature.into(),
        })
    }

    /// Reads a message; its signature is still to be checked, with whoever's key.
    pub(crate) fn read<T>(&self, bytes: &[u8]) -> Result<Unchecked<T>, SignedFault>
    where
        T: Encode<()> + for<'b> Decode<'b, ()>,
    {
        let unreadable = |e: minicbor::decode::Error| self.unreadable(e.to_string());
        let mut head = minicbor::Decoder::new(bytes);
        let format = head.array().and_then(|_| head.u32()).map_err(unreadable)?;
        if format > self.format {
            return Err(SignedFault::TooNew {
                what: self.what,
                found: format,
            });
        }
        let wire: Wire = minicbor::decode(bytes).map_err(unreadable)?;
        if format != self.format || wire.alg != ALG_ED25519 {
            let found = format!("no such format ({format}) or algorithm ({})", wire.alg);
            return Err(self.unreadable(found));
        }
        if to_cbor(&wire) != bytes {
            return Err(SignedFault::NotDeterministic);
        }
        let body: T = minicbor::decode(&wire.body).map_err(unreadable)?;
        if to_cbor(&body) != **wire.body {
            return Err(SignedFault::NotDeterministic);
        }
        Ok(Unchecked {
            body,
            bytes: wire.body.into(),
            signature: *wire.signature,
        })
    }

    /// The body, once this key is seen to have signed it.
    pub(crate) fn checked<T>(&self, read: Unchecked<T>, key: &[u8; 32]) -> Result<T, SignedFault> {
        let key = VerifyingKey::from_bytes(key).map_err(|_| SignedFault::BadKey)?;
        // Strict: RFC 8032 without the weak keys and doubled forms that other rules let pass.
        key.verify_strict(
            &self.signed_bytes(&read.bytes),
            &Signature::from_bytes(&read.signature),
        )
        .map_err(|_| SignedFault::Forged)?;
        Ok(read.body)
    }
}
