//! A post whose beginning is of use before its end is there. On a bad link the first packets
//! of a body arrive long before the last one does; rivals that each begin at another dog bring
//! the office everything together before any of them has come through whole, and the office
//! answers them all then (decision 21).

use std::io::Write;

use crate::compress::{LEVEL, lean_body, unpack_begun};
use crate::lean::{fill, fill_begun, thin_stretch};
use crate::post::{Chain, HEAD, Limits, STRETCH, head};

/// Fewer frames are two or three packets: nothing is gained by turning them round.
const FEWEST: usize = 8;

/// So many bytes of thin frames make a part that can be unpacked by itself, bytes: about two
/// packets. The smaller, the sooner there is something, and the longer the whole (`bench_bytes`:
/// 361 bytes a dog in one part, 366 so, 375 with half of it).
const PART: usize = 2_400;

/// Longest body whose beginning is looked at, bytes; a longer one is read when it is there.
/// Each arrival unpacks it from the start, so that this bounds the work. Own choice, no source:
/// three times a full post of dogs.
const LONGEST: usize = 64 * 1024;

/// The first and the last number of the events that a stretch is of.
pub type Numbers = (u64, u64);

/// Frames as one body that can be read from its beginning on, turned so that it begins with
/// frame number `turn` (modulo how many there are); [`lean_body`] where they are few, or not
/// one unbroken stretch of one journal.
pub fn stretch_body(frames: &[Vec<u8>], turn: usize, chain: Chain) -> Vec<u8> {
    turned(frames, turn, chain).unwrap_or_else(|| lean_body(frames, chain))
}

fn turned(frames: &[Vec<u8>], turn: usize, chain: Chain) -> Option<Vec<u8>> {
    if frames.len() < FEWEST {
        return None;
    }
    let mut frames = frames.to_vec();
    let turn = turn % frames.len();
    frames.rotate_left(turn);
    let (from, to, parts) = thin_stretch(&frames, chain)?;
    let thin = parts.concat();
    if fill(&thin, Limits::carried(), chain).as_ref() != Ok(&frames) {
        return None;
    }
    let mut out = head(STRETCH);
    out.extend(from.to_be_bytes());
    out.extend(to.to_be_bytes());
    let mut packer = zstd::stream::write::Encoder::new(out, LEVEL).ok()?;
    packer.set_pledged_src_size(Some(thin.len() as u64)).ok()?;
    let mut since = 0;
    for part in &parts {
        packer.write_all(part).ok()?;
        since += part.len();
        if since >= PART {
            packer.flush().ok()?;
            since = 0;
        }
    }
    packer.finish().ok()
}

/// The numbers that stand before the packed frames, and those.
pub(crate) fn numbers(rest: &[u8]) -> Option<(Numbers, &[u8])> {
    let (from, rest) = rest.split_first_chunk::<8>()?;
    let (to, rest) = rest.split_first_chunk::<8>()?;
    Some(((u64::from_be_bytes(*from), u64::from_be_bytes(*to)), rest))
}

/// What is there of a [`stretch_body`] whose first bytes these are: its numbers, and the frames
/// that have come whole. Nothing of any other body, or where it is longer than is looked at.
pub fn begun(body: &[u8], limits: Limits, chain: Chain) -> Option<(Numbers, Vec<Vec<u8>>)> {
    let (first, rest) = body.split_at_checked(HEAD)?;
    if first != head(STRETCH) || body.len() > LONGEST {
        return None;
    }
    let (numbers, packed) = numbers(rest)?;
    let (thin, _) = unpack_begun(packed, limits.body_bytes).ok()?;
    Some((numbers, fill_begun(&thin, limits, chain)))
}
