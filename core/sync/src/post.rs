//! The body of a `POST /v1/frames`, which is also the form of a carried file: a
//! magic, a version, then frames, each after its length.

/// How a journal's hash goes on: the head before an event and the event's bytes give the
/// head after it. The journal's own function, handed in: this crate does not know events.
pub type Chain = fn(&[u8; 32], &[u8]) -> [u8; 32];

/// First bytes of a body.
pub const POST_MAGIC: &[u8; 4] = b"SSQF";

/// The version that this code writes.
pub const POST_VERSION: u8 = 1;

/// Frames follow as they are.
const PLAIN: u8 = 0;
/// Frames follow as one zstd frame (RFC 8878).
#[cfg(feature = "zstd")]
pub(crate) const ZSTD: u8 = 1;
/// Frames follow without what can be worked out, as one zstd frame.
#[cfg(feature = "zstd")]
pub(crate) const LEAN: u8 = 2;
/// The same of one stretch of one journal, which may begin in the middle, in parts that can be
/// read before the rest is there.
#[cfg(feature = "zstd")]
pub(crate) const STRETCH: u8 = 3;

pub(crate) const HEAD: usize = POST_MAGIC.len() + 2;

/// What a body may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Most frames.
    pub frames: usize,
    /// Longest frame, bytes.
    pub frame_bytes: usize,
    /// Longest body, bytes, after any decompression.
    pub body_bytes: usize,
}

impl Limits {
    /// Of a file that is carried by hand: a season's frames in one. Own choice, no source.
    pub fn carried() -> Self {
        Limits {
            frames: 16_384,
            frame_bytes: 1024 * 1024,
            body_bytes: 32 * 1024 * 1024,
        }
    }
}

impl Default for Limits {
    /// 64 frames (the figure of the project's link experiment), 1 MiB each, 4 MiB in
    /// all (own choice, no source: a dog is about a thousand bytes).
    fn default() -> Self {
        Limits {
            frames: 64,
            frame_bytes: 1024 * 1024,
            body_bytes: 4 * 1024 * 1024,
        }
    }
}

/// Why a body is refused as a whole. Nothing of it is taken in then.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BodyFault {
    /// It does not begin as a body does.
    #[error("this is not a batch of frames: it does not begin with the mark of one")]
    NotABatch,
    /// Written by newer software.
    #[error("batch version {0} is newer than this office reads; the office must be updated")]
    TooNew(u8),
    /// An encoding that this version does not have.
    #[error("batch encoding {0} is not known here; send it plain")]
    Encoding(u8),
    /// The compression is damaged.
    #[error("the batch's compression is damaged; send it again")]
    Damaged,
    /// Cut short, or with bytes to spare.
    #[error("the batch breaks off inside frame {0}; send it again")]
    CutShort(usize),
    /// No frame in it.
    #[error("the batch holds no frame")]
    Empty,
    /// Too many frames.
    #[error("more than {0} frames in one batch; send fewer at a time")]
    TooMany(usize),
    /// A frame too long.
    #[error("frame {index} has {bytes} bytes, more than the {limit} that are taken")]
    FrameTooLarge {
        /// Which, from 1.
        index: usize,
        /// Its length.
        bytes: usize,
        /// The limit.
        limit: usize,
    },
    /// The body as a whole is too long.
    #[error("the batch has more than {0} bytes; send fewer frames at a time")]
    TooLarge(usize),
}

/// The first bytes of a body with frames in this encoding.
pub(crate) fn head(encoding: u8) -> Vec<u8> {
    [&POST_MAGIC[..], &[POST_VERSION, encoding]].concat()
}

/// Frames as one body, uncompressed.
pub fn post_body(frames: &[Vec<u8>]) -> Vec<u8> {
    let mut out = head(PLAIN);
    out.extend(prefixed(frames));
    out
}

/// Frames, each after its length.
pub(crate) fn prefixed(frames: &[Vec<u8>]) -> Vec<u8> {
    let mut out = Vec::with_capacity(frames.iter().map(|f| 4 + f.len()).sum::<usize>());
    for frame in frames {
        // A frame of 4 GiB is refused long before: see `Limits`.
        out.extend_from_slice(&u32::try_from(frame.len()).unwrap_or(u32::MAX).to_be_bytes());
        out.extend_from_slice(frame);
    }
    out
}

/// The frames of a body, in its order. `chain` is the journal's: without it, a lean body
/// is of an encoding that is not known here.
///
/// # Errors
/// See [`BodyFault`]; no memory is taken for lengths that are only claimed.
pub fn frames_of(
    body: &[u8],
    limits: Limits,
    chain: Option<Chain>,
) -> Result<Vec<Vec<u8>>, BodyFault> {
    #[cfg(not(feature = "zstd"))]
    let _ = chain;
    if body.len() > limits.body_bytes {
        return Err(BodyFault::TooLarge(limits.body_bytes));
    }
    let Some((head, rest)) = body.split_at_checked(HEAD) else {
        return Err(BodyFault::NotABatch);
    };
    let (magic, kind) = head.split_at(POST_MAGIC.len());
    if magic != POST_MAGIC || kind[0] == 0 {
        return Err(BodyFault::NotABatch);
    }
    if kind[0] > POST_VERSION {
        return Err(BodyFault::TooNew(kind[0]));
    }
    match kind[1] {
        PLAIN => split(rest, limits),
        #[cfg(feature = "zstd")]
        ZSTD => split(&crate::compress::unpack(rest, limits.body_bytes)?, limits),
        #[cfg(feature = "zstd")]
        LEAN => {
            let chain = chain.ok_or(BodyFault::Encoding(LEAN))?;
            let thin = crate::compress::unpack(rest, limits.body_bytes)?;
            crate::lean::fill(&thin, limits, chain)
        }
        #[cfg(feature = "zstd")]
        STRETCH => {
            let chain = chain.ok_or(BodyFault::Encoding(STRETCH))?;
            let (_, packed) = crate::stretch::numbers(rest).ok_or(BodyFault::CutShort(1))?;
            let thin = crate::compress::unpack(packed, limits.body_bytes)?;
            crate::lean::fill(&thin, limits, chain)
        }
        other => Err(BodyFault::Encoding(other)),
    }
}

/// Cuts frames apart that each come after their length.
fn split(mut rest: &[u8], limits: Limits) -> Result<Vec<Vec<u8>>, BodyFault> {
    let mut frames = Vec::new();
    while !rest.is_empty() {
        let index = frames.len() + 1;
        if index > limits.frames {
            return Err(BodyFault::TooMany(limits.frames));
        }
        let Some((length, after)) = rest.split_first_chunk::<4>() else {
            return Err(BodyFault::CutShort(index));
        };
        let bytes = u32::from_be_bytes(*length) as usize;
        if bytes > limits.frame_bytes {
            return Err(BodyFault::FrameTooLarge {
                index,
                bytes,
                limit: limits.frame_bytes,
            });
        }
        let Some((frame, after)) = after.split_at_checked(bytes) else {
            return Err(BodyFault::CutShort(index));
        };
        frames.push(frame.to_vec());
        rest = after;
    }
    if frames.is_empty() {
        return Err(BodyFault::Empty);
    }
    Ok(frames)
}
