//! What is still to be sent, and when to try: timers and connections as data. The
//! caller owns the clock, the network and the randomness.

use std::collections::{BTreeMap, BTreeSet};

use crate::post::{Limits, post_body};
use crate::receipt::Receipt;

/// The next body to post: the oldest frames that are not acknowledged, as many as
/// one post takes. `None` when nothing is left to send.
///
/// A frame that is longer than the office takes is passed over, so that it never
/// holds up the ones behind it.
pub fn next_post(
    frames: &[([u8; 32], Vec<u8>)],
    acknowledged: &BTreeSet<[u8; 32]>,
) -> Option<Vec<u8>> {
    let limits = Limits::default();
    let chosen = choose(
        frames.iter().filter(|(id, _)| !acknowledged.contains(id)),
        limits,
    );
    (!chosen.is_empty()).then(|| {
        let bytes: Vec<_> = chosen.into_iter().map(|(_, bytes)| bytes.clone()).collect();
        post_body(&bytes)
    })
}

fn choose<'a>(
    frames: impl Iterator<Item = &'a ([u8; 32], Vec<u8>)>,
    limits: Limits,
) -> Vec<&'a ([u8; 32], Vec<u8>)> {
    // Room for the body's own head and lengths.
    let mut room = limits.body_bytes - 64 - 4 * limits.frames;
    let mut chosen = Vec::new();
    for frame in frames.filter(|(_, bytes)| bytes.len() <= limits.frame_bytes) {
        if chosen.len() == limits.frames || frame.1.len() > room {
            break;
        }
        room -= frame.1.len();
        chosen.push(frame);
    }
    chosen
}

/// The waits, milliseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Timers {
    /// Shortest wait for an answer before a rival connection is opened.
    pub rival_from_ms: i64,
    /// Longest.
    pub rival_to_ms: i64,
    /// Most connections live at a time.
    pub live: usize,
    /// First pause after nothing could be reached; it doubles each time.
    pub pause_from_ms: i64,
    /// Longest pause.
    pub pause_to_ms: i64,
}

impl Default for Timers {
    /// The rival's wait and 5 live are the best that the project's own bad link showed
    /// (`bench_link`, 40 runs each: 1.2 to 1.8 s gave 5.7 s for the median of 60 dogs and 8.3 s
    /// for the 90th percentile; 2.5 to 3.5 s gave 6.0 and 11.2; sharing the frames between
    /// two or four connections gained nothing). The pauses are an own choice, no source.
    fn default() -> Self {
        Timers {
            rival_from_ms: 1_200,
            rival_to_ms: 1_800,
            live: 5,
            pause_from_ms: 1_000,
            pause_to_ms: 60_000,
        }
    }
}

/// After so many rounds of [`Timers::live`] posts without any answer the waits grow. Own
/// choice, no source: about half a minute, longer than the bad link of `bench_link` needed
/// in any run.
const PATIENT_ROUNDS: u32 = 4;

/// A number for one connection's one post.
pub type Attempt = u64;

/// What the caller is to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Command {
    /// Open a connection of its own and post this.
    Post {
        /// Names it in what is told back.
        attempt: Attempt,
        /// The body.
        body: Vec<u8>,
    },
    /// Give this connection up; what it brings later is welcome but not needed.
    Drop {
        /// Which.
        attempt: Attempt,
    },
    /// Call [`Outbox::wake`] again at this time, Unix milliseconds, if nothing
    /// happens before.
    WakeAt {
        /// When.
        at_ms: i64,
    },
}

struct Live {
    attempt: Attempt,
    frames: Vec<[u8; 32]>,
}

/// How frames become a body: [`post_body`], or one of those that compress.
pub type Pack = fn(&[Vec<u8>]) -> Vec<u8>;

/// The sender of one phone: frames in, commands out.
pub struct Outbox {
    timers: Timers,
    pack: Pack,
    waiting: Vec<([u8; 32], Vec<u8>)>,
    known: BTreeSet<[u8; 32]>,
    refused: BTreeMap<[u8; 32], String>,
    live: Vec<Live>,
    next_attempt: Attempt,
    due_ms: i64,
    failures: u32,
    /// Posts since the office answered last, or since the network changed.
    unanswered: u32,
}

impl Outbox {
    /// An empty outbox.
    pub fn new(timers: Timers) -> Self {
        Outbox {
            timers,
            pack: post_body,
            waiting: Vec::new(),
            known: BTreeSet::new(),
            refused: BTreeMap::new(),
            live: Vec::new(),
            next_attempt: 1,
            due_ms: i64::MIN,
            failures: 0,
            unanswered: 0,
        }
    }

    /// The same, with bodies made in this way.
    #[must_use]
    pub fn packing(mut self, pack: Pack) -> Self {
        self.pack = pack;
        self
    }

    /// The office does not know the encoding (it answered 415): from now on bodies are
    /// plain. Call it after [`Outbox::failed`] and before [`Outbox::wake`].
    pub fn plainly(&mut self) {
        self.pack = post_body;
        self.due_ms = i64::MIN;
    }

    /// A frame to be sent, oldest first. One that was added before changes nothing.
    /// Call [`Outbox::wake`] afterwards.
    pub fn add(&mut self, id: [u8; 32], bytes: Vec<u8>) {
        if self.known.insert(id) {
            self.waiting.push((id, bytes));
            if self.live.is_empty() && self.failures == 0 {
                self.due_ms = i64::MIN;
            }
        }
    }

    /// Whether this frame was added before, and is not forgotten.
    pub fn knows(&self, id: &[u8; 32]) -> bool {
        self.known.contains(id)
    }

    /// Forgets every frame that is not to be sent any more, such as one whose receipt came
    /// by another way.
    pub fn retain(&mut self, still: impl Fn(&[u8; 32]) -> bool) {
        self.waiting.retain(|(id, _)| still(id));
        self.known.retain(|id| still(id));
        self.refused.retain(|id, _| still(id));
    }

    /// How many frames the office has not acknowledged; refused ones are not waiting.
    pub fn waiting(&self) -> usize {
        self.waiting.len()
    }

    /// Frames that the office refuses, with its reasons: a person has to look.
    pub fn refused(&self) -> &BTreeMap<[u8; 32], String> {
        &self.refused
    }

    /// Time has come, or something changed. `entropy` spreads the waits of many
    /// phones apart.
    pub fn wake(&mut self, now_ms: i64, entropy: u64) -> Vec<Command> {
        let mut out = Vec::new();
        if self.waiting.is_empty() {
            out.extend(
                self.live
                    .drain(..)
                    .map(|l| Command::Drop { attempt: l.attempt }),
            );
            return out;
        }
        if now_ms >= self.due_ms {
            let chosen = choose(self.waiting.iter(), Limits::default());
            if chosen.is_empty() {
                return out;
            }
            let frames = chosen.iter().map(|(id, _)| *id).collect();
            let bytes: Vec<_> = chosen.iter().map(|(_, bytes)| bytes.clone()).collect();
            if self.live.len() >= self.timers.live.max(1) {
                out.push(Command::Drop {
                    attempt: self.live.remove(0).attempt,
                });
            }
            let attempt = self.next_attempt;
            self.next_attempt += 1;
            self.live.push(Live { attempt, frames });
            out.push(Command::Post {
                attempt,
                body: (self.pack)(&bytes),
            });
            self.due_ms = now_ms.saturating_add(self.next_rival_in(entropy));
            self.unanswered = self.unanswered.saturating_add(1);
        }
        out.push(Command::WakeAt { at_ms: self.due_ms });
        out
    }

    /// How long to wait for the next rival. Where nothing at all comes back, as in a hall
    /// without signal that swallows every packet, the waits double after some rounds: a
    /// phone that lies there all day must not post without end.
    fn next_rival_in(&self, entropy: u64) -> i64 {
        let (from, to) = (self.timers.rival_from_ms, self.timers.rival_to_ms);
        let wait = between(from, to, entropy);
        let rounds = self.unanswered / self.timers.live.max(1) as u32;
        let doubled = rounds.saturating_sub(PATIENT_ROUNDS).min(20);
        (wait << doubled).min(self.timers.pause_to_ms.max(wait))
    }

    /// The network came back or changed, or the app came to the foreground: no pause
    /// counts any more. Call [`Outbox::wake`] afterwards.
    pub fn network_changed(&mut self) {
        self.failures = 0;
        self.unanswered = 0;
        self.due_ms = i64::MIN;
    }

    /// A connection ended without a receipt that counts.
    pub fn failed(&mut self, attempt: Attempt, now_ms: i64, entropy: u64) {
        let before = self.live.len();
        self.live.retain(|l| l.attempt != attempt);
        if self.live.is_empty() && before > 0 {
            let doubled = self.timers.pause_from_ms << self.failures.min(20);
            let pause = doubled.min(self.timers.pause_to_ms);
            self.failures = self.failures.saturating_add(1);
            self.due_ms = now_ms.saturating_add(between(pause / 2, pause, entropy));
        }
    }

    /// A receipt that was verified came in, by whichever connection. What else is
    /// waiting is due at once; connections with nothing left to bring are dropped.
    /// Call [`Outbox::wake`] afterwards.
    pub fn answered(&mut self, attempt: Attempt, receipt: &Receipt) -> Vec<Command> {
        self.live.retain(|l| l.attempt != attempt);
        self.failures = 0;
        self.unanswered = 0;
        let before = self.waiting.len();
        let held: BTreeSet<_> = receipt.held.iter().copied().collect();
        self.refused.retain(|id, _| !held.contains(id));
        for (id, reason) in &receipt.refused {
            if self.waiting.iter().any(|(waiting, _)| waiting == id) {
                self.refused.insert(*id, reason.clone());
            }
        }
        self.waiting
            .retain(|(id, _)| !held.contains(id) && !self.refused.contains_key(id));
        let waiting: BTreeSet<_> = self.waiting.iter().map(|(id, _)| *id).collect();
        let mut out = Vec::new();
        self.live.retain(|l| {
            let useful = l.frames.iter().any(|id| waiting.contains(id));
            if !useful {
                out.push(Command::Drop { attempt: l.attempt });
            }
            useful
        });
        // An answer that settles nothing must not lead to posting without a wait.
        if self.live.is_empty() && self.waiting.len() < before {
            self.due_ms = i64::MIN;
        }
        out
    }
}

/// Some value from `from` to `to`.
fn between(from: i64, to: i64, entropy: u64) -> i64 {
    let span = to.saturating_sub(from).max(0) as u64 + 1;
    from + (entropy % span) as i64
}
