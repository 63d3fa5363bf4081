//! Spread and bias from placings over dogs of known height: probit regression by maximum
//! likelihood.
//!
//! A placing with `room = hoop − height` comes down flat with probability Φ(α + β·room); so the
//! spread is 1/β and the bias −α/β.

use std::collections::HashMap;
use std::fmt;
use std::hash::{BuildHasherDefault, Hasher};

use super::model::Placer;
use super::normal;
use super::proportion::{TooFew, enough};
use crate::order;

/// Placings with the same room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cell {
    /// The hoop's inside height less the dog's known height, millimetres.
    pub room_mm: f64,
    /// How many came down flat.
    pub flat: u32,
    /// How many did not.
    pub not: u32,
}

impl Cell {
    /// One placing.
    pub fn one(room_mm: f64, flat: bool) -> Cell {
        Cell {
            room_mm,
            flat: u32::from(flat),
            not: u32::from(!flat),
        }
    }

    fn n(&self) -> f64 {
        f64::from(self.flat) + f64::from(self.not)
    }
}

/// Why there is no fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum FitFault {
    /// Too few placings.
    TooFew(TooFew),
    /// A number that is none.
    NotANumber,
    /// Every placing below some room went one way and every one above it the other: the spread is
    /// smaller than these heights can tell.
    NoOverlap,
    /// Flat no more often with more room: these are no placings of a hoop.
    NotRising,
    /// The search did not settle.
    NotSettled,
}

impl fmt::Display for FitFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FitFault::TooFew(few) => few.fmt(f),
            FitFault::NotANumber => f.write_str("a height is no number; correct it"),
            FitFault::NoOverlap => f.write_str(
                "nothing in between: place the hoop over heights nearer to it, several times each",
            ),
            FitFault::NotRising => f.write_str(
                "a hoop came down flat no more often over lower dogs; check which height belongs to which",
            ),
            FitFault::NotSettled => f.write_str("no best fit was found; more placings are needed"),
        }
    }
}

impl std::error::Error for FitFault {}

/// A number with its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The number.
    pub value: f64,
    /// Its standard error (of the logarithm for a spread).
    pub error: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// A fit by maximum likelihood.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// How many placings it rests on.
    pub n: u64,
    /// α: how far, in standard deviations, no room at all lies above even odds.
    pub intercept: f64,
    /// β: standard deviations a millimetre.
    pub slope: f64,
    /// Variances of α and β and their covariance.
    pub covariance: Covariance,
    /// The logarithm of the likelihood.
    pub log_likelihood: f64,
}

/// Variances of intercept and slope and their covariance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Covariance {
    /// Of the intercept.
    pub intercept: f64,
    /// Of the two together.
    pub both: f64,
    /// Of the slope.
    pub slope: f64,
}

impl Fit {
    /// The spread, millimetres: its interval is symmetric in the logarithm, so that it stays above
    /// nothing.
    pub fn spread_mm(&self, level: f64) -> Estimate {
        let value = 1.0 / self.slope;
        let error = self.covariance.slope.sqrt() / self.slope;
        let factor = (normal::two_sided(level) * error).exp();
        Estimate {
            value,
            error,
            low: value / factor,
            high: value * factor,
        }
    }

    /// The bias, millimetres, positive reads high (delta method).
    pub fn bias_mm(&self, level: f64) -> Estimate {
        let value = -self.intercept / self.slope;
        let c = &self.covariance;
        let error = ((c.intercept + 2.0 * value * c.both + value * value * c.slope).max(0.0))
            .sqrt()
            / self.slope;
        let half = normal::two_sided(level) * error;
        Estimate {
            value,
            error,
            low: value - half,
            high: value + half,
        }
    }

    /// Who places like this.
    pub fn placer(&self) -> Option<Placer> {
        Placer::new(1.0 / self.slope, -self.intercept / self.slope).ok()
    }
}

/// What one value of the linear predictor adds: log-likelihood, its slope and its curvature
/// (both of one cell), and the curvature with its sign turned.
pub(crate) struct Pull {
    pub value: f64,
    pub slope: f64,
    pub curve: f64,
}

pub(crate) fn pull(cell: &Cell, z: f64) -> Pull {
    let mut all = Pull {
        value: 0.0,
        slope: 0.0,
        curve: 0.0,
    };
    for (count, sign) in [(cell.flat, 1.0), (cell.not, -1.0)] {
        if count > 0 {
            let (c, t) = (f64::from(count), sign * z);
            let (ln, h) = normal::ln_below_and_hazard(t);
            all.value += c * ln;
            all.slope += c * sign * h;
            all.curve += c * h * (h + t);
        }
    }
    all
}

/// Whether the results overlap: else the likelihood has no maximum (Albert and Anderson 1984).
fn overlaps(cells: &[Cell]) -> bool {
    let ends = |of: fn(&Cell) -> u32| {
        let with = cells.iter().filter(|c| of(c) > 0).map(|c| c.room_mm);
        with.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), r| {
            (l.min(r), h.max(r))
        })
    };
    let (flat, not) = (ends(|c| c.flat), ends(|c| c.not));
    flat.0 < not.1 && not.0 < flat.1
}

/// Fits spread and bias to placings over dogs of known height.
///
/// # Errors
/// [`FitFault`].
pub fn fit(cells: &[Cell], least: u64) -> Result<Fit, FitFault> {
    let n: f64 = cells.iter().map(Cell::n).sum();
    enough(n as u64, least.max(2)).map_err(FitFault::TooFew)?;
    if cells.iter().any(|c| !c.room_mm.is_finite()) {
        return Err(FitFault::NotANumber);
    }
    if !overlaps(cells) {
        return Err(FitFault::NoOverlap);
    }
    // In standard units the search needs no scale of its own.
    let mean = cells.iter().map(|c| c.n() * c.room_mm).sum::<f64>() / n;
    let var = cells
        .iter()
        .map(|c| c.n() * (c.room_mm - mean).powi(2))
        .sum::<f64>()
        / n;
    let unit = Unit {
        mean,
        scale: var.sqrt(),
    };
    let flat: f64 = cells.iter().map(|c| f64::from(c.flat)).sum();
    let mut from = (normal::quantile(flat / n), 0.0);
    if cells.len() > MANY {
        // Whatever is wrong with a rough start, the search puts right; so its faults are none.
        from = climb(&rough(cells), &unit, from, n).map_or(from, |top| (top.a, top.b));
    }
    let top = climb(cells, &unit, from, n)?;
    if top.b <= 0.0 {
        return Err(FitFault::NotRising);
    }
    let h = top.h;
    let det = h[0] * h[2] - h[1] * h[1];
    let (va, vab, vb) = (h[2] / det, -h[1] / det, h[0] / det);
    // Back to millimetres: slope b / scale, intercept a − slope · mean.
    let slope = top.b / unit.scale;
    let m = mean / unit.scale;
    Ok(Fit {
        n: n as u64,
        intercept: top.a - slope * mean,
        slope,
        covariance: Covariance {
            intercept: va - 2.0 * m * vab + m * m * vb,
            both: (vab - m * vb) / unit.scale,
            slope: vb / (unit.scale * unit.scale),
        },
        log_likelihood: top.value,
    })
}

/// More cells than this are first fitted roughly, in [`BINS`] bins. Own choice: below it the
/// rough fit costs as much as it saves.
const MANY: usize = 4_096;
/// A year's heights in a thousand bins give a start that is right to five or six digits.
const BINS: usize = 1_024;

/// The scale that the search works in.
struct Unit {
    mean: f64,
    scale: f64,
}

/// The top of the likelihood, in units of [`Unit`].
struct Top {
    a: f64,
    b: f64,
    /// Curvatures in a, ab, b.
    h: [f64; 3],
    value: f64,
}

/// Neighbouring rooms put together at their mean: a start for the search, never its result.
fn rough(cells: &[Cell]) -> Vec<Cell> {
    let ends = |(low, high): (f64, f64), c: &Cell| (low.min(c.room_mm), high.max(c.room_mm));
    let (low, high) = cells.iter().fold((f64::INFINITY, f64::NEG_INFINITY), ends);
    let per_mm = BINS as f64 / (high - low).max(f64::MIN_POSITIVE);
    let mut bins = vec![(0.0, 0_u32, 0_u32); BINS + 1];
    for c in cells {
        if let Some(bin) = bins.get_mut(((c.room_mm - low) * per_mm) as usize) {
            bin.0 += c.n() * c.room_mm;
            bin.1 = bin.1.saturating_add(c.flat);
            bin.2 = bin.2.saturating_add(c.not);
        }
    }
    let used = bins.into_iter().filter(|(_, flat, not)| flat + not > 0);
    used.map(|(sum, flat, not)| Cell {
        room_mm: sum / (f64::from(flat) + f64::from(not)),
        flat,
        not,
    })
    .collect()
}

/// The likelihood at one place: its value, slopes and curvatures.
fn look(cells: &[Cell], unit: &Unit, a: f64, b: f64) -> (f64, [f64; 2], [f64; 3]) {
    let (mut value, mut g, mut h) = (0.0, [0.0; 2], [0.0; 3]);
    let per_mm = 1.0 / unit.scale;
    // A logarithm of many probabilities multiplied costs one, not many.
    let mut product = 1.0_f64;
    for c in cells {
        let x = (c.room_mm - unit.mean) * per_mm;
        let z = a + b * x;
        let single = u64::from(c.flat) + u64::from(c.not) == 1;
        let t = if c.flat == 1 { z } else { -z };
        let p = if single && t > PLAIN {
            let (p, hazard) = normal::below_and_hazard(t);
            product *= p;
            if product < 1e-200 {
                value += product.ln();
                product = 1.0;
            }
            Pull {
                value: 0.0,
                slope: hazard.copysign(if c.flat == 1 { 1.0 } else { -1.0 }),
                curve: hazard * (hazard + t),
            }
        } else {
            pull(c, z)
        };
        value += p.value;
        g[0] += p.slope;
        g[1] += p.slope * x;
        h[0] += p.curve;
        h[1] += p.curve * x;
        h[2] += p.curve * x * x;
    }
    (value + product.ln(), g, h)
}

/// Above this a probability is far from the end of the numbers: e⁻²⁰⁰ < 10⁻⁸⁸.
const PLAIN: f64 = -20.0;

/// The log-likelihood is concave: Newton's steps, halved where one goes too far, reach the top.
fn climb(cells: &[Cell], unit: &Unit, from: (f64, f64), n: f64) -> Result<Top, FitFault> {
    let (mut a, mut b) = from;
    let mut at = look(cells, unit, a, b);
    for _ in 0..100 {
        let (value, g, h) = at;
        let det = h[0] * h[2] - h[1] * h[1];
        let (da, db) = (
            (h[2] * g[0] - h[1] * g[1]) / det,
            (h[0] * g[1] - h[1] * g[0]) / det,
        );
        if !(da.is_finite() && db.is_finite()) {
            return Err(FitFault::NotSettled);
        }
        let gain = da * g[0] + db * g[1];
        // So near the top the step gains its square: the curvature no longer changes in a digit
        // that counts, and the value by half of what the slope promises.
        if gain < 1e-16 * n {
            return Ok(Top {
                a: a + da,
                b: b + db,
                h,
                value: value + 0.5 * gain,
            });
        }
        let mut step = 1.0;
        let mut next = look(cells, unit, a + da, b + db);
        // Near the top the gain drowns in rounding; then the whole step is right.
        while next.0 < value - 1e-9 * value.abs().max(1.0) && step > 1e-6 {
            step *= 0.5;
            next = look(cells, unit, a + step * da, b + step * db);
        }
        (a, b, at) = (a + step * da, b + step * db, next);
    }
    Err(FitFault::NotSettled)
}

/// Puts placings with exactly the same room together, lowest room first. Where thousands of them
/// hardly ever have the same room, they are left as they are: [`fit`] takes both.
pub fn gather(mut cells: Vec<Cell>) -> Vec<Cell> {
    // Heights are read to a millimetre, so that a year has a few hundred different ones: they are
    // counted, and what is left is short to sort.
    if let Some(first) = cells.get(..MANY) {
        let different: HashMap<u64, usize, BuildHasherDefault<OfBits>> =
            first.iter().map(|c| (c.room_mm.to_bits(), 0)).collect();
        if different.len() > MANY / 2 {
            return cells;
        }
    }
    let mut found: HashMap<u64, usize, BuildHasherDefault<OfBits>> = HashMap::default();
    let mut kept = 0;
    for i in 0..cells.len() {
        let c = cells[i];
        // Both noughts are one room.
        let bits = (c.room_mm + 0.0).to_bits();
        let at = *found.entry(bits).or_insert(kept);
        if at == kept {
            cells[kept] = c;
            kept += 1;
        } else {
            cells[at].flat = cells[at].flat.saturating_add(c.flat);
            cells[at].not = cells[at].not.saturating_add(c.not);
        }
    }
    cells.truncate(kept);
    order::sort_by(&mut cells, |a, b| a.room_mm.total_cmp(&b.room_mm));
    cells
}

/// Bits of a number are spread by one multiplication (Fibonacci hashing, Knuth volume 3, 6.4):
/// nobody chooses heights so as to slow this down.
#[derive(Default)]
struct OfBits(u64);

impl Hasher for OfBits {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for b in bytes {
            self.write_u64(u64::from(*b));
        }
    }

    fn write_u64(&mut self, n: u64) {
        let mixed = (self.0 ^ n).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        self.0 = mixed ^ (mixed >> 32);
    }
}
