//! Posts compressed by zstd (RFC 8878), and a bound on what comes out of one.

use std::io::Read;

use crate::lean::{fill, thin};
use crate::post::{BodyFault, Chain, LEAN, Limits, ZSTD, head, post_body, prefixed};

/// How hard zstd tries. A post is a few kilobytes and made seldom, so it may take a
/// while; beyond this nothing was gained on the demo's frames.
pub(crate) const LEVEL: i32 = 19;

/// Largest window that is granted for unpacking, as a power of two: 8 MiB, what every
/// decoder has to grant (RFC 8878 §3.1.1.1.2). It bounds the memory that a small post
/// can claim.
const WINDOW_LOG: u32 = 23;

/// Frames as one body, compressed; plain if that is shorter.
pub fn compressed_body(frames: &[Vec<u8>]) -> Vec<u8> {
    let plain = post_body(frames);
    match zstd::bulk::compress(&prefixed(frames), LEVEL) {
        Ok(packed) if head(ZSTD).len() + packed.len() < plain.len() => {
            [head(ZSTD), packed].concat()
        }
        _ => plain,
    }
}

/// Frames as one body, as short as it can be made: what the office can work out itself is
/// left out (see `docs/README.md`), the rest compressed. `chain` is the journal's. What
/// is left out is put in again here, to see that the very same frames come out; where
/// they do not, this is [`compressed_body`].
pub fn lean_body(frames: &[Vec<u8>], chain: Chain) -> Vec<u8> {
    let usual = compressed_body(frames);
    let Some(thin) = thin(frames, chain) else {
        return usual;
    };
    if fill(&thin, Limits::carried(), chain).as_deref() != Ok(frames) {
        return usual;
    }
    match zstd::bulk::compress(&thin, LEVEL) {
        Ok(packed) if head(LEAN).len() + packed.len() < usual.len() => {
            [head(LEAN), packed].concat()
        }
        _ => usual,
    }
}

/// Unpacks at most `limit` bytes: a bomb is cut off while it goes up.
pub(crate) fn unpack(packed: &[u8], limit: usize) -> Result<Vec<u8>, BodyFault> {
    let (out, whole) = unpack_begun(packed, limit)?;
    whole.then_some(out).ok_or(BodyFault::Damaged)
}

/// The same of what may break off: what comes out of it, and whether that was all.
pub(crate) fn unpack_begun(packed: &[u8], limit: usize) -> Result<(Vec<u8>, bool), BodyFault> {
    let damaged = |_| BodyFault::Damaged;
    let mut decoder = zstd::stream::read::Decoder::with_buffer(packed).map_err(damaged)?;
    decoder.window_log_max(WINDOW_LOG).map_err(damaged)?;
    let mut out = Vec::new();
    let read = decoder
        .by_ref()
        .take(limit as u64 + 1)
        .read_to_end(&mut out);
    if out.len() > limit {
        return Err(BodyFault::TooLarge(limit));
    }
    Ok((out, read.is_ok()))
}
