//! A measurer signs on their own phone: what the two phones show each other as codes. The
//! one that measures asks (`SSO1:`), with the very bytes that are signed; the other answers
//! with the signature (`SSA1:`). Each is its name and, in base45 (RFC 9285), deterministic
//! CBOR as in `docs/journal.cddl`. What protects an answer is the signature in it: it is over
//! the head of the event that put up what is signed, and over that itself.

use minicbor::Encode;
use minicbor::bytes::{ByteArray, ByteVec};
use sha2::{Digest, Sha256};
use standsquare_plain::record;

use super::canonical;
use super::chain::{Hash, correction_bytes, list_bytes, sign_off_bytes};
use super::code::{CodeFault, unreadable};
use super::correction::Correction;
use super::fault::RecordFault;
use super::list::List;
use super::statement::Statement;

const ASKS: &str = "SSO1:";
const ANSWERS: &str = "SSA1:";

/// What a measurer can be asked to sign. Each is a deterministic CBOR array of another
/// length, and so of another first byte: the bytes say themselves which it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shown {
    /// A dog's.
    Statement(Statement),
    /// What puts something right that was entered for a dog.
    Correction(Correction),
    /// The list at the close.
    List(List),
}

/// The first byte of an array of ten items, and of one of three (RFC 8949 §3).
const CORRECTION: Option<&u8> = Some(&0x8a);
const LIST: Option<&u8> = Some(&0x83);

impl Shown {
    /// Reads one of them from exactly these bytes.
    ///
    /// # Errors
    /// [`RecordFault::Form`] where they are none, are followed by more, or are not in the
    /// one canonical form.
    pub fn decode_strict(bytes: &[u8]) -> Result<Shown, RecordFault> {
        match bytes.first() {
            CORRECTION => Correction::decode_strict(bytes).map(Shown::Correction),
            LIST => List::decode_strict(bytes).map(Shown::List),
            _ => Statement::decode_strict(bytes).map(Shown::Statement),
        }
    }

    /// Whether this person's signature under it would be one: a list says whose it wants.
    pub fn is_for(&self, person: &str) -> bool {
        match self {
            Shown::List(list) => list.of(person).next().is_some(),
            _ => true,
        }
    }
}

/// What is signed of these bytes, which were put up under this head: each kind under the name
/// of its own, so that one never passes for another.
pub fn signed_bytes(head: &Hash, shown: &[u8]) -> Vec<u8> {
    let over = match shown.first() {
        CORRECTION => correction_bytes,
        LIST => list_bytes,
        _ => sign_off_bytes,
    };
    over(head, shown)
}

/// What is to be signed.
#[derive(Clone, Debug, PartialEq, Eq, Encode)]
pub struct Ask {
    /// Who is asked: id in the roster.
    #[n(0)]
    pub person: String,
    /// The device key of the phone that asks.
    #[n(1)]
    pub device_key: ByteArray<32>,
    /// The head in its journal after that was put up.
    #[n(2)]
    pub head: ByteArray<32>,
    /// The bytes of the statement, the correction or the list.
    #[n(3)]
    pub statement: ByteVec,
    /// SHA-256 of what is signed.
    #[n(4)]
    pub digest: ByteArray<32>,
}

record!(Ask {
    person,
    device_key,
    head,
    statement,
    digest
});

/// The signature.
#[derive(Clone, Debug, PartialEq, Eq, Encode)]
pub struct Answer {
    /// Who signed: id in the roster.
    #[n(0)]
    pub person: String,
    /// The device key of the phone on which they did, as it says.
    #[n(1)]
    pub device_key: ByteArray<32>,
    /// Their key there.
    #[n(2)]
    pub key: ByteArray<32>,
    /// SHA-256 of what was signed.
    #[n(3)]
    pub digest: ByteArray<32>,
    /// The signature.
    #[n(4)]
    pub signature: ByteArray<64>,
}

record!(Answer {
    person,
    device_key,
    key,
    digest,
    signature
});

/// What names the bytes that are signed ([`signed_bytes`]): their SHA-256.
pub fn digest(signed: &[u8]) -> Hash {
    Sha256::digest(signed).into()
}

/// Whether a text is an ask or an answer, of whatever version.
pub fn is_one(text: &str) -> bool {
    is_ask(text) || is_answer(text)
}

/// Whether a text asks for a signature.
pub fn is_ask(text: &str) -> bool {
    text.trim().starts_with("SSO")
}

/// Whether a text brings one.
pub fn is_answer(text: &str) -> bool {
    text.trim().starts_with("SSA")
}

fn read<T>(text: &str, begins: &str, what: &'static str) -> Result<T, CodeFault>
where
    T: Encode<()> + for<'b> minicbor::Decode<'b, ()>,
{
    let text = text.trim();
    let Some(coded) = text.strip_prefix(begins) else {
        let newer = text
            .get(3..4)
            .is_some_and(|v| v.bytes().all(|b| b.is_ascii_digit()));
        return Err(match newer && text.get(..3) == begins.get(..3) {
            true => CodeFault::TooNew,
            false => CodeFault::Other(what),
        });
    };
    let bytes = base45::decode(coded).map_err(|_| unreadable("it is not base45"))?;
    canonical::decode(&bytes, what).map_err(|fault| unreadable(fault.to_string()))
}

impl Ask {
    /// To sign these bytes, which were put up in the journal of this device.
    pub fn of(person: &str, device_key: [u8; 32], head: Hash, statement: &[u8]) -> Ask {
        Ask {
            person: person.to_owned(),
            device_key: device_key.into(),
            head: head.into(),
            digest: digest(&signed_bytes(&head, statement)).into(),
            statement: statement.to_vec().into(),
        }
    }

    /// Its text.
    pub fn code(&self) -> String {
        [ASKS, &base45::encode(canonical::encode(self))].concat()
    }

    /// Reads a text, and what is to be signed.
    ///
    /// # Errors
    /// [`CodeFault`]: also where the digest is of other bytes, or they are nothing that can
    /// be signed.
    pub fn read(text: &str) -> Result<(Ask, Shown), CodeFault> {
        let ask: Ask = read(text, ASKS, "something to sign")?;
        if digest(&ask.bytes()) != *ask.digest {
            return Err(CodeFault::Forged);
        }
        let shown = Shown::decode_strict(&ask.statement);
        Ok((ask, shown.map_err(|f| unreadable(f.to_string()))?))
    }

    /// What is signed: byte for byte what would be on the phone that asks.
    pub fn bytes(&self) -> Vec<u8> {
        signed_bytes(&self.head, &self.statement)
    }
}

impl Answer {
    /// Its text.
    pub fn code(&self) -> String {
        [ANSWERS, &base45::encode(canonical::encode(self))].concat()
    }

    /// Reads a text. What it is worth says the signature: see [`Answer`].
    ///
    /// # Errors
    /// [`CodeFault`]
    pub fn read(text: &str) -> Result<Answer, CodeFault> {
        read(text, ANSWERS, "a signature")
    }
}
