//! What is still to be sent, and when to try: timers and connections as data. The
//! caller owns the clock, the network and the randomness.

use std::collections::BTreeSet;

use litemap::LiteMap;

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

/// The waits, milliseconds, and how many connections there may be. A gateway opens each in its
/// own right, with no shorter time-out than these: see `docs/README.md`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Timers {
    /// Shortest wait for an answer before a rival connection is opened.
    pub rival_from_ms: i64,
    /// Longest.
    pub rival_to_ms: i64,
    /// So many connections are opened that soon after each other; those after them wait longer.
    pub quick: usize,
    /// Shortest wait for a rival that comes after the quick ones.
    pub later_from_ms: i64,
    /// Longest.
    pub later_to_ms: i64,
    /// Most connections live at a time.
    pub live: usize,
    /// How long a connection may be silent before, where as many live as may, it makes room for
    /// a new one.
    pub patience_ms: i64,
    /// First pause after nothing could be reached; it doubles each time.
    pub pause_from_ms: i64,
    /// Longest pause.
    pub pause_to_ms: i64,
}

impl Default for Timers {
    /// Rivals, how many live and the patience are what the project's own bad link showed to be
    /// best (decisions 17 and 21). The pauses are an own choice, no source.
    fn default() -> Self {
        Timers {
            rival_from_ms: 10,
            rival_to_ms: 20,
            quick: 8,
            later_from_ms: 200,
            later_to_ms: 260,
            live: 16,
            patience_ms: 4_000,
            pause_from_ms: 1_000,
            pause_to_ms: 60_000,
        }
    }
}

/// So many bytes of a long body lengthen the wait for a rival by a millisecond, and so many of any
/// body the patience: half a megabyte and eight kilobytes a second. Own choice, no source: a long
/// body needs longer on any link, and copies of it stand in each other's way on a slow one.
const RIVAL_BYTES: i64 = 512;
const PATIENCE_BYTES: i64 = 8;

/// What goes beyond so many bytes is long. Own choice, no source: sixty dogs are not.
const LONG: i64 = 24 * 1024;

/// Most bytes of bodies under way at a time, but two connections always may. Own choice, no
/// source: sixteen copies of sixty dogs.
const UNDER_WAY: usize = 384 * 1024;

/// An answer that took no longer is of a link in good order: the next post's first rival waits
/// until twice that time has gone by. Own choice, no source.
const GOOD_MS: i64 = 1_000;

/// So many bytes of a body are handed to the connection at once: TLS makes a record of each such
/// write, and the office can read a record only when all of it is there. About a packet of any
/// mobile network; own choice, no source.
pub const WRITE_AT_ONCE: usize = 1_300;

/// Where packets have come through on this network before, connections wait for them so long,
/// milliseconds. Own choice, no source: about twice what they need on the project's bad link.
const AFTER_FLIGHT_MS: i64 = 1_200;

/// So often in a row a connection may be answered before the packets that went with it: then
/// this network lets none through. Own choice, no source.
const OUTRUN: u32 = 2;

/// A number for one connection's one post, or for one post in packets.
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
    /// Send this in packets (a [`crate::packets::Flight`]), which are no connection and do not
    /// count as one.
    Fly {
        /// Names it in what is told back.
        attempt: Attempt,
        /// The body.
        body: Vec<u8>,
    },
    /// Give this connection, or these packets, up; what it brings later is welcome but not needed.
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
    since_ms: i64,
    /// When it makes room for another one.
    until_ms: i64,
}

/// How frames become a body: [`post_body`], or one of those that compress. The number says with
/// which frame it should begin, where it may begin anywhere.
pub type Pack = fn(&[Vec<u8>], usize) -> Vec<u8>;

/// Where rivals begin, in eighths of what is to be sent: each as far as can be from those before
/// it, so that the first packets of a few of them hold everything.
const BEGIN: [usize; 8] = [0, 4, 2, 6, 1, 5, 3, 7];

fn plain(frames: &[Vec<u8>], _: usize) -> Vec<u8> {
    post_body(frames)
}

/// What is in some bodies, and those, by the frame they begin with.
type Packed = (Vec<[u8; 32]>, LiteMap<usize, Vec<u8>>);

/// The sender of one phone: frames in, commands out.
pub struct Outbox {
    timers: Timers,
    pack: Pack,
    waiting: Vec<([u8; 32], Vec<u8>)>,
    known: LiteMap<[u8; 32], ()>,
    refused: LiteMap<[u8; 32], String>,
    live: Vec<Live>,
    /// Whether posts go in packets as well.
    flies: bool,
    /// The one that does.
    flight: Option<Live>,
    /// Packets were answered on this network.
    landed: bool,
    /// How often in a row a connection was answered before them.
    outrun: u32,
    next_attempt: Attempt,
    due_ms: i64,
    failures: u32,
    /// Posts since the office answered last, or since the network changed.
    unanswered: u32,
    /// How long the last answer took, if the link was in good order then.
    usual_ms: Option<i64>,
    /// When the post that was just answered had been sent, until it is known what time it is.
    answered_since_ms: Option<i64>,
    /// The last answer settled nothing: it counts as none.
    unsettled: bool,
    /// What is in the last bodies, and those: rivals carry the same, each from another frame on.
    packed: Option<Packed>,
}

impl Outbox {
    /// An empty outbox.
    pub fn new(timers: Timers) -> Self {
        Outbox {
            timers,
            pack: plain,
            waiting: Vec::new(),
            known: LiteMap::new_vec(),
            refused: LiteMap::new_vec(),
            live: Vec::new(),
            flies: false,
            flight: None,
            landed: false,
            outrun: 0,
            next_attempt: 1,
            due_ms: i64::MIN,
            failures: 0,
            unanswered: 0,
            usual_ms: None,
            answered_since_ms: None,
            unsettled: false,
            packed: None,
        }
    }

    /// The same, with bodies made in this way.
    #[must_use]
    pub fn packing(mut self, pack: Pack) -> Self {
        self.pack = pack;
        self
    }

    /// The same, with posts that go in packets beside the connections.
    #[must_use]
    pub fn flying(mut self) -> Self {
        self.flies = true;
        self
    }

    /// The office does not know the encoding (it answered 415): from now on bodies are
    /// plain. Call it after [`Outbox::failed`] and before [`Outbox::wake`].
    pub fn plainly(&mut self) {
        self.pack = plain;
        self.packed = None;
        self.due_ms = i64::MIN;
    }

    /// A frame to be sent, oldest first. One that was added before changes nothing.
    /// Call [`Outbox::wake`] afterwards.
    pub fn add(&mut self, id: [u8; 32], bytes: Vec<u8>) {
        if self.known.insert(id, ()).is_none() {
            self.waiting.push((id, bytes));
            if self.live.is_empty() && self.failures == 0 {
                self.due_ms = i64::MIN;
            }
        }
    }

    /// Whether this frame was added before, and is not forgotten.
    pub fn knows(&self, id: &[u8; 32]) -> bool {
        self.known.contains_key(id)
    }

    /// Forgets every frame that is not to be sent any more, such as one whose receipt came
    /// by another way.
    pub fn retain(&mut self, still: impl Fn(&[u8; 32]) -> bool) {
        self.waiting.retain(|(id, _)| still(id));
        self.known.retain(|id, ()| still(id));
        self.refused.retain(|id, _| still(id));
    }

    /// How many frames the office has not acknowledged; refused ones are not waiting.
    pub fn waiting(&self) -> usize {
        self.waiting.len()
    }

    /// Frames that the office refuses, with its reasons: a person has to look.
    pub fn refused(&self) -> &LiteMap<[u8; 32], String> {
        &self.refused
    }

    /// Time has come, or something changed. `entropy` spreads the waits of many
    /// phones apart.
    pub fn wake(&mut self, now_ms: i64, entropy: u64) -> Vec<Command> {
        if let Some(since) = self.answered_since_ms.take() {
            let took = now_ms.saturating_sub(since);
            self.usual_ms = (0..=GOOD_MS).contains(&took).then_some(took);
        }
        if std::mem::take(&mut self.unsettled) {
            self.pause(now_ms, entropy);
        }
        let mut out = Vec::new();
        if self.waiting.is_empty() {
            self.packed = None;
            let live = self.live.drain(..).chain(self.flight.take());
            out.extend(live.map(|l| Command::Drop { attempt: l.attempt }));
            return out;
        }
        if now_ms >= self.due_ms {
            let Some((frames, body)) = self.body() else {
                return out;
            };
            if self.takes_off() {
                let attempt = self.next_attempt;
                self.next_attempt += 1;
                self.flight = Some(Live {
                    attempt,
                    frames: frames.clone(),
                    since_ms: now_ms,
                    until_ms: i64::MAX,
                });
                out.push(Command::Fly {
                    attempt,
                    body: body.clone(),
                });
                if self.landed {
                    self.due_ms = now_ms.saturating_add(AFTER_FLIGHT_MS);
                    out.push(Command::WakeAt { at_ms: self.due_ms });
                    return out;
                }
            }
            let most = (UNDER_WAY / body.len().max(1)).max(2);
            let most = most.min(self.timers.live.max(1));
            while self.live.len() >= most {
                out.push(Command::Drop {
                    attempt: self.live.remove(0).attempt,
                });
            }
            let rounds = (self.unanswered / self.timers.live.max(1) as u32).min(20);
            let bytes = body.len() as i64;
            let patience = self.timers.patience_ms + bytes / PATIENCE_BYTES;
            let patience = (patience << rounds).min(self.timers.pause_to_ms.max(patience));
            self.live.push(Live {
                attempt: self.next_attempt,
                frames,
                since_ms: now_ms,
                until_ms: now_ms.saturating_add(patience),
            });
            out.push(Command::Post {
                attempt: self.next_attempt,
                body,
            });
            self.next_attempt += 1;
            let rival = self.next_rival_in(rounds, bytes, entropy);
            self.due_ms = now_ms.saturating_add(rival);
            if self.live.len() >= most {
                self.due_ms = self.due_ms.max(self.live[0].until_ms);
            }
            self.unanswered = self.unanswered.saturating_add(1);
        }
        out.push(Command::WakeAt { at_ms: self.due_ms });
        out
    }

    /// Whether a post goes in packets now: one at a time, at the beginning of a round.
    fn takes_off(&self) -> bool {
        let begins = (self.unanswered as usize).is_multiple_of(self.timers.live.max(1));
        self.flies && begins && self.flight.is_none() && self.outrun < OUTRUN
    }

    /// What is to be posted now; nothing if no frame is short enough to be taken.
    fn body(&mut self) -> Option<(Vec<[u8; 32]>, Vec<u8>)> {
        let chosen = choose(self.waiting.iter(), Limits::default());
        let ids: Vec<_> = chosen.iter().map(|(id, _)| *id).collect();
        if ids.is_empty() {
            return None;
        }
        let eighths = BEGIN[self.unanswered as usize % BEGIN.len()];
        let turn = ids.len() * eighths / BEGIN.len();
        if self.packed.as_ref().is_none_or(|(of, _)| *of != ids) {
            self.packed = Some((ids.clone(), LiteMap::new_vec()));
        }
        let (_, bodies) = self.packed.as_mut()?;
        if let Some(body) = bodies.get(&turn) {
            return Some((ids, body.clone()));
        }
        let bytes: Vec<_> = chosen.into_iter().map(|(_, bytes)| bytes.clone()).collect();
        let body = (self.pack)(&bytes, turn);
        bodies.insert(turn, body.clone());
        Some((ids, body))
    }

    /// How long to wait for the next rival. Where the last answer came soon, the first rival
    /// gives this one the time that it may well need. Where nothing at all comes back, as in a
    /// hall without signal that swallows every packet, the waits double with every round: a
    /// phone that lies there all day must not post without end.
    fn next_rival_in(&self, rounds: u32, bytes: i64, entropy: u64) -> i64 {
        let nth = self.unanswered as usize % self.timers.live.max(1) + 1;
        let (from, to) = match nth < self.timers.quick {
            true => (self.timers.rival_from_ms, self.timers.rival_to_ms),
            false => (self.timers.later_from_ms, self.timers.later_to_ms),
        };
        let mut wait = between(from, to, entropy) + (bytes - LONG).max(0) / RIVAL_BYTES;
        if let (Some(usual), 0) = (self.usual_ms, self.unanswered) {
            wait += 2 * usual;
        }
        (wait << rounds).min(self.timers.pause_to_ms.max(wait))
    }

    /// The network came back or changed, or the app came to the foreground: no pause
    /// counts any more, and packets under way are given up for ones that go at once. Call
    /// [`Outbox::wake`] afterwards.
    pub fn network_changed(&mut self) {
        self.flight = None;
        self.failures = 0;
        self.unanswered = 0;
        self.usual_ms = None;
        self.due_ms = i64::MIN;
        self.landed = false;
        self.outrun = 0;
    }

    /// These packets ended without any answer: they may go again in the next round.
    pub fn fell(&mut self, attempt: Attempt) {
        self.flight.take_if(|f| f.attempt == attempt);
        self.landed = false;
    }

    /// A connection ended without a receipt that counts.
    pub fn failed(&mut self, attempt: Attempt, now_ms: i64, entropy: u64) {
        let before = self.live.len();
        self.live.retain(|l| l.attempt != attempt);
        let flew = self.flight.take_if(|f| f.attempt == attempt).is_some();
        if flew || self.live.len() < before {
            self.pause(now_ms, entropy);
        }
    }

    /// An office in trouble is not to be rushed at, whatever else is under way.
    fn pause(&mut self, now_ms: i64, entropy: u64) {
        let doubled = self.timers.pause_from_ms << self.failures.min(20);
        let pause = doubled.min(self.timers.pause_to_ms);
        self.due_ms = now_ms.saturating_add(between(pause / 2, pause, entropy));
        self.usual_ms = None;
        if self.live.is_empty() {
            self.failures = self.failures.saturating_add(1);
        }
    }

    /// A receipt that was verified came in, by whichever connection. What else is
    /// waiting is due at once; connections with nothing left to bring are dropped.
    /// Call [`Outbox::wake`] afterwards.
    pub fn answered(&mut self, attempt: Attempt, receipt: &Receipt) -> Vec<Command> {
        // Only where the first one sent is the first one answered is its time the link's own.
        let flew = self.flight.take_if(|f| f.attempt == attempt);
        self.outrun = match (&flew, &self.flight) {
            (Some(_), _) => 0,
            (None, Some(_)) => self.outrun.saturating_add(1),
            (None, None) => self.outrun,
        };
        self.landed = self.outrun == 0 && (self.landed || flew.is_some());
        let first = self.live.first().filter(|l| l.attempt == attempt);
        let first = flew.as_ref().or(first);
        self.answered_since_ms = first.map(|l| l.since_ms);
        self.usual_ms = None;
        let live = self.live.len();
        self.live.retain(|l| l.attempt != attempt);
        let was_live = flew.is_some() || self.live.len() < live;
        let before = self.waiting.len();
        self.refused.retain(|id, _| !receipt.held.contains(id));
        for (id, reason) in &receipt.refused {
            if self.waiting.iter().any(|(waiting, _)| waiting == id) {
                self.refused.insert(*id, reason.clone());
            }
        }
        self.waiting
            .retain(|(id, _)| !receipt.held.contains(id) && !self.refused.contains_key(id));
        let waiting = &self.waiting;
        let mut out = Vec::new();
        let mut is_useful = |l: &mut Live| {
            let mut frames = l.frames.iter();
            let useful = frames.any(|id| waiting.iter().any(|(w, _)| w == id));
            if !useful {
                out.push(Command::Drop { attempt: l.attempt });
            }
            useful
        };
        self.live.retain_mut(&mut is_useful);
        self.flight.take_if(|l| !is_useful(l));
        if self.waiting.len() < before {
            self.failures = 0;
            self.unanswered = 0;
            self.unsettled = false;
            if self.live.is_empty() {
                self.due_ms = i64::MIN;
            }
        } else if was_live {
            // An answer that settles nothing must not lead to posting without a wait.
            self.answered_since_ms = None;
            self.unsettled = true;
        }
        out
    }
}

/// Some value from `from` to `to`.
fn between(from: i64, to: i64, entropy: u64) -> i64 {
    let span = to.saturating_sub(from).max(0) as u64 + 1;
    from + (entropy % span) as i64
}
