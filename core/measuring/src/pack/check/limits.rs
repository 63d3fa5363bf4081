//! Categories, gauges and border zones.

use super::{Faults, label};
use crate::length::Length;
use crate::pack::{AtLimit, GaugeKind, PackDoc, Touching};

/// No limit is lower: own choice, no source. It is there for limits in centimetres whose unit was
/// left out, which would put every dog into the highest category.
const LOWEST_LIMIT: Length = Length::from_mm(100);

pub(super) fn check(doc: &PackDoc, faults: &mut Faults) {
    categories(doc, faults);
    gauges(doc, faults);
    touching(doc, faults);
    borders(doc, faults);
}

fn categories(doc: &PackDoc, faults: &mut Faults) {
    faults.ids("category", doc.category.iter().map(|c| c.id.as_str()));
    if doc.category.is_empty() || doc.category.len() > 40 {
        faults.add(
            "category",
            "there must be from 1 to 40 categories",
            "write a [[category]] for each, lowest first",
        );
    }
    let mut below = Length::ZERO;
    for (i, c) in doc.category.iter().enumerate() {
        let clause = |key: &str| format!("category[{}].{key}", c.id);
        label(faults, clause("label"), &c.label);
        let last = i + 1 == doc.category.len();
        match c.up_to {
            None if !last => faults.add(
                clause("up_to"),
                "only the highest category has no upper limit: the ones above could never be reached",
                "write its limit, and put the categories in rising order",
            ),
            Some(_) if last => faults.add(
                clause("up_to"),
                "the highest category has an upper limit: a taller dog would have no category",
                "leave up_to out, or add a category above",
            ),
            Some(at) if at <= below => faults.add(
                clause("up_to"),
                format!("the limit {at} is not above the one before ({below}): gap or overlap"),
                "put the categories in order, each limit above the one before",
            ),
            Some(at) => {
                if at < LOWEST_LIMIT {
                    faults.add(
                        clause("up_to"),
                        format!("{at} is lower than any dog: a bare number is millimetres"),
                        format!("write up_to = \"{} cm\" if that is meant", at.in_mm()),
                    );
                }
                below = at;
            }
            None => {}
        }
        if last && c.at_limit.is_some() {
            faults.add(
                clause("at_limit"),
                "the highest category has no limit for at_limit to speak of",
                "leave at_limit out here",
            );
        }
        for other in &c.may_also_run_in {
            if *other == c.id || !doc.category.iter().any(|o| o.id == *other) {
                faults.add(
                    clause("may_also_run_in"),
                    format!("'{other}' is not another category of this pack"),
                    "name ids of other categories",
                );
            }
        }
        for (key, number) in [
            ("measures_needed", c.measures_needed),
            ("measures_on_request", c.measures_on_request),
            ("measurers_needed", c.measurers_needed),
        ] {
            if let Some(n) = number {
                faults.range(clause(key), n, 1, 9);
            }
        }
    }
}

fn gauges(doc: &PackDoc, faults: &mut Faults) {
    faults.ids("gauge", doc.gauge.iter().map(|g| g.id.as_str()));
    for g in &doc.gauge {
        let clause = |key: &str| format!("gauge[{}].{key}", g.id);
        label(faults, clause("label"), &g.label);
        match (g.kind, g.height) {
            (GaugeKind::Hoop, None) => faults.add(
                clause("height"),
                "a hoop needs its inside height",
                "write for example height = \"35 cm\"",
            ),
            (GaugeKind::Scale, Some(_)) => faults.add(
                clause("height"),
                "a scale has no fixed height",
                "leave height out, or write kind = \"hoop\"",
            ),
            (GaugeKind::Hoop, Some(height)) => {
                if !doc.category.iter().any(|c| c.up_to == Some(height)) {
                    faults.add(
                        clause("height"),
                        format!("no category has its limit at {height}: nothing uses this hoop"),
                        "correct the height, or leave the hoop out",
                    );
                }
                if doc
                    .gauge
                    .iter()
                    .any(|o| o.id < g.id && o.height == g.height)
                {
                    faults.add(
                        clause("height"),
                        "another hoop of the pack has the same height",
                        "a pack's hoop is a kind, not a serial number: leave one out",
                    );
                }
            }
            (GaugeKind::Scale, None) => {}
        }
    }
}

/// A hoop that comes down flat can't tell h = limit from h < limit unless touching is looked at.
fn touching(doc: &PackDoc, faults: &mut Faults) {
    let hoops_decide = doc.procedure.iter().any(|p| p.placings.is_some());
    if !hoops_decide {
        return;
    }
    let over = doc.hoops.touching == Some(Touching::Over);
    for c in &doc.category {
        let has_hoop = c.up_to.is_some() && doc.gauge.iter().any(|g| g.height == c.up_to);
        if !has_hoop {
            continue;
        }
        let clause = match c.at_limit {
            Some(_) => format!("category[{}].at_limit", c.id),
            None => "limits.at_limit".to_owned(),
        };
        match c.at_limit.unwrap_or(doc.limits.at_limit) {
            AtLimit::GoesUp if !over => faults.add(
                clause,
                format!(
                    "a dog exactly at the limit of '{}' goes up, but a flat hoop can't show that it is not exactly there",
                    c.id
                ),
                "write [hoops] touching = \"over\" (flat counts only when clear of the dog), or decide by readings",
            ),
            AtLimit::Stays if over => faults.add(
                clause,
                format!(
                    "a dog exactly at the limit of '{}' stays, but with touching = \"over\" it would count as over",
                    c.id
                ),
                "write [hoops] touching = \"within\"",
            ),
            _ => {}
        }
    }
}

fn borders(doc: &PackDoc, faults: &mut Faults) {
    for (i, b) in doc.border.iter().enumerate() {
        let clause = |key: &str| format!("border[{i}].{key}");
        for id in &b.limits {
            if !doc
                .category
                .iter()
                .any(|c| c.id == *id && c.up_to.is_some())
            {
                faults.add(
                    clause("limits"),
                    format!("'{id}' is not a category with an upper limit"),
                    "name the category below the limit",
                );
            }
        }
        if b.below == Length::ZERO && b.above == Length::ZERO {
            faults.add(
                clause("below"),
                "the zone is empty",
                "write how far it reaches below or above the limit",
            );
        }
        if b.settles && b.procedure.is_none() {
            faults.add(
                clause("settles"),
                "there is no procedure of the zone's own to settle anything",
                "name its procedure, or leave settles out",
            );
        }
        if b.procedure.is_none() && b.measures_needed.is_none() && b.measurers_needed.is_none() {
            faults.add(
                format!("border[{i}]"),
                "the zone changes nothing",
                "write procedure, measures_needed or measurers_needed, or leave it out",
            );
        }
        for (key, number) in [
            ("measures_needed", b.measures_needed),
            ("measurers_needed", b.measurers_needed),
        ] {
            if let Some(n) = number {
                faults.range(clause(key), n, 1, 9);
            }
        }
    }
}
