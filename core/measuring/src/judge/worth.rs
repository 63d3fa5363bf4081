//! What the category found is worth, together with earlier measures.

use super::admit::Admitted;
use super::{
    Case, Differ, Earlier, FoundToday, Outcome, Purpose, Reason, Remeasure, RulePack, Status,
    Teller, Verdict, border, id, today,
};
use crate::dates::Window;
use crate::pack::{Meanwhile, Worth};

/// Fills in category, status and what to tell the handler.
pub(super) fn settle(
    pack: &RulePack,
    case: &Case,
    a: &Admitted,
    found: FoundToday,
    verdict: &mut Verdict,
) {
    let mut category = found.category;
    let in_border = verdict
        .interval
        .and_then(|known| border(pack, &known))
        .or_else(|| {
            let mut heights = a.earlier.iter().filter_map(|e| e.height);
            heights.find_map(|h| border(pack, &h))
        });
    if let Some((limit, _)) = in_border {
        verdict.near_limit = true;
        let reason = Reason::new("border-zone", "border");
        verdict.reasons.push(reason.with("category", limit.clone()));
    }
    if let Some(known) = verdict.interval {
        let reason = Reason::new(
            "category-found",
            format!("category[{}].up_to", id(pack, category)),
        );
        let reason = reason.with("category", id(pack, category));
        verdict.reasons.push(reason.with("height", known));
    }

    let border_needs = in_border.and_then(|(_, b)| b.measures_needed);
    let status = if found.referred {
        Status::Referred
    } else if case.purpose == Purpose::Remeasure {
        Status::Definitive
    } else {
        let (c, s) = with_earlier(pack, case, a, category, border_needs, verdict);
        category = c;
        s
    };
    let status = capped(status, a);
    tell(pack, &found, category, &status, a, verdict);
    verdict.may_also_run_in = pack.categories()[category].may_also_run_in.clone();
    for other in &verdict.may_also_run_in {
        let clause = format!("category[{}].may_also_run_in", id(pack, category));
        let reason = Reason::new("may-also-run", clause).with("category", other.clone());
        verdict.reasons.push(reason);
    }
    more_measurers(pack, case, category, verdict);
    verdict.outcome = Outcome::Category(id(pack, category));
    verdict.status = Some(status);
}

/// A category may ask for more measurers than the table normally has; that shows only now.
fn more_measurers(pack: &RulePack, case: &Case, category: usize, verdict: &mut Verdict) {
    let c = &pack.categories()[category];
    let here = u32::try_from(case.measurers.len()).unwrap_or(u32::MAX);
    if let Some(needed) = c.measurers_needed.filter(|n| here < *n) {
        verdict.flags.push(
            Reason::new(
                "more-measurers-needed",
                format!("category[{}].measurers_needed", c.id),
            )
            .with("count", here)
            .with("needed", needed),
        );
    }
}

/// What a response put an end to can't last longer.
fn capped(status: Status, a: &Admitted) -> Status {
    let Some(cap) = a.caps.iter().min().copied() else {
        return status;
    };
    match status {
        Status::Definitive => Status::ProvisionalUntil(cap),
        Status::ProvisionalUntil(until) => Status::ProvisionalUntil(until.min(cap)),
        other => other,
    }
}

fn with_earlier(
    pack: &RulePack,
    case: &Case,
    a: &Admitted,
    found: usize,
    border_needs: Option<u32>,
    verdict: &mut Verdict,
) -> (usize, Status) {
    if let Some((band, clause)) = &a.band {
        let clause = clause.clone();
        match band.worth {
            Worth::Counts => verdict.reasons.push(Reason::new("age-counts", clause)),
            Worth::Definitive => {
                verdict.reasons.push(Reason::new("age-definitive", clause));
                return (found, Status::Definitive);
            }
            Worth::EventOnly => {
                verdict.reasons.push(Reason::new("age-event-only", clause));
                return (found, Status::ThisEventOnly);
            }
            Worth::Provisional => {
                // The last day of the band; a band without end never ends.
                let end = band.to.zip(case.born).and_then(|(to, born)| to.after(born));
                let Some(to) = end.and_then(|to| to.pred_opt()) else {
                    verdict.reasons.push(Reason::new("age-event-only", clause));
                    return (found, Status::ThisEventOnly);
                };
                let reason = Reason::new("age-provisional", clause);
                verdict.reasons.push(reason.with("to", to));
                return (found, Status::ProvisionalUntil(to));
            }
        }
    }
    let needs = |category: usize, verdict: &mut Verdict| {
        let c = &pack.categories()[category];
        if let (true, Some(n)) = (case.on_request, c.measures_on_request) {
            let clause = format!("category[{}].measures_on_request", c.id);
            let reason = Reason::new("on-request", clause).with("category", c.id.clone());
            verdict.reasons.push(reason.with("count", n));
            return n;
        }
        let usual = c.measures_needed.unwrap_or(pack.doc().measures.needed);
        border_needs.map_or(usual, |n| n.max(usual))
    };
    let needed = needs(found, verdict);
    let mut all: Vec<usize> = a.earlier.iter().map(|e| e.category).collect();
    all.push(found);
    let equal = all.iter().filter(|c| **c == found).count();
    let equal = u32::try_from(equal).unwrap_or(u32::MAX);
    if equal as usize == all.len() {
        let clause = clause_needed(pack, found);
        let reason = if needed == 1 {
            Reason::new("one-suffices", clause)
        } else {
            Reason::new("equal-measures", clause)
                .with("count", equal)
                .with("needed", needed)
        };
        verdict
            .reasons
            .push(reason.with("category", id(pack, found)));
        if equal >= needed && old_enough(pack, case, a, verdict) {
            return (found, Status::Definitive);
        }
        return (found, meanwhile(pack, case, a, needed, verdict));
    }
    for e in a.earlier.iter().filter(|e| e.category != found) {
        verdict.flags.push(
            Reason::new("measures-differ", "measures.differ")
                .with("category", id(pack, e.category))
                .with("date", e.on),
        );
    }
    differing(pack, case, a, found, &all, needed, verdict)
}

fn clause_needed(pack: &RulePack, category: usize) -> String {
    let c = &pack.categories()[category];
    match c.measures_needed {
        Some(_) => format!("category[{}].measures_needed", c.id),
        None => "measures.needed".to_owned(),
    }
}

fn old_enough(pack: &RulePack, case: &Case, a: &Admitted, verdict: &mut Verdict) -> bool {
    let Some(span) = pack.doc().measures.one_from_age else {
        return true;
    };
    let days = a.earlier.iter().map(|e| e.on).chain([case.today]);
    let from = case.born.and_then(|born| span.after(born));
    let old = from.is_some_and(|from| days.into_iter().any(|d| d >= from));
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
    needed: u32,
    verdict: &mut Verdict,
) -> Status {
    let rules = &pack.doc().measures;
    let first = a.earlier.first().map_or(case.today, |e| e.on);
    let window = super::admit::second_window(pack, first, case.born);
    if a.earlier.is_empty() && needed > 1 {
        verdict.second_window = window;
    }
    let until = |w: Window| (w.to >= case.today).then_some(w.to);
    match (rules.meanwhile, window.and_then(until)) {
        (Meanwhile::UntilWindowEnds, Some(to)) => {
            let reason = Reason::new("provisional-until", "measures.meanwhile");
            verdict.reasons.push(reason.with("date", to));
            Status::ProvisionalUntil(to)
        }
        _ => {
            verdict
                .reasons
                .push(Reason::new("this-event-only", "measures.meanwhile"));
            Status::ThisEventOnly
        }
    }
}

fn differing(
    pack: &RulePack,
    case: &Case,
    a: &Admitted,
    found: usize,
    all: &[usize],
    needed: u32,
    verdict: &mut Verdict,
) -> (usize, Status) {
    let rules = &pack.doc().measures;
    let pick = |key, category: usize, verdict: &mut Verdict| {
        let reason = Reason::new(key, "measures.differ");
        verdict
            .reasons
            .push(reason.with("category", id(pack, category)));
        category
    };
    let today = today(rules.differ_today, all, Some(found), &a.earlier);
    let lowest = all.iter().copied().min().unwrap_or(found);
    let highest = all.iter().copied().max().unwrap_or(found);
    let counts = match rules.differ {
        Differ::Refer => {
            return (pick("differ-refer", today, verdict), Status::Referred);
        }
        Differ::FurtherDecides => {
            return further(pack, case, a, all, needed, today, verdict);
        }
        Differ::LowerCounts => pick("differ-lower", lowest, verdict),
        Differ::HigherCounts => pick("differ-higher", highest, verdict),
        Differ::LatestCounts => pick("differ-latest", found, verdict),
    };
    if all.len() >= needed as usize && old_enough(pack, case, a, verdict) {
        (counts, Status::Definitive)
    } else {
        (counts, meanwhile(pack, case, a, needed, verdict))
    }
}

/// A further measure decides: as soon as one category has come `needed` times. Between two
/// categories that is so after 2·needed − 1 at the latest; if not, the body decides, so that it
/// ends.
fn further(
    pack: &RulePack,
    case: &Case,
    a: &Admitted,
    all: &[usize],
    needed: u32,
    today: usize,
    verdict: &mut Verdict,
) -> (usize, Status) {
    let times = |c: usize| all.iter().filter(|x| **x == c).count();
    let needed = needed.max(2) as usize;
    // The one that reached it first; with fewer than 2·needed measures only one can have.
    let decided = all.iter().copied().find(|c| times(*c) >= needed);
    if let Some(category) = decided
        && old_enough(pack, case, a, verdict)
    {
        let count = u32::try_from(times(category)).unwrap_or(u32::MAX);
        verdict.reasons.push(
            Reason::new("differ-decided", "measures.differ")
                .with("category", id(pack, category))
                .with("count", count),
        );
        return (category, Status::Definitive);
    }
    let reason = |key| Reason::new(key, "measures.differ").with("category", id(pack, today));
    if decided.is_none() && all.len() + 1 >= 2 * needed {
        verdict.reasons.push(reason("differ-refer"));
        return (today, Status::Referred);
    }
    verdict.reasons.push(reason("differ-further"));
    let tell = Reason::new("tell-further", "measures.differ");
    verdict.tell_handler.push(tell);
    let status = meanwhile(pack, case, a, 2, verdict);
    (today, status)
}

/// What a panel's votes make of the category held.
pub(super) fn panel(
    pack: &RulePack,
    rules: &Remeasure,
    votes: &[usize],
    first: usize,
    earlier: &[Earlier],
    verdict: &mut Verdict,
) -> usize {
    // Without an earlier measure the case was refused before.
    let held = earlier.last().map_or(first, |e| e.category);
    let times = |c: usize| votes.iter().filter(|v| **v == c).count();
    let other = votes
        .iter()
        .copied()
        .filter(|c| *c != held)
        .max_by_key(|c| times(*c));
    let needed = rules.to_change;
    match other.filter(|c| times(*c) >= needed as usize) {
        Some(category) => {
            verdict.reasons.push(
                Reason::new("panel-changes", "remeasure.to_change")
                    .with("category", id(pack, category))
                    .with("count", u32::try_from(times(category)).unwrap_or(u32::MAX))
                    .with("needed", needed),
            );
            category
        }
        None => {
            let reason = Reason::new("panel-keeps", "remeasure.to_change");
            let reason = reason.with("category", id(pack, held));
            verdict.reasons.push(reason.with("needed", needed));
            held
        }
    }
}

/// What the handler hears, and from whom.
fn tell(
    pack: &RulePack,
    found: &FoundToday,
    category: usize,
    status: &Status,
    a: &Admitted,
    verdict: &mut Verdict,
) {
    let clause = || format!("category[{}]", id(pack, category));
    let mut tell = Vec::new();
    match found.tell {
        Teller::Measurers => {}
        Teller::Organiser => tell.push(Reason::new("tell-by-organiser", "disagreement.tell")),
        Teller::Office => tell.push(Reason::new("tell-by-office", "disagreement.tell")),
    }
    tell.push(Reason::new("tell-category", clause()).with("category", id(pack, category)));
    match status {
        Status::Definitive => {
            let reason = Reason::new("tell-definitive", "measures.needed");
            tell.push(reason.with("category", id(pack, category)));
            verdict
                .reasons
                .push(Reason::new("definitive", "measures.needed"));
        }
        Status::ProvisionalUntil(date) => {
            tell.push(Reason::new("tell-until", "measures.meanwhile").with("date", *date));
        }
        Status::ThisEventOnly => {
            tell.push(Reason::new("tell-event-only", "measures.meanwhile"));
        }
        Status::Referred => {
            tell.push(Reason::new("tell-referred", "measures.differ"));
            verdict
                .reasons
                .push(Reason::new("referred", "measures.differ"));
        }
    }
    if let Some(w) = verdict.second_window.filter(|_| a.earlier.is_empty()) {
        tell.push(
            Reason::new("tell-second-window", "measures.window")
                .with("from", w.from)
                .with("to", w.to),
        );
    }
    tell.append(&mut verdict.tell_handler);
    verdict.tell_handler = tell;
}
