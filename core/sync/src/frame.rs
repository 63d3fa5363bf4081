//! A frame: a contiguous run of one device's journal that ends with a seal.

use minicbor::bytes::{ByteArray, ByteVec};
use minicbor::{Decode, Encode};
use sha2::{Digest, Sha256};

/// The frame format that this code writes, and the newest that it reads.
pub const FRAME_FORMAT: u32 = 1;

/// Most events in one frame. Own choice, no source: a routine dog has about a
/// dozen, the longest run between two seals in the demo under a hundred.
pub const MAX_EVENTS: usize = 16_384;

/// Longest single event, bytes. Own choice, no source: the longest that is written,
/// a full receipt that was taken in, is under 8 KiB.
pub const MAX_EVENT_BYTES: usize = 64 * 1024;

/// Goes before the bytes that are hashed, so that a frame's id is never the hash
/// of anything else.
const ID_DOMAIN: &[u8] = b"standsquare frame 1\0";

/// A contiguous run of one device's journal. Hashes are not in it: whoever has the
/// events from the first one on works them out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Frame {
    /// The device's Ed25519 public key.
    pub device_key: [u8; 32],
    /// The journal's random id.
    pub journal: [u8; 16],
    /// Number of the first event in it; a journal's first event is number 1.
    pub from_seq: u64,
    /// The events' own bytes, as they were hashed and signed.
    pub events: Vec<Vec<u8>>,
}

/// Why bytes are not a frame.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FrameFault {
    /// Not CBOR of a frame's shape.
    #[error("not a frame: {0}")]
    Unreadable(String),
    /// Written by newer software.
    #[error("frame format {0} is newer than this software reads; update it")]
    TooNew(u32),
    /// Readable, but not in the one allowed form (RFC 8949 §4.2.1), or with bytes
    /// to spare: its id would not be the id of its content.
    #[error("not in deterministic form")]
    NotDeterministic,
    /// No events.
    #[error("a frame without events")]
    Empty,
    /// Numbers that no journal has.
    #[error("event numbers from {from_seq} on, {count} of them, are not possible")]
    Numbers {
        /// The first one's number.
        from_seq: u64,
        /// How many.
        count: usize,
    },
    /// More events than [`MAX_EVENTS`], or one longer than [`MAX_EVENT_BYTES`].
    #[error("too large: at most {MAX_EVENTS} events of {MAX_EVENT_BYTES} bytes each")]
    TooLarge,
}

#[derive(Encode, Decode)]
struct Wire {
    #[n(0)]
    format: u32,
    #[n(1)]
    device_key: ByteArray<32>,
    #[n(2)]
    journal: ByteArray<16>,
    #[n(3)]
    from_seq: u64,
    #[n(4)]
    events: Vec<ByteVec>,
}

impl Frame {
    /// The frame's bytes: a CBOR array in deterministic form (RFC 8949 §4.2.1), as
    /// in `docs/frame.cddl`.
    pub fn encode(&self) -> Vec<u8> {
        let wire = Wire {
            format: FRAME_FORMAT,
            device_key: self.device_key.into(),
            journal: self.journal.into(),
            from_seq: self.from_seq,
            events: self
                .events
                .iter()
                .map(|e| ByteVec::from(e.clone()))
                .collect(),
        };
        to_cbor(&wire)
    }

    /// Reads a frame. What it accepts is exactly what [`Frame::encode`] writes.
    ///
    /// # Errors
    /// See [`FrameFault`].
    pub fn decode_strict(bytes: &[u8]) -> Result<Frame, FrameFault> {
        let format = leading_format(bytes)?;
        if format > FRAME_FORMAT {
            return Err(FrameFault::TooNew(format));
        }
        let wire: Wire =
            minicbor::decode(bytes).map_err(|e| FrameFault::Unreadable(e.to_string()))?;
        let frame = Frame {
            device_key: *wire.device_key,
            journal: *wire.journal,
            from_seq: wire.from_seq,
            events: wire.events.into_iter().map(Into::into).collect(),
        };
        if format != FRAME_FORMAT {
            return Err(FrameFault::Unreadable(format!(
                "there is no frame format {format}"
            )));
        }
        if frame.events.is_empty() {
            return Err(FrameFault::Empty);
        }
        let count = frame.events.len();
        if count > MAX_EVENTS || frame.events.iter().any(|e| e.len() > MAX_EVENT_BYTES) {
            return Err(FrameFault::TooLarge);
        }
        // Databases count in signed 64 bits.
        let last = frame.from_seq.checked_add(count as u64);
        if frame.from_seq == 0 || last.is_none_or(|last| last > i64::MAX as u64) {
            return Err(FrameFault::Numbers {
                from_seq: frame.from_seq,
                count,
            });
        }
        if frame.encode() != bytes {
            return Err(FrameFault::NotDeterministic);
        }
        Ok(frame)
    }

    /// Number of the last event in it.
    pub fn to_seq(&self) -> u64 {
        self.from_seq + (self.events.len() as u64).saturating_sub(1)
    }
}

/// The format number stands first, so that a newer frame is called newer and not broken.
fn leading_format(bytes: &[u8]) -> Result<u32, FrameFault> {
    let mut decoder = minicbor::Decoder::new(bytes);
    decoder
        .array()
        .and_then(|_| decoder.u32())
        .map_err(|e| FrameFault::Unreadable(e.to_string()))
}

/// A value's bytes. Writing to memory cannot fail.
pub(crate) fn to_cbor<T: Encode<()>>(value: &T) -> Vec<u8> {
    minicbor::to_vec(value).unwrap_or_default()
}

/// The id of a frame: SHA-256 of its bytes under a domain of its own.
pub fn frame_id(bytes: &[u8]) -> [u8; 32] {
    Sha256::new()
        .chain_update(ID_DOMAIN)
        .chain_update(bytes)
        .finalize()
        .into()
}
