//! Checkpoints of the log as signed notes: plain text that other tools can check too
//! (C2SP signed-note and tlog-checkpoint, in the repository C2SP/C2SP).

use base64::prelude::{BASE64_STANDARD, Engine};
use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use sha2::{Digest, Sha256};

/// Why a note or checkpoint counts for nothing.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoteFault {
    /// Not a note, or not a checkpoint in it.
    #[error("not a signed checkpoint: {0}")]
    Unreadable(&'static str),
    /// No signature by the name and key that are expected.
    #[error("not signed by the office that is expected")]
    NotSigned,
    /// The signature does not fit.
    #[error("the checkpoint's signature does not fit")]
    Forged,
}

/// Longest note that is read, bytes; a checkpoint of ours is under 300.
const LONGEST: usize = 16 * 1024;

/// The algorithm byte of Ed25519 in a note's key id.
const ED25519: u8 = 1;

fn key_id(name: &str, key: &VerifyingKey) -> [u8; 4] {
    let hash = Sha256::new()
        .chain_update(name.as_bytes())
        .chain_update([b'\n', ED25519])
        .chain_update(key.as_bytes())
        .finalize();
    let mut id = [0; 4];
    id.copy_from_slice(&hash[..4]);
    id
}

/// Signs a text, which must end with a line feed.
pub fn sign_note(text: &str, name: &str, key: &SigningKey) -> String {
    let signature = key.sign(text.as_bytes()).to_bytes();
    let line = [&key_id(name, &key.verifying_key())[..], &signature[..]].concat();
    format!("{text}\n\u{2014} {name} {}\n", BASE64_STANDARD.encode(line))
}

/// The text of a note that `name` signed with this key. Signatures by others are
/// passed over.
///
/// # Errors
/// [`NoteFault`].
pub fn open_note<'a>(note: &'a str, name: &str, key: &[u8; 32]) -> Result<&'a str, NoteFault> {
    let key = VerifyingKey::from_bytes(key).map_err(|_| NoteFault::NotSigned)?;
    if note.len() > LONGEST {
        return Err(NoteFault::Unreadable("too long"));
    }
    if note.chars().any(|c| c < ' ' && c != '\n') {
        return Err(NoteFault::Unreadable("a control character"));
    }
    let split = note
        .rfind("\n\n")
        .ok_or(NoteFault::Unreadable("no signature"))?;
    let (text, signatures) = (&note[..=split], &note[split + 2..]);
    if !signatures.ends_with('\n') {
        return Err(NoteFault::Unreadable("cut short"));
    }
    for line in signatures.lines() {
        let rest = line.strip_prefix("\u{2014} ");
        let Some((by, data)) = rest.and_then(|rest| rest.split_once(' ')) else {
            return Err(NoteFault::Unreadable("a line that is no signature"));
        };
        let Ok(data) = BASE64_STANDARD.decode(data) else {
            return Err(NoteFault::Unreadable("a signature that is not base64"));
        };
        if by != name || data.get(..4) != Some(&key_id(name, &key)[..]) {
            continue;
        }
        let signature: [u8; 64] = data[4..].try_into().map_err(|_| NoteFault::Forged)?;
        return key
            .verify_strict(text.as_bytes(), &Signature::from_bytes(&signature))
            .map(|()| text)
            .map_err(|_| NoteFault::Forged);
    }
    Err(NoteFault::NotSigned)
}

/// The log at one size.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checkpoint {
    /// Whose log: see [`super::origin`].
    pub origin: String,
    /// How many frames are in it.
    pub size: u64,
    /// The root of their tree.
    pub root: [u8; 32],
}

impl Checkpoint {
    /// The signed note.
    pub fn sign(&self, key: &SigningKey) -> String {
        let root = BASE64_STANDARD.encode(self.root);
        sign_note(
            &format!("{}\n{}\n{root}\n", self.origin, self.size),
            &self.origin,
            key,
        )
    }

    /// Reads a signed note of this origin and checks the signature.
    ///
    /// # Errors
    /// [`NoteFault`].
    pub fn open(note: &str, origin: &str, key: &[u8; 32]) -> Result<Checkpoint, NoteFault> {
        let text = open_note(note, origin, key)?;
        let mut lines = text.lines();
        let mut next = || {
            lines
                .next()
                .ok_or(NoteFault::Unreadable("a line is missing"))
        };
        if next()? != origin {
            return Err(NoteFault::Unreadable("another log's"));
        }
        let written = next()?;
        let size: u64 = written
            .parse()
            .map_err(|_| NoteFault::Unreadable("no size"))?;
        if size.to_string() != written {
            return Err(NoteFault::Unreadable("a size that is written oddly"));
        }
        let root = BASE64_STANDARD
            .decode(next()?)
            .ok()
            .and_then(|root| root.try_into().ok());
        let root = root.ok_or(NoteFault::Unreadable("no root"))?;
        // Further lines are extensions; ours has none and needs none.
        Ok(Checkpoint {
            origin: origin.to_owned(),
            size,
            root,
        })
    }
}
