//! Shares with their intervals, and silence where there is too little to say.

use std::fmt;

use super::normal;

/// Too little to say anything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooFew {
    /// How many there are.
    pub have: u64,
    /// How many are needed.
    pub need: u64,
}

impl fmt::Display for TooFew {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} so far; nothing is said below {}",
            self.have, self.need
        )
    }
}

impl std::error::Error for TooFew {}

/// The least that is needed before something is said. The defaults are our own choice, without
/// a source: large enough that the intervals of `tests/gauge/simulation.rs` hold what they
/// promise. A body may ask for more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Least {
    /// Pairs (or rows) for a share, a kappa or a row of the transition table.
    pub pairs: u64,
    /// Placings of known heights for a spread and a bias.
    pub placings: u64,
    /// Periods before a control chart is drawn.
    pub periods: u64,
}

impl Default for Least {
    fn default() -> Self {
        Least {
            pairs: 20,
            placings: 60,
            periods: 6,
        }
    }
}

/// `Ok` if `have` is enough.
pub(crate) fn enough(have: u64, need: u64) -> Result<(), TooFew> {
    if have < need {
        return Err(TooFew { have, need });
    }
    Ok(())
}

/// A share of `n`, with Wilson's score interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// How many of them.
    pub count: u64,
    /// Of how many.
    pub n: u64,
    /// The share, 0 to 1.
    pub share: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Wilson's score interval (Wilson 1927) for `count` of `n` at a level such as 0.95. Of none at
/// all nothing is known: 0 to 1.
pub fn share(count: u64, n: u64, level: f64) -> Share {
    if n == 0 {
        return Share {
            count,
            n,
            share: f64::NAN,
            low: 0.0,
            high: 1.0,
        };
    }
    let (k, n_) = (count as f64, n as f64);
    let z = normal::two_sided(level);
    let (p, z2) = (k / n_, z * z);
    let scale = 1.0 + z2 / n_;
    let middle = (p + z2 / (2.0 * n_)) / scale;
    let half = z / scale * (p * (1.0 - p) / n_ + z2 / (4.0 * n_ * n_)).sqrt();
    // The ends are exact where the share is; rounding must not leave a crumb.
    let low = if count == 0 { 0.0 } else { middle - half };
    let high = if count == n { 1.0 } else { middle + half };
    Share {
        count,
        n,
        share: p,
        low,
        high,
    }
}
