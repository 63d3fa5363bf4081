//! A body's year in one pass: what its records say of how sure its measures are.

use std::collections::HashMap;

use chrono::{Datelike, NaiveDate};

use super::agreement::{Agreement, pairs};
use super::changes::Changes;
use super::drift::{Period, Point, of_measurer};
use super::pooled::{Pooled, pooled};
use super::probit::{Cell, FitFault, gather};
use super::proportion::{Least, TooFew};
use crate::ids::MeasurerId;

/// A placing over a dog whose height is known otherwise: by a scale, a panel, or a model dog.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// The day.
    pub on: NaiveDate,
    /// The hoop's inside height less the dog's height, millimetres.
    pub room_mm: f64,
    /// Whether it came down flat.
    pub flat: bool,
}

/// A measurer's part of the year.
#[derive(Clone, Debug, Default)]
struct Part {
    placings: Vec<Known>,
}

/// Takes records in, in any order, each once.
#[derive(Clone, Debug)]
pub struct Year {
    categories: usize,
    names: Vec<MeasurerId>,
    index: HashMap<MeasurerId, usize>,
    parts: Vec<Part>,
    pairs: Vec<Vec<u64>>,
    own_pairs: HashMap<usize, Vec<Vec<u64>>>,
    first: HashMap<u64, usize>,
    changes: Changes,
}

/// What a year says of one measurer.
#[derive(Clone, Debug, PartialEq)]
pub struct OfMeasurer {
    /// Who.
    pub measurer: MeasurerId,
    /// Agreement with whoever judged the same dogs.
    pub agreement: Result<Agreement, TooFew>,
    /// Drift, by calendar months: above the middle reads low.
    pub drift: Result<Vec<Point>, TooFew>,
    /// Their place in [`Report::pooled`].
    pub index: usize,
}

/// What a year says.
#[derive(Clone, Debug)]
pub struct Report {
    /// Agreement of all pairs.
    pub agreement: Result<Agreement, TooFew>,
    /// What second measures made of first ones.
    pub changes: Changes,
    /// Spread and biases.
    pub pooled: Result<Pooled, FitFault>,
    /// Each measurer, in the order in which they first came.
    pub measurers: Vec<OfMeasurer>,
}

impl Year {
    /// Nothing yet, for a pack of so many categories.
    pub fn new(categories: usize) -> Self {
        Year {
            categories,
            names: Vec::new(),
            index: HashMap::new(),
            parts: Vec::new(),
            pairs: vec![vec![0; categories]; categories],
            own_pairs: HashMap::new(),
            first: HashMap::new(),
            changes: Changes::new(categories),
        }
    }

    fn measurer(&mut self, id: &MeasurerId) -> usize {
        if let Some(i) = self.index.get(id) {
            return *i;
        }
        let i = self.names.len();
        self.names.push(id.clone());
        self.index.insert(id.clone(), i);
        self.parts.push(Part::default());
        i
    }

    /// A placing over a dog of known height.
    pub fn placing(&mut self, by: &MeasurerId, known: Known) {
        let i = self.measurer(by);
        self.parts[i].placings.push(known);
    }

    /// What two measurers found of one dog on one day, each on their own. Categories that the
    /// pack does not have are not counted.
    pub fn pair(&mut self, one: (&MeasurerId, usize), other: (&MeasurerId, usize)) {
        let n = self.categories;
        if one.1 >= n || other.1 >= n {
            return;
        }
        // Nobody comes first: the smaller id stands for the row, so that the table is one thing.
        let (a, b) = if one.0 <= other.0 {
            (one, other)
        } else {
            (other, one)
        };
        self.pairs[a.1][b.1] += 1;
        for (who, whose) in [(one, other), (other, one)] {
            let i = self.measurer(who.0);
            let table = self
                .own_pairs
                .entry(i)
                .or_insert_with(|| vec![vec![0; n]; n]);
            table[who.1][whose.1] += 1;
        }
    }

    /// A dog's first or second measure; `dog` is any number that stands for it. The second must
    /// come after the first.
    pub fn measure(&mut self, dog: u64, category: usize) {
        match self.first.remove(&dog) {
            Some(first) => self.changes.add(first, category),
            None => {
                self.first.insert(dog, category);
            }
        }
    }

    /// What it all says, at a level such as 0.95.
    pub fn report(self, level: f64, least: Least) -> Report {
        let groups: Vec<Vec<Cell>> = self
            .parts
            .iter()
            .map(|p| {
                gather(
                    p.placings
                        .iter()
                        .map(|k| Cell::one(k.room_mm, k.flat))
                        .collect(),
                )
            })
            .collect();
        let used: Vec<Vec<Cell>> = groups;
        let pooled = pooled(&used, level, least.placings);
        let measurers = self
            .names
            .iter()
            .enumerate()
            .map(|(index, measurer)| OfMeasurer {
                measurer: measurer.clone(),
                agreement: pairs(
                    self.own_pairs.get(&index).map_or(&[], Vec::as_slice),
                    level,
                    least.pairs,
                ),
                drift: drift(&self.parts[index].placings, pooled.as_ref().ok(), least),
                index,
            })
            .collect();
        Report {
            agreement: pairs(&self.pairs, level, least.pairs),
            changes: self.changes,
            pooled,
            measurers,
        }
    }
}

/// A measurer's placings by calendar month against the body's common spread and bias.
fn drift(placings: &[Known], pooled: Option<&Pooled>, least: Least) -> Result<Vec<Point>, TooFew> {
    let mut months: std::collections::BTreeMap<(i32, u32), Period> = Default::default();
    let placer = pooled.and_then(|p| super::Placer::new(p.spread_mm.value, p.bias_mm.value).ok());
    if let Some(placer) = placer {
        for k in placings {
            let month = months.entry((k.on.year(), k.on.month())).or_default();
            month.add(k.flat, placer.flat(0.0, k.room_mm));
        }
    }
    let periods: Vec<Period> = months.into_values().collect();
    of_measurer(&periods, least.periods)
}
