//! Readings of a scale: rounded to the step, made one by a rule, more of them on an impasse.

use super::{Found, Sight, Step, count, reposition};
use std::cmp::Reverse;

use crate::case::{Case, Reading, Seen};
use crate::ids::MeasurerId;
use crate::interval::{End, HeightInterval};
use crate::length::Length;
use crate::order::{sort, sort_by_key};
use crate::pack::{Procedure, ReadingRule, Readings, RecordAs, Rounding, RulePack, Working};
use crate::reason::Reason;

/// Why the rule gave no single height.
enum Undecided {
    Mode,
    Categories,
}

pub(super) fn look(
    pack: &RulePack,
    case: &Case,
    procedure: &Procedure,
    rules: &Readings,
    seen: &[&Seen],
) -> Sight {
    let clause = |key: &str| format!("procedure[{}].readings.{key}", procedure.id);
    let scales: Vec<_> = pack.gauges_of(procedure).map(|g| &g.id).collect();
    let (all, unknown): (Vec<&Reading>, Vec<&Reading>) = seen
        .iter()
        .filter_map(|s| match s {
            Seen::Reading(r) => Some(r),
            Seen::Placing(_) => None,
        })
        .partition(|r| scales.contains(&&r.gauge));
    let valid: Vec<&Reading> = all.iter().copied().filter(|r| r.void.is_none()).collect();
    let heights: Vec<Length> = valid.iter().map(|r| rounded(r.value, rules)).collect();

    let mut sight = super::nothing(&procedure.id);
    for r in unknown {
        let flag = Reason::new(
            "unknown-gauge",
            format!("procedure[{}].gauges", procedure.id),
        );
        sight.flags.push(flag.with("gauge", r.gauge.clone()));
    }
    let void = all.len() - valid.len();
    if void > 0 {
        let reason = Reason::new("placings-void", clause("most_in_all"));
        sight.reasons.push(reason.with("count", count(void)));
    }
    if pack.doc().measurers.alternate {
        for pair in valid.windows(2).filter(|p| p[0].by == p[1].by) {
            let flag = Reason::new("measurer-twice-running", "measurers.alternate");
            sight.flags.push(flag.with("measurer", pair[1].by.clone()));
        }
    }

    match settle(pack, rules, &heights, &clause) {
        Ok(Some((height, reason))) => {
            sight.reasons.push(reason);
            sight.known = recorded(height, rules);
            sight.sure = sight.known;
            sight.found = match pack.candidates(&height)[..] {
                [only] => Found::Decided(only),
                // A height is one point, or lies between two neighbouring nanometres.
                _ => sight.found,
            };
            return sight;
        }
        Ok(None) => {}
        Err(why) => {
            sight.reasons.push(match why {
                Undecided::Mode => Reason::new("no-single-mode", clause("decide")),
                Undecided::Categories => Reason::new("readings-differ", clause("same_category")),
            });
        }
    }
    let wanted = if heights.len() >= rules.needed as usize {
        rules.maximum
    } else {
        rules.needed
    };
    if count(heights.len()) >= rules.maximum || count(all.len()) >= rules.most_in_all {
        sight.found = stuck(pack, &heights, &clause);
        return sight;
    }
    let Some(scale) = scales.first() else {
        return sight;
    };
    sight.others = scales[1..].iter().map(|g| (*g).clone()).collect();
    sight.found = Found::Open(Step::Read {
        gauge: (*scale).clone(),
        by: turn(pack, case, &all),
        valid_so_far: count(heights.len()),
        needed: wanted,
        step: rules.step,
        reposition_first: reposition(procedure, count(all.len())),
    });
    sight
}

/// Whose turn it is where measurers take turns: the one after whoever made the last valid reading.
fn turn(pack: &RulePack, case: &Case, all: &[&Reading]) -> Option<MeasurerId> {
    let m = &pack.doc().measurers;
    if !m.alternate || m.work == Working::Independently || case.measurers.is_empty() {
        return None;
    }
    let last = all.iter().rev().find(|r| r.void.is_none());
    let next = last
        .and_then(|r| case.measurers.iter().position(|m| m.id == r.by))
        .map_or(0, |i| (i + 1) % case.measurers.len());
    Some(case.measurers[next].id.clone())
}

fn stuck(pack: &RulePack, heights: &[Length], clause: &impl Fn(&str) -> String) -> Found {
    let mut left: Vec<usize> = heights
        .iter()
        .flat_map(|h| pack.candidates(&HeightInterval::exactly(*h)))
        .collect();
    sort(&mut left);
    left.dedup();
    let why = Reason::new("readings-undecided", clause("maximum"));
    Found::Stuck {
        left,
        why: why.with("count", count(heights.len())),
    }
}

/// A reading brought to the step of the scale.
pub(crate) fn rounded(value: Length, rules: &Readings) -> Length {
    let step = rules.step.nm().max(1);
    let down = value.nm().div_euclid(step) * step;
    let over = value.nm() - down;
    let up = match rules.round {
        Rounding::Down => false,
        Rounding::Up => over > 0,
        Rounding::Nearest => over * 2 >= step,
    };
    Length::from_nm(if up { down + step } else { down })
}

/// What is recorded of the height that the rule gave.
fn recorded(height: HeightInterval, rules: &Readings) -> HeightInterval {
    let (RecordAs::Interval, Some(low), Some(high)) =
        (rules.record_as, height.lower(), height.upper())
    else {
        return height;
    };
    let half = Length::from_nm(rules.step.nm() / 2);
    let (below, above) = match rules.round {
        Rounding::Down => (Length::ZERO, rules.step),
        Rounding::Up => (rules.step, Length::ZERO),
        Rounding::Nearest => (half, half),
    };
    let up = rules.round == Rounding::Up;
    let lower = End {
        at: low.at.minus(below),
        closed: !up && low.closed,
    };
    let upper = End {
        at: high.at.plus(above),
        closed: up && high.closed,
    };
    HeightInterval::new(Some(lower), Some(upper)).unwrap_or(height)
}

/// The height that the readings give, with the reason; `None` while more are needed anyway.
fn settle(
    pack: &RulePack,
    rules: &Readings,
    heights: &[Length],
    clause: &impl Fn(&str) -> String,
) -> Result<Option<(HeightInterval, Reason)>, Undecided> {
    if let Some(early) = &rules.stop_early
        && let Some(first) = heights.get(..early.after as usize)
        && let Ok(height) = one(pack, rules, first, true)
        && first.iter().all(|h| clear(pack, *h, early.clear_by))
    {
        let reason = Reason::new("readings-stop-early", clause("stop_early"))
            .with("count", count(first.len()));
        return Ok(Some((height, reason.with("height", height))));
    }
    // As soon as the readings suffice they decide; later ones don't count.
    let mut last = None;
    for n in rules.needed..=rules.maximum {
        let Some(some) = heights.get(..n as usize) else {
            break;
        };
        match one(pack, rules, some, rules.same_category) {
            Ok(height) => {
                let reason = Reason::new("readings-decide", clause("decide")).with("count", n);
                return Ok(Some((height, reason.with("height", height))));
            }
            Err(why) if n == rules.maximum && rules.last_decides => {
                let Some(last) = some.last() else {
                    return Err(why);
                };
                let height = HeightInterval::exactly(*last);
                let reason =
                    Reason::new("last-reading-decides", clause("last_decides")).with("count", n);
                return Ok(Some((height, reason.with("height", height))));
            }
            Err(why) => last = Some(why),
        }
    }
    last.map_or(Ok(None), Err)
}

/// Whether a height lies further than `by` from every limit.
fn clear(pack: &RulePack, height: Length, by: Length) -> bool {
    pack.categories()
        .iter()
        .filter_map(|c| c.up_to)
        .all(|limit| limit.apart(height) > by)
}

/// One height from several by the pack's rule.
fn one(
    pack: &RulePack,
    rules: &Readings,
    heights: &[Length],
    same_category: bool,
) -> Result<HeightInterval, Undecided> {
    let mut sorted = heights.to_vec();
    sort(&mut sorted);
    if same_category {
        let mut found = sorted
            .iter()
            .map(|h| pack.candidates(&HeightInterval::exactly(*h)));
        let first = found.next();
        if found.any(|c| Some(&c) != first.as_ref()) {
            return Err(Undecided::Categories);
        }
    }
    let middle = sorted.len() / 2;
    Ok(match rules.decide {
        ReadingRule::Mean => mean(&sorted),
        ReadingRule::Median if sorted.len().is_multiple_of(2) => mean(
            sorted
                .get(middle.saturating_sub(1)..=middle)
                .unwrap_or_default(),
        ),
        ReadingRule::Median => mean(sorted.get(middle..=middle).unwrap_or_default()),
        ReadingRule::Mode => HeightInterval::exactly(mode(&sorted).ok_or(Undecided::Mode)?),
        ReadingRule::Lowest => mean(sorted.get(..1).unwrap_or_default()),
        ReadingRule::Highest => mean(sorted.last().map(std::slice::from_ref).unwrap_or_default()),
    })
}

/// The exact mean: one point, or, where it falls between two nanometres, the open gap between
/// them, which no limit can lie in.
fn mean(heights: &[Length]) -> HeightInterval {
    let sum: i128 = heights.iter().map(|h| i128::from(h.nm())).sum();
    let n = heights.len().max(1) as i128;
    // Readings are below 10 m, so the mean is.
    let floor = Length::from_nm(i64::try_from(sum.div_euclid(n)).unwrap_or(i64::MAX));
    if sum.rem_euclid(n) == 0 {
        return HeightInterval::exactly(floor);
    }
    let end = |at| Some(End { at, closed: false });
    HeightInterval::new(end(floor), end(floor.plus(Length::from_nm(1))))
        .unwrap_or(HeightInterval::exactly(floor))
}

/// The height that comes most often, at least twice and more often than any other; `sorted` rises.
fn mode(sorted: &[Length]) -> Option<Length> {
    let mut runs: Vec<(usize, Length)> = sorted
        .chunk_by(|a, b| a == b)
        .filter_map(|run| Some((run.len(), *run.first()?)))
        .collect();
    sort_by_key(&mut runs, |run| Reverse(*run));
    match runs[..] {
        [(n, height), (next, _), ..] if n > next && n > 1 => Some(height),
        [(n, height)] if n > 1 => Some(height),
        _ => None,
    }
}
