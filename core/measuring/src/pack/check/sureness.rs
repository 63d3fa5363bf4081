//! What the body knows of its placings must be of use.

use super::Faults;
use crate::length::Length;
use crate::pack::{PackDoc, ShownTo};

pub(super) fn check(doc: &PackDoc, faults: &mut Faults) {
    let Some(s) = &doc.sureness else { return };
    if s.spread == Some(Length::ZERO) {
        faults.add(
            "sureness.spread",
            "placings that never scatter are no measurement",
            "write the standard deviation found, such as \"4 mm\", or leave it out",
        );
    }
    if s.reads_high.is_some() && s.reads_low.is_some() {
        faults.add(
            "sureness.reads_low",
            "placings can't read both high and low",
            "write one of reads_high and reads_low",
        );
    }
    let given = s.reads_high.is_some() || s.reads_low.is_some() || s.guard_band.is_some();
    if s.spread.is_none() && (given || !s.heights.is_empty()) {
        faults.add(
            "sureness.spread",
            "without the spread nothing can be worked out from the rest",
            "write the spread found from the body's own data, or leave the table out",
        );
    }
    if s.shown_to != ShownTo::Nobody && (s.spread.is_none() || s.heights.is_empty()) {
        faults.add(
            "sureness.shown_to",
            "how sure a category is follows from the spread of a placing and the heights of the body's dogs",
            "write spread and heights as well, or show it to nobody",
        );
    }
    let lowest = doc.category.iter().filter_map(|c| c.up_to).min();
    if let (Some(band), Some(lowest)) = (s.guard_band, lowest)
        && band >= lowest
    {
        faults.add(
            "sureness.guard_band",
            format!("a hoop {band} below the limit of {lowest} is none"),
            "write how much lower the hoops would be made, a few millimetres",
        );
    }
    for (i, band) in s.heights.iter().enumerate() {
        let before = i.checked_sub(1).and_then(|b| s.heights.get(b));
        if band.to <= band.from || band.dogs == 0 || before.is_some_and(|b| b.to > band.from) {
            faults.add(
                format!("sureness.heights[{i}]"),
                "the bands must rise without overlapping, each with dogs in it",
                "write from, a higher to, and how many dogs, lowest band first",
            );
        }
    }
}
