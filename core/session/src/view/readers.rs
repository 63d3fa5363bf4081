//! The screen of the chip readers.

use super::{Text, Tone};
use crate::act::{Act, ReaderCarrier, ReaderLink};
use serde::{Deserialize, Serialize};

record! {
    /// A reader that the radio should use.
    pub struct WantedReader {
        /// What the platform knows it by.
        reader: String,
        /// What it calls itself.
        name: String,
        /// What carries its bytes.
        carrier: ReaderCarrier,
    }

    /// One reader.
    pub struct ReaderLine {
        /// What the platform knows it by.
        id: String,
        /// What it calls itself, or what it is where it has no name.
        name: Text,
        /// What carries its bytes, in words.
        carrier: Text,
        /// How it stands: connected, near, not near, and so on.
        state: Text,
        /// What else is known: used last, what it sends, how strong, its battery.
        notes: Vec<Text>,
        /// It is the one in use.
        wanted: bool,
        /// The link, if it is the one in use.
        link: ReaderLink,
        /// What is left in its battery, percent, where it tells.
        battery: Option<u8>,
        /// Sending this act uses this reader; absent for the one in use.
        choose: Option<Act>,
    }

    /// A number that may be the known chip's.
    pub struct TrialChoice {
        /// The number, grouped for reading.
        number: String,
        /// What the reader would be sending then.
        form: Text,
        /// Says that this is the known chip's number.
        act: Act,
    }

    /// A reader that is being tried out with a known chip.
    pub struct ReaderTrial {
        /// What to do, or what was found.
        state: Text,
        /// Its weight.
        tone: Tone,
        /// The number as read, grouped for reading.
        number: Option<String>,
        /// What the reader sends, in words.
        form: Option<Text>,
        /// The known chip's number, where somebody said it.
        known: Option<String>,
        /// Where only a person can tell what the number is.
        choices: Vec<TrialChoice>,
    }

    /// Screen: the chip readers.
    pub struct ReadersScreen {
        /// The one in use first, then those near, then those known.
        readers: Vec<ReaderLine>,
        /// How the one in use is being tried out; absent where no link stands.
        trial: Option<ReaderTrial>,
        /// Whether the known chip's number may be typed.
        may_type: bool,
    }
}
