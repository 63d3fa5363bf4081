//! Chip numbers: from a reader's bytes to one number that can be trusted.
//!
//! The crate is pure: bytes and times come in as arguments, and the same bytes
//! always give the same answer. Its layers, from the radio upwards:
//!
//! 1. [`Profile`] says, as data, how one reader frames its numbers;
//!    [`Framer`] cuts the byte stream by it. [`Pairing`] finds the profile.
//! 2. [`Form`] says what stands inside one frame; the `telegram` module knows
//!    what a chip sends on the air.
//! 3. [`ReadLog`] keeps every read of one dog and says, as [`Identity`],
//!    whether a number counts yet.
//! 4. [`compare`] holds that number against the record book.
//!
//! A wrong number must never pass. So nothing is repaired, padded or searched
//! for inside longer text: a frame is taken whole or refused with a reason.

pub mod cli;
mod compare;
mod crc16;
mod flag;
mod form;
mod framer;
mod identity;
mod number;
mod pairing;
mod printed;
mod profile;
mod read;
mod refusal;
pub mod telegram;

pub use compare::{Comparison, Slip, Unreadable, compare};
pub use crc16::crc16;
pub use flag::ChipFlag;
pub use form::{Form, Parsed};
pub use framer::Framer;
pub use identity::{
    BOUNCE_MS, Ground, Heard, Identity, NotYet, PASSES_WANTED, ReadLog, ReadOutcome, SCAN_PLACES,
};
pub use number::{ChipNumber, IsoCode, IsoNumber};
pub use pairing::{Pairing, Proposal};
pub use printed::{Printed, parse_printed};
pub use profile::{Framing, Profile};
pub use read::{Checksum, Frame, Read, Refused};
pub use refusal::{Advice, Refusal};
