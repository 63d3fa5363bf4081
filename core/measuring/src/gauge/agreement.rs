//! How far measurers agree: percent, Cohen's kappa for pairs, Fleiss' kappa for panels.

use super::normal;
use super::proportion::{Share, TooFew, enough, share};

/// A kappa with its standard error and interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kappa {
    /// The coefficient: 1 is perfect agreement, 0 what chance would give.
    pub kappa: f64,
    /// Its standard error.
    pub error: f64,
    /// Lower end of the interval, not cut off.
    pub low: f64,
    /// Upper end, not cut off.
    pub high: f64,
}

/// What pairs say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agreement {
    /// How many pairs agree, of how many.
    pub agree: Share,
    /// Cohen's kappa; none where both only ever found one and the same thing, so that chance
    /// would agree as well.
    pub kappa: Option<Kappa>,
}

/// Agreement of pairs: `table[i][j]` counts how often the one found `i` where the other found
/// `j`. Kappa is Cohen's (1960), its error that of Fleiss, Cohen and Everitt (1969), not the one
/// under the hypothesis of no agreement.
///
/// # Errors
/// [`TooFew`] below `least` pairs.
pub fn pairs(table: &[Vec<u64>], level: f64, least: u64) -> Result<Agreement, TooFew> {
    let size = table.len();
    let at = |i: usize, j: usize| {
        table
            .get(i)
            .and_then(|row| row.get(j))
            .copied()
            .unwrap_or(0)
    };
    let n: u64 = (0..size)
        .flat_map(|i| (0..size).map(move |j| (i, j)))
        .map(|(i, j)| at(i, j))
        .sum();
    enough(n, least.max(1))?;
    let same: u64 = (0..size).map(|i| at(i, i)).sum();
    let all = n as f64;
    let p = |i: usize, j: usize| at(i, j) as f64 / all;
    let row: Vec<f64> = (0..size)
        .map(|i| (0..size).map(|j| p(i, j)).sum())
        .collect();
    let column: Vec<f64> = (0..size)
        .map(|j| (0..size).map(|i| p(i, j)).sum())
        .collect();
    let chance: f64 = row.iter().zip(&column).map(|(r, c)| r * c).sum();
    let observed = same as f64 / all;
    let agree = share(same, n, level);
    let one_only = table.iter().enumerate().any(|(i, _)| at(i, i) == n);
    if one_only {
        return Ok(Agreement { agree, kappa: None });
    }
    let kappa = (observed - chance) / (1.0 - chance);
    let (mut a, mut b) = (0.0, 0.0);
    for i in 0..size {
        a += p(i, i) * (1.0 - (row[i] + column[i]) * (1.0 - kappa)).powi(2);
        for j in (0..size).filter(|j| *j != i) {
            b += p(i, j) * (column[i] + row[j]).powi(2);
        }
    }
    b *= (1.0 - kappa).powi(2);
    let c = (kappa - chance * (1.0 - kappa)).powi(2);
    // Rounding may leave a hair below nothing where the error is nothing.
    let error = ((a + b - c).max(0.0) / (1.0 - chance).powi(2) / all).sqrt();
    let half = normal::two_sided(level) * error;
    Ok(Agreement {
        agree,
        kappa: Some(Kappa {
            kappa,
            error,
            low: kappa - half,
            high: kappa + half,
        }),
    })
}

/// What the panel of one row came to, for the sums below.
struct Sums {
    rows: f64,
    raters: f64,
    /// Σ over rows of Σ n².
    squares: f64,
    by_category: Vec<f64>,
}

impl Sums {
    fn kappa(&self) -> Option<f64> {
        let (n, m) = (self.rows, self.raters);
        let chance: f64 = self.by_category.iter().map(|c| (c / (n * m)).powi(2)).sum();
        let observed = (self.squares - n * m) / (n * m * (m - 1.0));
        let above_chance = 1.0 - chance;
        (above_chance > 1e-12).then(|| (observed - chance) / above_chance)
    }
}

/// What a panel's table cannot be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PanelFault {
    /// Too few rows.
    TooFew(TooFew),
    /// The rows do not all have the same number of raters, at least two.
    Uneven,
}

impl std::fmt::Display for PanelFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            PanelFault::TooFew(few) => few.fmt(f),
            PanelFault::Uneven => f.write_str(
                "every dog must have been judged by the same number of measurers, at least two",
            ),
        }
    }
}

impl std::error::Error for PanelFault {}

/// Fleiss' kappa (1971) of a panel: `rows[i][c]` counts how many of the panel put dog `i` into
/// category `c`. The error is the jackknife's over dogs (leave each out in turn), since Fleiss'
/// own is only for testing that there is no agreement at all. `None` where all only ever found one
/// category.
///
/// # Errors
/// [`PanelFault`].
pub fn panel(rows: &[Vec<u32>], level: f64, least: u64) -> Result<Option<Kappa>, PanelFault> {
    // The jackknife needs two rows to leave one out.
    enough(rows.len() as u64, least.max(2)).map_err(PanelFault::TooFew)?;
    let raters: u32 = rows[0].iter().sum();
    let width = rows[0].len();
    if raters < 2
        || rows
            .iter()
            .any(|r| r.len() != width || r.iter().sum::<u32>() != raters)
    {
        return Err(PanelFault::Uneven);
    }
    let squares = |row: &[u32]| row.iter().map(|c| f64::from(*c).powi(2)).sum::<f64>();
    let mut sums = Sums {
        rows: rows.len() as f64,
        raters: f64::from(raters),
        squares: rows.iter().map(|r| squares(r)).sum(),
        by_category: (0..width)
            .map(|c| rows.iter().map(|r| f64::from(r[c])).sum())
            .collect(),
    };
    let Some(kappa) = sums.kappa() else {
        return Ok(None);
    };
    let n = sums.rows;
    let whole = sums.squares;
    sums.rows = n - 1.0;
    let mut left_out = Vec::with_capacity(rows.len());
    for row in rows {
        sums.squares = whole - squares(row);
        let shift = |sums: &mut Sums, sign: f64| {
            for (all, c) in sums.by_category.iter_mut().zip(row) {
                *all += sign * f64::from(*c);
            }
        };
        shift(&mut sums, -1.0);
        // Without this row only one category may be left: full agreement.
        left_out.push(sums.kappa().unwrap_or(1.0));
        shift(&mut sums, 1.0);
    }
    let mean = left_out.iter().sum::<f64>() / n;
    let spread: f64 = left_out.iter().map(|k| (k - mean).powi(2)).sum();
    let error = ((n - 1.0) / n * spread).sqrt();
    let half = normal::two_sided(level) * error;
    Ok(Some(Kappa {
        kappa,
        error,
        low: kappa - half,
        high: kappa + half,
    }))
}
