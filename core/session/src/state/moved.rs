//! Placings that were entered under one dog and were another's.

use standsquare_journal::record::fact::Seen;

use super::put::put;
use super::visit::Visit;
use crate::map::Map;
use standsquare_measuring::order;

/// A dog that was scanned because placings belong to it, and its read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MoveTo {
    /// Id in the roster.
    pub dog: String,
    /// As received.
    pub raw: Vec<u8>,
    /// The reader profile's name.
    pub form: String,
    /// The number understood.
    pub number: String,
    /// A checksum proved it.
    pub verified: bool,
}

put!(MoveTo {
    dog,
    raw,
    form,
    number,
    verified
});

/// A placing: the hoop, what was seen, when (Unix milliseconds).
pub type Placed = (String, Seen, i64);

/// Placings on their way from one visit to another.
#[derive(Clone, Debug, Default)]
pub struct Moving {
    placings: Vec<Placed>,
    placed_by: Vec<Option<String>>,
    voided: Map<u32, String>,
}

put!(Moving {
    placings,
    placed_by,
    voided
});

impl Visit {
    /// The placings are the dog's with visit `to`: this one waits aside without them, and
    /// is scanned again when it comes.
    pub(super) fn set_aside(&mut self, to: u32) {
        self.moving = Moving {
            placings: std::mem::take(&mut self.placings),
            placed_by: std::mem::take(&mut self.placed_by),
            voided: std::mem::take(&mut self.voided),
        };
        self.moved_away.push((to, self.moving.placings.clone()));
        self.unwatched();
        self.chosen = None;
        self.holder = None;
        self.hand_over = None;
        self.parked = true;
    }

    /// Gives away the placings that a correction says were another dog's.
    pub fn give(&mut self) -> Moving {
        std::mem::take(&mut self.moving)
    }

    /// Takes placings that were entered for another dog, in the order in which they were
    /// made. Its chip has just been read; it settles and stands again.
    pub fn receive(&mut self, from: u32, moving: Moving) {
        self.parked = false;
        self.unwatched();
        let own = self.placings.drain(..).zip(self.placed_by.drain(..));
        let void = |voided: &Map<u32, String>, n: usize| voided.get(&(n as u32 + 1)).cloned();
        let mut all = Vec::new();
        for (n, (placing, by)) in own.enumerate() {
            all.push((placing, by, void(&self.voided, n)));
        }
        let given = moving.placings.into_iter().zip(moving.placed_by);
        for (n, (placing, by)) in given.enumerate() {
            all.push((placing, by, void(&moving.voided, n)));
        }
        order::sort_by_key(&mut all, |((.., at_ms), ..)| *at_ms);
        self.voided.clear();
        for (n, (placing, by, void)) in all.into_iter().enumerate() {
            self.placings.push(placing);
            self.placed_by.push(by);
            if let Some(reason) = void {
                self.voided.insert(n as u32 + 1, reason);
            }
        }
        self.moved_here.push(from);
    }
}
