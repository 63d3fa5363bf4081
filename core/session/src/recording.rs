//! Recorded sessions: acts with their stamps, as JSON, replayed on every
//! platform to the same bytes.

use serde::{Deserialize, Serialize};

use crate::act::{Act, Stamp};

/// One recorded act.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Record))]
pub struct RecordedStep {
    /// The act.
    pub act: Act,
    /// Its moment and randomness.
    pub stamp: Stamp,
}

/// A recorded session.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Record))]
pub struct Recording {
    /// What it shows, in a sentence.
    pub about: String,
    /// The phone's secret, 32 bytes.
    #[serde(with = "hex::serde")]
    pub device_secret: Vec<u8>,
    /// The stamp of the first opening.
    pub opened: Stamp,
    /// The acts; each is done on the view that the one before it gave.
    pub steps: Vec<RecordedStep>,
}

/// A recording that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Error))]
pub enum RecordingFault {
    /// Not a recording; the reason names line and column.
    #[error("not a recording: {reason}")]
    Unreadable {
        /// Why.
        reason: String,
    },
}

impl Recording {
    /// Reads a recording's JSON text.
    ///
    /// # Errors
    /// [`RecordingFault::Unreadable`].
    pub fn read(text: &str) -> Result<Recording, RecordingFault> {
        serde_json::from_str(text).map_err(|e| RecordingFault::Unreadable {
            reason: e.to_string(),
        })
    }
}
