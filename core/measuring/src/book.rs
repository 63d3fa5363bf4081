//! The record book: what is missing or contradicts, what to do about each, and which measure it is.

mod compare;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::dates::{Window, WindowPosition};
use crate::ids::CategoryId;
use crate::judge::second_window;
use crate::order::{sort, sort_by_key};
use crate::pack::{BookEntry, Response, RulePack};
use crate::reason::Reason;
use crate::verdict::WhichMeasure;

/// What a record book says, and what the office knows of the dog.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BookCheck {
    /// The session's day.
    pub today: NaiveDate,
    /// What the book says.
    #[serde(default)]
    pub book: BookEntries,
    /// What the office knows, if it was asked and knew the dog.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub office: Option<BookEntries>,
    /// The chip as the reader gave it, once it was read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chip_read: Option<String>,
}

/// The entries of a record book, or the same from the office.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct BookEntries {
    /// The book's own number.
    pub number: Option<String>,
    /// The dog's name.
    pub name: Option<String>,
    /// The chip number, as text.
    pub chip: Option<String>,
    /// The date of birth.
    pub born: Option<NaiveDate>,
    /// The breed or type.
    pub breed: Option<String>,
    /// The dog's sex.
    pub sex: Option<String>,
    /// Whether the handler's or owner's name is there. The name itself is never needed here.
    pub handler: bool,
    /// Earlier measures, in the order of the book.
    pub measures: Vec<BookMeasure>,
}

/// An earlier measure as written down.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct BookMeasure {
    /// Its day.
    pub on: Option<NaiveDate>,
    /// Its category, by id or as written.
    pub category: Option<String>,
    /// How many measurers signed it; none: it was not looked at.
    pub signatures: Option<u32>,
}

/// What sort of thing was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FindingKind {
    /// An entry is missing.
    Missing,
    /// Entries contradict one another.
    Contradicts,
    /// The second measure comes too early or late.
    OutOfTime,
}

/// One thing found in the record book.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// The entry it concerns.
    pub entry: BookEntry,
    /// Missing, contradicting or out of time.
    pub kind: FindingKind,
    /// What it is.
    pub reason: Reason,
    /// What to do about it.
    pub to_do: Reason,
    /// The dog is not measured until it is put right.
    pub stops: bool,
}

/// What the record book amounts to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BookFindings {
    /// Everything found, what stops the dog first.
    pub findings: Vec<Finding>,
    /// Which measure today's would be, from the book and the office together.
    pub measure: WhichMeasure,
    /// Earlier measures from both, in order of date, with their category where one is known.
    pub earlier: Vec<(NaiveDate, Option<CategoryId>)>,
    /// The window of a second measure.
    pub window: Option<Window>,
    /// Where today lies in it.
    pub position: Option<WindowPosition>,
    /// Nothing stops the dog from being measured.
    pub may_measure: bool,
}

/// Checks a record book before the dog is touched.
pub fn check_book(pack: &RulePack, check: &BookCheck) -> BookFindings {
    let mut found = Vec::new();
    missing(pack, &check.book, &mut found);
    compare::within_book(pack, check, &mut found);
    if let Some(office) = &check.office {
        compare::against_office(&check.book, office, &mut found);
        compare::measures_against_office(pack, &check.book, office, &mut found);
    }
    if let (Some(book), Some(read)) = (&check.book.chip, &check.chip_read)
        && same(book) != same(read)
    {
        let reason = Reason::new("book-chip-differs", "identity.no_chip")
            .with("one", book.clone())
            .with("other", read.clone());
        found.push(contradicts(BookEntry::Chip, reason, "do-not-measure", true));
    }

    let earlier = earlier(pack, check);
    let measure = WhichMeasure::after(earlier.len());
    let born = check
        .book
        .born
        .or(check.office.as_ref().and_then(|o| o.born));
    let window = match (measure, earlier.first()) {
        (WhichMeasure::Second, Some((first, _))) => second_window(pack, *first, born),
        _ => None,
    };
    let position = window.map(|w| w.position(check.today));
    if let (Some(w), Some(position)) = (window, position) {
        due(pack, w, position, &mut found);
    }
    sort_by_key(&mut found, |f: &Finding| !f.stops);
    BookFindings {
        may_measure: found.iter().all(|f| !f.stops),
        findings: found,
        measure,
        earlier,
        window,
        position,
    }
}

fn due(pack: &RulePack, w: Window, position: WindowPosition, found: &mut Vec<Finding>) {
    let Some(rules) = &pack.doc().measures.window else {
        return;
    };
    let (key, clause, response) = match position {
        WindowPosition::InWindow => return,
        WindowPosition::TooEarly => ("second-too-early", "measures.window.early", rules.early),
        WindowPosition::Late => ("second-late", "measures.window.late", rules.late),
    };
    if response == Response::Allowed {
        return;
    }
    let stops = response == Response::Refused;
    let dated = |r: Reason| r.with("from", w.from).with("to", w.to);
    let to_do = match (stops, position) {
        (true, WindowPosition::TooEarly) => dated(Reason::new("do-come-back", clause)),
        (true, _) => Reason::new("do-not-measure", clause),
        (false, _) => Reason::new("do-point-out", clause),
    };
    found.push(Finding {
        entry: BookEntry::MeasureDate,
        kind: FindingKind::OutOfTime,
        reason: dated(Reason::new(key, clause)),
        to_do,
        stops,
    });
}

/// The name of an entry as a pack writes it.
fn name(entry: BookEntry) -> String {
    match entry {
        BookEntry::Number => "number",
        BookEntry::Name => "name",
        BookEntry::Chip => "chip",
        BookEntry::Born => "born",
        BookEntry::Breed => "breed",
        BookEntry::Sex => "sex",
        BookEntry::Handler => "handler",
        BookEntry::MeasureDate => "measure-date",
        BookEntry::MeasureCategory => "measure-category",
        BookEntry::MeasureSignatures => "measure-signatures",
    }
    .to_owned()
}

fn text(value: &Option<String>) -> Option<&str> {
    value.as_deref().map(str::trim).filter(|t| !t.is_empty())
}

/// A text as compared: neither spaces nor case matter.
fn same(value: &str) -> String {
    value
        .chars()
        .filter(|c| !c.is_whitespace())
        .flat_map(char::to_lowercase)
        .collect()
}

fn missing(pack: &RulePack, book: &BookEntries, found: &mut Vec<Finding>) {
    let rules = &pack.doc().book;
    let entries = rules.must_have.iter().map(|e| (*e, true));
    for (entry, must) in entries.chain(rules.should_have.iter().map(|e| (*e, false))) {
        let there = match entry {
            BookEntry::Number => text(&book.number).is_some(),
            BookEntry::Name => text(&book.name).is_some(),
            BookEntry::Chip => text(&book.chip).is_some(),
            BookEntry::Born => book.born.is_some(),
            BookEntry::Breed => text(&book.breed).is_some(),
            BookEntry::Sex => text(&book.sex).is_some(),
            BookEntry::Handler => book.handler,
            // Entries of measures are looked at measure by measure.
            BookEntry::MeasureDate | BookEntry::MeasureCategory | BookEntry::MeasureSignatures => {
                continue;
            }
        };
        if there {
            continue;
        }
        let clause = if must {
            "book.must_have"
        } else {
            "book.should_have"
        };
        let to_do = if must {
            "do-handler-completes"
        } else {
            "do-point-out"
        };
        found.push(Finding {
            entry,
            kind: FindingKind::Missing,
            reason: Reason::new("book-missing", clause).with("text", name(entry)),
            to_do: Reason::new(to_do, clause),
            stops: must,
        });
    }
}

fn contradicts(entry: BookEntry, reason: Reason, to_do: &'static str, stops: bool) -> Finding {
    let clause = reason.clause.clone();
    Finding {
        entry,
        kind: FindingKind::Contradicts,
        reason,
        to_do: Reason::new(to_do, clause),
        stops,
    }
}

/// The category that a book's words mean: its id or its label.
fn category(pack: &RulePack, words: &str) -> Option<CategoryId> {
    let words = same(words);
    let mut all = pack.categories().iter();
    all.find(|c| same(c.id.as_str()) == words || same(&c.label) == words)
        .map(|c| c.id.clone())
}

/// Earlier measures from book and office: one a day, the book's category before the office's, none
/// after today.
fn earlier(pack: &RulePack, check: &BookCheck) -> Vec<(NaiveDate, Option<CategoryId>)> {
    let office = check.office.iter().flat_map(|o| &o.measures);
    let mut all: Vec<(NaiveDate, Option<CategoryId>)> = Vec::new();
    for m in check.book.measures.iter().chain(office) {
        let Some(on) = m.on.filter(|on| *on <= check.today) else {
            continue;
        };
        let id = text(&m.category).and_then(|w| category(pack, w));
        match all.iter_mut().find(|(day, _)| *day == on) {
            Some((_, known)) => *known = known.take().or(id),
            None => all.push((on, id)),
        }
    }
    sort(&mut all);
    all
}
