//! What the second measure makes of the first.

use super::proportion::{Share, TooFew, enough, share};

/// What became of the dogs of one first category.
#[derive(Clone, Debug, PartialEq)]
pub struct From {
    /// How many dogs.
    pub n: u64,
    /// The share found in each category at the second measure, in the pack's order; or silence.
    pub to: Result<Vec<Share>, TooFew>,
}

/// Counts of first and second categories.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changes(Vec<Vec<u64>>);

impl Changes {
    /// Nothing yet, of so many categories.
    pub fn new(categories: usize) -> Self {
        Changes(vec![vec![0; categories]; categories])
    }

    /// One dog. Categories that the pack does not have are not counted.
    pub fn add(&mut self, first: usize, second: usize) {
        if let Some(n) = self.0.get_mut(first).and_then(|row| row.get_mut(second)) {
            *n += 1;
        }
    }

    /// The counts, a row for each first category.
    pub fn counts(&self) -> &[Vec<u64>] {
        &self.0
    }

    /// Each row with its shares and their intervals; silent below `least` dogs.
    pub fn rows(&self, level: f64, least: u64) -> Vec<From> {
        self.0
            .iter()
            .map(|row| {
                let n = row.iter().sum();
                From {
                    n,
                    to: enough(n, least.max(1))
                        .map(|()| row.iter().map(|k| share(*k, n, level)).collect()),
                }
            })
            .collect()
    }

    /// The share of all dogs whose category changed.
    ///
    /// # Errors
    /// [`TooFew`].
    pub fn changed(&self, level: f64, least: u64) -> Result<Share, TooFew> {
        let n: u64 = self.0.iter().flatten().sum();
        enough(n, least.max(1))?;
        let same: u64 = self
            .0
            .iter()
            .enumerate()
            .filter_map(|(i, row)| row.get(i))
            .sum();
        Ok(share(n - same, n, level))
    }
}
