//! The office's answer: which frames it holds, signed. A phone believes nothing else.

use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use litemap::LiteMap;
use minicbor::Encode;
use minicbor::bytes::{ByteArray, ByteVec};
use standsquare_plain::record;

use crate::frame::to_cbor;

/// The receipt format that this code writes, and the newest that it reads.
pub const RECEIPT_FORMAT: u32 = 1;

/// The algorithm beside the signature: 1 is Ed25519 (RFC 8032), checked strictly.
const ALG_ED25519: u32 = 1;

/// Goes before the bytes that are signed, so that a signature under a receipt can
/// never be used as one under anything else.
const DOMAIN: &[u8] = b"standsquare receipt 1\0";

/// What the office says of the frames of one post.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Receipt {
    /// The office's Ed25519 public key.
    pub office_key: [u8; 32],
    /// The office's clock, Unix milliseconds: a phone whose clock is wrong learns it here.
    pub at_ms: i64,
    /// Frames that are committed at the office.
    pub held: Vec<[u8; 32]>,
    /// Frames that are not taken in, each with the reason.
    pub refused: Vec<([u8; 32], String)>,
}

/// Why an answer counts for nothing.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ReceiptFault {
    /// Not a receipt at all.
    #[error("not a receipt: {0}")]
    Unreadable(String),
    /// Written by a newer office.
    #[error("receipt format {0} is newer than this app reads; update the app")]
    TooNew(u32),
    /// Readable, but not in the one allowed form.
    #[error("not in deterministic form")]
    NotDeterministic,
    /// The key that is expected is no usable Ed25519 key.
    #[error("the office's key is not usable")]
    BadKey,
    /// Another office answers.
    #[error("signed by another office than the one expected")]
    OtherOffice,
    /// The signature does not fit.
    #[error("the signature does not fit")]
    Forged,
    /// One frame is named twice.
    #[error("says two things of one frame")]
    Contradictory,
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

#[derive(Encode)]
struct Body {
    #[n(0)]
    office_key: ByteArray<32>,
    #[n(1)]
    at_ms: i64,
    #[n(2)]
    held: Vec<ByteArray<32>>,
    #[n(3)]
    refused: Vec<Refused>,
}

record!(Body {
    office_key,
    at_ms,
    held,
    refused
});

#[derive(Encode)]
struct Refused {
    #[n(0)]
    id: ByteArray<32>,
    #[n(1)]
    reason: String,
}

record!(Refused { id, reason });

fn signed_bytes(body: &[u8]) -> Vec<u8> {
    [DOMAIN, body].concat()
}

impl Receipt {
    /// Makes a receipt's bytes: a CBOR array with the signed body in it, as in
    /// `docs/receipt.cddl`. `at_ms` is the office's clock, Unix milliseconds.
    pub fn sign(
        key: &SigningKey,
        at_ms: i64,
        held: &[[u8; 32]],
        refused: &[([u8; 32], String)],
    ) -> Vec<u8> {
        let body = to_cbor(&Body {
            office_key: key.verifying_key().to_bytes().into(),
            at_ms,
            held: held.iter().map(|id| (*id).into()).collect(),
            refused: refused
                .iter()
                .map(|(id, reason)| Refused {
                    id: (*id).into(),
                    reason: reason.clone(),
                })
                .collect(),
        });
        let signature = key.sign(&signed_bytes(&body)).to_bytes();
        to_cbor(&Wire {
            format: RECEIPT_FORMAT,
            alg: ALG_ED25519,
            body: body.into(),
            signature: signature.into(),
        })
    }

    /// Reads a receipt and checks that this office signed it.
    ///
    /// # Errors
    /// See [`ReceiptFault`]; on any of them nothing counts as sent.
    pub fn verify(bytes: &[u8], office_key: &[u8; 32]) -> Result<Receipt, ReceiptFault> {
        let unreadable = |e: minicbor::decode::Error| ReceiptFault::Unreadable(e.to_string());
        let mut head = minicbor::Decoder::new(bytes);
        let format = head.array().and_then(|_| head.u32()).map_err(unreadable)?;
        if format > RECEIPT_FORMAT {
            return Err(ReceiptFault::TooNew(format));
        }
        let wire: Wire = minicbor::decode(bytes).map_err(unreadable)?;
        if format != RECEIPT_FORMAT || wire.alg != ALG_ED25519 {
            let found = format!("no such format ({format}) or algorithm ({})", wire.alg);
            return Err(ReceiptFault::Unreadable(found));
        }
        if to_cbor(&wire) != bytes {
            return Err(ReceiptFault::NotDeterministic);
        }
        let body: Body = minicbor::decode(&wire.body).map_err(unreadable)?;
        if to_cbor(&body) != **wire.body {
            return Err(ReceiptFault::NotDeterministic);
        }
        if *body.office_key != *office_key {
            return Err(ReceiptFault::OtherOffice);
        }
        let key = VerifyingKey::from_bytes(office_key).map_err(|_| ReceiptFault::BadKey)?;
        // Strict: RFC 8032 without the weak keys and doubled forms that other rules let pass.
        key.verify_strict(
            &signed_bytes(&wire.body),
            &Signature::from_bytes(&wire.signature),
        )
        .map_err(|_| ReceiptFault::Forged)?;
        let receipt = Receipt {
            office_key: *office_key,
            at_ms: body.at_ms,
            held: body.held.iter().map(|id| **id).collect(),
            refused: body
                .refused
                .into_iter()
                .map(|r| (*r.id, r.reason))
                .collect(),
        };
        let mut named = LiteMap::new_vec();
        let all = receipt
            .held
            .iter()
            .chain(receipt.refused.iter().map(|(id, _)| id));
        if !all.into_iter().all(|id| named.insert(*id, ()).is_none()) {
            return Err(ReceiptFault::Contradictory);
        }
        Ok(receipt)
    }
}
