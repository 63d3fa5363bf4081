//! A post cut into sealed packets, each by itself on the network: no connection is made first,
//! and a packet that is lost holds up no other. On a bad link a whole post is there, and its
//! receipt back, in the time that connections take to be made (decision 24). Where a network
//! lets no such packets through, connections do as ever.
//!
//! A packet to the office: [`TO_OFFICE`], [`VERSION`], the public key that the phone made for this
//! post (32 bytes), the packet's turn (4 bytes, big-endian), and sealed under both: a zero, the
//! piece's number and how many there are (2 bytes each), the piece. A packet back: [`TO_PHONE`],
//! [`VERSION`], a nonce (24 bytes), and sealed: a zero, the latest turn that came, a bit for each
//! piece that is there, the lowest first; or a one, the status of the answer (2 bytes, as in
//! HTTP), the piece's number and how many there are, the piece.
//!
//! The keys come of HPKE (RFC 9180: base mode, DHKEM(X25519, HKDF-SHA256), HKDF-SHA256,
//! export-only) to the office's own key, which every phone has; each direction has its own for
//! XChaCha20-Poly1305. To the office the nonce is the turn, after twenty zeros.

mod flight;
mod landing;

pub use flight::Flight;
pub use landing::{Landing, Whole};

use chacha20poly1305::aead::{Aead, KeyInit};
use chacha20poly1305::{XChaCha20Poly1305, XNonce};
use ed25519_dalek::{SigningKey, VerifyingKey};
use hpke::aead::ExportOnlyAead;
use hpke::kdf::HkdfSha256;
use hpke::kem::{Kem, X25519HkdfSha256};
use hpke::rand_core::{TryCryptoRng, TryRng};
use hpke::{Deserializable, OpModeR, OpModeS, Serializable};
use std::convert::Infallible;

/// First bytes of a packet to the office.
pub const TO_OFFICE: &[u8; 4] = b"SSQP";
/// First bytes of a packet back.
pub const TO_PHONE: &[u8; 4] = b"SSQB";
/// The version of both that this code writes and reads.
pub const VERSION: u8 = 1;

/// Longest packet, bytes: what every path must carry where QUIC is to work (RFC 9000, section 14).
pub const LONGEST: usize = 1_200;
/// Most pieces of a post, and of an answer. Own choice, no source: three times sixty dogs.
pub const MOST_PIECES: usize = 64;

const INFO: &[u8] = b"standsquare packets 1";
const MARK: usize = TO_OFFICE.len() + 1;
const KEY: usize = 32;
const TURN: usize = 4;
const NONCE: usize = 24;
const TAG: usize = 16;
/// So many bytes of a post are in one packet.
const PIECE: usize = LONGEST - MARK - KEY - TURN - TAG - 5;
/// So many bytes of an answer.
const PIECE_BACK: usize = LONGEST - MARK - NONCE - TAG - 7;

const HAVE: u8 = 0;
const ANSWER: u8 = 1;

/// The keys of one post, one for each direction.
struct Keys {
    there: XChaCha20Poly1305,
    back: XChaCha20Poly1305,
}

impl Keys {
    fn of(export: impl Fn(&[u8], &mut [u8]) -> Result<(), hpke::HpkeError>) -> Option<Keys> {
        let key = |context: &[u8]| {
            let mut bytes = [0; 32];
            export(context, &mut bytes).ok()?;
            Some(XChaCha20Poly1305::new(&bytes.into()))
        };
        Some(Keys {
            there: key(b"there")?,
            back: key(b"back")?,
        })
    }

    /// Of a new post to the office of this key: the public key that goes with every packet, and
    /// the keys. `secret` must be random, and used for nothing else.
    fn new(office: &[u8; 32], secret: [u8; 32]) -> Option<([u8; KEY], Keys)> {
        let office = VerifyingKey::from_bytes(office).ok()?.to_montgomery();
        let office = <X25519HkdfSha256 as Kem>::PublicKey::from_bytes(office.as_bytes()).ok()?;
        let (with, context) = hpke::setup_sender_with_rng::<
            ExportOnlyAead,
            HkdfSha256,
            X25519HkdfSha256,
        >(&OpModeS::Base, &office, INFO, &mut Given(secret))
        .ok()?;
        let keys = Keys::of(|context_of, out| context.export(context_of, out))?;
        Some((with.to_bytes().as_slice().try_into().ok()?, keys))
    }

    /// The same at the office.
    fn opened(office: &Own, with: &[u8; KEY]) -> Option<Keys> {
        let with = <X25519HkdfSha256 as Kem>::EncappedKey::from_bytes(with).ok()?;
        let context = hpke::setup_receiver::<ExportOnlyAead, HkdfSha256, X25519HkdfSha256>(
            &OpModeR::Base,
            office,
            &with,
            INFO,
        )
        .ok()?;
        Keys::of(|context_of, out| context.export(context_of, out))
    }
}

/// The office's key as HPKE takes it.
type Own = <X25519HkdfSha256 as Kem>::PrivateKey;

/// An Ed25519 key pair may serve an X25519 KEM as well: eprint.iacr.org/2021/509.
fn own(key: &SigningKey) -> Option<Own> {
    Own::from_bytes(&key.to_scalar_bytes()).ok()
}

/// Random bytes that were handed in, for a library that asks for a source of them.
struct Given([u8; 32]);

impl TryRng for Given {
    type Error = Infallible;

    fn try_next_u32(&mut self) -> Result<u32, Infallible> {
        let mut bytes = [0; 4];
        self.try_fill_bytes(&mut bytes)?;
        Ok(u32::from_be_bytes(bytes))
    }

    fn try_next_u64(&mut self) -> Result<u64, Infallible> {
        let mut bytes = [0; 8];
        self.try_fill_bytes(&mut bytes)?;
        Ok(u64::from_be_bytes(bytes))
    }

    /// One key is made of it, in one go; were more ever asked for, none of it would come twice.
    fn try_fill_bytes(&mut self, out: &mut [u8]) -> Result<(), Infallible> {
        use sha2::{Digest, Sha256};
        for piece in out.chunks_mut(self.0.len()) {
            piece.copy_from_slice(&self.0[..piece.len()]);
            self.0 = Sha256::digest(self.0).into();
        }
        Ok(())
    }
}

impl TryCryptoRng for Given {}

/// The nonce of a packet to the office.
fn nonce_of(turn: u32) -> XNonce {
    let mut nonce = [0; NONCE];
    nonce[NONCE - TURN..].copy_from_slice(&turn.to_be_bytes());
    nonce.into()
}

/// What is after the mark of a packet of this kind and version.
fn unmarked<'a>(packet: &'a [u8], mark: &[u8; 4]) -> Option<&'a [u8]> {
    let rest = packet.strip_prefix(mark)?;
    match rest.split_first()? {
        (&VERSION, rest) if packet.len() <= LONGEST => Some(rest),
        _ => None,
    }
}

fn sealed(key: &XChaCha20Poly1305, nonce: &XNonce, plain: &[u8]) -> Vec<u8> {
    // It fails only beyond 256 GB.
    key.encrypt(nonce, plain).unwrap_or_default()
}

/// The first two bytes as a number, and the rest.
fn number(bytes: &[u8]) -> Option<(usize, &[u8])> {
    let (number, rest) = bytes.split_first_chunk::<2>()?;
    Some((usize::from(u16::from_be_bytes(*number)), rest))
}

/// A piece's number, how many there are, and the piece, if that can be.
fn piece(bytes: &[u8]) -> Option<(usize, usize, &[u8])> {
    let (nth, rest) = number(bytes)?;
    let (of, piece) = number(rest)?;
    (nth < of && of <= MOST_PIECES).then_some((nth, of, piece))
}

/// The bytes before a piece.
fn piece_head(nth: usize, of: usize) -> [u8; 4] {
    // Both are at most `MOST_PIECES`.
    let [nth, of] = [nth, of].map(|n| (n as u16).to_be_bytes());
    [nth[0], nth[1], of[0], of[1]]
}
