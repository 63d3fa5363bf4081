//! What comes out of a reader's bytes: reads and refusals, raw bytes kept.

use crate::flag::ChipFlag;
use crate::form::Form;
use crate::number::{ChipNumber, IsoCode};
use crate::refusal::Refusal;
use serde::{Deserialize, Serialize};

/// Whether anything in the frame vouched for its digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Checksum {
    /// The frame carried a check and it fits.
    Verified,
    /// The frame carries none: a wrong digit would not show.
    Absent,
}

/// One whole frame, accepted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Read {
    /// The frame's bytes as received.
    #[serde(with = "hex::serde")]
    pub raw: Vec<u8>,
    /// The form they were in.
    pub form: Form,
    /// The number.
    pub number: ChipNumber,
    /// Whether a check vouches for it.
    pub checksum: Checksum,
    /// The animal bit, where the form carries it.
    pub animal: Option<bool>,
    /// All 64 bits of the chip, where the form carries them: the retag
    /// counter, user and reserved fields stay with the read.
    pub code: Option<IsoCode>,
    /// What to point out about it.
    pub flags: Vec<ChipFlag>,
    /// When the frame was complete, milliseconds since 1970 as given to the framer.
    pub at_ms: i64,
}

/// One frame, or what was left of one, not accepted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Refused {
    /// The bytes as received (of a frame that never ended, its beginning).
    #[serde(with = "hex::serde")]
    pub raw: Vec<u8>,
    /// The form it was tried as; `None` where no one form was meant.
    pub form: Option<Form>,
    /// Why.
    pub reason: Refusal,
    /// When, milliseconds since 1970 as given to the framer.
    pub at_ms: i64,
}

/// What a framer gives back.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "frame", rename_all = "snake_case")]
pub enum Frame {
    /// Accepted.
    Read(Read),
    /// Not accepted, with the reason.
    Refused(Refused),
}
