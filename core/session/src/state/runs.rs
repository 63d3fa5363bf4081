//! Finished runs of events, and which of them the office holds.

use std::fmt;

use super::past::Past;
use super::put::{In, Out, Put, items, put};
use crate::map::{Map, Set};

/// Runs looked for at a time, where one of them is to be found by its frame's id. Own
/// choice: what a day's dogs come to.
const AT_A_TIME: usize = 256;

/// A finished run of events that can be sent to the office.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SealedRun {
    /// The id of its frame.
    pub id: [u8; 32],
    /// Number of its first event.
    pub from_seq: u64,
    /// Number of its last.
    pub to_seq: u64,
}

put!(SealedRun {
    id,
    from_seq,
    to_seq
});

/// Runs one after the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Stretch {
    /// Number of the first.
    first: usize,
    /// How many there are.
    count: usize,
    /// Number of the first one's first event.
    from_seq: u64,
}

put!(Stretch {
    first,
    count,
    from_seq
});
items!(Stretch);

/// Runs that were met since this phone was opened: their frames' ids are in the journal, and
/// need not be worked out of it again. Nothing of it is put away or compared.
#[derive(Clone, Default)]
struct Known(Map<usize, SealedRun>);

impl fmt::Debug for Known {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Known")
    }
}

impl PartialEq for Known {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Eq for Known {}

impl Put for Known {
    fn put(&self, _: &mut Out) {}

    fn take(_: &mut In<'_>) -> Self {
        Known::default()
    }
}

/// All runs so far. Of those that the office holds only the numbers are remembered, in
/// stretches, however many there are: what is in them, and so their frames' ids, is in the
/// journal.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Runs {
    count: usize,
    waiting: Map<usize, SealedRun>,
    /// At the office, and not proved to be in its log; in order.
    held: Vec<Stretch>,
    known: Known,
}

put!(Runs {
    count,
    waiting,
    held,
    known
});

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
        let frames: Set<_> = frames.collect();
        for (n, run) in self.waiting_in(&frames) {
            self.waiting.remove(&n);
            self.hold(n, run.from_seq);
            self.known.0.insert(n, run);
        }
    }

    /// These frames are proved to be in the office's log; `past` finds those that are not
    /// known here any more.
    pub(super) fn logged(&mut self, frames: impl Iterator<Item = [u8; 32]>, past: &mut dyn Past) {
        let mut frames: Set<_> = frames.collect();
        // A frame in the log is at the office, whether its receipt came or not.
        for (n, run) in self.waiting_in(&frames) {
            self.waiting.remove(&n);
            frames.remove(&run.id);
        }
        self.let_go(&mut frames);
        let mut next = self.held.clone().into_iter();
        while !frames.is_empty() {
            let Some(stretch) = next.next() else { return };
            for run in self.look_through(stretch, &frames, past) {
                self.known.0.insert(run.0, run.1);
            }
            self.let_go(&mut frames);
        }
    }

    /// The runs of a stretch that these frames are of.
    fn look_through(
        &self,
        stretch: Stretch,
        frames: &Set<[u8; 32]>,
        past: &mut dyn Past,
    ) -> Vec<(usize, SealedRun)> {
        let (mut n, mut from_seq) = (stretch.first, stretch.from_seq);
        let end = stretch.first + stretch.count;
        let mut found = Vec::new();
        while n < end {
            let runs = past.runs(from_seq, AT_A_TIME.min(end - n));
            let Some(last) = runs.last() else { break };
            from_seq = last.to_seq + 1;
            for run in runs {
                if frames.contains(&run.id) {
                    found.push((n, run));
                }
                n += 1;
            }
        }
        found
    }

    fn waiting_in(&self, frames: &Set<[u8; 32]>) -> Vec<(usize, SealedRun)> {
        let there = self.waiting.iter().filter(|(_, r)| frames.contains(&r.id));
        there.map(|(n, run)| (*n, run.clone())).collect()
    }

    /// Those of the known runs that these frames are of are held no more.
    fn let_go(&mut self, frames: &mut Set<[u8; 32]>) {
        let there = self.known.0.iter().filter(|(_, r)| frames.contains(&r.id));
        let there: Vec<_> = there.map(|(n, run)| (*n, run.clone())).collect();
        for (n, run) in there {
            self.known.0.remove(&n);
            frames.remove(&run.id);
            self.split(n, run.to_seq + 1);
        }
    }

    /// The office holds this run.
    fn hold(&mut self, n: usize, from_seq: u64) {
        let at = self.held.partition_point(|s| s.first < n);
        let one = Stretch {
            first: n,
            count: 1,
            from_seq,
        };
        self.held.insert(at, one);
        self.join(at);
        if let Some(before) = at.checked_sub(1) {
            self.join(before);
        }
    }

    /// The stretch at this place and the next one are one, if nothing is between them.
    fn join(&mut self, at: usize) {
        let next = self.held.get(at + 1).copied();
        if let (Some(here), Some(next)) = (self.held.get_mut(at), next)
            && here.first + here.count == next.first
        {
            here.count += next.count;
            self.held.remove(at + 1);
        }
    }

    /// Takes run number `n` out of its stretch; the next run begins with event `next_seq`.
    fn split(&mut self, n: usize, next_seq: u64) {
        let Some(at) = self.held_at(n) else { return };
        let stretch = self.held.remove(at);
        let after = Stretch {
            first: n + 1,
            count: stretch.first + stretch.count - n - 1,
            from_seq: next_seq,
        };
        let before = Stretch {
            count: n - stretch.first,
            ..stretch
        };
        let left = [before, after].into_iter().filter(|s| s.count > 0);
        self.held.splice(at..at, left);
    }

    fn held_at(&self, n: usize) -> Option<usize> {
        let within = |s: &Stretch| (s.first..s.first + s.count).contains(&n);
        self.held.iter().position(within)
    }

    /// Whether the office holds any that are not proved to be in its log.
    pub fn any_not_in_log(&self) -> bool {
        !self.held.is_empty()
    }

    /// Frames that the office holds and that are not proved to be in its log, oldest first,
    /// at most so many.
    pub fn not_in_log(&self, most: usize, past: &mut dyn Past) -> Vec<[u8; 32]> {
        let mut frames = Vec::new();
        for stretch in &self.held {
            let count = stretch.count.min(most - frames.len());
            let known = (stretch.first..).map_while(|n| self.known.0.get(&n));
            let known: Vec<_> = known.take(count).map(|run| run.id).collect();
            if known.len() == count {
                frames.extend(known);
            } else {
                let runs = past.runs(stretch.from_seq, count);
                frames.extend(runs.into_iter().map(|run| run.id));
            }
            if frames.len() >= most {
                break;
            }
        }
        frames
    }

    /// Whether the run with this number is proved to be in the office's log.
    pub fn in_log(&self, run: Option<usize>) -> bool {
        self.office_holds(run) && run.is_some_and(|n| self.held_at(n).is_none())
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
