//! Texts that the office signs and a camera reads: a name with a version, a colon, and in
//! base45 (RFC 9285) a COSE_Sign1 message (RFC 9052) with its tag: protected header
//! algorithm EdDSA, unprotected header the key's id. `docs/journal.cddl` has the form.

use minicbor::data::Tag;
use minicbor::{Decoder, Encoder};
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

/// The one protected header: `{1: -8}`, algorithm EdDSA (RFC 9053, section 2.2).
const PROTECTED: [u8; 3] = [0xa1, 0x01, 0x27];

/// COSE_Sign1's tag (RFC 9052, section 2).
const SIGN1: u64 = 18;

/// The label of a key's id in a header (RFC 9052, section 3.1).
const KEY_ID: u8 = 4;

/// A COSE_Sign1 message of the one kind that is written here. What COSE can do besides weighed
/// more on a phone than everything that is signed with it; a test holds this to a whole COSE
/// library.
struct Message {
    key_id: Vec<u8>,
    payload: Vec<u8>,
    signature: Vec<u8>,
}

impl Message {
    /// Its bytes, with the tag.
    fn encode(&self) -> Vec<u8> {
        written(|out| {
            out.tag(Tag::new(SIGN1))?.array(4)?.bytes(&PROTECTED)?;
            out.map(1)?.u8(KEY_ID)?.bytes(&self.key_id)?;
            out.bytes(&self.payload)?.bytes(&self.signature)?.ok()
        })
    }

    /// Reads one. Whether the bytes are in the one form is for the caller to see.
    fn read(bytes: &[u8]) -> Option<Message> {
        let mut from = Decoder::new(bytes);
        let tag = from.tag().ok()?;
        let parts = from.array().ok()??;
        let protected = from.bytes().ok()?;
        let labels = from.map().ok()??;
        let label = from.u8().ok()?;
        if (tag, parts, protected) != (Tag::new(SIGN1), 4, &PROTECTED)
            || (labels, label) != (1, KEY_ID)
        {
            return None;
        }
        Some(Message {
            key_id: from.bytes().ok()?.to_vec(),
            payload: from.bytes().ok()?.to_vec(),
            signature: from.bytes().ok()?.to_vec(),
        })
    }
}

/// What is signed: the `Sig_structure` of RFC 9052, section 4.4.
fn to_be_signed(purpose: &[u8], protected: &[u8], payload: &[u8]) -> Vec<u8> {
    written(|out| {
        out.array(4)?.str("Signature1")?.bytes(protected)?;
        out.bytes(purpose)?.bytes(payload)?.ok()
    })
}

type Written = Result<(), minicbor::encode::Error<core::convert::Infallible>>;

fn written(write: impl FnOnce(&mut Encoder<Vec<u8>>) -> Written) -> Vec<u8> {
    let mut out = Encoder::new(Vec::new());
    match write(&mut out) {
        Ok(()) => out.into_writer(),
        // A Vec takes all it is given.
        Err(fault) => unreachable!("writing a code into memory: {fault}"),
    }
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
        let signature = sign(&to_be_signed(self.purpose, &PROTECTED, &payload)).to_vec();
        let message = Message {
            key_id: key_id(key).to_vec(),
            payload,
            signature,
        };
        self.text(&message.encode())
    }

    /// The payload of a text that was checked when it was taken in: no signature is checked.
    pub(super) fn payload(&self, text: &str, what: &'static str) -> Result<Vec<u8>, CodeFault> {
        Ok(self.message(text, what)?.payload)
    }

    /// The payload of a text, checked with the office's public keys. `what` says of what it
    /// would be the code.
    pub(super) fn open(
        &self,
        text: &str,
        keys: &[[u8; 32]],
        what: &'static str,
    ) -> Result<Vec<u8>, CodeFault> {
        self.open_by(text, keys, what).map(|(_, payload)| payload)
    }

    /// The same, with the key that signed it.
    pub(super) fn open_by(
        &self,
        text: &str,
        keys: &[[u8; 32]],
        what: &'static str,
    ) -> Result<([u8; 32], Vec<u8>), CodeFault> {
        let message = self.message(text, what)?;
        let key = keys
            .iter()
            .find(|key| key_id(key)[..] == message.key_id)
            .ok_or(CodeFault::UnknownKey)?;
        let signature: &[u8; 64] = message
            .signature
            .as_slice()
            .try_into()
            .map_err(|_| CodeFault::Forged)?;
        let signed = to_be_signed(self.purpose, &PROTECTED, &message.payload);
        verify_signature(ALG_ED25519, key, &signed, signature).map_err(|_| CodeFault::Forged)?;
        Ok((*key, message.payload))
    }

    /// The message itself, in its one form; nothing of it is checked yet.
    pub(super) fn bytes(&self, text: &str, what: &'static str) -> Result<Vec<u8>, CodeFault> {
        Ok(self.message(text, what)?.encode())
    }

    /// The text around a message.
    pub(super) fn text(&self, message: &[u8]) -> String {
        [self.begins(), base45::encode(message)].concat()
    }

    /// Whether a text is one of these, of whatever version.
    pub(super) fn is_one(&self, text: &str) -> bool {
        let text = text.trim();
        text.starts_with(&self.begins()) || self.is_later(text)
    }

    /// The message in a text, in its one form; nothing of it is checked yet.
    fn message(&self, text: &str, what: &'static str) -> Result<Message, CodeFault> {
        let text = text.trim();
        let coded = match text.strip_prefix(&self.begins()) {
            Some(coded) => coded,
            None if self.is_later(text) => return Err(CodeFault::TooNew),
            None => return Err(CodeFault::Other(what)),
        };
        let bytes = base45::decode(coded).map_err(|_| unreadable("not base45"))?;
        let message = Message::read(&bytes).ok_or_else(|| unreadable("not COSE_Sign1"))?;
        // One form only, so that two codes never say the same.
        if message.encode() != bytes || base45::encode(&bytes) != coded {
            return Err(unreadable("not in its one form"));
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

#[cfg(test)]
mod tests {
    use super::*;
    use coset::{CoseSign1, CoseSign1Builder, HeaderBuilder, TaggedCborSerializable, iana};
    use ed25519_dalek::{Signer, SigningKey};

    fn hex(text: &str) -> Vec<u8> {
        (0..text.len())
            .step_by(2)
            .map(|at| u8::from_str_radix(&text[at..at + 2], 16).expect("hex"))
            .collect()
    }

    /// The published examples `sign-pass-02` of one signer (with external data) and `eddsa-sig-02` of the
    /// repository that RFC 9052's appendix C names (cose-wg/Examples): what is signed.
    #[test]
    fn what_is_signed_is_as_the_standard_lists_it() {
        let content = b"This is the content.";
        let eddsa = "846A5369676E61747572653143A101274054546869732069732074686520636F6E74656E742E";
        assert_eq!(to_be_signed(b"", &PROTECTED, content), hex(eddsa));
        let external = "846A5369676E61747572653143A101264C11AA22BB33CC44DD5500669954546869732069\
                        732074686520636F6E74656E742E";
        let data = hex("11AA22BB33CC44DD55006699");
        assert_eq!(
            to_be_signed(&data, &[0xa1, 0x01, 0x26], content),
            hex(external)
        );
    }

    /// Against a COSE library: what is written here is what it writes, it reads it, and what
    /// it signs is read here; whatever of it is not of this one kind is refused.
    #[test]
    fn a_cose_library_writes_and_reads_the_same() {
        const KIND: Kind = Kind {
            name: "T",
            version: 1,
            purpose: b"a test/",
        };
        let signer = SigningKey::from_bytes(&[0x0f; 32]);
        let key = signer.verifying_key().to_bytes();
        for payload in [
            vec![],
            vec![7; 23],
            vec![8; 24],
            vec![9; 300],
            vec![1; 70_000],
        ] {
            let ours = KIND.code(payload.clone(), &key, |b| signer.sign(b).to_bytes());
            let with = |algorithm, key_id: Option<&[u8]>| {
                let mut unprotected = HeaderBuilder::new();
                if let Some(id) = key_id {
                    unprotected = unprotected.key_id(id.to_vec());
                }
                let message = CoseSign1Builder::new()
                    .protected(HeaderBuilder::new().algorithm(algorithm).build())
                    .unprotected(unprotected.build())
                    .payload(payload.clone())
                    .create_signature(KIND.purpose, |b| signer.sign(b).to_bytes().to_vec())
                    .build();
                let bytes = message.to_tagged_vec().expect("writes");
                format!("T1:{}", base45::encode(bytes))
            };
            let id = key_id(&key);
            assert_eq!(ours, with(iana::Algorithm::EdDSA, Some(&id)));
            assert_eq!(KIND.open(&ours, &[key], "a test"), Ok(payload.clone()));
            let bytes = base45::decode(&ours[3..]).expect("decodes");
            let theirs = CoseSign1::from_tagged_slice(&bytes).expect("it reads");
            let signed = to_be_signed(KIND.purpose, &PROTECTED, &payload);
            assert_eq!(theirs.tbs_data(KIND.purpose), signed);
            for other in [
                with(iana::Algorithm::ES256, Some(&id)),
                with(iana::Algorithm::EdDSA, None),
            ] {
                let refused = KIND.open(&other, &[key], "a test");
                assert!(
                    matches!(refused, Err(CodeFault::Unreadable(_))),
                    "{refused:?}"
                );
            }
        }
    }
}
