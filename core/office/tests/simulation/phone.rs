//! A phone of the simulation: what lasts, and what a kill takes away.

use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap};

use standsquare_journal::record::chain;
use standsquare_sync::{Outbox, Timers, frame_id, stretch_body};

use crate::air::Flown;
use crate::support::*;

/// The same numbers for the same seed, on every machine.
pub struct Random(pub u64);

impl Random {
    pub fn next(&mut self) -> u64 {
        number(&mut self.0)
    }

    pub fn below(&mut self, n: u64) -> u64 {
        self.next() % n.max(1)
    }

    pub fn percent(&mut self, n: u64) -> bool {
        self.below(100) < n
    }
}

/// Bodies as the phones make them ([`stretch_body`]). Making one takes longer than all else that
/// happens to it here, and seeds come upon the same ones: they are made once.
fn pack(frames: &[Vec<u8>], turn: usize) -> Vec<u8> {
    type Made = HashMap<(Vec<[u8; 32]>, usize), Vec<u8>>;
    thread_local! {
        static MADE: RefCell<Made> = RefCell::default();
    }
    let of: Vec<_> = frames.iter().map(|f| frame_id(f)).collect();
    MADE.with_borrow_mut(|made| {
        if made.len() > 20_000 {
            made.clear();
        }
        let body = made.entry((of, turn));
        body.or_insert_with(|| stretch_body(frames, turn, chain))
            .clone()
    })
}

fn outbox(flies: bool) -> Outbox {
    let outbox = Outbox::new(Timers::default()).packing(pack);
    if flies { outbox.flying() } else { outbox }
}

pub struct Phone {
    pub pen: Pen,
    /// What lasts: frames finished, and acknowledgements that were believed.
    pub written: usize,
    pub acknowledged: BTreeSet<[u8; 32]>,
    /// What a kill takes away.
    pub outbox: Outbox,
    pub flown: Option<Flown>,
    pub life: u32,
    /// Which address its packets come from.
    pub address: u32,
    flies: bool,
}

impl Phone {
    pub fn new(pen: &Pen, flies: bool) -> Phone {
        Phone {
            pen: pen.clone(),
            written: 0,
            acknowledged: BTreeSet::new(),
            outbox: outbox(flies),
            flown: None,
            life: 0,
            address: 0,
            flies,
        }
    }

    pub fn restart(&mut self) {
        self.life += 1;
        self.address += 1;
        self.flown = None;
        self.outbox = outbox(self.flies);
        for bytes in &self.pen.frames[..self.written] {
            if !self.acknowledged.contains(&frame_id(bytes)) {
                self.outbox.add(frame_id(bytes), bytes.clone());
            }
        }
    }
}
