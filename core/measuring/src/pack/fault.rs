//! What is wrong with a pack, where, and what to do about it.

use std::fmt;
use std::ops::Range;

use serde::{Deserialize, Serialize};
use toml::de::{DeTable, DeValue};

/// One thing wrong with a pack.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PackFault {
    /// The line of the file, from 1.
    pub line: u32,
    /// The clause, such as `category[small].up_to`.
    pub clause: String,
    /// What is wrong.
    pub reason: String,
    /// What to write instead.
    pub fix: String,
}

impl fmt::Display for PackFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "line {}: {}: {}\n  to do: {}",
            self.line, self.clause, self.reason, self.fix
        )
    }
}

/// A pack's text with the place of every clause.
pub(super) struct Places<'a> {
    text: &'a str,
    /// Clause and where it stands, in the order of the file.
    clauses: Vec<(String, Range<usize>)>,
}

impl<'a> Places<'a> {
    /// Every clause of a parsed file.
    pub fn new(text: &'a str, table: &DeTable<'_>) -> Self {
        let mut clauses = Vec::new();
        walk_table("", table, &mut clauses);
        Places { text, clauses }
    }

    /// Places of a file that can't be parsed.
    pub fn unknown(text: &'a str) -> Self {
        Places {
            text,
            clauses: Vec::new(),
        }
    }

    /// The line, from 1, in which a byte stands.
    pub fn line_at(&self, byte: usize) -> u32 {
        let before = self.text.as_bytes().iter().take(byte);
        1 + u32::try_from(before.filter(|b| **b == b'\n').count()).unwrap_or(u32::MAX - 1)
    }

    /// The text of a line, counted from 1.
    pub fn text_of(&self, line: u32) -> &'a str {
        let before = usize::try_from(line)
            .unwrap_or(usize::MAX)
            .saturating_sub(1);
        self.text.lines().nth(before).unwrap_or_default()
    }

    /// The line of a clause, or of the nearest clause above that is written down.
    pub fn line_of(&self, clause: &str) -> u32 {
        let mut clause = clause;
        loop {
            if let Some((_, span)) = self.clauses.iter().find(|(c, _)| c == clause) {
                return self.line_at(span.start);
            }
            match clause.rfind('.') {
                Some(dot) => clause = &clause[..dot],
                // A missing table has no line: the end of the file is where it would be written.
                None => return self.line_at(self.text.len()),
            }
        }
    }

    /// The innermost clause that a byte range stands in.
    pub fn clause_at(&self, span: &Range<usize>) -> Option<&str> {
        let holds = |r: &Range<usize>| r.start <= span.start && span.end <= r.end;
        let inner = self.clauses.iter().filter(|(_, r)| holds(r));
        inner
            .min_by_key(|(_, r)| r.end - r.start)
            .map(|(c, _)| c.as_str())
    }
}

fn walk_table(path: &str, table: &DeTable<'_>, out: &mut Vec<(String, Range<usize>)>) {
    for (key, value) in table {
        let name = key.get_ref();
        let clause = if path.is_empty() {
            name.to_string()
        } else {
            format!("{path}.{name}")
        };
        // From the key, so that the clause covers `key = value`.
        let start = key.span().start.min(value.span().start);
        out.push((clause.clone(), start..value.span().end.max(key.span().end)));
        walk_value(&clause, value.get_ref(), out);
    }
}

fn walk_value(clause: &str, value: &DeValue<'_>, out: &mut Vec<(String, Range<usize>)>) {
    match value {
        DeValue::Table(table) => walk_table(clause, table, out),
        DeValue::Array(items) => {
            for (i, item) in items.iter().enumerate() {
                // An item with an id goes by it; it says more than a number.
                let id = item.get_ref().as_table().and_then(|t| t.get("id"));
                let name = id
                    .and_then(|id| id.get_ref().as_str())
                    .map_or_else(|| i.to_string(), str::to_owned);
                let clause = format!("{clause}[{name}]");
                out.push((clause.clone(), item.span()));
                walk_value(&clause, item.get_ref(), out);
            }
        }
        _ => {}
    }
}
