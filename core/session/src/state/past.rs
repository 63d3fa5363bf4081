//! What the state asks of the journal behind it.

use std::sync::Arc;

use super::SealedRun;
use crate::roster::Loaded;

/// What came before, where it is not remembered.
pub trait Past {
    /// A roster that was taken in earlier.
    fn roster(&mut self, hash: &[u8; 32]) -> Option<Arc<Loaded>>;

    /// At most so many finished runs, the first of which begins with this event.
    fn runs(&mut self, from_seq: u64, most: usize) -> Vec<SealedRun>;
}
