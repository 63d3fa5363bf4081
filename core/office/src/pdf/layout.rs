//! Paragraphs and tables onto sheets. Pure: blocks and widths of letters in, lines out.

/// A4 across, points (1/72 inch; ISO 216: 297 mm by 210 mm).
pub(super) const SHEET: (f32, f32) = (841.89, 595.28);
/// Free at every side, points.
pub(super) const MARGIN: f32 = 40.0;
/// Below the sheet's head, points from the upper edge.
const TOP: f32 = MARGIN + 34.0;
/// Above the sheet's foot.
const BOTTOM: f32 = SHEET.1 - MARGIN - 16.0;
/// Between columns.
const GAP: f32 = 8.0;

/// Size of letters, points.
const TEXT: f32 = 9.0;
const HEADING: f32 = 12.0;
/// From line to line, of the letters' size.
const LEADING: f32 = 1.35;

/// A part of a document.
pub enum Block {
    /// A heading.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// What is called how, line by line.
    Facts(Vec<(String, String)>),
    /// A table.
    Table {
        /// Heads of the columns, each with its share of the width.
        heads: Vec<(&'static str, f32)>,
        /// Rows, each with as many cells.
        rows: Vec<Vec<String>>,
    },
}

/// Something on a sheet.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Mark {
    /// Letters, from their baseline's left end.
    Letters {
        x: f32,
        y: f32,
        size: f32,
        bold: bool,
        text: String,
    },
    /// A thin line across.
    Rule { y: f32, from: f32, to: f32 },
}

/// How wide letters are at size 1, and whether they are bold.
pub(super) type Width<'a> = &'a dyn Fn(&str, bool) -> f32;

/// Words of `text` on lines at most `wide`. What is too long by itself is broken anywhere.
pub(super) fn lines(text: &str, size: f32, bold: bool, wide: f32, width: Width<'_>) -> Vec<String> {
    let fits = |line: &str| width(line, bold) * size <= wide;
    let mut out = Vec::new();
    for paragraph in text.split('\n') {
        let mut line = String::new();
        for word in paragraph.split_whitespace() {
            let longer = match line.is_empty() {
                true => word.to_owned(),
                false => format!("{line} {word}"),
            };
            if fits(&longer) {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                out.push(std::mem::take(&mut line));
            }
            for letter in word.chars() {
                let longer = format!("{line}{letter}");
                if !fits(&longer) && !line.is_empty() {
                    out.push(std::mem::take(&mut line));
                }
                line.push(letter);
            }
        }
        out.push(line);
    }
    out
}

/// Lays blocks out on as many sheets as they need.
pub(super) fn lay(blocks: &[Block], width: Width<'_>) -> Vec<Vec<Mark>> {
    let mut sheets = Sheets {
        done: Vec::new(),
        now: Vec::new(),
        y: TOP,
        width,
    };
    for block in blocks {
        match block {
            Block::Heading(text) => sheets.heading(text),
            Block::Text(text) => sheets.paragraph(text),
            Block::Facts(facts) => sheets.facts(facts),
            Block::Table { heads, rows } => sheets.table(heads, rows),
        }
    }
    sheets.turn();
    sheets.done
}

struct Sheets<'a> {
    done: Vec<Vec<Mark>>,
    now: Vec<Mark>,
    y: f32,
    width: Width<'a>,
}

/// A cell's lines, and where it begins.
type Cell = (f32, Vec<String>);

impl Sheets<'_> {
    fn whole(&self) -> f32 {
        SHEET.0 - 2.0 * MARGIN
    }

    fn turn(&mut self) {
        self.done.push(std::mem::take(&mut self.now));
        self.y = TOP;
    }

    /// Turns the sheet unless there is room for so much.
    fn room(&mut self, high: f32) {
        if self.y + high > BOTTOM && self.y > TOP {
            self.turn();
        }
    }

    fn line(&mut self, x: f32, size: f32, bold: bool, text: &str) {
        self.now.push(Mark::Letters {
            x,
            y: self.y + size,
            size,
            bold,
            text: text.to_owned(),
        });
    }

    fn heading(&mut self, text: &str) {
        // Never alone at the foot of a sheet.
        self.room(HEADING * 5.0);
        self.y += HEADING * 0.7;
        for line in lines(text, HEADING, true, self.whole(), self.width) {
            self.line(MARGIN, HEADING, true, &line);
            self.y += HEADING * LEADING;
        }
        self.y += 3.0;
    }

    fn paragraph(&mut self, text: &str) {
        for line in lines(text, TEXT, false, self.whole(), self.width) {
            self.room(TEXT * LEADING);
            self.line(MARGIN, TEXT, false, &line);
            self.y += TEXT * LEADING;
        }
        self.y += 4.0;
    }

    fn facts(&mut self, facts: &[(String, String)]) {
        let widest = facts
            .iter()
            .map(|(name, _)| (self.width)(name, true) * TEXT)
            .fold(0.0, f32::max);
        let at = MARGIN + widest + 2.0 * GAP;
        for (name, value) in facts {
            let value = lines(value, TEXT, false, SHEET.0 - MARGIN - at, self.width);
            self.room(TEXT * LEADING);
            self.line(MARGIN, TEXT, true, name);
            for line in value {
                self.room(TEXT * LEADING);
                self.line(at, TEXT, false, &line);
                self.y += TEXT * LEADING;
            }
        }
        self.y += 6.0;
    }

    fn table(&mut self, heads: &[(&'static str, f32)], rows: &[Vec<String>]) {
        let shares: f32 = heads.iter().map(|(_, share)| share).sum();
        let mut x = MARGIN;
        let columns: Vec<(f32, f32)> = heads
            .iter()
            .map(|(_, share)| {
                let wide = self.whole() * share / shares;
                let column = (x, wide - GAP);
                x += wide;
                column
            })
            .collect();
        let names: Vec<String> = heads.iter().map(|(name, _)| (*name).to_owned()).collect();
        let head = self.cells(&columns, &names, true);
        self.room(high(&head) * 2.0);
        self.row(&head, true);
        for row in rows {
            let cells = self.cells(&columns, row, false);
            if self.y + high(&cells) > BOTTOM && self.y > TOP {
                self.turn();
                self.row(&head, true);
            }
            self.row(&cells, false);
        }
        self.y += 6.0;
    }

    fn cells(&self, columns: &[(f32, f32)], row: &[String], bold: bool) -> Vec<Cell> {
        columns
            .iter()
            .zip(row)
            .map(|(&(x, wide), text)| (x, lines(text, TEXT, bold, wide, self.width)))
            .collect()
    }

    /// A row; one that is higher than a sheet goes on where the sheet ends.
    fn row(&mut self, cells: &[Cell], bold: bool) {
        let count = cells
            .iter()
            .map(|(_, lines)| lines.len())
            .max()
            .unwrap_or(0);
        self.y += 3.0;
        for n in 0..count {
            self.room(TEXT * LEADING);
            for (x, lines) in cells {
                if let Some(line) = lines.get(n).filter(|line| !line.is_empty()) {
                    self.line(*x, TEXT, bold, line);
                }
            }
            self.y += TEXT * LEADING;
        }
        self.y += 2.0;
        self.now.push(Mark::Rule {
            y: self.y,
            from: MARGIN,
            to: SHEET.0 - MARGIN,
        });
    }
}

fn high(cells: &[Cell]) -> f32 {
    let count = cells
        .iter()
        .map(|(_, lines)| lines.len())
        .max()
        .unwrap_or(0);
    count as f32 * TEXT * LEADING + 5.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every letter as wide as half its height.
    fn half(text: &str, _: bool) -> f32 {
        text.chars().count() as f32 * 0.5
    }

    fn letters(marks: &[Mark]) -> Vec<&str> {
        let text = |mark: &'_ Mark| match mark {
            Mark::Letters { .. } => true,
            Mark::Rule { .. } => false,
        };
        marks
            .iter()
            .filter(|m| text(m))
            .filter_map(|m| match m {
                Mark::Letters { text, .. } => Some(text.as_str()),
                Mark::Rule { .. } => None,
            })
            .collect()
    }

    #[test]
    fn words_are_kept_whole_where_they_fit_and_nothing_is_lost() {
        // Twenty letters at size 10 with half the width: ten a line of 50.
        let found = lines("aaaa bbbb cccccccccccccc d", 10.0, false, 50.0, &half);
        assert_eq!(found, ["aaaa bbbb", "cccccccccc", "cccc d"]);
        assert_eq!(lines("a\nb", 10.0, false, 50.0, &half), ["a", "b"]);
        assert_eq!(lines("", 10.0, false, 50.0, &half), [""]);
        // Narrower than a letter: one a line, and it ends.
        assert_eq!(lines("ab", 10.0, false, 1.0, &half), ["a", "b"]);
    }

    #[test]
    fn every_row_is_on_some_sheet_once_and_each_sheet_has_the_heads() {
        let rows: Vec<Vec<String>> = (0..200)
            .map(|n| vec![format!("row{n}"), "x".into()])
            .collect();
        let heads = vec![("Number", 1.0), ("What", 2.0)];
        let sheets = lay(&[Block::Table { heads, rows }], &half);
        assert!(sheets.len() > 3, "{}", sheets.len());
        for sheet in &sheets {
            assert_eq!(letters(sheet).iter().filter(|t| **t == "Number").count(), 1);
        }
        let all: Vec<&str> = sheets.iter().flat_map(|s| letters(s)).collect();
        for n in 0..200 {
            let name = format!("row{n}");
            assert_eq!(all.iter().filter(|t| **t == name).count(), 1, "{name}");
        }
    }

    #[test]
    fn nothing_is_outside_of_the_sheet() {
        let long = "word ".repeat(2_000);
        let blocks = [
            Block::Heading("H".repeat(400)),
            Block::Text(long.clone()),
            Block::Facts(vec![("Name".into(), long.clone())]),
            Block::Table {
                heads: vec![("A", 1.0), ("B", 1.0)],
                rows: vec![vec![long, "b".into()]],
            },
        ];
        for sheet in lay(&blocks, &half) {
            for mark in sheet {
                let (y, to) = match mark {
                    Mark::Letters {
                        x,
                        y,
                        size,
                        text,
                        bold,
                    } => (y, x + half(&text, bold) * size),
                    Mark::Rule { y, to, .. } => (y, to),
                };
                assert!(
                    y <= BOTTOM + 6.0 && to <= SHEET.0 - MARGIN + 0.1,
                    "{y} {to}"
                );
            }
        }
    }
}
