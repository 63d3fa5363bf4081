//! Journals that were made up, for what packs frames.

use proptest::prelude::*;
use sha2::{Digest, Sha256};
use standsquare_sync::Frame;

/// Not the journal's chain: this crate must not mind which one it is.
pub fn chain(head: &[u8; 32], event: &[u8]) -> [u8; 32] {
    Sha256::new()
        .chain_update(head)
        .chain_update([0x2a])
        .chain_update(event)
        .finalize()
        .into()
}

/// A journal of frames: `shape` says for each event of each frame how many events back the
/// head lies that it holds, beside some bytes; every frame ends with a seal.
pub fn journal(shape: &[Vec<(u8, Vec<u8>)>], from_seq: u64) -> Vec<Vec<u8>> {
    let mut heads = vec![[7; 32]];
    let mut seq = from_seq;
    shape
        .iter()
        .map(|frame| {
            let mut events: Vec<Vec<u8>> = Vec::new();
            for (back, bytes) in frame.iter().chain([&(0, vec![0x58, 0x40])]) {
                let at = heads.len().saturating_sub(1 + usize::from(*back));
                let mut event = bytes[..bytes.len() / 2].to_vec();
                event.extend([0x58, 0x20]);
                event.extend(heads[at]);
                event.extend(&bytes[bytes.len() / 2..]);
                heads.push(chain(&heads[heads.len() - 1], &event));
                events.push(event);
            }
            let frame = Frame {
                device_key: [1; 32],
                journal: [2; 16],
                from_seq: seq,
                events,
            };
            seq += frame.events.len() as u64;
            frame.encode()
        })
        .collect()
}

pub fn shapes() -> impl Strategy<Value = Vec<Vec<(u8, Vec<u8>)>>> {
    let event = (0u8..12, prop::collection::vec(0x56u8..0x5a, 0..60));
    prop::collection::vec(prop::collection::vec(event, 0..9), 1..12)
}
