//! The verdict on one dog: may it be measured, what was found, what is it worth.

mod admit;
mod before;
mod worth;

use crate::case::{Case, Purpose};
use crate::ids::{CategoryId, ProcedureId};
use crate::interval::HeightInterval;
use crate::length::Length;
use crate::order::sort_by_key;
use crate::pack::{
    AfterDisagreement, Border, OnImpasse, Remeasure, RulePack, Teller, Today, Working,
};
use crate::procedure::{Found, Table, TableResult, at_table};
use crate::reason::Reason;
use crate::verdict::{Outcome, Verdict};

pub(crate) use admit::admit;
pub use admit::{GaugeNote, check_gauge, second_window, window_position};

/// Judges one dog by a pack.
pub fn judge(pack: &RulePack, case: &Case) -> Verdict {
    let admitted = admit(pack, case);
    let table = table(pack, case, &admitted.earlier);
    let mut verdict = Verdict {
        outcome: Outcome::NotYet,
        interval: table.contradiction.is_none().then_some(table.known),
        contradiction: table.contradiction,
        near_limit: table.sights.iter().any(|(_, s)| s.near_limit),
        status: None,
        measure: admitted.measure,
        flags: admitted.flags.clone(),
        reasons: Vec::new(),
        second_window: None,
        may_also_run_in: Vec::new(),
        tell_handler: Vec::new(),
    };
    for (who, sight) in &table.sights {
        let named = |r: &Reason| match who {
            Some(id) => r.clone().with("by", id.clone()),
            None => r.clone(),
        };
        verdict.reasons.extend(sight.reasons.iter().map(named));
        verdict.flags.extend(sight.flags.iter().map(named));
    }
    verdict.flags.extend(table.flags.iter().cloned());
    verdict.reasons.extend(admitted.reasons.iter().cloned());

    if !admitted.refusals.is_empty() {
        verdict.outcome = Outcome::Refused;
        verdict.tell_handler = admitted.refusals.clone();
        verdict.reasons.extend(admitted.refusals);
        return verdict;
    }
    if let Some(why) = &case.stopped {
        let reason = Reason::new("not-today", "again.attempts").with("text", why.clone());
        return not_today(verdict, reason);
    }
    let Some(found) = found(pack, case, &table, &admitted.earlier, &mut verdict) else {
        return verdict;
    };
    worth::settle(pack, case, &admitted, found, &mut verdict);
    verdict
}

/// The table's state by the procedure that this dog goes through.
pub(crate) fn table(pack: &RulePack, case: &Case, earlier: &[Earlier]) -> Table {
    let (procedure, needed) = start(pack, case, earlier);
    let panel = case.purpose == Purpose::Remeasure;
    let independent = panel || pack.working() == Working::Independently;
    at_table(pack, case, procedure, independent, needed)
}

/// An earlier measure that counts, in order of date.
#[derive(Clone, Debug)]
pub(crate) struct Earlier {
    pub on: chrono::NaiveDate,
    pub category: usize,
    pub height: Option<HeightInterval>,
    /// The category was settled by then, by a decision or by enough equal measures.
    pub definitive: bool,
    /// A decision said so: what was found before no longer matters.
    pub decided: bool,
}

/// The procedure to start with and how many measurers it takes.
fn start<'a>(pack: &'a RulePack, case: &Case, earlier: &[Earlier]) -> (&'a ProcedureId, usize) {
    let doc = pack.doc();
    if case.purpose == Purpose::ThisEvent
        && let Some(event) = &doc.event_measure
    {
        return (&doc.measures.procedure, event.measurers as usize);
    }
    if case.purpose == Purpose::Remeasure
        && let Some(Remeasure {
            panel, procedure, ..
        }) = &doc.remeasure
    {
        let procedure = procedure.as_ref().unwrap_or(&doc.measures.procedure);
        return (procedure, *panel as usize);
    }
    let zone = known_zone(pack, earlier);
    let rules = zone.as_ref().map(|z| z.rules);
    let procedure = rules
        .and_then(|b| b.procedure.as_ref())
        .unwrap_or(&doc.measures.procedure);
    let needed = rules
        .and_then(|b| b.measurers_needed)
        .unwrap_or(doc.measurers.needed);
    (procedure, needed as usize)
}

/// A border zone that a dog lies in.
pub(crate) struct Zone<'a> {
    /// The category below the limit.
    pub limit: &'a CategoryId,
    pub rules: &'a Border,
    pub clause: String,
}

/// The border zone that an earlier measure puts the dog in.
fn known_zone<'a>(pack: &'a RulePack, earlier: &[Earlier]) -> Option<Zone<'a>> {
    let mut heights = earlier.iter().filter_map(|e| e.height);
    heights.find_map(|h| zone(pack, &h))
}

/// The border zone in which all that is known lies.
pub(crate) fn zone<'a>(pack: &'a RulePack, known: &HeightInterval) -> Option<Zone<'a>> {
    let low = known.lower()?.at;
    let high = known.upper()?.at;
    pack.doc().border.iter().enumerate().find_map(|(i, b)| {
        let limit = pack.categories().iter().find(|c| {
            let named = b.limits.is_empty() || b.limits.contains(&c.id);
            let in_zone = |at: Length| low >= at.minus(b.below) && high <= at.plus(b.above);
            named && c.up_to.is_some_and(in_zone)
        })?;
        Some(Zone {
            limit: &limit.id,
            rules: b,
            clause: format!("border[{i}]"),
        })
    })
}

/// What the table found, with how sure the body is of it.
pub(crate) struct FoundToday {
    pub category: usize,
    /// The clause by which the table itself leaves it to the body, if it does.
    pub referred: Option<&'static str>,
    pub tell: Teller,
}

fn found(
    pack: &RulePack,
    case: &Case,
    table: &Table,
    earlier: &[Earlier],
    verdict: &mut Verdict,
) -> Option<FoundToday> {
    let panel = match (&pack.doc().remeasure, case.purpose) {
        (Some(panel), Purpose::Remeasure) => Some(panel),
        _ => None,
    };
    let sure = |category| FoundToday {
        category,
        referred: None,
        tell: Teller::Measurers,
    };
    if let Some(category) = case.by_eye.as_ref().filter(|_| case.seen.is_empty()) {
        // Admitted, so the pack has the category and lets it be judged by eye.
        let index = pack.index_of(category)?;
        verdict.interval = Some(pack.range_at(index));
        let clause = format!("category[{category}].by_eye");
        let flag = Reason::new("judged-by-eye", clause);
        verdict.flags.push(flag.with("category", category.clone()));
        return Some(sure(index));
    }
    match &table.result {
        TableResult::Open { .. } | TableResult::OneMore { .. } => None,
        TableResult::Stuck { left, why } => {
            verdict.reasons.push(why.clone());
            impasse(pack, table, left, earlier, verdict)
        }
        TableResult::Agreed(_) | TableResult::Differ(_) if panel.is_some() => {
            worth::panel(pack, panel?, &votes(table), earlier, verdict).map(sure)
        }
        TableResult::Agreed(c) => {
            let all = votes(table);
            if all.iter().any(|v| v != c) {
                name_votes(pack, table, verdict);
                let n = all.iter().filter(|v| *v == c).count();
                verdict.flags.push(
                    Reason::new("measurers-outvoted", "disagreement.then")
                        .with("category", id(pack, *c))
                        .with("count", u32::try_from(n).unwrap_or(u32::MAX)),
                );
            }
            if case.dissent.is_empty() {
                return Some(sure(*c));
            }
            let found = dissent(pack, case, *c, verdict);
            Some(disagreement(pack, &found, earlier, verdict))
        }
        TableResult::Differ(found) => {
            name_votes(pack, table, verdict);
            Some(disagreement(pack, found, earlier, verdict))
        }
    }
}

fn votes(table: &Table) -> Vec<usize> {
    let found = table.sights.iter().filter_map(|(_, s)| match s.found {
        Found::Decided(c) => Some(c),
        _ => None,
    });
    found.collect()
}

fn name_votes(pack: &RulePack, table: &Table, verdict: &mut Verdict) {
    for (who, sight) in &table.sights {
        if let (Some(who), Found::Decided(c)) = (who, &sight.found) {
            verdict.flags.push(
                Reason::new("measurers-differ", "disagreement.then")
                    .with("measurer", who.clone())
                    .with("category", id(pack, *c)),
            );
        }
    }
}

/// Names who is not satisfied; gives the categories then held to be right.
fn dissent(pack: &RulePack, case: &Case, found: usize, verdict: &mut Verdict) -> Vec<usize> {
    let mut all = vec![found];
    let mut who: Vec<_> = case.dissent.iter().collect();
    sort_by_key(&mut who, |d| (&d.by, &d.category));
    for d in who {
        let flag = |key| Reason::new(key, "disagreement.then").with("measurer", d.by.clone());
        verdict.flags.push(match &d.category {
            None => flag("measurer-dissents"),
            Some(c) => flag("measurer-dissents-for").with("category", c.clone()),
        });
        all.extend(d.category.as_ref().and_then(|c| pack.index_of(c)));
    }
    all
}

pub(crate) fn id(pack: &RulePack, index: usize) -> CategoryId {
    pack.categories()[index].id.clone()
}

/// Which of several categories holds for today.
pub(crate) fn today(
    rule: Today,
    among: &[usize],
    latest: Option<usize>,
    earlier: &[Earlier],
) -> usize {
    let lowest = among.iter().copied().min().unwrap_or_default();
    let highest = among.iter().copied().max().unwrap_or_default();
    match rule {
        Today::Lower => lowest,
        Today::Higher => highest,
        Today::Earlier => earlier.last().map_or(highest, |e| e.category),
        Today::Latest => latest.unwrap_or(highest),
    }
}

fn disagreement(
    pack: &RulePack,
    found: &[usize],
    earlier: &[Earlier],
    verdict: &mut Verdict,
) -> FoundToday {
    let rules = &pack.doc().disagreement;
    let lowest = found.iter().copied().min().unwrap_or_default();
    let highest = found.iter().copied().max().unwrap_or_default();
    let stands = match rules.then {
        AfterDisagreement::LowerStands => Some(lowest),
        AfterDisagreement::HigherStands => Some(highest),
        AfterDisagreement::Refer | AfterDisagreement::OneMoreMeasurer => None,
    };
    if let Some(category) = stands {
        let reason = Reason::new("measurers-stand", "disagreement.then");
        verdict
            .reasons
            .push(reason.with("category", id(pack, category)));
        return FoundToday {
            category,
            referred: None,
            tell: rules.tell,
        };
    }
    let category = today(rules.today, found, None, earlier);
    verdict
        .reasons
        .push(Reason::new("measurers-refer", "disagreement.then"));
    let reason = Reason::new("measurers-differ-today", "disagreement.today");
    verdict
        .reasons
        .push(reason.with("category", id(pack, category)));
    FoundToday {
        category,
        referred: Some("disagreement.then"),
        tell: rules.tell,
    }
}

fn impasse(
    pack: &RulePack,
    table: &Table,
    left: &[usize],
    earlier: &[Earlier],
    verdict: &mut Verdict,
) -> Option<FoundToday> {
    // The first observer who got no result says by which procedure's clause.
    let stuck = table
        .sights
        .iter()
        .find(|(_, s)| matches!(s.found, Found::Stuck { .. }));
    let procedure = stuck.and_then(|(_, s)| pack.procedure(&s.procedure));
    let clause = procedure.map_or_else(String::new, |p| format!("procedure[{}].impasse", p.id));
    let rule = procedure.map_or(OnImpasse::NotToday, |p| p.impasse);
    let pick = match rule {
        OnImpasse::Higher => left.iter().copied().max(),
        OnImpasse::Lower => left.iter().copied().min(),
        OnImpasse::Refer if left.is_empty() => earlier.last().map(|e| e.category),
        OnImpasse::Refer => Some(today(pack.doc().disagreement.today, left, None, earlier)),
        OnImpasse::NotToday => None,
    };
    let Some(category) = pick else {
        let reason = Reason::new("impasse-not-today", clause);
        *verdict = not_today(verdict.clone(), reason);
        return None;
    };
    let (key, referred) = match rule {
        OnImpasse::Higher => ("impasse-higher", None),
        OnImpasse::Lower => ("impasse-lower", None),
        OnImpasse::Refer | OnImpasse::NotToday => ("impasse-refer", Some("disagreement.today")),
    };
    let reason = Reason::new(key, clause).with("category", id(pack, category));
    verdict.reasons.push(reason);
    Some(FoundToday {
        category,
        referred,
        tell: pack.doc().disagreement.tell,
    })
}

fn not_today(mut verdict: Verdict, reason: Reason) -> Verdict {
    verdict.outcome = Outcome::NotToday;
    verdict.reasons.push(reason);
    let tell = Reason::new("tell-not-today", "again.attempts");
    verdict.tell_handler.push(tell);
    verdict
}
