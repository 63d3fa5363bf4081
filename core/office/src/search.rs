//! Finding a dog by its chip number or its name. Both are looked up from their beginning
//! in an index, and at most a page is read: it takes as long among a million measures as
//! among ten thousand.

use standsquare_journal::record::Hash;
use standsquare_journal::record::fact::{Outcome, Statement};

use crate::db::{self, DbFault, Row};
use crate::state::OfficeState;

/// Most measures that one search shows.
pub const MOST_FOUND: i64 = 50;
/// Longest text that is searched for, characters; what follows is not looked at.
const LONGEST: usize = 64;
/// Comes after every text that begins with what stands before it.
const LAST: char = '\u{10ffff}';

/// A measure that was found.
#[derive(Clone, Debug)]
pub struct Found {
    /// Head of its statement.
    pub head: Hash,
    /// The dog's chip number; may be empty.
    pub chip: String,
    /// The dog's name as it was signed.
    pub dog: String,
    /// Days since 1970-01-01.
    pub day: i32,
    /// What was found of its height.
    pub outcome: Outcome,
    /// Whether something about it is not decided.
    pub open: bool,
}

/// What is searched for.
enum Wanted {
    Chip(String),
    Name(String),
    Nothing,
}

fn wanted(text: &str) -> Wanted {
    let text: String = text.trim().chars().take(LONGEST).collect();
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    let number = text
        .chars()
        .all(|c| c.is_ascii_digit() || c.is_whitespace() || c == '-');
    match (number, digits.is_empty(), text.is_empty()) {
        (_, _, true) | (true, true, _) => Wanted::Nothing,
        (true, false, _) => Wanted::Chip(digits),
        (false, ..) => Wanted::Name(text.to_lowercase()),
    }
}

impl OfficeState {
    /// Measures of dogs whose chip number begins with these digits (blanks and hyphens do
    /// not matter), or whose name begins with this text (capitals do not matter); at most
    /// [`MOST_FOUND`].
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn search(&self, text: &str) -> Result<Vec<Found>, DbFault> {
        let (sql_text, from) = match wanted(text) {
            Wanted::Nothing => return Ok(Vec::new()),
            Wanted::Chip(digits) => (
                "SELECT head, chip, dog, day, statement, weight FROM visits
                 WHERE body = $1 AND chip >= $2 AND chip < $3 ORDER BY chip, day LIMIT $4",
                digits,
            ),
            Wanted::Name(name) => (
                "SELECT head, chip, dog, day, statement, weight FROM visits
                 WHERE body = $1 AND dog_key >= $2 AND dog_key < $3
                 ORDER BY dog_key, day LIMIT $4",
                name,
            ),
        };
        let to = format!("{from}{LAST}");
        db::read(self.engine(), |sql| {
            let asked = [
                self.body(),
                from.as_str().into(),
                to.as_str().into(),
                MOST_FOUND.into(),
            ];
            sql.query(sql_text, &asked)?.iter().map(found).collect()
        })
    }
}

fn found(row: &Row) -> Result<Found, DbFault> {
    let statement = Statement::decode_strict(&row.bytes(4)?)
        .map_err(|e| DbFault::Unexpected(format!("a statement on record: {e}")))?;
    Ok(Found {
        head: row.array(0)?,
        chip: row.text(1)?,
        dog: row.text(2)?,
        day: statement.day,
        outcome: statement.outcome,
        open: row.int(5)? > 0,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_a_chip_and_all_else_a_name() {
        let told = |text: &str| match wanted(text) {
            Wanted::Chip(digits) => format!("chip {digits}"),
            Wanted::Name(name) => format!("name {name}"),
            Wanted::Nothing => "nothing".into(),
        };
        assert_eq!(told(" 999 000-000112233 "), "chip 999000000112233");
        assert_eq!(told("9"), "chip 9");
        assert_eq!(told(" PIP "), "name pip");
        assert_eq!(told("Moss 2"), "name moss 2");
        assert_eq!(told("ÄNNE"), "name änne");
        for nothing in ["", "  ", "-", " - "] {
            assert_eq!(told(nothing), "nothing");
        }
        assert_eq!(told(&"7".repeat(900)).len(), "chip ".len() + LONGEST);
    }
}
