//! A measurer signs on their own phone: what the two phones show each other as codes. The
//! one that measures asks (`SSO1:`), with the very bytes that are signed; the other answers
//! with the signature (`SSA1:`). Each is its name and, in base45 (RFC 9285), deterministic
//! CBOR as in `docs/journal.cddl`. What protects an answer is the signature in it: it is over
//! the head of the event that put the statement up and over the statement itself.

use minicbor::Encode;
use minicbor::bytes::{ByteArray, ByteVec};
use sha2::{Digest, Sha256};
use standsquare_plain::record;

use super::canonical;
use super::chain::{Hash, sign_off_bytes};
use super::code::{CodeFault, unreadable};
use super::statement::Statement;

const ASKS: &str = "SSO1:";
const ANSWERS: &str = "SSA1:";

/// What is to be signed.
#[derive(Clone, Debug, PartialEq, Eq, Encode)]
pub struct Ask {
    /// Who is asked: id in the roster.
    #[n(0)]
    pub person: String,
    /// The device key of the phone that asks.
    #[n(1)]
    pub device_key: ByteArray<32>,
    /// The head in its journal after the statement was put up.
    #[n(2)]
    pub head: ByteArray<32>,
    /// The statement's bytes.
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

/// What names the bytes that are signed under this head: their SHA-256.
pub fn digest(head: &Hash, statement: &[u8]) -> Hash {
    Sha256::digest(sign_off_bytes(head, statement)).into()
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
    /// To sign this statement, which was put up in the journal of this device.
    pub fn of(person: &str, device_key: [u8; 32], head: Hash, statement: &[u8]) -> Ask {
        Ask {
            person: person.to_owned(),
            device_key: device_key.into(),
            head: head.into(),
            digest: digest(&head, statement).into(),
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
    /// [`CodeFault`]: also where the digest is of other bytes, or they are no statement.
    pub fn read(text: &str) -> Result<(Ask, Statement), CodeFault> {
        let ask: Ask = read(text, ASKS, "something to sign")?;
        if digest(&ask.head, &ask.statement) != *ask.digest {
            return Err(CodeFault::Forged);
        }
        let statement = Statement::decode_strict(&ask.statement);
        Ok((ask, statement.map_err(|f| unreadable(f.to_string()))?))
    }

    /// What is signed: byte for byte what would be on the phone that asks.
    pub fn bytes(&self) -> Vec<u8> {
        sign_off_bytes(&self.head, &self.statement)
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
