//! What acts are made of: the moment, the reader's links, and what was seen.

use serde::{Deserialize, Serialize};

/// The moment of an act, and fresh randomness for whatever it has to make.
///
/// The session never asks a clock or a random source itself: a recording of
/// acts and stamps replays to the same bytes anywhere.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Record))]
pub struct Stamp {
    /// Milliseconds since 1970-01-01T00:00:00Z, as the phone's clock shows it.
    pub at_ms: i64,
    /// The phone's offset from UTC at that moment, in minutes east.
    pub offset_min: i32,
    /// 32 fresh random bytes from the platform's secure source.
    #[serde(with = "hex::serde")]
    pub entropy: Vec<u8>,
}

/// How the radio stands with the chip reader.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Enum))]
#[serde(rename_all = "snake_case")]
pub enum ReaderLink {
    /// No reader has been seen since the app started.
    None,
    /// Looking for the reader that was used last.
    Looking,
    /// Connected: bytes can arrive.
    Connected,
    /// It was connected and is gone.
    Lost,
}

/// What carries a reader's bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Enum))]
#[serde(rename_all = "snake_case")]
pub enum ReaderCarrier {
    /// Bluetooth Low Energy.
    Ble,
    /// A classic serial port.
    Serial,
    /// Key strokes, as from a keyboard.
    Keys,
}

impl ReaderCarrier {
    /// Its number in the journal.
    pub fn number(self) -> u8 {
        match self {
            ReaderCarrier::Ble => 1,
            ReaderCarrier::Serial => 2,
            ReaderCarrier::Keys => 3,
        }
    }

    /// By its number in the journal; a number of a later version is taken for a
    /// radio's, which only means that the reader has to be chosen again.
    pub fn of_number(number: u8) -> Self {
        match number {
            2 => ReaderCarrier::Serial,
            3 => ReaderCarrier::Keys,
            _ => ReaderCarrier::Ble,
        }
    }
}

/// What the measurer found of one line of the record book.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Enum))]
#[serde(rename_all = "snake_case")]
pub enum BookState {
    /// Nobody has looked yet.
    Unseen,
    /// It is there and says the same.
    Agrees,
    /// It is there and says something else.
    Differs,
    /// It is not there.
    Missing,
}

/// What one lowering of the hoop showed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Enum))]
#[serde(rename_all = "snake_case")]
pub enum PlacingSeen {
    /// The hoop's base came down flat on the surface.
    BaseFlat,
    /// The hoop rested on the dog, rocked or see-sawed.
    BaseNotFlat,
    /// The dog moved: the placing counts for nothing, whatever it showed.
    DogMoved,
}

/// The two keys of a small clicker, or the volume keys: what they stand for is the
/// session's to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Enum))]
#[serde(rename_all = "snake_case")]
pub enum TwoKeys {
    /// Volume up, or a clicker's key for 'on'.
    First,
    /// Volume down, or a clicker's key for 'back'.
    Second,
}

/// What measurers put right together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Enum))]
#[serde(tag = "what", rename_all = "snake_case")]
pub enum CorrectionWhat {
    /// This placing counts for nothing; its result stays readable.
    VoidPlacing {
        /// Its number at this dog, from 1.
        number: u32,
    },
    /// The record book is looked at again from its first line.
    PapersAgain,
    /// The placings were another dog's, which is scanned next.
    MovePlacings,
}
