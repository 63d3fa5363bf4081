//! What a pack's clauses must satisfy together.

mod limits;
mod procedures;
mod sureness;
mod times;

use super::{PackDoc, PackFault};

/// Everything that doesn't fit together; lines are filled in by the caller.
pub(super) fn check(doc: &PackDoc) -> Vec<PackFault> {
    let mut faults = Faults(Vec::new());
    about(doc, &mut faults);
    limits::check(doc, &mut faults);
    procedures::check(doc, &mut faults);
    times::check(doc, &mut faults);
    sureness::check(doc, &mut faults);
    faults.0
}

/// Collects faults.
struct Faults(Vec<PackFault>);

impl Faults {
    fn add(
        &mut self,
        clause: impl Into<String>,
        reason: impl Into<String>,
        fix: impl Into<String>,
    ) {
        self.0.push(PackFault {
            line: 0,
            clause: clause.into(),
            reason: reason.into(),
            fix: fix.into(),
        });
    }

    /// A number that must lie in a range.
    fn range(&mut self, clause: impl Into<String>, value: u32, low: u32, high: u32) {
        if !(low..=high).contains(&value) {
            self.add(
                clause,
                format!("{value} is not between {low} and {high}"),
                format!("write a whole number from {low} to {high}"),
            );
        }
    }

    /// Ids that must be well formed and different.
    fn ids<'a>(&mut self, table: &str, ids: impl Iterator<Item = &'a str>) {
        let mut seen = Vec::new();
        for id in ids {
            let clause = format!("{table}[{id}].id");
            if !well_formed(id) {
                self.add(
                    clause,
                    format!("'{}' is not an id", shortened(id)),
                    "use small letters, digits and hyphens, at most 40 of them",
                );
            } else if seen.contains(&id) {
                self.add(
                    clause,
                    format!("'{id}' comes twice"),
                    "give each its own id",
                );
            }
            seen.push(id);
        }
    }
}

fn well_formed(id: &str) -> bool {
    (1..=40).contains(&id.len())
        && id
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
}

fn shortened(text: &str) -> String {
    text.chars().take(40).collect()
}

/// A text shown to people that must not be empty or endless.
fn label(faults: &mut Faults, clause: String, text: &str) {
    if text.trim().is_empty() || text.chars().count() > 100 {
        faults.add(
            clause,
            "it is empty or longer than 100 characters",
            "write the name that people read",
        );
    }
}

fn about(doc: &PackDoc, faults: &mut Faults) {
    if doc.format != super::FORMAT {
        faults.add(
            "format",
            format!("format {} is not known", doc.format),
            "write format = 1, or use a newer version of the app",
        );
    }
    if !well_formed(&doc.pack.id) {
        faults.add(
            "pack.id",
            format!("'{}' is not an id", shortened(&doc.pack.id)),
            "use small letters, digits and hyphens, at most 40 of them",
        );
    }
    label(faults, "pack.name".into(), &doc.pack.name);
    label(faults, "pack.edition".into(), &doc.pack.edition);
    if let Some(last) = doc.pack.valid_to
        && last < doc.pack.valid_from
    {
        faults.add(
            "pack.valid_to",
            "the rules end before they begin",
            "write a day on or after valid_from, or leave valid_to out",
        );
    }
}
