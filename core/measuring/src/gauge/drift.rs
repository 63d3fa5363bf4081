//! Drift over time: control charts.

use super::proportion::{TooFew, enough};

/// Standard deviations to the limits of both charts, as is usual (NIST/SEMATECH e-Handbook of
/// Statistical Methods, 6.3.3.2 and 6.3.2.4).
pub const LIMIT: f64 = 3.0;
/// The newest period's weight in the smoothed chart; the same handbook says usually 0.2 to 0.3.
pub const WEIGHT: f64 = 0.2;

/// A point of a chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// What is drawn.
    pub value: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// Whether it lies outside.
    pub outside: bool,
}

fn point(value: f64, low: f64, high: f64) -> Point {
    Point {
        value,
        low,
        high,
        outside: value < low || value > high,
    }
}

/// A chart of shares (a p chart): `periods` hold how many, of how many. The centre is the share of
/// all together; limits are [`LIMIT`] binomial standard deviations of each period, kept within 0
/// and 1. Periods without any are left out.
///
/// # Errors
/// [`TooFew`] below `least` periods.
pub fn shares(periods: &[(u64, u64)], least: u64) -> Result<(f64, Vec<Point>), TooFew> {
    let used: Vec<(f64, f64)> = periods
        .iter()
        .filter(|(_, n)| *n > 0)
        .map(|(k, n)| (*k as f64, *n as f64))
        .collect();
    enough(used.len() as u64, least.max(1))?;
    let centre =
        used.iter().map(|(k, _)| k).sum::<f64>() / used.iter().map(|(_, n)| n).sum::<f64>();
    let points = used
        .iter()
        .map(|(k, n)| {
            let half = LIMIT * (centre * (1.0 - centre) / n).sqrt();
            point(k / n, (centre - half).max(0.0), (centre + half).min(1.0))
        })
        .collect();
    Ok((centre, points))
}

/// A smoothed chart (an EWMA chart) of values that should scatter about `target` with standard
/// deviation `sigma`; limits are those of each point's own variance, which soon no longer grows.
///
/// # Errors
/// [`TooFew`] below `least` values.
pub fn smoothed(
    values: &[f64],
    target: f64,
    sigma: f64,
    weight: f64,
    least: u64,
) -> Result<Vec<Point>, TooFew> {
    enough(values.len() as u64, least.max(1))?;
    let mut at = target;
    let mut old = 1.0;
    Ok(values
        .iter()
        .map(|v| {
            at = weight * v + (1.0 - weight) * at;
            old *= (1.0 - weight) * (1.0 - weight);
            let half = LIMIT * sigma * (weight / (2.0 - weight) * (1.0 - old)).sqrt();
            point(at, target - half, target + half)
        })
        .collect())
}

/// A measurer's placings in one period against what the common model expects of them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Period {
    /// How many came down flat.
    pub flat: f64,
    /// How many should have: the sum of their probabilities.
    pub expected: f64,
    /// The variance of that number.
    pub variance: f64,
    /// How many placings.
    pub n: u64,
}

impl Period {
    /// One placing that came down flat, or not, where that had probability `p`.
    pub fn add(&mut self, flat: bool, p: f64) {
        self.flat += f64::from(u8::from(flat));
        self.expected += p;
        self.variance += p * (1.0 - p);
        self.n += 1;
    }

    /// How many standard deviations too many were flat: low readings are positive here. `None`
    /// where nothing was open, so that nothing can be said.
    pub fn surplus(&self) -> Option<f64> {
        (self.variance > 0.0).then(|| (self.flat - self.expected) / self.variance.sqrt())
    }
}

/// A measurer's smoothed chart over periods in order; those that say nothing are left out.
///
/// # Errors
/// [`TooFew`].
pub fn of_measurer(periods: &[Period], least: u64) -> Result<Vec<Point>, TooFew> {
    let values: Vec<f64> = periods.iter().filter_map(Period::surplus).collect();
    smoothed(&values, 0.0, 1.0, WEIGHT, least)
}
