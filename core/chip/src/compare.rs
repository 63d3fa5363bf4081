//! Holding the number that was read against the one in the record book.

use crate::form::Form;
use crate::identity::ReadOutcome;
use crate::number::ChipNumber;
use crate::printed::parse_printed;
use crate::refusal::Refusal;
use serde::{Deserialize, Serialize};

/// How the book's number differs from the chip's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Slip {
    /// One digit is another.
    OneDigit,
    /// Two digits have changed places.
    Swapped,
    /// The book has one digit too few, such as a lost leading zero.
    Missing,
    /// The book has one digit too many.
    Extra,
}

/// What there is no number of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case")]
pub enum Unreadable {
    /// The chip answered and no frame came through whole.
    Chip,
    /// The book's entry is no chip number.
    Book {
        /// Why not.
        fault: Refusal,
    },
}

/// The record book's number and the chip's, side by side.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "comparison", rename_all = "snake_case")]
pub enum Comparison {
    /// The same number in the same form (grouping aside).
    Equal,
    /// The same chip, written in the book in another form.
    OtherForm {
        /// The book's form.
        form: Form,
    },
    /// A slip of the pen away. Never equal: litter-mates' numbers can be as
    /// close, so people look at both and decide.
    MisKeyed {
        /// The book's digits.
        book: String,
        /// The chip's digits.
        chip: String,
        /// What kind of slip.
        slip: Slip,
        /// Places in the longer of the two, counted from 0, that differ.
        at: Vec<u32>,
        /// The two could be of one batch: the same code, serials within 100
        /// (our own choice, no source). Then another dog is as likely as a slip.
        neighbours: bool,
    },
    /// Another number.
    Different {
        /// The book's number.
        book: ChipNumber,
        /// The chip's.
        chip: ChipNumber,
    },
    /// One of the two cannot be read.
    Unreadable {
        /// Which, and why.
        of: Unreadable,
    },
    /// No chip was found.
    NoneFound {
        /// After this many full passes.
        passes: u8,
    },
    /// More than one chip in one dog.
    TwoChips {
        /// All numbers, in the order they were heard.
        numbers: Vec<ChipNumber>,
        /// Which of them the book has, if any.
        in_book: Option<ChipNumber>,
    },
}

/// Serials this close may be of one batch.
const BATCH: u64 = 100;

/// Compares the record book's entry with what came of scanning.
pub fn compare(book: &str, got: &ReadOutcome) -> Comparison {
    match got {
        ReadOutcome::Number { number } => with_number(book, number),
        ReadOutcome::TwoChips { numbers } => Comparison::TwoChips {
            in_book: parse_printed(book)
                .ok()
                .and_then(|p| numbers.iter().find(|n| **n == p.number).cloned()),
            numbers: numbers.clone(),
        },
        ReadOutcome::Unreadable => Comparison::Unreadable {
            of: Unreadable::Chip,
        },
        ReadOutcome::NoneFound { passes } => Comparison::NoneFound { passes: *passes },
    }
}

fn with_number(book: &str, chip: &ChipNumber) -> Comparison {
    let printed = parse_printed(book);
    if let Ok(p) = &printed
        && p.number == *chip
    {
        return match p.form {
            Form::Decimal15 | Form::Legacy9 | Form::Legacy10 => Comparison::Equal,
            form => Comparison::OtherForm { form },
        };
    }
    // An entry that is no number may still be a slip away from one.
    let digits: String = match &printed {
        Ok(p) => p.number.to_string(),
        Err(_) => book
            .chars()
            .filter(|c| !c.is_whitespace() && !matches!(c, '.' | '-'))
            .collect::<String>()
            .to_ascii_uppercase(),
    };
    let chip_digits = chip.to_string();
    if let Some((slip, at)) = slip_between(digits.as_bytes(), chip_digits.as_bytes()) {
        return Comparison::MisKeyed {
            neighbours: printed.as_ref().is_ok_and(|p| one_batch(&p.number, chip)),
            book: digits,
            chip: chip_digits,
            slip,
            at: at.into_iter().map(|i| i as u32).collect(),
        };
    }
    match printed {
        Ok(p) => Comparison::Different {
            book: p.number,
            chip: chip.clone(),
        },
        Err(fault) => Comparison::Unreadable {
            of: Unreadable::Book { fault },
        },
    }
}

fn one_batch(a: &ChipNumber, b: &ChipNumber) -> bool {
    match (a.iso(), b.iso()) {
        (Some(a), Some(b)) => {
            a.country() == b.country() && a.national().abs_diff(b.national()) <= BATCH
        }
        _ => false,
    }
}

fn slip_between(book: &[u8], chip: &[u8]) -> Option<(Slip, Vec<usize>)> {
    if book.len() == chip.len() {
        let at: Vec<usize> = (0..book.len()).filter(|i| book[*i] != chip[*i]).collect();
        return match at[..] {
            [_] => Some((Slip::OneDigit, at)),
            [i, j] if book[i] == chip[j] && book[j] == chip[i] => Some((Slip::Swapped, at)),
            _ => None,
        };
    }
    let one_more = |long: &[u8], short: &[u8]| {
        (long.len() == short.len() + 1)
            .then(|| {
                let i = (0..short.len())
                    .find(|i| long[*i] != short[*i])
                    .unwrap_or(short.len());
                (long[i + 1..] == short[i..]).then_some(i)
            })
            .flatten()
    };
    if let Some(i) = one_more(chip, book) {
        Some((Slip::Missing, vec![i]))
    } else {
        one_more(book, chip).map(|i| (Slip::Extra, vec![i]))
    }
}
