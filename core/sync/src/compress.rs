//! Posts compressed by zstd (RFC 8878), and a bound on what comes out of one.

use std::io::Read;

use crate::post::{BodyFault, ZSTD, head, post_body, prefixed};

/// How hard zstd tries. A post is a few kilobytes and made seldom, so it may take a
/// while; beyond this nothing was gained on the demo's frames.
const LEVEL: i32 = 19;

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

/// Unpacks at most `limit` bytes: a bomb is cut off while it goes up.
pub(crate) fn unpack(packed: &[u8], limit: usize) -> Result<Vec<u8>, BodyFault> {
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
    read.map_err(damaged)?;
    Ok(out)
}
