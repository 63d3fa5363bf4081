//! One placing as a go/no-go gauge.

use std::fmt;

use crate::length::Length;

/// Millimetres as the statistics use them. A nanometre is kept far below a double's last digit.
pub(crate) fn mm(length: Length) -> f64 {
    length.nm() as f64 / 1e6
}

/// How somebody's placings scatter and where they lie. Both come from data ([`super::fit`]) or
/// from the body; there is no default: no value for dogs has been published (facts, section 3).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placer {
    spread_mm: f64,
    bias_mm: f64,
}

impl Placer {
    /// Standard deviation of one placing, and by how much it reads high (negative: low), both in
    /// millimetres.
    ///
    /// # Errors
    /// [`ModelFault::Spread`] for a spread that is not above nothing, or a number that is none.
    pub fn new(spread_mm: f64, bias_mm: f64) -> Result<Self, ModelFault> {
        if !(spread_mm > 0.0 && spread_mm.is_finite() && bias_mm.is_finite()) {
            return Err(ModelFault::Spread);
        }
        Ok(Placer { spread_mm, bias_mm })
    }

    /// Standard deviation of one placing, millimetres.
    pub fn spread_mm(&self) -> f64 {
        self.spread_mm
    }

    /// By how much a placing reads high, millimetres; negative: low.
    pub fn bias_mm(&self) -> f64 {
        self.bias_mm
    }

    /// The probability that a hoop of this inside height comes down flat over a dog of this
    /// height: Φ((hoop − height − bias) / spread), the probit model of one placing.
    pub fn flat(&self, height_mm: f64, hoop_mm: f64) -> f64 {
        super::normal::below((hoop_mm - height_mm - self.bias_mm) / self.spread_mm)
    }
}

/// Why something cannot be worked out.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum ModelFault {
    /// The spread is not above nothing, or a number is none.
    Spread,
    /// The procedure has more ways to go than are worked out.
    TooManyWays,
    /// A dog like any other is refused by the pack, so that it never comes to a placing.
    Refused(String),
    /// The shares of heights are empty, overlap, or are not above nothing.
    Heights,
    /// A hoop that the procedure does not use.
    UnknownHoop(String),
    /// A probability that is not between 0 and 1.
    Level,
}

impl fmt::Display for ModelFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ModelFault::Spread => {
                f.write_str("the spread must be a number above 0 mm, and the bias a number")
            }
            ModelFault::TooManyWays => f.write_str(
                "the procedure has too many ways to go; ask for fewer placings or measurers",
            ),
            ModelFault::Refused(key) => write!(
                f,
                "the rules refuse a grown dog with its papers in order ({key}); correct the pack"
            ),
            ModelFault::Heights => f.write_str(
                "the heights must be bands that rise without overlapping, each with dogs in it",
            ),
            ModelFault::UnknownHoop(hoop) => {
                write!(
                    f,
                    "the procedure has no hoop '{hoop}'; name one of the pack's"
                )
            }
            ModelFault::Level => f.write_str("a probability lies between 0 and 1"),
        }
    }
}

impl std::error::Error for ModelFault {}
