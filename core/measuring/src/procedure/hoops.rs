//! Placings of hoops: flat within, or over after so many valid placings.

use super::{Found, Sight, Step, count, reposition};
use crate::case::{Case, Placing, PlacingResult, Seen};
use crate::interval::{Contradiction, HeightInterval};
use crate::length::Length;
use crate::order::{sort, sort_by_key};
use crate::pack::{
    FlatRule, Gauge, HoopOrder, IntervalFrom, Placings, Procedure, RulePack, Touching,
};
use crate::reason::Reason;

/// What the placings of one hoop say.
struct Hoop<'a> {
    gauge: &'a Gauge,
    nominal: Length,
    /// Valid placings that count, those before it was settled and the one that settled it.
    valid: u32,
    /// All placings, void ones included.
    all: u32,
    within: Option<bool>,
    /// Valid placings of both sorts, those after it was settled included.
    mixed: bool,
    /// Mixed already among those that count.
    mixed_before: bool,
    /// Valid placings after it was settled.
    after: u32,
}

pub(super) fn look(
    pack: &RulePack,
    case: &Case,
    procedure: &Procedure,
    rules: &Placings,
    seen: &[&Seen],
) -> Sight {
    let placings: Vec<&Placing> = seen
        .iter()
        .filter_map(|s| match s {
            Seen::Placing(p) => Some(p),
            Seen::Reading(_) => None,
        })
        .collect();
    let mut hoops: Vec<Hoop<'_>> = pack
        .gauges_of(procedure)
        .filter_map(|g| Some(read(g, g.height?, rules, &placings)))
        .collect();
    sort_by_key(&mut hoops, |h| h.nominal);
    if rules.order == HoopOrder::LargestFirst {
        hoops.reverse();
    }

    let clause = |key: &str| format!("procedure[{}].placings.{key}", procedure.id);
    let mut sight = super::nothing(&procedure.id);
    note_unused(procedure, &hoops, &placings, &mut sight);

    // The category comes from the nominal heights; what is recorded may come from the last check.
    let mut rule = HeightInterval::UNKNOWN;
    for hoop in &hoops {
        let Some(within) = hoop.within else { continue };
        sight.reasons.push(settled(hoop, within, rules, &clause));
        let says = interval(pack.touching(), hoop.nominal, within);
        match rule.merge(&says) {
            Ok(both) => rule = both,
            Err(c) => sight.contradiction = sight.contradiction.or(Some(c)),
        }
        let recorded = interval(pack.touching(), height_recorded(pack, case, hoop), within);
        sight.known = sight.known.merge(&recorded).unwrap_or(sight.known);
        if !hoop.mixed_before {
            sight.sure = sight.sure.merge(&recorded).unwrap_or(sight.sure);
        }
    }
    for hoop in hoops.iter().filter(|h| h.mixed) {
        sight.near_limit = true;
        sight.doubtful |= hoop.mixed_before;
        sight
            .reasons
            .push(Reason::new("near-limit", clause("flat")).with("gauge", hoop.gauge.id.clone()));
    }

    if let Some(c) = sight.contradiction {
        sight.found = contradiction(pack, &c, clause("flat"));
        return sight;
    }
    let left = pack.candidates(&rule);
    if let [only] = left[..] {
        sight.found = Found::Decided(only);
        return sight;
    }
    // A hoop tells something if both its answers fit what is known.
    let tells = |h: &&Hoop<'_>| {
        h.within.is_none()
            && [true, false]
                .iter()
                .all(|w| rule.meets(&interval(pack.touching(), h.nominal, *w)))
    };
    let mut useful = hoops.iter().filter(tells);
    let Some(next) = useful.next() else {
        return sight;
    };
    sight.others = useful
        .filter(|h| h.all < rules.maximum)
        .map(|h| h.gauge.id.clone())
        .collect();
    sight.found = if next.all >= rules.maximum {
        let why = Reason::new("too-many-placings", clause("maximum"))
            .with("gauge", next.gauge.id.clone())
            .with("count", next.all);
        Found::Stuck { left, why }
    } else {
        Found::Open(Step::Place {
            gauge: next.gauge.id.clone(),
            valid_so_far: next.valid,
            needed: rules.needed,
            // Counted over all hoops: the dog stands on between them.
            reposition_first: reposition(procedure, count(placings.len())),
        })
    };
    sight
}

/// A contradiction leaves every category that either side allows.
pub(super) fn contradiction(pack: &RulePack, c: &Contradiction, clause: String) -> Found {
    let mut left = pack.candidates(&c.one);
    left.extend(pack.candidates(&c.other));
    sort(&mut left);
    left.dedup();
    let why = Reason::new("contradiction", clause)
        .with("one", c.one)
        .with("other", c.other);
    Found::Stuck { left, why }
}

fn read<'a>(
    gauge: &'a Gauge,
    nominal: Length,
    rules: &Placings,
    placings: &[&Placing],
) -> Hoop<'a> {
    let mut hoop = Hoop {
        gauge,
        nominal,
        valid: 0,
        all: 0,
        within: None,
        mixed: false,
        mixed_before: false,
        after: 0,
    };
    let (mut flat, mut not, mut flat_after, mut not_after) = (0, 0, 0, 0);
    for p in placings.iter().filter(|p| p.gauge == gauge.id) {
        hoop.all += 1;
        let is_flat = match p.result {
            PlacingResult::Flat => true,
            PlacingResult::NotFlat => false,
            PlacingResult::Void { .. } => continue,
        };
        if hoop.within.is_some() {
            hoop.after += 1;
            *(if is_flat {
                &mut flat_after
            } else {
                &mut not_after
            }) += 1;
            continue;
        }
        hoop.valid += 1;
        *(if is_flat { &mut flat } else { &mut not }) += 1;
        hoop.within = match rules.flat {
            FlatRule::OneSettles if flat > 0 => Some(true),
            FlatRule::OneSettles if not >= rules.needed => Some(false),
            FlatRule::Majority if flat * 2 > rules.needed => Some(true),
            FlatRule::Majority if not * 2 > rules.needed => Some(false),
            _ => None,
        };
    }
    hoop.mixed_before = flat > 0 && not > 0;
    hoop.mixed = flat + flat_after > 0 && not + not_after > 0;
    hoop
}

/// What a settled hoop of this height says.
fn interval(touching: Touching, height: Length, within: bool) -> HeightInterval {
    match (touching, within) {
        (Touching::Within, true) => HeightInterval::at_most(height),
        (Touching::Within, false) => HeightInterval::above(height),
        (Touching::Over, true) => HeightInterval::below(height),
        (Touching::Over, false) => HeightInterval::at_least(height),
    }
}

fn height_recorded(pack: &RulePack, case: &Case, hoop: &Hoop<'_>) -> Length {
    let checked = case.gauges.iter().find(|g| g.gauge == hoop.gauge.id);
    match pack.doc().hoops.interval_from {
        IntervalFrom::Nominal => hoop.nominal,
        IntervalFrom::LastCheck => checked.and_then(|g| g.height).unwrap_or(hoop.nominal),
    }
}

fn settled(
    hoop: &Hoop<'_>,
    within: bool,
    rules: &Placings,
    clause: &impl Fn(&str) -> String,
) -> Reason {
    let (key, from) = match (rules.flat, within) {
        (FlatRule::OneSettles, true) => ("flat-within", "flat"),
        (FlatRule::OneSettles, false) => ("never-flat-over", "needed"),
        (FlatRule::Majority, true) => ("majority-within", "flat"),
        (FlatRule::Majority, false) => ("majority-over", "flat"),
    };
    let reason = Reason::new(key, clause(from))
        .with("gauge", hoop.gauge.id.clone())
        .with("height", hoop.nominal);
    if key == "flat-within" {
        reason
    } else {
        reason.with("count", hoop.valid)
    }
}

/// Placings that don't count are kept and named.
fn note_unused(
    procedure: &Procedure,
    hoops: &[Hoop<'_>],
    placings: &[&Placing],
    sight: &mut Sight,
) {
    let clause = |key: &str| format!("procedure[{}].{key}", procedure.id);
    let void = placings
        .iter()
        .filter(|p| matches!(p.result, PlacingResult::Void { .. }))
        .count();
    if void > 0 {
        let reason = Reason::new("placings-void", clause("placings.maximum"));
        sight.reasons.push(reason.with("count", count(void)));
    }
    for hoop in hoops.iter().filter(|h| h.after > 0) {
        sight.flags.push(
            Reason::new("after-settled", clause("placings.flat"))
                .with("gauge", hoop.gauge.id.clone())
                .with("count", hoop.after),
        );
    }
    let mut unknown: Vec<_> = placings
        .iter()
        .map(|p| &p.gauge)
        .filter(|g| !hoops.iter().any(|h| h.gauge.id == **g))
        .collect();
    sort(&mut unknown);
    unknown.dedup();
    for gauge in unknown {
        let flag = Reason::new("unknown-gauge", clause("gauges"));
        sight.flags.push(flag.with("gauge", gauge.clone()));
    }
}
