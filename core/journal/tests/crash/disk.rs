//! What a disk may hold after the power went: what was synced, and of what was not, any
//! part, in any order, torn at its sectors.

use std::collections::BTreeMap;

use crate::shim::Op;

/// The smallest piece that a disk writes whole, bytes.
const SECTOR: usize = 512;

/// Files by what stands behind the journal's name.
pub type Files = BTreeMap<String, Vec<u8>>;

/// A disk at one moment.
#[derive(Clone, Default)]
pub struct Disk {
    /// What lasts.
    lasting: Files,
    /// What was done since and not synced.
    pending: Vec<Op>,
    /// Events on the disk when the last act was answered.
    pub answered: u64,
}

fn file_of(op: &Op) -> &str {
    match op {
        Op::Write { file, .. } | Op::Cut { file, .. } => file,
        Op::Sync { file } | Op::Remove { file, .. } => file,
        Op::Answered { .. } => "",
    }
}

fn put(files: &mut Files, op: &Op, sectors: &dyn Fn(usize) -> bool) {
    match op {
        Op::Write { file, at, bytes } => {
            let content = files.entry(file.clone()).or_default();
            // Pieces end where the disk's sectors end, not where the write began.
            let mut from = 0;
            while from < bytes.len() {
                let to = bytes.len().min(from + SECTOR - (at + from) % SECTOR);
                if sectors((at + from) / SECTOR) {
                    if content.len() < at + to {
                        content.resize(at + to, 0);
                    }
                    content[at + from..at + to].copy_from_slice(&bytes[from..to]);
                }
                from = to;
            }
        }
        Op::Cut { file, length } => {
            files.entry(file.clone()).or_default().resize(*length, 0);
        }
        Op::Remove { file, .. } => {
            files.remove(file);
        }
        Op::Sync { .. } | Op::Answered { .. } => {}
    }
}

fn whole(_: usize) -> bool {
    true
}

impl Disk {
    /// A disk on which these files have long been.
    pub fn holding(files: &Files) -> Self {
        Disk {
            lasting: files.clone(),
            ..Disk::default()
        }
    }

    /// Goes on by one step.
    pub fn take(&mut self, op: &Op) {
        match op {
            Op::Answered { events } => self.answered = *events,
            Op::Sync { file } => {
                // A sync takes the folder's own changes along (as every journaling file
                // system does), and of the other files nothing.
                let (now, later) = std::mem::take(&mut self.pending)
                    .into_iter()
                    .partition(|op| file_of(op) == file || matches!(op, Op::Remove { .. }));
                self.pending = later;
                let now: Vec<Op> = now;
                for op in &now {
                    put(&mut self.lasting, op, &whole);
                }
                self.lasting.entry(file.clone()).or_default();
            }
            Op::Remove { file, lasts: true } => {
                self.pending.retain(|op| file_of(op) != file);
                self.lasting.remove(file);
            }
            other => self.pending.push(other.clone()),
        }
    }

    /// Everything that the disk may hold if the power goes now: nothing of what was not
    /// synced, each beginning of it, each beginning with its last write torn, and
    /// `subsets` chance selections of it in which any write may be torn.
    pub fn states(&self, subsets: usize, rng: &mut fastrand::Rng) -> Vec<Files> {
        let mut states = Vec::new();
        let mut files = self.lasting.clone();
        states.push(files.clone());
        for op in &self.pending {
            if let Op::Write { at, bytes, .. } = op {
                let (first, last) = (at / SECTOR, (at + bytes.len() - 1) / SECTOR);
                for end in first..last {
                    let mut torn = files.clone();
                    put(&mut torn, op, &|sector| sector <= end);
                    states.push(torn);
                }
            }
            put(&mut files, op, &whole);
            states.push(files.clone());
        }
        if self.pending.len() > 1 {
            for _ in 0..subsets {
                states.push(self.subset(rng));
            }
        }
        states
    }

    fn subset(&self, rng: &mut fastrand::Rng) -> Files {
        let mut files = self.lasting.clone();
        for op in &self.pending {
            if rng.u8(..3) == 0 {
                continue;
            }
            if rng.u8(..3) == 0 {
                let keep = rng.u64(..);
                put(&mut files, op, &|sector| keep >> (sector % 64) & 1 == 1);
            } else {
                put(&mut files, op, &whole);
            }
        }
        files
    }
}
