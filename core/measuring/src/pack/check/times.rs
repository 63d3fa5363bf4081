//! Windows, ages, steps, the record book and counts of measures.

use super::Faults;
use crate::pack::{PackDoc, Step, Worth};

pub(super) fn check(doc: &PackDoc, faults: &mut Faults) {
    faults.range("measures.needed", doc.measures.needed, 1, 9);
    if let Some(w) = &doc.measures.window
        && w.to.rough_days() < w.from.rough_days()
    {
        faults.add(
            "measures.window.to",
            format!("the window ends ({}) before it starts ({})", w.to, w.from),
            "write a longer span for its end",
        );
    }
    ages(doc, faults);
    steps(doc, faults);
    if let Some(n) = doc.again.attempts {
        faults.range("again.attempts", n, 1, 99);
    }
    if let Some(event) = &doc.event_measure {
        faults.range("event_measure.measurers", event.measurers, 1, 9);
    }
    if let Some(tilt) = doc.surface.max_tilt_centidegrees {
        faults.range("surface.max_tilt_centidegrees", tilt, 1, 4_500);
    }
    if let Some(n) = doc.book.signatures {
        faults.range("book.signatures", n, 0, 9);
    }
    for entry in &doc.book.must_have {
        if doc.book.should_have.contains(entry) {
            faults.add(
                "book.should_have",
                "an entry stands in must_have as well",
                "name each entry once",
            );
        }
    }
    for name in &doc.identity.alternatives {
        if name.trim().is_empty() {
            faults.add(
                "identity.alternatives",
                "an alternative has no name",
                "write for example \"tattoo\"",
            );
        }
    }
}

fn range_of_age(faults: &mut Faults, clause: String, is_provisional: bool) {
    if !is_provisional {
        faults.add(
            clause,
            "only a provisional measure is good for a time",
            "write worth = \"provisional\", or leave good_for out",
        );
    }
}

fn ages(doc: &PackDoc, faults: &mut Faults) {
    for (i, band) in doc.age.iter().enumerate() {
        let last = i + 1 == doc.age.len();
        if band.good_for.is_some() {
            range_of_age(
                faults,
                format!("age[{i}].good_for"),
                band.worth == Worth::Provisional,
            );
        } else if band.to.is_none() && band.worth == Worth::Provisional {
            faults.add(
                format!("age[{i}].worth"),
                "nothing says until when the measure is good",
                "write good_for, or the age at which the band ends (to)",
            );
        }
        for id in &band.except {
            if !doc.category.iter().any(|c| c.id == *id) {
                faults.add(
                    format!("age[{i}].except"),
                    format!("there is no category '{id}'"),
                    "name ids of categories of this pack",
                );
            }
        }
        match band.to {
            None if !last => faults.add(
                format!("age[{i}].to"),
                "only the last band has no end",
                "write the age at which the next band begins",
            ),
            Some(to) => {
                if to.rough_days() <= band.from.rough_days() {
                    faults.add(
                        format!("age[{i}].to"),
                        "the band ends before it begins",
                        "write a higher age",
                    );
                }
                if let Some(next) = doc.age.get(i + 1)
                    && next.from != to
                {
                    faults.add(
                        format!("age[{}].from", i + 1),
                        format!(
                            "the band begins at {}, the one before ends at {to}: gap or overlap",
                            next.from
                        ),
                        "let each band begin where the one before ends",
                    );
                }
            }
            None => {}
        }
    }
}

fn steps(doc: &PackDoc, faults: &mut Faults) {
    let order = &doc.steps.order;
    let all = [
        Step::Papers,
        Step::Handler,
        Step::Chip,
        Step::Settle,
        Step::Stance,
    ];
    if order.len() != all.len() || all.iter().any(|s| !order.contains(s)) {
        faults.add(
            "steps.order",
            "every step must come once",
            "write papers, handler, chip, settle and stance in your order",
        );
        return;
    }
    for (a, b) in &doc.steps.may_swap {
        let neighbours = order
            .windows(2)
            .any(|w| (w[0], w[1]) == (*a, *b) || (w[1], w[0]) == (*a, *b));
        if !neighbours {
            faults.add(
                "steps.may_swap",
                "only neighbours in the order can swap",
                "name two steps that follow one another",
            );
        }
    }
}
