//! The record book as the measurer found it, held against what the office knows.

use standsquare_journal::record::fact::Found;
use standsquare_measuring as measuring;
use standsquare_measuring::{BookCheck, BookEntries, BookEntry, BookMeasure, WhichMeasure};

use super::{day, hides_earlier, label, message};
use crate::act::BookState;
use crate::map::Map;
use crate::state::{Session, Visit};
use crate::view::{BookItem, Text};

/// What the record book amounts to.
pub enum BookFinding {
    /// Go on.
    Measure {
        /// 1 for a first measure, 2 for a second.
        number: u8,
        /// What is pointed out.
        notes: Vec<Text>,
    },
    /// Do not measure before it is put right.
    Refused {
        /// Why, and what to do.
        why: Text,
    },
}

/// The entries of the book that are looked at, in the trade's order. Those of
/// earlier measures are one line.
fn entries(session: &Session) -> Vec<(BookEntry, &'static str)> {
    let book = &session.loaded.pack.doc().book;
    let wanted = |e: &BookEntry| book.must_have.contains(e) || book.should_have.contains(e);
    [
        (BookEntry::Number, "number"),
        (BookEntry::Name, "name"),
        (BookEntry::Chip, "chip"),
        (BookEntry::Born, "born"),
        (BookEntry::Breed, "breed"),
        (BookEntry::Sex, "sex"),
        (BookEntry::Handler, "handler"),
        (BookEntry::MeasureDate, "measures"),
    ]
    .into_iter()
    .filter(|(e, _)| wanted(e))
    .collect()
}

/// The lines of the record book to look at.
pub fn book_items(session: &Session, visit: &Visit) -> Vec<BookItem> {
    let dog = session.dog(&visit.dog);
    let shown =
        |text: &str| (!text.is_empty()).then(|| Text::of("plain").plain("text", text.to_owned()));
    entries(session)
        .into_iter()
        .map(|(entry, id)| {
            let expected = dog.and_then(|d| match entry {
                BookEntry::Name => shown(&d.name),
                BookEntry::Chip => shown(&crate::show::grouped(&d.chip)),
                BookEntry::Born => day(&d.born).map(|b| Text::of("plain_day").day("day", b)),
                BookEntry::MeasureDate => Some(match d.earlier.last() {
                    None => Text::of("book.no_measures"),
                    Some(last) if hides_earlier(session, Some(visit)) => {
                        Text::of("book.last_measure_hidden")
                            .count("count", d.earlier.len() as i64)
                            .day("day", day(&last.day)?)
                    }
                    Some(last) => Text::of("book.last_measure")
                        .count("count", d.earlier.len() as i64)
                        .plain(
                            "category",
                            label(&session.loaded.pack, &last.category.as_str().into()),
                        )
                        .day("day", day(&last.day)?),
                }),
                _ => None,
            });
            let state = match visit.book.get(id) {
                None => BookState::Unseen,
                Some(Found::Agrees) => BookState::Agrees,
                Some(Found::Differs) => BookState::Differs,
                Some(Found::Missing) => BookState::Missing,
            };
            let advice = match state {
                BookState::Differs | BookState::Missing => {
                    let looked = visit.book.clone();
                    findings(session, visit, &looked)
                        .findings
                        .iter()
                        .find(|f| f.entry == entry)
                        .map(|f| message(session, &f.to_do))
                }
                _ => None,
            };
            BookItem {
                id: id.into(),
                label: Text::of(&format!("book.{id}")),
                expected,
                state,
                advice,
            }
        })
        .collect()
}

/// The book as the measurer found it, beside what the office knows.
pub(super) fn findings(
    session: &Session,
    visit: &Visit,
    looked: &Map<String, Found>,
) -> measuring::BookFindings {
    let dog = super::again::known(session, visit);
    let dog = dog.as_deref();
    let office = BookEntries {
        name: dog.map(|d| d.name.clone()),
        chip: dog.map(|d| d.chip.clone()).filter(|c| !c.is_empty()),
        born: dog.and_then(|d| day(&d.born)),
        measures: dog
            .map(|d| d.earlier.as_slice())
            .unwrap_or_default()
            .iter()
            .map(|e| BookMeasure {
                on: day(&e.day),
                category: Some(e.category.clone()),
                signatures: None,
            })
            .collect(),
        ..BookEntries::default()
    };
    // What the phone has no value for is only looked at: there, not there, or other
    // than the handler says.
    let text = |id: &str, known: &Option<String>| match looked.get(id) {
        Some(Found::Agrees) | None => Some(known.clone().unwrap_or_else(|| "+".into())),
        Some(Found::Differs) => Some("≠".to_owned()),
        Some(Found::Missing) => None,
    };
    let book = BookEntries {
        number: text("number", &None),
        name: text("name", &office.name),
        chip: text("chip", &office.chip),
        born: match looked.get("born") {
            Some(Found::Missing) => None,
            _ => office.born,
        },
        breed: text("breed", &None),
        sex: text("sex", &None),
        handler: looked.get("handler") != Some(&Found::Missing),
        measures: match looked.get("measures") {
            Some(Found::Missing) => Vec::new(),
            _ => office.measures.clone(),
        },
    };
    measuring::check_book(
        &session.loaded.pack,
        &BookCheck {
            today: session.day,
            book,
            office: Some(office),
            chip_read: None,
        },
    )
}

/// Lines that say something else than the list and about which the rules, having
/// no value to hold against, found nothing: pointed out all the same.
pub(super) fn differs_unexplained(session: &Session, visit: &Visit) -> bool {
    let found = findings(session, visit, &visit.book).findings;
    entries(session).into_iter().any(|(entry, id)| {
        visit.book.get(id) == Some(&Found::Differs) && !found.iter().any(|f| f.entry == entry)
    })
}

/// What the book amounts to with these lines looked at.
pub fn book_finding(session: &Session, visit: &Visit, looked: &Map<String, Found>) -> BookFinding {
    let found = findings(session, visit, looked);
    if let Some(stop) = found.findings.iter().find(|f| f.stops) {
        return BookFinding::Refused {
            why: message(session, &stop.to_do),
        };
    }
    BookFinding::Measure {
        number: match found.measure {
            WhichMeasure::First => 1,
            WhichMeasure::Second => 2,
            WhichMeasure::Further(n) => u8::try_from(n).unwrap_or(u8::MAX),
            _ => 1,
        },
        notes: found
            .findings
            .iter()
            .map(|f| match f.reason.key.as_ref() {
                // It would say what was found.
                key if key.starts_with("book-measure") && hides_earlier(session, Some(visit)) => {
                    Text::of("book.measure_differs_hidden")
                }
                _ => message(session, &f.reason),
            })
            .collect(),
    }
}
