//! The record book: every finding with what to do, and which measure it is.

mod alone;
mod beside;

use crate::support::*;
use standsquare_measuring::*;

fn measure(on: &str, category: &str) -> BookMeasure {
    BookMeasure {
        on: Some(day(on)),
        category: Some(category.into()),
        signatures: Some(2),
    }
}

/// A complete book with these measures.
fn book(measures: Vec<BookMeasure>) -> BookEntries {
    BookEntries {
        number: Some("L-0042".into()),
        name: Some("Pip".into()),
        chip: Some("999000000112233".into()),
        born: Some(day("2024-02-10")),
        breed: Some("cross".into()),
        sex: Some("female".into()),
        handler: true,
        measures,
    }
}

fn check(book: BookEntries, office: Option<BookEntries>) -> BookFindings {
    let check = BookCheck {
        today: day("2026-06-14"),
        book,
        office,
        chip_read: None,
    };
    check_book(&pack("larkmere"), &check)
}

/// The findings as entry, key, what to do and whether it stops the dog.
fn found(f: &BookFindings) -> Vec<(BookEntry, &str, &str, bool)> {
    f.findings
        .iter()
        .map(|x| {
            (
                x.entry,
                x.reason.key.as_ref(),
                x.to_do.key.as_ref(),
                x.stops,
            )
        })
        .collect()
}
