//! What the category found is worth, together with the dog's age and earlier measures.

mod several;

pub(super) use several::panel;

use super::admit::Admitted;
use super::{FoundToday, id, known_zone, zone};
use crate::case::{Case, Purpose};
use crate::pack::{RulePack, Teller, Worth};
use crate::reason::Reason;
use crate::verdict::{Outcome, Status, Verdict};

/// A category, what it is worth, and the clause that says so.
struct Settled {
    category: usize,
    status: Status,
    clause: String,
}

impl Settled {
    fn new(category: usize, status: Status, clause: impl Into<String>) -> Self {
        Settled {
            category,
            status,
            clause: clause.into(),
        }
    }
}

/// Fills in category, status and what to tell the handler.
pub(super) fn settle(
    pack: &RulePack,
    case: &Case,
    a: &Admitted,
    found: FoundToday,
    verdict: &mut Verdict,
) {
    let category = found.category;
    if let Some(known) = verdict.interval {
        let clause = format!("category[{}].up_to", id(pack, category));
        let reason = Reason::new("category-found", clause).with("category", id(pack, category));
        verdict.reasons.push(reason.with("height", known));
    }
    let in_border = verdict
        .interval
        .and_then(|known| zone(pack, &known))
        .or_else(|| known_zone(pack, &a.earlier));
    if let Some(zone) = &in_border {
        verdict.near_limit = true;
        let reason = Reason::new("border-zone", zone.clause.clone());
        verdict
            .reasons
            .push(reason.with("category", zone.limit.clone()));
    }

    let mut because = |key, clause: &str| verdict.reasons.push(Reason::new(key, clause));
    let settled = if let Some(clause) = found.referred {
        because("referred", clause);
        Settled::new(category, Status::Referred, clause)
    } else if case.purpose == Purpose::ThisEvent {
        because("for-this-event", "event_measure");
        Settled::new(category, Status::ThisEventOnly, "event_measure")
    } else if let Some(settled) = by_age(pack, case, a, category, verdict) {
        settled
    } else if case.purpose == Purpose::Remeasure {
        Settled::new(category, Status::Definitive, "remeasure")
    } else if let Some(zone) = known_zone(pack, &a.earlier).filter(|z| z.rules.settles) {
        let clause = format!("{}.settles", zone.clause);
        let reason = Reason::new("border-settles", clause.clone());
        verdict.reasons.push(reason);
        Settled::new(category, Status::Definitive, clause)
    } else {
        several::weigh(pack, case, a, category, in_border.as_ref(), verdict)
    };
    let settled = capped(settled, a);
    tell(pack, &found, &settled, verdict);

    let category = &pack.categories()[settled.category];
    for other in &category.may_also_run_in {
        let clause = format!("category[{}].may_also_run_in", category.id);
        let reason = Reason::new("may-also-run", clause).with("category", other.clone());
        verdict.reasons.push(reason);
    }
    verdict.may_also_run_in = category.may_also_run_in.clone();
    more_measurers(pack, case, settled.category, verdict);
    verdict.outcome = Outcome::Category(category.id.clone());
    verdict.status = Some(settled.status);
}

/// A category may ask for more measurers than the table normally has; that shows only now.
fn more_measurers(pack: &RulePack, case: &Case, category: usize, verdict: &mut Verdict) {
    let c = &pack.categories()[category];
    let here = u32::try_from(case.measurers.len()).unwrap_or(u32::MAX);
    if let Some(needed) = c.measurers_needed.filter(|n| here < *n) {
        let clause = format!("category[{}].measurers_needed", c.id);
        let flag = Reason::new("more-measurers-needed", clause).with("count", here);
        verdict.flags.push(flag.with("needed", needed));
    }
}

/// What something irregular made good for a time only can't last longer.
fn capped(settled: Settled, a: &Admitted) -> Settled {
    let Some((cap, clause)) = a.caps.iter().min() else {
        return settled;
    };
    let sooner = match settled.status {
        Status::Definitive => true,
        Status::ProvisionalUntil(until) => *cap < until,
        Status::ThisEventOnly | Status::Referred => false,
    };
    if sooner {
        let status = Status::ProvisionalUntil(*cap);
        Settled::new(settled.category, status, clause)
    } else {
        settled
    }
}

/// What the dog's age makes of the measure; `None` where it counts like any other.
fn by_age(
    pack: &RulePack,
    case: &Case,
    a: &Admitted,
    category: usize,
    verdict: &mut Verdict,
) -> Option<Settled> {
    let (band, clause) = a.band.as_ref()?;
    let mut because = |key| verdict.reasons.push(Reason::new(key, clause.clone()));
    let status = match band.worth_of(&id(pack, category)) {
        Worth::Counts => {
            because("age-counts");
            return None;
        }
        Worth::Definitive => {
            because("age-definitive");
            Status::Definitive
        }
        Worth::EventOnly => {
            because("age-event-only");
            Status::ThisEventOnly
        }
        Worth::Provisional => {
            let band_ends = || {
                let end = band.to.zip(case.born).and_then(|(to, born)| to.after(born));
                end.and_then(|to| to.pred_opt())
            };
            let until = match band.good_for {
                Some(span) => span.after(case.today),
                None => band_ends(),
            };
            // Only beyond the calendar's end is there no such day.
            let to = until.unwrap_or(case.today);
            let reason = Reason::new("age-provisional", clause.clone());
            verdict.reasons.push(reason.with("to", to));
            Status::ProvisionalUntil(to)
        }
    };
    Some(Settled::new(category, status, clause))
}

/// What the handler hears, and from whom.
fn tell(pack: &RulePack, found: &FoundToday, settled: &Settled, verdict: &mut Verdict) {
    let category = id(pack, settled.category);
    let mut tell = Vec::new();
    match found.tell {
        Teller::Measurers => {}
        Teller::Organiser => tell.push(Reason::new("tell-by-organiser", "disagreement.tell")),
        Teller::Office => tell.push(Reason::new("tell-by-office", "disagreement.tell")),
    }
    let of_category = Reason::new("tell-category", format!("category[{category}]"));
    tell.push(of_category.with("category", category.clone()));
    let clause = settled.clause.clone();
    tell.push(match settled.status {
        Status::Definitive => Reason::new("tell-definitive", clause).with("category", category),
        Status::ProvisionalUntil(date) => Reason::new("tell-until", clause).with("date", date),
        Status::ThisEventOnly => Reason::new("tell-event-only", clause),
        Status::Referred => Reason::new("tell-referred", clause),
    });
    if let Some(w) = verdict.second_window {
        let reason = Reason::new("tell-second-window", "measures.window");
        tell.push(reason.with("from", w.from).with("to", w.to));
    }
    tell.append(&mut verdict.tell_handler);
    verdict.tell_handler = tell;
}
