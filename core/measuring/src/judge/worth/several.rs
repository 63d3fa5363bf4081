//! Several measures of one dog: equal ones add up, differing ones go where the pack says.

use super::Settled;
use crate::case::Case;
use crate::dates::Window;
use crate::judge::admit::{Admitted, second_window};
use crate::judge::{Earlier, Zone, id, today};
use crate::order::sort_by_key;
use crate::pack::{Differ, Meanwhile, Remeasure, RulePack};
use crate::reason::Reason;
use crate::verdict::{Status, Verdict};

/// What today's category is worth, with the earlier ones.
pub(super) fn weigh(
    pack: &RulePack,
    case: &Case,
    a: &Admitted,
    found: usize,
    zone: Option<&Zone<'_>>,
    verdict: &mut Verdict,
) -> Settled {
    // A decision makes what was found before it history.
    let from = a.earlier.iter().rposition(|e| e.decided);
    let earlier = &a.earlier[from.unwrap_or(0)..];
    if from.is_some() && earlier.iter().all(|e| e.category == found) {
        return Settled::new(found, Status::Definitive, "measures.after_definitive");
    }
    let (needed, clause) = needed(pack, case, found, zone, verdict);
    let mut all: Vec<usize> = earlier.iter().map(|e| e.category).collect();
    all.push(found);
    if earlier.iter().any(|e| e.category != found) {
        for e in earlier.iter().filter(|e| e.category != found) {
            let flag = Reason::new("measures-differ", "measures.differ");
            let flag = flag.with("category", id(pack, e.category));
            verdict.flags.push(flag.with("date", e.on));
        }
        return differing(pack, case, a, found, &all, needed, verdict);
    }
    let reason = if needed == 1 {
        Reason::new("one-suffices", clause.clone())
    } else {
        Reason::new("equal-measures", clause.clone())
            .with("count", number(all.len()))
            .with("needed", needed)
    };
    verdict
        .reasons
        .push(reason.with("category", id(pack, found)));
    if number(all.len()) >= needed && old_enough(pack, case, a, needed, verdict) {
        verdict
            .reasons
            .push(Reason::new("definitive", clause.clone()));
        Settled::new(found, Status::Definitive, clause)
    } else {
        meanwhile(pack, case, a, found, needed, verdict)
    }
}

fn number(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// How many equal measures this category takes, with the clause that says so.
fn needed(
    pack: &RulePack,
    case: &Case,
    category: usize,
    zone: Option<&Zone<'_>>,
    verdict: &mut Verdict,
) -> (u32, String) {
    let c = &pack.categories()[category];
    if let (true, Some(n)) = (case.on_request, c.measures_on_request) {
        let clause = format!("category[{}].measures_on_request", c.id);
        let reason = Reason::new("on-request", clause.clone()).with("category", c.id.clone());
        verdict.reasons.push(reason.with("count", n));
        return (n, clause);
    }
    let (usual, clause) = match c.measures_needed {
        Some(n) => (n, format!("category[{}].measures_needed", c.id)),
        None => (pack.doc().measures.needed, "measures.needed".to_owned()),
    };
    match zone.and_then(|z| Some((z.rules.measures_needed?, &z.clause))) {
        Some((n, zone)) if n > usual => (n, format!("{zone}.measures_needed")),
        _ => (usual, clause),
    }
}

/// Where more than one measure is needed, one of them may have to be made at an age.
fn old_enough(
    pack: &RulePack,
    case: &Case,
    a: &Admitted,
    needed: u32,
    verdict: &mut Verdict,
) -> bool {
    let Some(span) = pack.doc().measures.one_from_age.filter(|_| needed > 1) else {
        return true;
    };
    let mut days = a.earlier.iter().map(|e| e.on).chain([case.today]);
    let from = case.born.and_then(|born| span.after(born));
    let old = from.is_some_and(|from| days.any(|d| d >= from));
    if !old {
        let reason = Reason::new("one-older-needed", "measures.one_from_age");
        verdict.reasons.push(reason.with("span", span));
    }
    old
}

/// What a measure is worth while more are needed.
fn meanwhile(
    pack: &RulePack,
    case: &Case,
    a: &Admitted,
    category: usize,
    needed: u32,
    verdict: &mut Verdict,
) -> Settled {
    let clause = "measures.meanwhile";
    let first = a.earlier.first().map_or(case.today, |e| e.on);
    let window = second_window(pack, first, case.born);
    if a.earlier.is_empty() && needed > 1 {
        verdict.second_window = window;
    }
    let still_open = |w: &Window| w.to >= case.today;
    let status = match (pack.doc().measures.meanwhile, window.filter(still_open)) {
        (Meanwhile::UntilWindowEnds, Some(Window { to, .. })) => {
            let reason = Reason::new("provisional-until", clause);
            verdict.reasons.push(reason.with("date", to));
            Status::ProvisionalUntil(to)
        }
        _ => {
            let reason = Reason::new("this-event-only", clause);
            verdict.reasons.push(reason);
            Status::ThisEventOnly
        }
    };
    Settled::new(category, status, clause)
}

fn differing(
    pack: &RulePack,
    case: &Case,
    a: &Admitted,
    found: usize,
    all: &[usize],
    needed: u32,
    verdict: &mut Verdict,
) -> Settled {
    let rules = &pack.doc().measures;
    let clause = "measures.differ";
    let lowest = all.iter().copied().min().unwrap_or(found);
    let highest = all.iter().copied().max().unwrap_or(found);
    let (key, counts) = match rules.differ {
        Differ::LowerCounts => ("differ-lower", lowest),
        Differ::HigherCounts => ("differ-higher", highest),
        Differ::LatestCounts => ("differ-latest", found),
        Differ::Refer => return refer(pack, a, found, all, verdict),
        Differ::FurtherDecides => return further(pack, case, a, all, needed, verdict),
    };
    let reason = Reason::new(key, clause).with("category", id(pack, counts));
    verdict.reasons.push(reason);
    if number(all.len()) >= needed && old_enough(pack, case, a, needed, verdict) {
        Settled::new(counts, Status::Definitive, clause)
    } else {
        meanwhile(pack, case, a, counts, needed, verdict)
    }
}

fn refer(
    pack: &RulePack,
    a: &Admitted,
    found: usize,
    all: &[usize],
    verdict: &mut Verdict,
) -> Settled {
    let category = today(
        pack.doc().measures.differ_today,
        all,
        Some(found),
        &a.earlier,
    );
    let reason = Reason::new("differ-refer", "measures.differ");
    verdict
        .reasons
        .push(reason.with("category", id(pack, category)));
    Settled::new(category, Status::Referred, "measures.differ")
}

/// A further measure decides: as soon as one category has come `needed` times (twice at least).
/// Between two categories that is so after 2·needed − 1 measures at the latest; if it is not, the
/// body decides, so that it ends.
fn further(
    pack: &RulePack,
    case: &Case,
    a: &Admitted,
    all: &[usize],
    needed: u32,
    verdict: &mut Verdict,
) -> Settled {
    let clause = "measures.differ";
    let needed = needed.max(2);
    let most = 2 * needed as usize - 1;
    let times = |so_far: &[usize], c: usize| so_far.iter().filter(|x| **x == c).count();
    // Whichever reached it first, in order of date.
    let decided = (1..=all.len().min(most)).find_map(|n| {
        let (so_far, latest) = (&all[..n], all[n - 1]);
        (number(times(so_far, latest)) >= needed).then_some(latest)
    });
    if let Some(category) = decided
        && old_enough(pack, case, a, needed, verdict)
    {
        let reason = Reason::new("differ-decided", clause).with("category", id(pack, category));
        verdict.reasons.push(reason.with("count", needed));
        return Settled::new(category, Status::Definitive, clause);
    }
    let found = all.last().copied().unwrap_or_default();
    if decided.is_none() && all.len() >= most {
        return refer(pack, a, found, all, verdict);
    }
    let category = today(
        pack.doc().measures.differ_today,
        all,
        Some(found),
        &a.earlier,
    );
    let reason = Reason::new("differ-further", clause);
    verdict
        .reasons
        .push(reason.with("category", id(pack, category)));
    let tell = Reason::new("tell-further", clause);
    verdict.tell_handler.push(tell);
    meanwhile(pack, case, a, category, needed, verdict)
}

/// What a panel's votes make of the category held.
pub(in crate::judge) fn panel(
    pack: &RulePack,
    rules: &Remeasure,
    votes: &[usize],
    earlier: &[Earlier],
    verdict: &mut Verdict,
) -> Option<usize> {
    let clause = "remeasure.to_change";
    // Without an earlier measure the case was refused before.
    let held = earlier.last()?.category;
    let needed = rules.to_change;
    let times = |c: usize| number(votes.iter().filter(|v| **v == c).count());
    let mut other: Vec<usize> = votes.iter().copied().filter(|c| *c != held).collect();
    // The most frequent; of two as frequent the lower, so that the panel's order never matters.
    sort_by_key(&mut other, |c| (std::cmp::Reverse(times(*c)), *c));
    let (reason, category) = match other.first() {
        Some(c) if times(*c) >= needed => {
            let reason = Reason::new("panel-changes", clause).with("count", times(*c));
            (reason, *c)
        }
        _ => (Reason::new("panel-keeps", clause), held),
    };
    let reason = reason.with("category", id(pack, category));
    verdict.reasons.push(reason.with("needed", needed));
    Some(category)
}
