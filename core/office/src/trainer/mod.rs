//! The trainer's pages: how sure the body's measures are, and one measurer's own numbers.
//!
//! Never a league table: the list of measurers bears no numbers, and a page shows one of them.
//! Nothing here changes a record.

mod drills;
mod page;
mod plot;

pub use drills::drills_csv;
pub(crate) use page::csv;
pub use page::{changes_csv, measurer, months_csv, overview};

use std::collections::{BTreeMap, HashSet};

use chrono::{Datelike, NaiveDate};
use standsquare_journal::record::fact::{Outcome, Statement};
use standsquare_measuring::RulePack;
use standsquare_measuring::gauge::changes::Changes;
use standsquare_measuring::gauge::drift::{self, Point};
use standsquare_measuring::gauge::{Least, Share, TooFew, share};

use crate::db::{self, DbFault};
use crate::state::OfficeState;

/// How sure the intervals are.
pub(crate) const LEVEL: f64 = 0.95;

/// A measure on record that everybody at the table signed.
#[derive(Clone, Debug)]
pub struct Measured {
    /// The day.
    pub day: NaiveDate,
    /// The dog's chip.
    pub chip: String,
    /// The category's place in the pack; none where the dog was not measured, or under rules with
    /// other categories.
    pub category: Option<usize>,
    /// 1 for a first measure, 2 for a second.
    pub measure: u8,
    /// Valid placings of one hoop were mixed.
    pub near_limit: bool,
    /// Who signed, ids in the roster.
    pub people: Vec<String>,
}

/// What one measurer's measures say.
#[derive(Clone, Debug)]
pub struct OfMeasurer {
    /// How many dogs they signed for.
    pub dogs: u64,
    /// Those with mixed placings.
    pub near_limit: Result<Share, TooFew>,
    /// Of the first measures they signed, those that the second one changed.
    pub changed: Result<Share, TooFew>,
    /// Each calendar month: its first day, how many with mixed placings, of how many.
    pub months: Vec<(NaiveDate, u64, u64)>,
    /// The months' control chart with its centre.
    pub chart: Result<(f64, Vec<Point>), TooFew>,
}

impl OfficeState {
    /// Every measure that everybody signed, oldest first, in one pass. Of one session written by two
    /// phones each dog counts once.
    ///
    /// Categories are those of the rules of `today`; one that they do not have is none.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn measured(&self, today: NaiveDate) -> Result<Vec<Measured>, DbFault> {
        let rules = self.rules()?;
        let pack = rules.on(today.to_epoch_days());
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT v.head, v.session, v.statement, g.person
                 FROM visits v JOIN signatures g
                   ON g.body = v.body AND g.year = v.year AND g.session = v.session
                  AND g.device_key = v.device_key AND g.journal = v.journal AND g.visit = v.visit
                 WHERE v.body = $1
                 ORDER BY v.day, v.stated_ms, v.head, g.seq",
                &[self.body()],
            )?;
            let mut all = Vec::new();
            let mut seen = HashSet::new();
            for group in rows.chunk_by(same_head) {
                let Some(first) = group.first() else { continue };
                let statement = Statement::decode_strict(&first.bytes(2)?)
                    .map_err(|e| DbFault::Unexpected(format!("a statement on record: {e}")))?;
                let people: Vec<String> =
                    group.iter().map(|r| r.text(3)).collect::<Result<_, _>>()?;
                let whole = people.len() >= statement.measurers.len();
                if whole && seen.insert((first.array::<16>(1)?, statement.chip.clone())) {
                    all.extend(measured(pack, statement, people));
                }
            }
            Ok(all)
        })
    }
}

fn same_head(a: &db::Row, b: &db::Row) -> bool {
    matches!((a.array::<32>(0), b.array::<32>(0)), (Ok(x), Ok(y)) if x == y)
}

fn measured(pack: &RulePack, s: Statement, people: Vec<String>) -> Option<Measured> {
    let day = NaiveDate::from_epoch_days(s.day)?;
    let category = match &s.outcome {
        Outcome::Category { id, .. } => pack.categories().iter().position(|c| c.id.as_str() == id),
        _ => None,
    };
    Some(Measured {
        day,
        chip: s.chip,
        category,
        measure: s.measure,
        near_limit: s.flags.iter().any(|f| f == "near-limit"),
        people,
    })
}

/// First measures of a chip with the second that followed; `all` oldest first.
fn pairs(all: &[Measured]) -> Vec<(&Measured, usize, usize)> {
    let mut firsts: BTreeMap<&str, &Measured> = BTreeMap::new();
    let mut found = Vec::new();
    for m in all.iter().filter(|m| !m.chip.is_empty()) {
        match (m.measure, m.category) {
            (1, Some(_)) => {
                firsts.insert(&m.chip, m);
            }
            (2, Some(second)) => {
                let first = firsts.remove(m.chip.as_str());
                found.extend(first.and_then(|f| Some((f, f.category?, second))));
            }
            _ => {}
        }
    }
    found
}

/// What second measures made of first ones.
pub fn changes(categories: usize, all: &[Measured]) -> Changes {
    let mut changes = Changes::new(categories);
    for (_, first, second) in pairs(all) {
        changes.add(first, second);
    }
    changes
}

/// One measurer's numbers.
pub fn of_measurer(all: &[Measured], person: &str, least: Least) -> OfMeasurer {
    let signed = |m: &Measured| m.people.iter().any(|p| p == person);
    let mut months: BTreeMap<NaiveDate, (u64, u64)> = BTreeMap::new();
    for m in all.iter().filter(|m| signed(m)) {
        let month = months
            .entry(m.day.with_day(1).unwrap_or(m.day))
            .or_default();
        month.0 += u64::from(m.near_limit);
        month.1 += 1;
    }
    let (near, dogs) = months
        .values()
        .fold((0, 0), |(k, n), (a, b)| (k + a, n + b));
    let own: Vec<bool> = pairs(all)
        .into_iter()
        .filter(|(first, ..)| signed(first))
        .map(|(_, a, b)| a != b)
        .collect();
    let counts: Vec<(u64, u64)> = months.values().copied().collect();
    OfMeasurer {
        dogs,
        near_limit: said(near, dogs, least.pairs),
        changed: said(
            own.iter().filter(|c| **c).count() as u64,
            own.len() as u64,
            least.pairs,
        ),
        chart: drift::shares(&counts, least.periods),
        months: months
            .into_iter()
            .map(|(day, (k, n))| (day, k, n))
            .collect(),
    }
}

fn said(count: u64, n: u64, least: u64) -> Result<Share, TooFew> {
    if n < least {
        return Err(TooFew {
            have: n,
            need: least,
        });
    }
    Ok(share(count, n, LEVEL))
}
