//! Finished runs of events, and which of them the office holds.

use crate::map::{Map, Set};
use serde::{Deserialize, Serialize};

/// A finished run of events that can be sent to the office.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SealedRun {
    /// The id of its frame.
    #[serde(with = "hex::serde")]
    pub id: [u8; 32],
    /// Number of its first event.
    pub from_seq: u64,
    /// Number of its last.
    pub to_seq: u64,
}

/// All runs so far. Of those that are in the office's log only the number is remembered,
/// of those that the office holds the frame's id; the bytes of the others are in the
/// journal.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Runs {
    count: usize,
    #[serde(with = "crate::map")]
    waiting: Map<usize, SealedRun>,
    /// At the office, and not proved to be in its log.
    #[serde(with = "crate::map")]
    held: Map<usize, HexId>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
struct HexId(#[serde(with = "hex::serde")] [u8; 32]);

impl Runs {
    /// How many there are.
    pub fn count(&self) -> usize {
        self.count
    }

    pub(super) fn push(&mut self, run: SealedRun) -> usize {
        let number = self.count;
        self.waiting.insert(number, run);
        self.count += 1;
        number
    }

    pub(super) fn acknowledged(&mut self, frames: impl Iterator<Item = [u8; 32]>) {
        let mut held = Set::new();
        for frame in frames {
            held.insert(frame);
        }
        let there: Vec<usize> = self
            .waiting
            .iter()
            .filter(|(_, run)| held.contains(&run.id))
            .map(|(n, _)| *n)
            .collect();
        for n in there {
            if let Some(run) = self.waiting.remove(&n) {
                self.held.insert(n, HexId(run.id));
            }
        }
    }

    pub(super) fn logged(&mut self, frames: impl Iterator<Item = [u8; 32]>) {
        let frames: Set<_> = frames.collect();
        self.held.retain(|_, id| !frames.contains(&id.0));
        // A frame in the log is at the office, whether its receipt came or not.
        self.waiting.retain(|_, run| !frames.contains(&run.id));
    }

    /// Frames that the office holds and that are not proved to be in its log, oldest first.
    pub fn not_in_log(&self) -> impl Iterator<Item = [u8; 32]> {
        self.held.values().map(|id| id.0)
    }

    /// Whether the run with this number is proved to be in the office's log.
    pub fn in_log(&self, run: Option<usize>) -> bool {
        self.office_holds(run) && run.is_some_and(|n| !self.held.contains_key(&n))
    }

    /// The number of the run that ended with this event. Of those that the office holds
    /// any one's, since only that is remembered of them.
    pub fn number_at(&self, to_seq: u64) -> usize {
        let waiting = self.waiting.iter().find(|(_, run)| run.to_seq == to_seq);
        let held = || (0..self.count).find(|n| !self.waiting.contains_key(n));
        waiting.map(|(n, _)| *n).or_else(held).unwrap_or(self.count)
    }

    /// Whether the run with this number waits for the office and ends after this event.
    pub fn waits_after(&self, run: Option<usize>, seq: u64) -> bool {
        run.and_then(|n| self.waiting.get(&n))
            .is_some_and(|run| run.to_seq > seq)
    }

    /// Runs that the office has not acknowledged, oldest first.
    pub fn unsent(&self) -> impl Iterator<Item = &SealedRun> {
        self.waiting.values()
    }

    /// Whether the office holds the run with this number.
    pub fn office_holds(&self, run: Option<usize>) -> bool {
        run.is_some_and(|n| n < self.count && !self.waiting.contains_key(&n))
    }
}
