//! What is written and read.

use super::WrappedKey;
use crate::record::Hash;
use crate::record::fact::Fact;

/// Where the chain stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Head {
    /// The number of the newest event; 0 for none.
    pub seq: u64,
    /// The chain's head.
    pub hash: Hash,
}

/// An event as it is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stored {
    /// Its number, from 1.
    pub seq: u64,
    /// When, Unix milliseconds.
    pub at_ms: i64,
    /// The chain's head after it.
    pub hash: Hash,
    /// Its own bytes.
    pub bytes: Vec<u8>,
    /// What it says.
    pub fact: Fact,
}

/// One thing to write. A list of them is written whole or not at all.
#[derive(Clone, Debug)]
pub enum Item {
    /// An event.
    Fact(Fact),
    /// An event in which the device signs the head as it then stands.
    Seal {
        /// Why: 1 sign-off, 2 closing, 3 before a sync.
        why: u8,
    },
    /// A text kept beside the chain under its hash (a roster, a rule pack). The same
    /// text twice is kept once.
    Blob {
        /// SHA-256 of the bytes.
        hash: [u8; 32],
        /// The text.
        bytes: Vec<u8>,
    },
    /// Personal data, sealed under a key of its own so that it can be erased.
    Subject {
        /// Its random id.
        id: [u8; 16],
        /// The data.
        clear: Vec<u8>,
        /// The commitment's salt.
        salt: [u8; 32],
        /// Its own key, kept wrapped by the device's secret.
        key: [u8; 32],
        /// Fresh.
        nonce: [u8; 24],
    },
    /// Personal data that goes: row, key and salt. Ids that are not there change nothing.
    Erase {
        /// Their random ids.
        ids: Vec<[u8; 16]>,
    },
    /// A measurer's key; in place of an older one of theirs. The same for the second wrapping
    /// of the owner's, which [`WrappedKey::no_owner`] takes away.
    PersonKey(WrappedKey),
}
