//! Consumer's and producer's risk in the sense of JCGM 106:2012, and how sure one verdict is.

use super::model::{ModelFault, Placer, mm};
use super::normal;
use super::ways::Ways;
use crate::case::{Case, PlacingResult, Seen};
use crate::ids::CategoryId;
use crate::pack::{RulePack, Sureness};

/// Gauss and Legendre's points and weights of order 8 on -1 to 1 (Abramowitz and Stegun, table
/// 25.4), the positive half.
const POINTS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_27),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
];

/// The integral of `f` from `a` to `b` in pieces of at most `piece`.
fn integral(a: f64, b: f64, piece: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
    if b.partial_cmp(&a) != Some(std::cmp::Ordering::Greater) {
        return 0.0;
    }
    // Far more pieces than any question here has; it only keeps a bad argument from running on.
    let n = ((b - a) / piece).ceil().clamp(1.0, 1e6);
    let half = 0.5 * (b - a) / n;
    let mut sum = 0.0;
    for i in 0..n as u32 {
        let middle = a + half * (2.0 * f64::from(i) + 1.0);
        for (x, w) in POINTS {
            sum += w * (f(middle - half * x) + f(middle + half * x));
        }
    }
    sum * half
}

/// The probability that a value lies from `low` to `high` (either may be infinite) when it was
/// measured as `measured` with a standard uncertainty of `u`, normal and with nothing known
/// before: JCGM 106:2012, 7.1 to 7.4.
pub fn conformance(measured: f64, u: f64, low: f64, high: f64) -> f64 {
    let (a, b) = ((low - measured) / u, (high - measured) / u);
    // Whichever tail is smaller keeps its digits.
    if a > 0.0 {
        normal::above(a) - normal::above(b)
    } else {
        normal::below(b) - normal::below(a)
    }
}

/// Risks of a whole population.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Risk {
    /// That one is accepted and should not be.
    pub consumer: f64,
    /// That one is rejected and should have been accepted.
    pub producer: f64,
}

/// The global risks of JCGM 106:2012, 9.5 (equations 19 and 20): `density` of the true values over
/// `from` to `to`, conforming up to `limit`, accepted with probability `accept(true value)`;
/// integrated in pieces of at most `piece`.
pub fn global_risk(
    (from, to): (f64, f64),
    limit: f64,
    piece: f64,
    density: impl Fn(f64) -> f64,
    accept: impl Fn(f64) -> f64,
) -> Risk {
    let cut = limit.clamp(from, to);
    Risk {
        consumer: integral(cut, to, piece, |h| density(h) * accept(h)),
        producer: integral(from, cut, piece, |h| density(h) * (1.0 - accept(h))),
    }
}

/// The narrowest guard band, up to `most`, with which `consumer(guard band)` is at most `target`;
/// `None` if none is wide enough. The risk must fall as the band grows (JCGM 106:2012, 9.5.4).
pub fn guard_band(target: f64, most: f64, consumer: impl Fn(f64) -> f64) -> Option<f64> {
    if consumer(0.0) <= target {
        return Some(0.0);
    }
    if consumer(most) > target {
        return None;
    }
    let (mut low, mut high) = (0.0, most);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        *(if consumer(middle) > target {
            &mut low
        } else {
            &mut high
        }) = middle;
    }
    Some(high)
}

/// Dogs of one stretch of heights, spread evenly over it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Lower end, millimetres.
    pub from_mm: f64,
    /// Upper end, millimetres.
    pub to_mm: f64,
    /// How many dogs, or any number in proportion to them.
    pub dogs: f64,
}

/// What heights the dogs have that come to be measured: from the body's own data, never from us.
#[derive(Clone, Debug, PartialEq)]
pub struct Heights(Vec<Band>);

impl Heights {
    /// From bands that rise without overlapping.
    ///
    /// # Errors
    /// [`ModelFault::Heights`].
    pub fn new(mut bands: Vec<Band>) -> Result<Heights, ModelFault> {
        let good = |b: &Band| {
            b.from_mm.is_finite()
                && b.to_mm.is_finite()
                && b.to_mm > b.from_mm
                && b.dogs > 0.0
                && b.dogs.is_finite()
        };
        let apart = bands.windows(2).all(|w| w[0].to_mm <= w[1].from_mm);
        if bands.is_empty() || !bands.iter().all(good) || !apart {
            return Err(ModelFault::Heights);
        }
        let all: f64 = bands.iter().map(|b| b.dogs).sum();
        bands.iter_mut().for_each(|b| b.dogs /= all);
        Ok(Heights(bands))
    }

    /// The bands, their shares summing to one.
    pub fn bands(&self) -> &[Band] {
        &self.0
    }

    /// The integral of `f` over all dogs with heights from `low` to `high`.
    fn over(&self, low: f64, high: f64, piece: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
        self.0
            .iter()
            .map(|b| {
                let density = b.dogs / (b.to_mm - b.from_mm);
                density * integral(b.from_mm.max(low), b.to_mm.min(high), piece, &mut f)
            })
            .sum()
    }
}

/// What becomes of the dogs of one true category.
#[derive(Clone, Debug, PartialEq)]
pub struct Fate {
    /// The category they truly are of.
    pub category: CategoryId,
    /// The share of all dogs.
    pub share: f64,
    /// The share of all dogs that are of it and found in each category, in the pack's order.
    pub found: Vec<f64>,
    /// The share of all dogs that are of it and referred, broken off, or go on to readings.
    pub open: f64,
}

/// What becomes of all dogs.
#[derive(Clone, Debug, PartialEq)]
pub struct Fates(pub Vec<Fate>);

impl Fates {
    /// The share of all dogs found in a lower category than their own: they run against smaller
    /// dogs, so this is the consumer's risk of those.
    pub fn too_low(&self) -> f64 {
        let lower = |(i, f): (usize, &Fate)| f.found.iter().take(i).sum::<f64>();
        self.0.iter().enumerate().map(lower).sum()
    }

    /// The share of all dogs found in a higher category than their own: the producer's risk.
    pub fn too_high(&self) -> f64 {
        let higher = |(i, f): (usize, &Fate)| f.found.iter().skip(i + 1).sum::<f64>();
        self.0.iter().enumerate().map(higher).sum()
    }
}

/// The ends of a category's heights, millimetres; infinite at the lowest and the highest.
fn ends(pack: &RulePack, index: usize) -> (f64, f64) {
    let range = pack.range_at(index);
    (
        range.lower().map_or(f64::NEG_INFINITY, |e| mm(e.at)),
        range.upper().map_or(f64::INFINITY, |e| mm(e.at)),
    )
}

/// The narrowest spread of these placers: what the pieces of an integral must be small against.
fn piece(placers: &[Placer]) -> f64 {
    placers
        .iter()
        .map(Placer::spread_mm)
        .fold(f64::INFINITY, f64::min)
}

/// What becomes of a body's dogs by its procedure.
pub fn fates(pack: &RulePack, ways: &Ways, heights: &Heights, placers: &[Placer]) -> Fates {
    let piece = piece(placers);
    let n = pack.categories().len();
    Fates(
        pack.categories()
            .iter()
            .enumerate()
            .map(|(i, c)| {
                let (low, high) = ends(pack, i);
                let share = heights.over(low, high, f64::INFINITY, |_| 1.0);
                let found: Vec<f64> = (0..n)
                    .map(|to| heights.over(low, high, piece, |h| ways.odds(h, placers).found[to]))
                    .collect();
                Fate {
                    category: c.id.clone(),
                    share,
                    open: (share - found.iter().sum::<f64>()).max(0.0),
                    found,
                }
            })
            .collect(),
    )
}

/// How sure a verdict is: the probability of each category, in the pack's order, given every valid
/// placing of a case (those after a hoop was settled too: they are evidence like the others) and
/// the heights of the body's dogs. `placer_of` says how somebody places.
///
/// `None` without a valid placing, or where no dog of those heights could have given them.
pub fn how_sure(
    pack: &RulePack,
    case: &Case,
    heights: &Heights,
    placer_of: impl Fn(&crate::ids::MeasurerId) -> Placer,
) -> Option<Vec<f64>> {
    let mut seen = Vec::new();
    for s in &case.seen {
        let Seen::Placing(p) = s else { continue };
        let flat = match p.result {
            PlacingResult::Flat => true,
            PlacingResult::NotFlat => false,
            PlacingResult::Void { .. } => continue,
        };
        let Some(hoop) = pack.gauge(&p.gauge).and_then(|g| g.height) else {
            continue;
        };
        seen.push((placer_of(&p.by), mm(hoop), flat));
    }
    if seen.is_empty() {
        return None;
    }
    let placers: Vec<Placer> = seen.iter().map(|(p, ..)| *p).collect();
    let likelihood = |h: f64| {
        seen.iter().fold(1.0, |all, (placer, hoop, flat)| {
            let p = placer.flat(h, *hoop);
            all * if *flat { p } else { 1.0 - p }
        })
    };
    let parts: Vec<f64> = (0..pack.categories().len())
        .map(|i| {
            let (low, high) = ends(pack, i);
            heights.over(low, high, piece(&placers), likelihood)
        })
        .collect();
    let all: f64 = parts.iter().sum();
    (all > 0.0).then(|| parts.iter().map(|p| p / all).collect())
}

impl Sureness {
    /// How a placing of this body scatters, if it has said so.
    pub fn placer(&self) -> Option<Placer> {
        let bias = self.reads_high.map_or(0.0, mm) - self.reads_low.map_or(0.0, mm);
        Placer::new(mm(self.spread?), bias).ok()
    }

    /// The heights of this body's dogs, if it has said so.
    pub fn known_heights(&self) -> Option<Heights> {
        let bands = self.heights.iter().map(|b| Band {
            from_mm: mm(b.from),
            to_mm: mm(b.to),
            dogs: f64::from(b.dogs),
        });
        Heights::new(bands.collect()).ok()
    }

    /// The guard band, millimetres; nothing where the body has none.
    pub fn guard_band_mm(&self) -> f64 {
        self.guard_band.map_or(0.0, mm)
    }
}
