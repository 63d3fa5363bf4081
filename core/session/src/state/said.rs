//! What handlers objected, as far as it is still kept here: the words themselves are personal
//! data beside the chain.

use super::put::{items, put};

/// One objection's words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// The random id that stands for the words.
    pub words: [u8; 16],
    /// Their salted commitment, which also names them between phone and office.
    pub commitment: [u8; 32],
    /// Number of the event.
    pub seq: u64,
    /// The roster that its session was measured by: its rules say how long they are kept.
    pub roster: [u8; 32],
    /// The office holds them.
    pub held: bool,
}

put!(Said {
    words,
    commitment,
    seq,
    roster,
    held
});
items!(Said);
