//! The log's answer: a checkpoint, that it continues the one seen before, and for
//! frames that they are in it. Each part is checked; nothing is taken on trust.

use ct_merkle::{ConsistencyProof, InclusionProof, RootHash};
use minicbor::Encode;
use minicbor::bytes::{ByteArray, ByteVec};
use sha2::Sha256;
use standsquare_plain::record;

use super::checkpoint::{Checkpoint, NoteFault};
use crate::frame::to_cbor;

/// The answer's format.
const FORMAT: u32 = 1;

/// Largest log that is believed in: what a database can count.
const LARGEST: u64 = i64::MAX as u64;

/// Why an answer of the log counts for nothing.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LogFault {
    /// Not one.
    #[error("not an answer of the log: {0}")]
    Unreadable(String),
    /// By a newer office.
    #[error("log answer format {0} is newer than this app reads; update the app")]
    TooNew(u32),
    /// Its checkpoint.
    #[error(transparent)]
    Checkpoint(#[from] NoteFault),
    /// The log is shorter than it was, or has another beginning: the office changed its
    /// history. Keep both checkpoints; they prove it.
    #[error("the office's log does not continue the one seen before")]
    HistoryChanged,
    /// A frame's proof does not hold.
    #[error("the proof for a frame does not hold")]
    NotProved,
}

/// Where a frame is in the log, with the proof.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InLog {
    /// The frame.
    pub frame: [u8; 32],
    /// Its place, from 0.
    pub index: u64,
    /// Hashes from the leaf up (RFC 9162 §2.1.3.1).
    pub path: Vec<[u8; 32]>,
}

/// An answer of the log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bundle {
    /// The present checkpoint, a signed note.
    pub checkpoint: String,
    /// That it continues the size asked about (RFC 9162 §2.1.4.1).
    pub consistency: Vec<[u8; 32]>,
    /// Frames that are in it; those that are not are left out.
    pub frames: Vec<InLog>,
}

#[derive(Encode)]
struct Wire {
    #[n(0)]
    format: u32,
    #[n(1)]
    checkpoint: String,
    #[n(2)]
    consistency: ByteVec,
    #[n(3)]
    frames: Vec<WireInLog>,
}

record!(Wire {
    format,
    checkpoint,
    consistency,
    frames
});

#[derive(Encode)]
struct WireInLog {
    #[n(0)]
    frame: ByteArray<32>,
    #[n(1)]
    index: u64,
    #[n(2)]
    path: ByteVec,
}

record!(WireInLog { frame, index, path });

fn joined(hashes: &[[u8; 32]]) -> ByteVec {
    hashes.concat().into()
}

impl Bundle {
    /// Its bytes.
    pub fn encode(&self) -> Vec<u8> {
        to_cbor(&Wire {
            format: FORMAT,
            checkpoint: self.checkpoint.clone(),
            consistency: joined(&self.consistency),
            frames: self
                .frames
                .iter()
                .map(|f| WireInLog {
                    frame: f.frame.into(),
                    index: f.index,
                    path: joined(&f.path),
                })
                .collect(),
        })
    }

    /// The signed note of an answer, as it came; what it is worth, [`Bundle::verify`] says.
    ///
    /// # Errors
    /// [`LogFault`]: not an answer of the log.
    pub fn note(bytes: &[u8]) -> Result<String, LogFault> {
        Ok(read(bytes)?.checkpoint)
    }

    /// Checks an answer: `seen` is the newest checkpoint that was believed before.
    /// Gives the present one and the frames that are proved to be in it.
    ///
    /// # Errors
    /// [`LogFault`]; then nothing of the answer counts.
    pub fn verify(
        bytes: &[u8],
        origin: &str,
        office_key: &[u8; 32],
        seen: Option<&Checkpoint>,
    ) -> Result<(Checkpoint, Vec<[u8; 32]>), LogFault> {
        let wire = read(bytes)?;
        let now = Checkpoint::open(&wire.checkpoint, origin, office_key)?;
        if now.size > LARGEST {
            return Err(LogFault::Unreadable("a size beyond counting".into()));
        }
        continues(&now, seen, &wire.consistency)?;
        let root = root_of(&now);
        let mut proved = Vec::new();
        for in_log in &wire.frames {
            let proof = InclusionProof::<Sha256>::try_from_bytes(in_log.path.to_vec())
                .map_err(|_| LogFault::NotProved)?;
            root.verify_inclusion(&&in_log.frame[..], in_log.index, &proof)
                .map_err(|_| LogFault::NotProved)?;
            proved.push(*in_log.frame);
        }
        Ok((now, proved))
    }
}

fn read(bytes: &[u8]) -> Result<Wire, LogFault> {
    let unreadable = |e: minicbor::decode::Error| LogFault::Unreadable(e.to_string());
    let mut head = minicbor::Decoder::new(bytes);
    let format = head.array().and_then(|_| head.u32()).map_err(unreadable)?;
    if format > FORMAT {
        return Err(LogFault::TooNew(format));
    }
    let wire: Wire = minicbor::decode(bytes).map_err(unreadable)?;
    if format != FORMAT || to_cbor(&wire) != bytes {
        return Err(LogFault::Unreadable("not in deterministic form".into()));
    }
    Ok(wire)
}

fn root_of(checkpoint: &Checkpoint) -> RootHash<Sha256> {
    RootHash::new(checkpoint.root.into(), checkpoint.size)
}

fn continues(now: &Checkpoint, seen: Option<&Checkpoint>, proof: &[u8]) -> Result<(), LogFault> {
    let Some(seen) = seen.filter(|seen| seen.size > 0) else {
        return Ok(());
    };
    if now.size == seen.size {
        // Nothing to prove: it is the same log or it is not.
        return if now.root == seen.root {
            Ok(())
        } else {
            Err(LogFault::HistoryChanged)
        };
    }
    if now.size < seen.size {
        return Err(LogFault::HistoryChanged);
    }
    let proof = ConsistencyProof::<Sha256>::try_from_bytes(proof.to_vec())
        .map_err(|_| LogFault::HistoryChanged)?;
    root_of(now)
        .verify_consistency(&root_of(seen), &proof)
        .map_err(|_| LogFault::HistoryChanged)
}
