//! Hoop checks: is this one hoop still what the rules name, and if not, what was measured with it.

use std::fmt;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::ids::GaugeId;
use crate::length::Length;
use crate::pack::{Gauge, GaugeKind, RulePack};

/// A check of one hoop: its inside height at three points against a traceable rule or gauge block.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoopCheck {
    /// Which hoop of the rules it is.
    pub gauge: GaugeId,
    /// Its own number.
    pub serial: String,
    /// The day.
    pub on: NaiveDate,
    /// The inside height at the left, in the middle, at the right.
    pub heights: [Length; 3],
    /// The instrument's expanded uncertainty, k = 2, from its certificate.
    pub uncertainty: Length,
    /// The instrument and its certificate, in words.
    pub instrument: String,
}

/// What a check says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Finding {
    /// Within the tolerance, the uncertainty taken off: proven.
    Pass,
    /// Outside it, the uncertainty added: proven.
    Fail,
    /// In between: neither is proven.
    Doubtful,
}

/// A check's result.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HoopResult {
    /// What it says.
    pub finding: Finding,
    /// How far the highest point is above the nominal height; negative: below.
    pub highest: Length,
    /// How far the lowest point is above it; negative: below.
    pub lowest: Length,
    /// The instrument can never prove a pass: its uncertainty is above the tolerance.
    pub too_coarse: bool,
    /// The last day before the next check is overdue; none where the rules ask for none.
    pub due: Option<NaiveDate>,
}

/// Why a check cannot be judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HoopFault {
    /// The pack has no such hoop.
    Unknown(GaugeId),
    /// The pack gives the hoop no tolerance.
    NoTolerance(GaugeId),
}

impl fmt::Display for HoopFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            HoopFault::Unknown(id) => {
                write!(
                    f,
                    "the rules have no hoop '{id}'; name one of the pack's hoops"
                )
            }
            HoopFault::NoTolerance(id) => write!(
                f,
                "the rules give hoop '{id}' no tolerance; write gauge[{id}].tolerance into the pack"
            ),
        }
    }
}

impl std::error::Error for HoopFault {}

fn hoop<'a>(pack: &'a RulePack, id: &GaugeId) -> Result<(&'a Gauge, Length, Length), HoopFault> {
    let gauge = pack.gauge(id).filter(|g| g.kind == GaugeKind::Hoop);
    let unknown = || HoopFault::Unknown(id.clone());
    let gauge = gauge.ok_or_else(unknown)?;
    let nominal = gauge.height.ok_or_else(unknown)?;
    let tolerance = gauge
        .tolerance
        .ok_or_else(|| HoopFault::NoTolerance(id.clone()))?;
    Ok((gauge, nominal, tolerance))
}

/// Judges a check by the decision rule of ISO 14253-1 (as its mirrors give it; the standard's own
/// text was not seen): conformity is proven where every point lies within the tolerance reduced by
/// the uncertainty, nonconformity where one lies outside the tolerance enlarged by it.
///
/// # Errors
/// [`HoopFault`].
pub fn check_hoop(pack: &RulePack, check: &HoopCheck) -> Result<HoopResult, HoopFault> {
    let (gauge, nominal, tolerance) = hoop(pack, &check.gauge)?;
    let off = check.heights.map(|h| h.minus(nominal));
    let highest = off.into_iter().max().unwrap_or_default();
    let lowest = off.into_iter().min().unwrap_or_default();
    let worst = highest.apart(Length::ZERO).max(lowest.apart(Length::ZERO));
    let finding = if worst.plus(check.uncertainty) <= tolerance {
        Finding::Pass
    } else if worst.minus(check.uncertainty) > tolerance {
        Finding::Fail
    } else {
        Finding::Doubtful
    };
    Ok(HoopResult {
        finding,
        highest,
        lowest,
        too_coarse: check.uncertainty > tolerance,
        due: gauge.check_every.and_then(|every| every.after(check.on)),
    })
}

/// How a hoop stands on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Its last check passed and the next is not yet due.
    Good,
    /// Its last check passed and the next is overdue.
    Overdue,
    /// Its last check was doubtful: check it with a finer instrument.
    Doubtful,
    /// Its last check failed: not to be used.
    Bad,
    /// It was never checked.
    Unchecked,
}

/// How a hoop stands on a day by its checks, in any order.
///
/// # Errors
/// [`HoopFault`].
pub fn standing(
    pack: &RulePack,
    checks: &[HoopCheck],
    today: NaiveDate,
) -> Result<Standing, HoopFault> {
    // Of two on one day the later entered is the later one.
    let Some(last) = checks.iter().filter(|c| c.on <= today).max_by_key(|c| c.on) else {
        return Ok(Standing::Unchecked);
    };
    let result = check_hoop(pack, last)?;
    Ok(match result.finding {
        Finding::Pass if result.due.is_some_and(|due| due < today) => Standing::Overdue,
        Finding::Pass => Standing::Good,
        Finding::Fail => Standing::Bad,
        Finding::Doubtful => Standing::Doubtful,
    })
}

/// A measure in which a hoop was placed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UsedIn<M> {
    /// The day.
    pub on: NaiveDate,
    /// Whatever names the measure.
    pub measure: M,
    /// What this hoop said: `true` within, `false` over; `None` where it settled nothing.
    pub within: Option<bool>,
}

/// The measures since a hoop's last good check.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Affected<'a, M> {
    /// The last good check before the bad one; none: the hoop was never good.
    pub since: Option<NaiveDate>,
    /// All measures made with it since, on the day of the good check included.
    pub all: Vec<&'a UsedIn<M>>,
    /// Those of them that the fault could have turned: a hoop that is too high lets too big a dog
    /// be within, one that is too low keeps a dog out that is within.
    pub could_turn: Vec<&'a UsedIn<M>>,
}

/// Which measures a bad or doubtful check throws into doubt. `checks` and `uses` are those of one
/// hoop by its own number, in any order. A check that passed leaves none.
///
/// # Errors
/// [`HoopFault`].
pub fn affected<'a, M>(
    pack: &RulePack,
    bad: &HoopCheck,
    checks: &[HoopCheck],
    uses: &'a [UsedIn<M>],
) -> Result<Affected<'a, M>, HoopFault> {
    let (_, _, tolerance) = hoop(pack, &bad.gauge)?;
    let result = check_hoop(pack, bad)?;
    let mut since = None;
    for check in checks.iter().filter(|c| c.on <= bad.on && *c != bad) {
        if check_hoop(pack, check)?.finding == Finding::Pass {
            since = since.max(Some(check.on));
        }
    }
    let mut found = Affected {
        since,
        all: Vec::new(),
        could_turn: Vec::new(),
    };
    if result.finding == Finding::Pass {
        return Ok(found);
    }
    let too_high = result.highest.plus(bad.uncertainty) > tolerance;
    let too_low = Length::ZERO.minus(result.lowest).plus(bad.uncertainty) > tolerance;
    found.all = uses
        .iter()
        .filter(|u| u.on <= bad.on && since.is_none_or(|s| u.on >= s))
        .collect();
    found.could_turn = found
        .all
        .iter()
        .copied()
        .filter(|u| match u.within {
            Some(true) => too_high,
            Some(false) => too_low,
            None => false,
        })
        .collect();
    Ok(found)
}
