//! Lean posts: what the office can work out itself is left out before compressing.
//!
//! Two things are. Frames of one journal that follow one another name their journal
//! once. And where an event holds the hash of an event before it, which sign-offs and
//! seals do, there is a hole: the office works the hash out from the events, as it must
//! do anyway to check them. A hole is only made where filling it gives the very same
//! frame back; a frame of any other make is sent as it is.

use minicbor::bytes::{ByteArray, ByteVec};
use minicbor::{Decoder, Encode, Encoder};

use crate::frame::{Frame, MAX_EVENT_BYTES, to_cbor};
use crate::post::{BodyFault, Chain, Limits};

/// What stands before 32 bytes in CBOR (RFC 8949 §3.1): a byte string of that length.
const B32: [u8; 2] = [0x58, 0x20];

/// How far back a head may lie that an event holds. A sign-off holds one that lies as
/// many events back as measurers sign.
const BACK: usize = 8;

/// Frames of one journal, each right after the one before it.
#[derive(Encode)]
struct Run {
    #[n(0)]
    device_key: ByteArray<32>,
    #[n(1)]
    journal: ByteArray<16>,
    #[n(2)]
    from_seq: u64,
    /// Frames, of events, of pieces: the bytes before the first hole, then, for each
    /// hole, how many events back its head lies, and the bytes after it.
    #[n(3)]
    frames: Vec<Vec<Event>>,
}

#[derive(Encode)]
struct Event {
    #[n(0)]
    begin: ByteVec,
    #[n(1)]
    holes: Vec<Hole>,
}

#[derive(Encode)]
struct Hole {
    #[n(0)]
    back: u8,
    #[n(1)]
    after: ByteVec,
}

/// The heads that lie a few events back, the newest last; empty while none is known.
#[derive(Default)]
struct Heads(Vec<[u8; 32]>);

impl Heads {
    fn back(&self, n: usize) -> Option<[u8; 32]> {
        self.0.len().checked_sub(n + 1).map(|at| self.0[at])
    }

    fn go_on(&mut self, chain: Chain, event: &[u8]) {
        if let Some(head) = self.back(0) {
            if self.0.len() > BACK {
                self.0.remove(0);
            }
            self.0.push(chain(&head, event));
        }
    }

    /// After a frame whose beginning was not known: a frame ends with a seal, and a seal
    /// holds the head before it. Both sides look for it in the same way; if it is not
    /// there, the next frame's holes do not fit and none are made.
    fn learn(&mut self, chain: Chain, frame: &[Vec<u8>]) {
        let Some(seal) = frame.last().filter(|_| self.0.is_empty()) else {
            return;
        };
        let found = seal
            .windows(34)
            .find_map(|w| w.strip_prefix(&B32)?.first_chunk::<32>());
        if let Some(head) = found {
            self.0.push(*head);
            self.go_on(chain, seal);
        }
    }
}

/// Frames without what can be worked out; `None` if they are not in a form that this can
/// be done with.
pub(crate) fn thin(frames: &[Vec<u8>], chain: Chain) -> Option<Vec<u8>> {
    runs_of(frames, chain).map(|runs| to_cbor(&runs))
}

/// Frames of one journal that follow one another, or such a row turned round so that its end
/// comes before its beginning, thin: their first and last number, and the bytes in parts that end where a frame does.
/// `None` if they are something else.
pub(crate) fn thin_stretch(frames: &[Vec<u8>], chain: Chain) -> Option<(u64, u64, Vec<Vec<u8>>)> {
    let runs = runs_of(frames, chain)?;
    let end = |run: &Run| {
        let events: usize = run.frames.iter().map(Vec::len).sum();
        run.from_seq.checked_add(events as u64)
    };
    let (from, after) = match &runs[..] {
        [all] => (all.from_seq, end(all)?),
        [later, earlier]
            if (later.device_key, later.journal) == (earlier.device_key, earlier.journal)
                && end(earlier)? == later.from_seq =>
        {
            (earlier.from_seq, end(later)?)
        }
        _ => return None,
    };
    let mut parts = Vec::new();
    let mut begun = array_of(runs.len());
    for run in &runs {
        begun.extend(array_of(4));
        begun.extend(to_cbor(&run.device_key));
        begun.extend(to_cbor(&run.journal));
        begun.extend(to_cbor(&run.from_seq));
        begun.extend(array_of(run.frames.len()));
        for frame in &run.frames {
            begun.extend(to_cbor(frame));
            parts.push(std::mem::take(&mut begun));
        }
    }
    Some((from, after - 1, parts))
}

/// The head of an array of so many items.
fn array_of(items: usize) -> Vec<u8> {
    let mut out = Encoder::new(Vec::new());
    // Writing to memory does not fail.
    let _ = out.array(items as u64);
    out.into_writer()
}

fn runs_of(frames: &[Vec<u8>], chain: Chain) -> Option<Vec<Run>> {
    let mut runs: Vec<Run> = Vec::new();
    let mut heads = Heads::default();
    let mut next = 0;
    for bytes in frames {
        let frame = Frame::decode_strict(bytes).ok()?;
        let goes_on = runs.last().is_some_and(|run| {
            *run.device_key == frame.device_key
                && *run.journal == frame.journal
                && next == frame.from_seq
        });
        if !goes_on {
            heads = Heads::default();
            runs.push(Run {
                device_key: frame.device_key.into(),
                journal: frame.journal.into(),
                from_seq: frame.from_seq,
                frames: Vec::new(),
            });
        }
        next = frame.to_seq() + 1;
        let mut events = Vec::with_capacity(frame.events.len());
        for event in &frame.events {
            events.push(cut(event, &heads));
            heads.go_on(chain, event);
        }
        heads.learn(chain, &frame.events);
        runs.last_mut()?.frames.push(events);
    }
    Some(runs)
}

/// An event with its holes.
fn cut(event: &[u8], heads: &Heads) -> Event {
    let known = |head: &[u8]| (0..=BACK).find(|n| heads.back(*n).is_some_and(|h| h == *head));
    let mut pieces = Vec::new();
    let (mut from, mut at) = (0, 0);
    while let Some(window) = event.get(at..at + 34) {
        let back = window
            .strip_prefix(&B32)
            .and_then(known)
            .and_then(|n| u8::try_from(n).ok());
        match back {
            Some(back) => {
                pieces.push((event[from..at + 2].to_vec(), back));
                from = at + 34;
                at = from;
            }
            None => at += 1,
        }
    }
    let mut after = event[from..].to_vec();
    let mut holes = Vec::new();
    for (before, back) in pieces.into_iter().rev() {
        holes.push(Hole {
            back,
            after: std::mem::replace(&mut after, before).into(),
        });
    }
    holes.reverse();
    Event {
        begin: after.into(),
        holes,
    }
}

/// The frames again. Read piece by piece: no memory is taken for what is only claimed.
///
/// # Errors
/// [`BodyFault`]: not what [`thin`] gives, or more than the limits allow.
pub(crate) fn fill(bytes: &[u8], limits: Limits, chain: Chain) -> Result<Vec<Vec<u8>>, BodyFault> {
    let mut frames = Vec::new();
    fill_into(bytes, limits, chain, &mut frames)?;
    Ok(frames)
}

/// The same of bytes that may break off: frames that are there whole.
pub(crate) fn fill_begun(bytes: &[u8], limits: Limits, chain: Chain) -> Vec<Vec<u8>> {
    let mut frames = Vec::new();
    // What it breaks off with is told by whoever has it all.
    let _ = fill_into(bytes, limits, chain, &mut frames);
    frames
}

fn fill_into(
    bytes: &[u8],
    limits: Limits,
    chain: Chain,
    frames: &mut Vec<Vec<u8>>,
) -> Result<(), BodyFault> {
    let mut room = limits.body_bytes;
    let mut thin = Decoder::new(bytes);
    for _ in 0..items(&mut thin, None)? {
        items(&mut thin, Some(4))?;
        let device_key: [u8; 32] = exactly(&mut thin)?;
        let journal: [u8; 16] = exactly(&mut thin)?;
        let mut from_seq = thin.u64().map_err(damaged)?;
        let mut heads = Heads::default();
        for _ in 0..items(&mut thin, None)? {
            let index = frames.len() + 1;
            if index > limits.frames {
                return Err(BodyFault::TooMany(limits.frames));
            }
            let mut events = Vec::new();
            for _ in 0..items(&mut thin, None)? {
                let event = whole(&mut thin, &heads)?;
                // What every event costs besides its bytes counts, too.
                room = room
                    .checked_sub(event.len() + size_of::<Vec<u8>>())
                    .ok_or(BodyFault::TooLarge(limits.body_bytes))?;
                heads.go_on(chain, &event);
                events.push(event);
            }
            heads.learn(chain, &events);
            let next = from_seq.checked_add(events.len() as u64);
            let frame = Frame {
                device_key,
                journal,
                from_seq,
                events,
            };
            from_seq = next.ok_or(BodyFault::Damaged)?;
            let frame = frame.encode();
            if frame.len() > limits.frame_bytes {
                return Err(BodyFault::FrameTooLarge {
                    index,
                    bytes: frame.len(),
                    limit: limits.frame_bytes,
                });
            }
            frames.push(frame);
        }
    }
    match (frames.is_empty(), thin.position() == bytes.len()) {
        (_, false) => Err(BodyFault::Damaged),
        (true, _) => Err(BodyFault::Empty),
        _ => Ok(()),
    }
}

#[allow(clippy::needless_pass_by_value)] // as map_err wants it
fn damaged(_: minicbor::decode::Error) -> BodyFault {
    BodyFault::Damaged
}

/// How many items the array has that begins here.
fn items(thin: &mut Decoder<'_>, wanted: Option<u64>) -> Result<u64, BodyFault> {
    let count = thin.array().map_err(damaged)?.ok_or(BodyFault::Damaged)?;
    match wanted {
        Some(wanted) if wanted != count => Err(BodyFault::Damaged),
        _ => Ok(count),
    }
}

fn exactly<const N: usize>(thin: &mut Decoder<'_>) -> Result<[u8; N], BodyFault> {
    let bytes = thin.bytes().map_err(damaged)?;
    bytes.try_into().map_err(|_| BodyFault::Damaged)
}

/// The event that begins here, its holes filled.
fn whole(thin: &mut Decoder<'_>, heads: &Heads) -> Result<Vec<u8>, BodyFault> {
    items(thin, Some(2))?;
    let mut out = thin.bytes().map_err(damaged)?.to_vec();
    for _ in 0..items(thin, None)? {
        items(thin, Some(2))?;
        let back = thin.u8().map_err(damaged)?;
        out.extend_from_slice(&heads.back(back.into()).ok_or(BodyFault::Damaged)?);
        out.extend_from_slice(thin.bytes().map_err(damaged)?);
        if out.len() > MAX_EVENT_BYTES {
            return Err(BodyFault::Damaged);
        }
    }
    Ok(out)
}
