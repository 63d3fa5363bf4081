//! The phone's end: which packets to send when, until the answer is there.

use std::collections::VecDeque;

use chacha20poly1305::XNonce;
use chacha20poly1305::aead::Aead;

use super::{
    ANSWER, HAVE, Keys, MOST_PIECES, PIECE, TO_OFFICE, TO_PHONE, VERSION, nonce_of, number, piece,
    piece_head, sealed, unmarked,
};

/// So many packets go at once: the usual first window of a connection (RFC 6928).
const BATCH: usize = 10;
/// Time between two batches, milliseconds. Own choice, no source.
const BATCH_MS: i64 = 15;
/// After so long what is missing goes once more, so often: twenty packets of which one in five is
/// lost are all there after three times in 85 of 100 cases. On a link in good order the office
/// has said by then what it has. Own choice, no source.
const AGAIN_MS: i64 = 60;
const AGAIN: u32 = 2;
/// So many pieces go where nothing is heard. Own choice, no source.
const PROBE: usize = 3;
/// Waits before them, milliseconds: before anything was heard, the least and the longest. Own
/// choice, no source.
const WAIT_FIRST_MS: i64 = 350;
const WAIT_LEAST_MS: i64 = 80;
const WAIT_LONGEST_MS: i64 = 1_000;
/// A packet counts as lost when so many that were sent later are known to have come (RFC 9002,
/// section 6.1.1).
const LATER: u32 = 3;
/// Up to so many lost pieces go three times. Own choice, no source.
const FEW: usize = 10;
/// What a wait is longer than the way there and back was, milliseconds. Own choice, no source.
const MARGIN_MS: i64 = 40;
/// Most packets for each piece, and beside that; the post is left to connections then. Own
/// choice, no source.
const MOST_EACH: usize = 6;
const MOST_MORE: usize = 64;

struct Piece {
    bytes: Vec<u8>,
    /// The office has it.
    there: bool,
    /// The turn in which it was sent last.
    turn: Option<u32>,
}

/// One post under way in packets.
pub struct Flight {
    with: [u8; 32],
    keys: Keys,
    pieces: Vec<Piece>,
    /// When the packet of each turn was sent.
    sent_ms: Vec<i64>,
    queue: VecDeque<usize>,
    batch_ms: i64,
    again_ms: i64,
    again: u32,
    probe_ms: i64,
    wait_ms: i64,
    /// The latest turn that the office spoke of.
    told: Option<u32>,
    answer: Vec<Option<Vec<u8>>>,
}

impl Flight {
    /// A post to the office of this Ed25519 key. `secret` is random and used for nothing else.
    /// `None` where the post is too long for packets, or the key is none.
    pub fn new(body: &[u8], office_key: &[u8; 32], secret: [u8; 32], now_ms: i64) -> Option<Self> {
        if body.is_empty() || body.len() > MOST_PIECES * PIECE {
            return None;
        }
        let (with, keys) = Keys::new(office_key, secret)?;
        let pieces: Vec<_> = body
            .chunks(PIECE)
            .map(|bytes| Piece {
                bytes: bytes.to_vec(),
                there: false,
                turn: None,
            })
            .collect();
        Some(Flight {
            with,
            keys,
            queue: (0..pieces.len()).collect(),
            pieces,
            sent_ms: Vec::new(),
            batch_ms: now_ms,
            again_ms: now_ms.saturating_add(AGAIN_MS),
            again: AGAIN,
            probe_ms: now_ms.saturating_add(WAIT_FIRST_MS),
            wait_ms: WAIT_FIRST_MS,
            told: None,
            answer: Vec::new(),
        })
    }

    /// The packets that are to be sent now.
    pub fn wake(&mut self, now_ms: i64) -> Vec<Vec<u8>> {
        if self.is_over() || now_ms < self.batch_ms {
            return Vec::new();
        }
        if self.again > 0 && now_ms >= self.again_ms {
            self.again -= 1;
            self.again_ms = now_ms.saturating_add(AGAIN_MS);
            self.queue.extend(self.missing(usize::MAX));
        }
        if self.queue.is_empty() && now_ms >= self.probe_ms {
            self.queue.extend(self.missing(PROBE));
            if self.queue.is_empty() {
                // It has everything: asked again, it says its answer again.
                self.queue.push_back(0);
            }
            self.wait_ms = (self.wait_ms * 3 / 2).min(WAIT_LONGEST_MS);
        }
        let asking = self.has_all();
        let mut out = Vec::new();
        while out.len() < BATCH
            && let Some(nth) = self.queue.pop_front()
        {
            if asking || !self.pieces[nth].there {
                out.push(self.packet(nth, now_ms));
            }
        }
        if !out.is_empty() {
            self.batch_ms = now_ms.saturating_add(BATCH_MS);
            self.probe_ms = now_ms.saturating_add(self.wait_ms);
        }
        out
    }

    /// When [`Flight::wake`] has more; `None` where it never will.
    pub fn next_ms(&self) -> Option<i64> {
        let next = match (self.queue.is_empty(), self.again) {
            (true, 0) => self.probe_ms,
            (true, _) => self.again_ms.min(self.probe_ms),
            (false, _) => self.batch_ms,
        };
        (!self.is_over()).then(|| next.max(self.batch_ms))
    }

    /// A packet came. The answer's status and body, once all of it is there; what is not for
    /// this post says nothing.
    pub fn heard(&mut self, packet: &[u8], now_ms: i64) -> Option<(u16, Vec<u8>)> {
        let rest = unmarked(packet, TO_PHONE)?;
        let (nonce, rest) = rest.split_first_chunk()?;
        let plain = self.keys.back.decrypt(&XNonce::from(*nonce), rest).ok()?;
        match plain.split_first()? {
            (&HAVE, rest) => self.told(rest, now_ms),
            (&ANSWER, rest) => {
                let (status, rest) = number(rest)?;
                let (nth, of, bytes) = piece(rest)?;
                if self.answer.len() != of {
                    self.answer = vec![None; of];
                }
                self.answer[nth] = Some(bytes.to_vec());
                let whole: Option<Vec<_>> = self.answer.iter().cloned().collect();
                // It fits: a status has two bytes.
                return Some((status as u16, whole?.concat()));
            }
            _ => None,
        };
        None
    }

    /// What the office has.
    fn told(&mut self, rest: &[u8], now_ms: i64) -> Option<()> {
        let (latest, bits) = rest.split_first_chunk()?;
        let latest = u32::from_be_bytes(*latest);
        let sent_ms = *self.sent_ms.get(latest as usize)?;
        let took = now_ms.saturating_sub(sent_ms).max(0);
        self.wait_ms = (took + MARGIN_MS).clamp(WAIT_LEAST_MS, WAIT_LONGEST_MS);
        let last_ms = *self.sent_ms.last()?;
        self.probe_ms = last_ms
            .max(sent_ms)
            .saturating_add(self.wait_ms)
            .max(now_ms);
        // What is said after a later packet counts alone: an office that started anew meanwhile,
        // or another one at its address, has nothing of what was there before.
        let newer = self.told.is_none_or(|told| told < latest);
        self.told = self.told.max(Some(latest));
        for (nth, piece) in self.pieces.iter_mut().enumerate() {
            let said = bits.get(nth / 8).is_some_and(|b| b >> (nth % 8) & 1 == 1);
            piece.there = said || (piece.there && !newer);
        }
        if self.has_all() {
            self.again = 0;
            self.queue.clear();
            return Some(());
        }
        let lost: Vec<_> = (0..self.pieces.len())
            .filter(|nth| {
                let piece = &self.pieces[*nth];
                let late = piece
                    .turn
                    .is_some_and(|t| t.saturating_add(LATER) <= latest);
                !piece.there && late && !self.queue.contains(nth)
            })
            .collect();
        let times = if lost.len() <= FEW { 3 } else { 1 };
        for _ in 0..times {
            self.queue.extend(&lost);
        }
        Some(())
    }

    fn packet(&mut self, nth: usize, now_ms: i64) -> Vec<u8> {
        // `is_over` bounds how many there are.
        let turn = self.sent_ms.len() as u32;
        self.sent_ms.push(now_ms);
        let of = self.pieces.len();
        let piece = &mut self.pieces[nth];
        piece.turn = Some(turn);
        let plain = [&[0][..], &piece_head(nth, of), &piece.bytes].concat();
        let sealed = sealed(&self.keys.there, &nonce_of(turn), &plain);
        [
            &TO_OFFICE[..],
            &[VERSION],
            &self.with,
            &turn.to_be_bytes(),
            &sealed,
        ]
        .concat()
    }

    fn missing(&self, most: usize) -> Vec<usize> {
        let missing = self.pieces.iter().enumerate().filter(|(_, p)| !p.there);
        missing.map(|(nth, _)| nth).take(most).collect()
    }

    fn has_all(&self) -> bool {
        self.pieces.iter().all(|p| p.there)
    }

    /// Whether it has been tried long enough.
    fn is_over(&self) -> bool {
        self.sent_ms.len() >= self.pieces.len() * MOST_EACH + MOST_MORE
    }
}
