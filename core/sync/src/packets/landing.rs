//! The office's end: packets of many posts in, whole posts and packets back out.

use std::collections::BTreeMap;

use chacha20poly1305::XNonce;
use chacha20poly1305::aead::Aead;
use ed25519_dalek::SigningKey;
use sha2::{Digest, Sha256};

use super::{
    ANSWER, HAVE, KEY, Keys, NONCE, Own, PIECE_BACK, TO_OFFICE, TO_PHONE, VERSION, nonce_of, own,
    piece, piece_head, sealed, unmarked,
};

/// Posts under way at a time: those that were silent longest make room. Own choice, no source;
/// some 20 MB at most.
const MOST_POSTS: usize = 256;
/// How long a post is remembered that nothing is heard of, milliseconds. Own choice, no source.
const FORGOTTEN_MS: i64 = 60_000;
/// How long packets are waited for before it is said what is there, milliseconds. Own choice,
/// no source.
const TELL_MS: i64 = 10;
/// An answer goes so often, so many milliseconds apart; a packet of the phone's asks for it again,
/// but not sooner than that. Own choice, no source.
const TIMES: u32 = 3;
const AGAIN_MS: i64 = 30;
/// Packets that may go back for each one that came: an address that somebody else wrote on a
/// packet must not be flooded (RFC 9000, section 8.1, has three as well).
const BACK_EACH: usize = 3;

/// A post that is all there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Whole {
    /// Names it in [`Landing::answer`].
    pub post: [u8; 32],
    /// Its body.
    pub body: Vec<u8>,
}

struct Post<A> {
    keys: Keys,
    from: A,
    pieces: Vec<Option<Vec<u8>>>,
    latest: u32,
    heard_ms: i64,
    /// When it is said what is there.
    tell_ms: Option<i64>,
    /// The answer's packets, unsealed, once there are any.
    answer: Vec<Vec<u8>>,
    /// When they go next, and when they went last.
    answer_ms: Option<i64>,
    answered_ms: i64,
    answered: u32,
    /// Packets that may go back.
    credit: usize,
}

/// All posts that come in packets; `A` is what an address is.
pub struct Landing<A> {
    key: Option<Own>,
    /// Nonces come of it and of how many there were.
    seed: [u8; 32],
    sealed: u64,
    posts: BTreeMap<[u8; KEY], Post<A>>,
}

impl<A: Clone> Landing<A> {
    /// For the office of this key. `seed` is random, and another one at each start.
    pub fn new(key: &SigningKey, seed: [u8; 32]) -> Self {
        Landing {
            key: own(key),
            seed,
            sealed: 0,
            posts: BTreeMap::new(),
        }
    }

    /// Whether this packet is of a post of which others came; the first of a new one costs the
    /// making of keys.
    pub fn knows(&self, packet: &[u8]) -> bool {
        let with = unmarked(packet, TO_OFFICE).and_then(|rest| rest.first_chunk::<KEY>());
        with.is_some_and(|with| self.posts.contains_key(with))
    }

    /// A packet came from there; the post, if this was its last piece. What no phone sealed for
    /// this office leaves nothing behind.
    pub fn take(&mut self, packet: &[u8], from: A, now_ms: i64) -> Option<Whole> {
        let rest = unmarked(packet, TO_OFFICE)?;
        let (with, rest) = rest.split_first_chunk::<KEY>()?;
        let (turn, rest) = rest.split_first_chunk()?;
        let turn = u32::from_be_bytes(*turn);
        let made = match self.posts.contains_key(with) {
            true => None,
            false => Some(Keys::opened(self.key.as_ref()?, with)?),
        };
        let keys = match &made {
            Some(keys) => keys,
            None => &self.posts.get(with)?.keys,
        };
        let plain = keys.there.decrypt(&nonce_of(turn), rest).ok()?;
        let (nth, of, bytes) = piece(plain.strip_prefix(&[0])?)?;
        if let Some(keys) = made {
            self.make_room(now_ms);
            let post = Post {
                keys,
                from: from.clone(),
                pieces: vec![None; of],
                latest: turn,
                heard_ms: now_ms,
                tell_ms: None,
                answer: Vec::new(),
                answer_ms: None,
                answered_ms: i64::MIN,
                answered: 0,
                credit: 0,
            };
            self.posts.insert(*with, post);
        }
        let post = self.posts.get_mut(with)?;
        if post.pieces.len() != of {
            return None;
        }
        post.heard_ms = now_ms;
        post.credit = (post.credit + BACK_EACH).min(BACK_EACH * 2 * of.max(8));
        if turn > post.latest {
            // A phone that changed its network is at another address now.
            post.latest = turn;
            post.from = from;
        }
        if !post.answer.is_empty() {
            let soonest = post.answered_ms.saturating_add(AGAIN_MS);
            post.answer_ms = Some(post.answer_ms.unwrap_or(soonest.max(now_ms)));
            return None;
        }
        post.tell_ms = Some(post.tell_ms.unwrap_or(now_ms.saturating_add(TELL_MS)));
        if post.pieces[nth].is_some() {
            return None;
        }
        post.pieces[nth] = Some(bytes.to_vec());
        let whole: Option<Vec<_>> = post.pieces.iter().cloned().collect();
        Some(Whole {
            post: *with,
            body: whole?.concat(),
        })
    }

    /// What the office answers a post, with a status as in HTTP.
    pub fn answer(&mut self, post: &[u8; 32], status: u16, body: &[u8], now_ms: i64) {
        let Some(post) = self.posts.get_mut(post) else {
            return;
        };
        let of = body.len().div_ceil(PIECE_BACK).max(1);
        post.answer = (0..of)
            .map(|nth| {
                let from = nth * PIECE_BACK;
                let bytes = &body[from..body.len().min(from + PIECE_BACK)];
                let status = status.to_be_bytes();
                [&[ANSWER][..], &status, &piece_head(nth, of), bytes].concat()
            })
            .collect();
        post.tell_ms = None;
        post.answer_ms = Some(now_ms);
    }

    /// The packets that are to be sent now, and where to.
    pub fn due(&mut self, now_ms: i64) -> Vec<(A, Vec<u8>)> {
        let mut out = Vec::new();
        let Landing {
            posts,
            seed,
            sealed: count,
            ..
        } = self;
        for post in posts.values_mut() {
            let mut plain = Vec::new();
            if post.tell_ms.is_some_and(|at| now_ms >= at) {
                post.tell_ms = None;
                plain.push(have(post.latest, &post.pieces));
            }
            if post.answer_ms.is_some_and(|at| now_ms >= at) {
                post.answered_ms = now_ms;
                post.answered = post.answered.saturating_add(1);
                let again = post.answered < TIMES;
                post.answer_ms = again.then(|| now_ms.saturating_add(AGAIN_MS));
                plain.extend(post.answer.iter().cloned());
            }
            for plain in plain {
                if post.credit == 0 {
                    break;
                }
                post.credit -= 1;
                *count += 1;
                let nonce = nonce(seed, *count);
                let sealed = sealed(&post.keys.back, &XNonce::from(nonce), &plain);
                let packet = [&TO_PHONE[..], &[VERSION], &nonce, &sealed].concat();
                out.push((post.from.clone(), packet));
            }
        }
        posts.retain(|_, p| now_ms.saturating_sub(p.heard_ms) < FORGOTTEN_MS);
        out
    }

    /// When [`Landing::due`] has something; `None` where nothing is under way.
    pub fn next_ms(&self) -> Option<i64> {
        let of = |p: &Post<A>| {
            let forgotten = Some(p.heard_ms.saturating_add(FORGOTTEN_MS));
            [p.tell_ms, p.answer_ms, forgotten]
                .into_iter()
                .flatten()
                .min()
        };
        self.posts.values().filter_map(of).min()
    }

    /// Posts under way.
    pub fn posts(&self) -> usize {
        self.posts.len()
    }

    fn make_room(&mut self, now_ms: i64) {
        self.posts
            .retain(|_, p| now_ms.saturating_sub(p.heard_ms) < FORGOTTEN_MS);
        while self.posts.len() >= MOST_POSTS {
            let oldest = self.posts.iter().min_by_key(|(_, p)| p.heard_ms);
            let Some(oldest) = oldest.map(|(with, _)| *with) else {
                return;
            };
            self.posts.remove(&oldest);
        }
    }
}

fn have(latest: u32, pieces: &[Option<Vec<u8>>]) -> Vec<u8> {
    let mut bits = vec![0; pieces.len().div_ceil(8)];
    for (nth, _) in pieces.iter().enumerate().filter(|(_, p)| p.is_some()) {
        bits[nth / 8] |= 1 << (nth % 8);
    }
    [&[HAVE][..], &latest.to_be_bytes(), &bits].concat()
}

fn nonce(seed: &[u8; 32], count: u64) -> [u8; NONCE] {
    let hash = Sha256::new()
        .chain_update(seed)
        .chain_update(count.to_be_bytes());
    let hash: [u8; 32] = hash.finalize().into();
    let mut nonce = [0; NONCE];
    nonce.copy_from_slice(&hash[..NONCE]);
    nonce
}
