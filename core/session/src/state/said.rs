//! What handlers objected, as far as it is still kept here: the words themselves are personal
//! data beside the chain.

use serde::{Deserialize, Serialize};

/// One objection's words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Said {
    /// The random id that stands for the words.
    #[serde(with = "hex::serde")]
    pub words: [u8; 16],
    /// Their salted commitment, which also names them between phone and office.
    #[serde(with = "hex::serde")]
    pub commitment: [u8; 32],
    /// Number of the event.
    pub seq: u64,
    /// The roster that its session was measured by: its rules say how long they are kept.
    #[serde(with = "hex::serde")]
    pub roster: [u8; 32],
    /// The office holds them.
    pub held: bool,
}
