//! Entries that are missing from measures, contradict one another, or contradict the office.

use chrono::NaiveDate;

use super::{
    BookCheck, BookEntries, Finding, FindingKind, category, contradicts, name, same, text,
};
use crate::pack::{BookEntry, RulePack};
use crate::reason::Reason;

/// What the book's own measures lack or contradict.
pub(super) fn within_book(pack: &RulePack, check: &BookCheck, found: &mut Vec<Finding>) {
    let rules = &pack.doc().book;
    let book = &check.book;
    let clause = |entry: BookEntry| {
        if rules.must_have.contains(&entry) {
            Some(("book.must_have", true))
        } else if rules.should_have.contains(&entry) {
            Some(("book.should_have", false))
        } else {
            None
        }
    };
    let mut lacks = |entry: BookEntry, key: &'static str, with: &dyn Fn(Reason) -> Reason| {
        let Some((clause, stops)) = clause(entry) else {
            return;
        };
        let to_do = if stops {
            "do-not-measure"
        } else {
            "do-point-out"
        };
        found.push(Finding {
            entry,
            kind: FindingKind::Missing,
            reason: with(Reason::new(key, clause)),
            to_do: Reason::new(to_do, clause),
            stops,
        });
    };
    let needed = rules.signatures.unwrap_or(pack.measurers_needed());
    for m in &book.measures {
        let Some(on) = m.on else {
            lacks(BookEntry::MeasureDate, "book-measure-undated", &|r| r);
            continue;
        };
        if text(&m.category).is_none() {
            lacks(
                BookEntry::MeasureCategory,
                "book-measure-no-category",
                &|r| r.with("date", on),
            );
        }
        if let Some(count) = m.signatures.filter(|n| *n < needed) {
            lacks(
                BookEntry::MeasureSignatures,
                "book-measure-unsigned",
                &|r| {
                    r.with("date", on)
                        .with("count", count)
                        .with("needed", needed)
                },
            );
        }
    }

    let mut wrong = |entry, reason: Reason, to_do: &'static str| {
        found.push(contradicts(entry, reason, to_do, false));
    };
    if let Some(born) = book.born.filter(|b| *b > check.today) {
        let reason = Reason::new("book-born-future", "book").with("date", born);
        wrong(BookEntry::Born, reason, "do-ask-handler");
    }
    let mut last: Option<NaiveDate> = None;
    for m in &book.measures {
        let Some(on) = m.on else { continue };
        let dated = |key| Reason::new(key, "book").with("date", on);
        if on > check.today {
            wrong(
                BookEntry::MeasureDate,
                dated("book-measure-future"),
                "do-ask-handler",
            );
        }
        if book.born.is_some_and(|b| on < b) {
            wrong(
                BookEntry::MeasureDate,
                dated("book-measure-before-birth"),
                "do-ask-handler",
            );
        }
        match last {
            Some(before) if before == on => {
                wrong(
                    BookEntry::MeasureDate,
                    dated("book-measure-twice"),
                    "do-ask-office",
                );
            }
            Some(before) if before > on => {
                wrong(
                    BookEntry::MeasureDate,
                    dated("book-measures-disordered"),
                    "do-point-out",
                );
            }
            _ => {}
        }
        last = Some(on);
        if let Some(words) = text(&m.category).filter(|w| category(pack, w).is_none()) {
            let reason = dated("book-measure-bad-category").with("text", words.to_owned());
            wrong(BookEntry::MeasureCategory, reason, "do-ask-office");
        }
    }
}

/// Entries against what the office knows.
pub(super) fn against_office(book: &BookEntries, office: &BookEntries, found: &mut Vec<Finding>) {
    let date = |d: &Option<NaiveDate>| d.map(|d| d.to_string());
    let pairs = [
        (
            BookEntry::Number,
            book.number.clone(),
            office.number.clone(),
            "do-point-out",
        ),
        (
            BookEntry::Name,
            book.name.clone(),
            office.name.clone(),
            "do-ask-handler",
        ),
        (
            BookEntry::Chip,
            book.chip.clone(),
            office.chip.clone(),
            "do-ask-office",
        ),
        (
            BookEntry::Born,
            date(&book.born),
            date(&office.born),
            "do-ask-handler",
        ),
        (
            BookEntry::Breed,
            book.breed.clone(),
            office.breed.clone(),
            "do-point-out",
        ),
        (
            BookEntry::Sex,
            book.sex.clone(),
            office.sex.clone(),
            "do-point-out",
        ),
    ];
    for (entry, ours, theirs, to_do) in pairs {
        if let (Some(one), Some(other)) = (text(&ours), text(&theirs))
            && same(one) != same(other)
        {
            let reason = Reason::new("book-differs", "book")
                .with("text", name(entry))
                .with("one", one.to_owned())
                .with("other", other.to_owned());
            found.push(contradicts(entry, reason, to_do, false));
        }
    }
}

/// Measures against those that the office knows.
pub(super) fn measures_against_office(
    pack: &RulePack,
    book: &BookEntries,
    office: &BookEntries,
    found: &mut Vec<Finding>,
) {
    for m in &book.measures {
        let Some(on) = m.on else { continue };
        let Some(known) = office.measures.iter().find(|o| o.on == Some(on)) else {
            let reason = Reason::new("book-measure-unknown", "book").with("date", on);
            found.push(contradicts(
                BookEntry::MeasureDate,
                reason,
                "do-ask-office",
                false,
            ));
            continue;
        };
        if let (Some(one), Some(other)) = (text(&m.category), text(&known.category)) {
            let ids = (category(pack, one), category(pack, other));
            let equal = match &ids {
                (Some(a), Some(b)) => a == b,
                _ => same(one) == same(other),
            };
            if !equal {
                let reason = Reason::new("book-measure-differs", "book")
                    .with("date", on)
                    .with("one", one.to_owned())
                    .with("other", other.to_owned());
                found.push(contradicts(
                    BookEntry::MeasureCategory,
                    reason,
                    "do-ask-office",
                    false,
                ));
            }
        }
    }
    for known in &office.measures {
        let Some(on) = known.on else { continue };
        if !book.measures.iter().any(|m| m.on == Some(on)) {
            let words = text(&known.category).unwrap_or("?").to_owned();
            let id = category(pack, &words).unwrap_or_else(|| words.as_str().into());
            let reason = Reason::new("book-measure-lacking", "book")
                .with("date", on)
                .with("category", id);
            found.push(contradicts(
                BookEntry::MeasureDate,
                reason,
                "do-write-in",
                false,
            ));
        }
    }
}
