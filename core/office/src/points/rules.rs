//! The rules by which points are found.

use standsquare_journal::record::fact::{ChipProof, Outcome, Statement};
use standsquare_sync::beside::{Beside, LEFT, SETTLES, Side, compare};
use standsquare_sync::roster::EarlierMeasure;

use super::Point;
use super::keys::{Signer, points_of_keys};
use crate::keys::Said;
use crate::rules::Rules;

/// One measure of a dog on record.
#[derive(Clone, Debug)]
pub struct Measure {
    /// The session.
    pub session: [u8; 16],
    /// The device and the journal it was written in.
    pub journal: ([u8; 32], [u8; 16]),
    /// When it was stated, by the phone's clock.
    pub stated_ms: i64,
    /// What was stated.
    pub statement: Statement,
    /// How many have signed.
    pub signed: usize,
    /// Whether its session was closed by the phone that wrote it.
    pub closed: bool,
    /// Whether the office decided that it does not count.
    pub void: bool,
    /// Its signatures, where anything was said of keys; else empty.
    pub signers: Vec<Signer>,
    /// Bites and falls while the dog was at the table, signed with it or not: their words.
    pub happened: Vec<&'static str>,
    /// How often its handler objected at the table.
    pub objections: i64,
}

impl Measure {
    fn category(&self) -> Option<(&str, &str)> {
        match &self.statement.outcome {
            Outcome::Category { id, label } => Some((id, label)),
            _ => None,
        }
    }

    /// Whether it can speak for or against another measure.
    fn counts(&self) -> bool {
        !self.void && self.is_signed()
    }

    /// What its phone found, as it is compared with the session's other phone's.
    fn came(&self) -> String {
        self.statement.outcome.word()
    }

    /// What it and another one come to.
    fn beside(&self, other: &Measure) -> Beside {
        let (came, others) = (self.came(), other.came());
        let (flags, theirs) = (&self.statement.flags, &other.statement.flags);
        compare(
            &Side { came: &came, flags },
            &Side {
                came: &others,
                flags: theirs,
            },
        )
    }

    fn is_of_the_other_phone(&self, other: &Measure) -> bool {
        self.session == other.session && self.journal != other.journal
    }

    /// Whether the measurers have signed that the session's other phone's result stands.
    fn is_settled_against(&self, all: &[Measure]) -> bool {
        let mut others = all.iter().filter(|m| self.is_of_the_other_phone(m));
        others.any(|m| m.is_signed() && self.beside(m) == Beside::SecondStands)
    }

    fn is_signed(&self) -> bool {
        self.signed >= self.statement.measurers.len()
    }

    fn order(&self) -> (i32, i64, [u8; 32], [u8; 16], u32) {
        let (device, journal) = self.journal;
        (
            self.statement.day,
            self.stated_ms,
            device,
            journal,
            self.statement.visit,
        )
    }
}

/// The points of each of these measures, which are all those of one chip, in any
/// order. `known` are earlier measures from before the office's own records, `today`
/// being days since 1970-01-01 in them; `rules` say for each day how many attempts may be
/// broken off; `said` is what the office said of keys.
pub fn points_of(
    measures: &[Measure],
    known: &[(i32, EarlierMeasure)],
    rules: &Rules,
    said: &Said,
) -> Vec<Vec<Point>> {
    measures
        .iter()
        .map(|m| points_of_one(m, measures, known, rules, said))
        .collect()
}

fn points_of_one(
    this: &Measure,
    all: &[Measure],
    known: &[(i32, EarlierMeasure)],
    rules: &Rules,
    said: &Said,
) -> Vec<Point> {
    let s = &this.statement;
    let mut points = Vec::new();
    let mut add = |point: Point| {
        if !points.contains(&point) {
            points.push(point);
        }
    };
    // What names the other phone's statement is for who compares the two.
    for flag in s.flags.iter().filter(|f| !f.starts_with(SETTLES)) {
        add(Point::of(flag));
    }
    // After the first signature the statement cannot say it any more.
    for happened in &this.happened {
        add(Point::of(happened));
    }
    // A decision covers the objections that there were: one more is to be decided again.
    match this.objections {
        0 => {}
        1 => add(Point::of("objection")),
        n => add(Point {
            kind: "objection".into(),
            detail: n.to_string(),
        }),
    }
    if s.proof == ChipProof::Different {
        add(Point::of("chip-differs"));
    }
    if matches!(s.outcome, Outcome::Referred { .. }) {
        add(Point::of("referred"));
    }
    if this.closed && this.signed < s.measurers.len() {
        add(Point::of("unsigned"));
    }
    let others = || all.iter().filter(|m| m.order() != this.order());
    // The same dog in the same session on another phone.
    let mut beside = others().filter(|m| this.is_of_the_other_phone(m));
    if beside.any(|m| this.beside(m) == Beside::Disputed) {
        add(Point::of("phones-differ"));
    }
    if let Some(differing) = differing(this, all, known) {
        add(Point {
            kind: "measures-differ".into(),
            detail: differing,
        });
    }
    if matches!(s.outcome, Outcome::NotToday { .. })
        && let Some(most) = rules.on(s.day).doc().again.attempts
        && broken_off_before(this, all) >= most as usize
    {
        add(Point::of("too-many-attempts"));
    }
    for point in points_of_keys(this, said) {
        add(point);
    }
    points
}

/// The newest earlier measure that found another category: its day and category.
fn differing(this: &Measure, all: &[Measure], known: &[(i32, EarlierMeasure)]) -> Option<String> {
    let (id, _) = this.category()?;
    let on_record = all
        .iter()
        .filter(|m| {
            m.counts()
                && !m.is_settled_against(all)
                && m.session != this.session
                && m.order() < this.order()
        })
        .filter_map(|m| m.category().map(|(id, label)| (m.statement.day, id, label)));
    let from_before = known
        .iter()
        .filter(|(day, _)| *day < this.statement.day)
        .map(|(day, m)| (*day, m.category.as_str(), m.category.as_str()));
    let (day, other, label) = from_before.chain(on_record).max_by_key(|(day, ..)| *day)?;
    let date = crate::pages::day(day);
    (other != id).then(|| format!("{date}: {label}"))
}

/// Attempts broken off before this one, since the last measure that found a category.
fn broken_off_before(this: &Measure, all: &[Measure]) -> usize {
    let mut before: Vec<_> = all
        .iter()
        .filter(|m| !m.void && m.order() < this.order() && m.came() != LEFT)
        .collect();
    before.sort_by_key(|m| m.order());
    // Two phones' records of one attempt are one attempt.
    let mut sessions = std::collections::BTreeSet::new();
    before
        .into_iter()
        .rev()
        .take_while(|m| matches!(m.statement.outcome, Outcome::NotToday { .. }))
        .filter(|m| m.session != this.session && sessions.insert(m.session))
        .count()
}
