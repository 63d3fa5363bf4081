//! Randomness out of a stamp: as many bytes as an act needs, from the 32 fresh
//! ones that came with it.

use sha2::{Digest, Sha256};

/// A source of bytes derived from one stamp's entropy. Every piece differs.
pub struct Source {
    seed: [u8; 32],
    taken: u32,
}

impl Source {
    /// From the entropy of a stamp; shorter or longer input is hashed to 32 bytes,
    /// so that nothing depends on its length.
    pub fn new(entropy: &[u8]) -> Self {
        let mut hash = Sha256::new();
        hash.update(b"standsquare/entropy/1");
        hash.update(entropy);
        Source {
            seed: hash.finalize().into(),
            taken: 0,
        }
    }

    /// The next `N` bytes, 32 at most.
    pub fn bytes<const N: usize>(&mut self) -> [u8; N] {
        const { assert!(N <= 32, "one piece is at most 32 bytes") };
        self.taken += 1;
        let mut hash = Sha256::new();
        hash.update(self.seed);
        hash.update(self.taken.to_be_bytes());
        let piece: [u8; 32] = hash.finalize().into();
        let mut out = [0; N];
        out.copy_from_slice(&piece[..N]);
        out
    }
}
