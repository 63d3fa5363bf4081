//! Dice that fall the same for the same seed, on every machine.

/// SplitMix64: small, and the same everywhere.
pub struct Dice(pub u64);

impl Dice {
    /// From 0 to one less than so many.
    pub fn roll(&mut self, sides: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % sides
    }

    /// One of these.
    pub fn pick<'a, T>(&mut self, of: &'a [T]) -> Option<&'a T> {
        (!of.is_empty()).then(|| &of[self.roll(of.len() as u64) as usize])
    }
}

/// A number from the environment.
pub fn setting(name: &str, otherwise: u64) -> u64 {
    std::env::var(name)
        .ok()
        .and_then(|v| v.parse().ok())
        .unwrap_or(otherwise)
}
