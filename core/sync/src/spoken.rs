//! What a person said at the table, on its way to the office beside the frames: personal
//! data, of which the chain holds a random id and a salted commitment only. It lies in a post
//! (or a carried file) as a frame does, after its length, and is told from one by its first
//! bytes: no frame, which is a CBOR array, begins so.

/// First bytes.
pub const SPOKEN_MAGIC: &[u8; 4] = b"SSQW";

/// The version that this code writes, and the newest that it reads.
pub const SPOKEN_VERSION: u8 = 1;

/// Most bytes of the words. Own choice, no source: about a page.
pub const MOST_SPOKEN_BYTES: usize = 4_096;

const HEAD: usize = 4 + 1 + 32 + 16 + 16 + 32;

/// Words, and what the office needs to hold them against the commitment in the chain.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spoken {
    /// The device's Ed25519 public key.
    pub device_key: [u8; 32],
    /// The journal's random id.
    pub journal: [u8; 16],
    /// The random id that stands for the words in the chain.
    pub id: [u8; 16],
    /// The commitment's salt.
    pub salt: [u8; 32],
    /// The words; may be empty.
    pub words: String,
}

/// Why bytes are not words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SpokenFault {
    /// Not of that shape.
    #[error("not words in the form that this software reads; send them again")]
    Unreadable,
    /// Written by newer software.
    #[error("words in version {0} are newer than this software reads; update it")]
    TooNew(u8),
    /// Longer than [`MOST_SPOKEN_BYTES`].
    #[error("words of more than {MOST_SPOKEN_BYTES} bytes are not taken")]
    TooLong,
}

impl Spoken {
    /// Whether these bytes are words, of whatever version, and not a frame.
    pub fn is_one(bytes: &[u8]) -> bool {
        bytes.starts_with(SPOKEN_MAGIC)
    }

    /// Their bytes.
    pub fn encode(&self) -> Vec<u8> {
        [
            &SPOKEN_MAGIC[..],
            &[SPOKEN_VERSION],
            &self.device_key,
            &self.journal,
            &self.id,
            &self.salt,
            self.words.as_bytes(),
        ]
        .concat()
    }

    /// Reads words. What it accepts is exactly what [`Spoken::encode`] writes.
    ///
    /// # Errors
    /// See [`SpokenFault`].
    pub fn decode_strict(bytes: &[u8]) -> Result<Spoken, SpokenFault> {
        let rest = bytes.strip_prefix(SPOKEN_MAGIC);
        let (version, _) = rest
            .and_then(<[u8]>::split_first)
            .ok_or(SpokenFault::Unreadable)?;
        if *version > SPOKEN_VERSION {
            return Err(SpokenFault::TooNew(*version));
        }
        if *version != SPOKEN_VERSION || bytes.len() < HEAD {
            return Err(SpokenFault::Unreadable);
        }
        if bytes.len() > HEAD + MOST_SPOKEN_BYTES {
            return Err(SpokenFault::TooLong);
        }
        let words = std::str::from_utf8(&bytes[HEAD..]).map_err(|_| SpokenFault::Unreadable)?;
        Ok(Spoken {
            device_key: part(bytes, 5),
            journal: part(bytes, 37),
            id: part(bytes, 53),
            salt: part(bytes, 69),
            words: words.to_owned(),
        })
    }
}

/// `N` bytes from there on; the length was checked.
fn part<const N: usize>(bytes: &[u8], at: usize) -> [u8; N] {
    let mut out = [0; N];
    out.copy_from_slice(&bytes[at..at + N]);
    out
}
