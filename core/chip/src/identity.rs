//! Which number a dog carries, as far as the reads of it say.
//!
//! Every read is kept. A number counts when a check vouched for it, when a
//! second equal read came, or when a person confirmed it. Two different
//! numbers are both kept, and a person is asked: the later one never replaces
//! the earlier.

use crate::number::ChipNumber;
use crate::printed::parse_printed;
use crate::read::{Checksum, Frame, Read, Refused};
use crate::refusal::Refusal;
use serde::{Deserialize, Serialize};

/// The same number again within this time of a read is the same read, heard
/// more than once, milliseconds. Our own choice, no source: longer than a
/// reader repeats itself for one press of its button.
pub const BOUNCE_MS: i64 = 1_000;

/// Full passes over the dog before it may be said that no chip was found.
/// Common practice, no source.
pub const PASSES_WANTED: u8 = 2;

/// Where to scan, in this order, when nothing was found: chips wander.
/// Common practice, no source. Keys of the platforms' words.
pub const SCAN_PLACES: [&str; 6] = [
    "scan.between_shoulder_blades",
    "scan.neck_left",
    "scan.neck_right",
    "scan.shoulders",
    "scan.front_legs",
    "scan.chest",
];

/// Reads kept whole for one number; more are only counted.
const READS_KEPT: usize = 8;
/// Different numbers kept for one dog; more only show in [`ReadLog::dropped`].
const NUMBERS_KEPT: usize = 16;
/// Refusals kept for one dog, the latest.
const REFUSALS_KEPT: usize = 32;

/// Why a number counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ground {
    /// The frame's own check fits.
    Checksum,
    /// A second, separate read was equal.
    SecondRead,
    /// A person compared it with the reader's display.
    Confirmed,
    /// A person typed it from the reader's display; no bytes came. Flagged on
    /// the record.
    Typed,
}

/// One number heard of this dog.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Heard {
    /// The number.
    pub number: ChipNumber,
    /// Its separate reads, oldest first (the first eight whole).
    pub reads: Vec<Read>,
    /// How many separate reads there were.
    pub separate: u32,
    /// How many frames in all, bounces included.
    pub frames: u32,
    /// When the latest separate read began, milliseconds since 1970.
    pub latest_ms: i64,
    /// A person confirmed it, or typed it.
    pub confirmed: Option<Ground>,
    /// A person said that this number is not of this dog. It stays on record.
    pub set_aside: bool,
}

impl Heard {
    /// Why it counts, if it does: the strongest ground.
    pub fn ground(&self) -> Option<Ground> {
        if self.reads.iter().any(|r| r.checksum == Checksum::Verified) {
            Some(Ground::Checksum)
        } else if self.separate >= 2 {
            Some(Ground::SecondRead)
        } else {
            self.confirmed
        }
    }
}

/// What the reads of one dog say.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "identity", rename_all = "snake_case")]
pub enum Identity {
    /// No number yet.
    Nothing,
    /// A number without a check: read once more, or confirm it.
    NeedsSecondRead {
        /// The number as read.
        number: ChipNumber,
    },
    /// One number, and it counts.
    Known {
        /// The number.
        number: ChipNumber,
        /// Why it counts.
        ground: Ground,
    },
    /// More than one number: ask. All are kept.
    TwoNumbers {
        /// In the order they were first heard.
        numbers: Vec<ChipNumber>,
    },
}

/// What is held against the record book.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "outcome", rename_all = "snake_case")]
pub enum ReadOutcome {
    /// One number that counts.
    Number {
        /// The number.
        number: ChipNumber,
    },
    /// More than one number in one dog.
    TwoChips {
        /// In the order they were first heard.
        numbers: Vec<ChipNumber>,
    },
    /// Something was there, but no frame came through whole.
    Unreadable,
    /// Nothing was heard after this many full passes.
    NoneFound {
        /// How many.
        passes: u8,
    },
}

/// Why it may not yet be said that there is no number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, thiserror::Error)]
#[serde(tag = "not_yet", rename_all = "snake_case")]
pub enum NotYet {
    /// A number has been heard.
    #[error("a number has been heard: read it once more, or confirm it")]
    NumberHeard,
    /// One pass is not enough.
    #[error("one pass is not enough: scan the whole dog again ({done} of {wanted} passes done)")]
    ScanAgain {
        /// Passes made.
        done: u8,
        /// Passes wanted.
        wanted: u8,
    },
}

/// Every read of one dog. Bounded: a stuck reader cannot fill the memory.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadLog {
    heard: Vec<Heard>,
    refused: Vec<Refused>,
    passes: u8,
    dropped: u32,
}

impl ReadLog {
    /// A log for a dog that nothing has been heard of.
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes what a framer gave and says how things stand now.
    pub fn take(&mut self, frame: Frame) -> Identity {
        match frame {
            Frame::Read(read) => self.read(read),
            Frame::Refused(refused) => self.refuse(refused),
        }
        self.identity()
    }

    fn read(&mut self, read: Read) {
        let at_ms = read.at_ms;
        let Some(heard) = self.entry(&read.number, at_ms) else {
            return;
        };
        heard.frames = heard.frames.saturating_add(1);
        let bounce = heard.separate > 0 && at_ms.abs_diff(heard.latest_ms) <= BOUNCE_MS as u64;
        if bounce {
            return;
        }
        heard.separate = heard.separate.saturating_add(1);
        heard.latest_ms = at_ms;
        // A check that fits is worth more than the eighth repetition.
        if heard.reads.len() < READS_KEPT {
            heard.reads.push(read);
        } else if read.checksum == Checksum::Verified {
            heard.reads[READS_KEPT - 1] = read;
        }
    }

    fn refuse(&mut self, refused: Refused) {
        if self.refused.len() == REFUSALS_KEPT {
            self.refused.remove(0);
        }
        self.refused.push(refused);
    }

    /// The entry of a number, made if there is room.
    fn entry(&mut self, number: &ChipNumber, at_ms: i64) -> Option<&mut Heard> {
        if let Some(i) = self.heard.iter().position(|h| h.number == *number) {
            return self.heard.get_mut(i);
        }
        if self.heard.len() == NUMBERS_KEPT {
            self.dropped = self.dropped.saturating_add(1);
            return None;
        }
        self.heard.push(Heard {
            number: number.clone(),
            reads: Vec::new(),
            separate: 0,
            frames: 0,
            latest_ms: at_ms,
            confirmed: None,
            set_aside: false,
        });
        self.heard.last_mut()
    }

    /// A person compared the number with the reader's display and confirms it.
    /// `false` if that number has not been heard.
    pub fn confirm(&mut self, number: &ChipNumber) -> bool {
        match self.heard.iter_mut().find(|h| h.number == *number) {
            Some(heard) => {
                heard.confirmed.get_or_insert(Ground::Confirmed);
                true
            }
            None => false,
        }
    }

    /// A number typed from the reader's own display, seen by both measurers.
    /// Never for a number printed in the record book: that would compare the
    /// book with itself.
    ///
    /// # Errors
    /// As [`parse_printed`].
    pub fn typed(&mut self, text: &str, at_ms: i64) -> Result<ChipNumber, Refusal> {
        let number = parse_printed(text)?.number;
        if let Some(heard) = self.entry(&number, at_ms) {
            heard.confirmed.get_or_insert(Ground::Typed);
        }
        Ok(number)
    }

    /// A person says that this number was another dog's (or, with `aside`
    /// false, that it is this dog's after all). It stays on record, heard again
    /// or not, and no longer counts. `false` if it has not been heard.
    pub fn set_aside(&mut self, number: &ChipNumber, aside: bool) -> bool {
        match self.heard.iter_mut().find(|h| h.number == *number) {
            Some(heard) => {
                heard.set_aside = aside;
                true
            }
            None => false,
        }
    }

    /// One full pass over the dog is done and gave no number.
    pub fn pass_done(&mut self) {
        self.passes = self.passes.saturating_add(1);
    }

    /// How things stand.
    pub fn identity(&self) -> Identity {
        let counted: Vec<&Heard> = self.heard.iter().filter(|h| !h.set_aside).collect();
        match counted[..] {
            [] => Identity::Nothing,
            [one] => match one.ground() {
                Some(ground) => Identity::Known {
                    number: one.number.clone(),
                    ground,
                },
                None => Identity::NeedsSecondRead {
                    number: one.number.clone(),
                },
            },
            _ => Identity::TwoNumbers {
                numbers: counted.iter().map(|h| h.number.clone()).collect(),
            },
        }
    }

    /// What can be held against the record book now; `None` while a number
    /// still needs a second read or nothing has been heard.
    pub fn outcome(&self) -> Option<ReadOutcome> {
        match self.identity() {
            Identity::Known { number, .. } => Some(ReadOutcome::Number { number }),
            Identity::TwoNumbers { numbers } => Some(ReadOutcome::TwoChips { numbers }),
            Identity::Nothing | Identity::NeedsSecondRead { .. } => None,
        }
    }

    /// A person gives up: unreadable if anything came at all, else none found.
    ///
    /// # Errors
    /// [`NotYet`] while a number is in hand or fewer than [`PASSES_WANTED`]
    /// passes are done.
    pub fn give_up(&self) -> Result<ReadOutcome, NotYet> {
        if self.identity() != Identity::Nothing {
            return Err(NotYet::NumberHeard);
        }
        if self.passes < PASSES_WANTED {
            return Err(NotYet::ScanAgain {
                done: self.passes,
                wanted: PASSES_WANTED,
            });
        }
        Ok(if self.refused.is_empty() {
            ReadOutcome::NoneFound {
                passes: self.passes,
            }
        } else {
            ReadOutcome::Unreadable
        })
    }

    /// Every number heard, in order, those set aside included.
    pub fn heard(&self) -> &[Heard] {
        &self.heard
    }

    /// The latest refusals.
    pub fn refused(&self) -> &[Refused] {
        &self.refused
    }

    /// Full passes made without a number.
    pub fn passes(&self) -> u8 {
        self.passes
    }

    /// Reads of yet another number that there was no room for.
    pub fn dropped(&self) -> u32 {
        self.dropped
    }
}
