//! Procedures end, use gauges that exist, and can tell every category from its neighbours.

use super::Faults;
use crate::ids::ProcedureId;
use crate::length::Length;
use crate::pack::{
    AfterDisagreement, FlatRule, GaugeKind, PackDoc, Placings, Procedure, ReadingRule, Readings,
    Reposition, Working,
};

pub(super) fn check(doc: &PackDoc, faults: &mut Faults) {
    faults.ids("procedure", doc.procedure.iter().map(|p| p.id.as_str()));
    for p in &doc.procedure {
        procedure(doc, p, faults);
    }
    let known = |id: &ProcedureId| doc.procedure.iter().any(|p| p.id == *id);
    let mut named = vec![("measures.procedure".to_owned(), &doc.measures.procedure)];
    for (i, b) in doc.border.iter().enumerate() {
        named.extend(
            b.procedure
                .as_ref()
                .map(|p| (format!("border[{i}].procedure"), p)),
        );
    }
    if let Some(r) = &doc.remeasure {
        named.extend(
            r.procedure
                .as_ref()
                .map(|p| ("remeasure.procedure".to_owned(), p)),
        );
        faults.range("remeasure.panel", r.panel, 1, 9);
        faults.range("remeasure.to_change", r.to_change, 1, r.panel.clamp(1, 9));
    }
    for p in &doc.procedure {
        named.extend(
            p.in_doubt
                .as_ref()
                .map(|d| (format!("procedure[{}].in_doubt", p.id), d)),
        );
    }
    for (clause, id) in named {
        if !known(id) {
            faults.add(
                clause,
                format!("there is no procedure '{id}'"),
                "name the id of a [[procedure]] of this pack",
            );
        }
    }
    measurers(doc, faults);
}

fn procedure(doc: &PackDoc, p: &Procedure, faults: &mut Faults) {
    let clause = |key: &str| format!("procedure[{}].{key}", p.id);
    let kind = match (&p.placings, &p.readings) {
        (Some(placings), None) => {
            check_placings(placings, &clause("placings"), faults);
            GaugeKind::Hoop
        }
        (None, Some(readings)) => {
            check_readings(readings, &clause("readings"), faults);
            GaugeKind::Scale
        }
        _ => {
            faults.add(
                format!("procedure[{}]", p.id),
                "a procedure has either placings or readings",
                "write one of the two tables; use in_doubt to go from one procedure to another",
            );
            return;
        }
    };
    for id in &p.gauges {
        if !doc.gauge.iter().any(|g| g.id == *id && g.kind == kind) {
            faults.add(
                clause("gauges"),
                format!("'{id}' is not a gauge of the kind this procedure needs"),
                "name hoops for placings, scales for readings",
            );
        }
    }
    let uses = |g: &crate::pack::Gauge| {
        g.kind == kind && (p.gauges.is_empty() || p.gauges.contains(&g.id))
    };
    if kind == GaugeKind::Scale && !doc.gauge.iter().any(uses) {
        faults.add(
            clause("readings"),
            "there is no scale to read",
            "add a [[gauge]] with kind = \"scale\"",
        );
    }
    if kind == GaugeKind::Hoop {
        for c in &doc.category {
            if let Some(at) = c.up_to
                && !doc.gauge.iter().any(|g| uses(g) && g.height == Some(at))
            {
                faults.add(
                    clause("placings"),
                    format!(
                        "no hoop of {at} tells '{}' from the category above: it could never end",
                        c.id
                    ),
                    "add a hoop of that height",
                );
            }
        }
    }
    if let Reposition::After(numbers) = &p.reposition
        && numbers.contains(&0)
    {
        faults.add(clause("reposition"), "it counts from 1", "leave the 0 out");
    }
    ends(doc, p, faults);
}

/// A chain of `in_doubt` must end, and hold each kind once, so that what was seen belongs to one.
fn ends(doc: &PackDoc, start: &Procedure, faults: &mut Faults) {
    let mut kinds = vec![start.placings.is_some()];
    let mut at = start;
    while let Some(next) = at.in_doubt.as_ref() {
        let Some(p) = doc.procedure.iter().find(|p| p.id == *next) else {
            return;
        };
        if p.id == start.id {
            faults.add(
                format!("procedure[{}].in_doubt", start.id),
                "it comes back to itself: it could never end",
                "let the last procedure have no in_doubt",
            );
            return;
        }
        if kinds.contains(&p.placings.is_some()) {
            faults.add(
                format!("procedure[{}].in_doubt", start.id),
                "two procedures of one kind follow one another: nobody could say which a placing or a reading belongs to",
                "let placings be followed by readings, or readings by placings, once",
            );
            return;
        }
        kinds.push(p.placings.is_some());
        at = p;
    }
}

fn check_placings(p: &Placings, clause: &str, faults: &mut Faults) {
    faults.range(format!("{clause}.needed"), p.needed, 1, 99);
    if p.maximum < p.needed || p.maximum > 999 {
        faults.add(
            format!("{clause}.maximum"),
            format!(
                "{} placings at most can't hold {} valid ones: it could never end well",
                p.maximum, p.needed
            ),
            "write at least as many as needed, void ones included, and at most 999",
        );
    }
    if p.flat == FlatRule::Majority && p.needed.is_multiple_of(2) {
        faults.add(
            format!("{clause}.needed"),
            "of an even number there may be no majority",
            "write an odd number",
        );
    }
}

fn check_readings(r: &Readings, clause: &str, faults: &mut Faults) {
    faults.range(format!("{clause}.needed"), r.needed, 1, 99);
    if r.maximum < r.needed || r.maximum > 99 {
        faults.add(
            format!("{clause}.maximum"),
            "it is less than needed, or more than 99",
            "write at least as many as needed",
        );
    }
    if r.most_in_all < r.maximum || r.most_in_all > 999 {
        faults.add(
            format!("{clause}.most_in_all"),
            "it is less than maximum, or more than 999",
            "write at least maximum: void readings count in it",
        );
    }
    if r.step == Length::ZERO || r.step > Length::from_mm(100) {
        faults.add(
            format!("{clause}.step"),
            "the step must be more than nothing and at most 10 cm",
            "write for example step = \"1 mm\"",
        );
    }
    if r.decide == ReadingRule::Mode && r.maximum < 2 {
        faults.add(
            format!("{clause}.decide"),
            "one reading has no mode",
            "ask for more readings, or decide otherwise",
        );
    }
    if let Some(early) = &r.stop_early {
        faults.range(
            format!("{clause}.stop_early.after"),
            early.after,
            1,
            r.needed.max(1),
        );
    }
}

fn measurers(doc: &PackDoc, faults: &mut Faults) {
    let m = &doc.measurers;
    faults.range("measurers.needed", m.needed, 1, 9);
    faults.range("measurers.lock_after", m.lock_after, 1, 60);
    faults.range("measurers.leading", m.leading, 0, m.needed.min(9));
    if m.alternate && (m.needed < 2 || m.work == Working::Independently) {
        faults.add(
            "measurers.alternate",
            "only two or more who work together can take turns",
            "write alternate = false, or needed = 2 and work = \"together\"",
        );
    }
    if doc.disagreement.then == AfterDisagreement::OneMoreMeasurer && m.work == Working::Together {
        faults.add(
            "disagreement.then",
            "measurers who work together on the same placings can't be outvoted",
            "write work = \"independently\", or another then",
        );
    }
}
