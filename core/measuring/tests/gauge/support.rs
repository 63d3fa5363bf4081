//! What several checks share: packs, dice, and normal deviates.

use std::path::Path;

use standsquare_measuring::{LARKMERE, RulePack};

/// A pack of tests/packs by the name of its file, or the shipped one.
pub fn pack(name: &str) -> RulePack {
    let text = if name == "larkmere" {
        LARKMERE.to_owned()
    } else {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/packs/{name}.toml"));
        std::fs::read_to_string(path).expect("a pack")
    };
    RulePack::parse(&text).unwrap_or_else(|faults| panic!("{name}: {faults:#?}"))
}

/// The shipped pack with something replaced.
pub fn larkmere_with(from: &str, to: &str) -> RulePack {
    assert!(LARKMERE.contains(from), "{from}");
    let text = LARKMERE.replacen(from, to, 1);
    RulePack::parse(&text).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

/// Sebastiano Vigna's splitmix64: the same numbers in every run.
pub struct Dice(pub u64);

impl Dice {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly below `n`.
    pub fn below(&mut self, n: u64) -> u64 {
        self.next() % n
    }

    /// Evenly between 0 and 1, neither included.
    pub fn unit(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A standard normal deviate by Marsaglia's polar method: it shares nothing with the
    /// quantile under test.
    pub fn normal(&mut self) -> f64 {
        loop {
            let (u, v) = (self.between(-1.0, 1.0), self.between(-1.0, 1.0));
            let s = u * u + v * v;
            if s > 0.0 && s < 1.0 {
                return u * (-2.0 * s.ln() / s).sqrt();
            }
        }
    }
}

/// Whether two numbers agree to a relative (or, near nothing, absolute) error.
pub fn close(a: f64, b: f64, to: f64) -> bool {
    (a - b).abs() <= to * b.abs().max(1.0) || (a.is_infinite() && a == b)
}
