//! What a phone asks of the log: proofs for frames, and that the log it saw last is
//! the beginning of the present one.

use minicbor::bytes::ByteArray;
use minicbor::{Decode, Encode};

use crate::frame::to_cbor;

/// The question's format.
const FORMAT: u32 = 1;

/// Most frames in one question. Own choice, no source: a day's dogs.
pub const ASK_LIMIT: usize = 256;

/// Why bytes are not a question.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AskFault {
    /// Not one.
    #[error("not a question to the log: {0}")]
    Unreadable(String),
    /// Asked by newer software.
    #[error("question format {0} is newer than this office reads")]
    TooNew(u32),
    /// Too much at a time.
    #[error("more than {ASK_LIMIT} frames at a time; ask for fewer")]
    TooMany,
}

/// A question to the log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ask {
    /// Size of the log that the asker saw last; 0 for none.
    pub seen: u64,
    /// Frames whose place in it is asked for.
    pub frames: Vec<[u8; 32]>,
}

#[derive(Encode, Decode)]
struct Wire {
    #[n(0)]
    format: u32,
    #[n(1)]
    seen: u64,
    #[n(2)]
    frames: Vec<ByteArray<32>>,
}

impl Ask {
    /// Its bytes.
    pub fn encode(&self) -> Vec<u8> {
        to_cbor(&Wire {
            format: FORMAT,
            seen: self.seen,
            frames: self.frames.iter().map(|id| (*id).into()).collect(),
        })
    }

    /// Reads a question.
    ///
    /// # Errors
    /// [`AskFault`].
    pub fn decode_strict(bytes: &[u8]) -> Result<Ask, AskFault> {
        let unreadable = |e: minicbor::decode::Error| AskFault::Unreadable(e.to_string());
        let mut head = minicbor::Decoder::new(bytes);
        let format = head.array().and_then(|_| head.u32()).map_err(unreadable)?;
        if format > FORMAT {
            return Err(AskFault::TooNew(format));
        }
        let wire: Wire = minicbor::decode(bytes).map_err(unreadable)?;
        if wire.frames.len() > ASK_LIMIT {
            return Err(AskFault::TooMany);
        }
        if format != FORMAT || to_cbor(&wire) != bytes {
            return Err(AskFault::Unreadable("not in deterministic form".into()));
        }
        Ok(Ask {
            seen: wire.seen,
            frames: wire.frames.iter().map(|id| **id).collect(),
        })
    }
}
