//! Records of practice that a trainer signed, as phones brought them.

use standsquare_measuring::gauge::practice::DrillRecord;
use standsquare_measuring::gauge::probit::gather;
use standsquare_measuring::gauge::{Cell, Least};

use crate::db::{self, DbFault, Row};
use crate::rules::Rules;
use crate::state::OfficeState;

/// A record of practice.
#[derive(Clone, Debug, PartialEq)]
pub struct Practised {
    /// Who signed: id in the roster.
    pub trainer: String,
    /// What they signed.
    pub record: DrillRecord,
}

impl Practised {
    /// Placings that count, and of these the right ones.
    pub fn right(&self) -> (u64, u64) {
        let found = self
            .record
            .drill
            .feedback(&self.record.answers, 0.95, Least::default());
        found.map_or((0, 0), |f| (f.tally.1, f.tally.0))
    }

    /// The placings that count, by their room.
    pub fn cells(&self) -> Vec<Cell> {
        let placings = self.record.drill.placings(&self.record.answers).into_iter();
        placings
            .map(|(room, flat)| Cell::one(room.micrometres() as f64 / 1_000.0, flat))
            .collect()
    }
}

/// All placings of these records, equal ones together.
pub fn cells(all: &[Practised]) -> Vec<Cell> {
    gather(all.iter().flat_map(Practised::cells).collect())
}

impl OfficeState {
    /// One person's records of practice, oldest first: those whose drill is the one of its seed, by
    /// the rules of its day.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn practised(&self, trainee: &str) -> Result<Vec<Practised>, DbFault> {
        let rules = self.rules()?;
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT trainer, record FROM practice WHERE body = $1 AND trainee = $2
                 ORDER BY day, signed_ms, id",
                &[self.body(), trainee.into()],
            )?;
            read(&rules, &rows)
        })
    }

    /// Everybody's, by trainee.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn all_practised(&self) -> Result<Vec<Practised>, DbFault> {
        let rules = self.rules()?;
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT trainer, record FROM practice WHERE body = $1
                 ORDER BY trainee, day, signed_ms, id",
                &[self.body()],
            )?;
            read(&rules, &rows)
        })
    }
}

fn read(rules: &Rules, rows: &[Row]) -> Result<Vec<Practised>, DbFault> {
    let mut all = Vec::new();
    for row in rows {
        let record: DrillRecord = serde_json::from_slice(&row.bytes(1)?)
            .map_err(|e| DbFault::Unexpected(format!("a record of practice: {e}")))?;
        if record.holds(rules.on(record.on.to_epoch_days())) {
            all.push(Practised {
                trainer: row.text(0)?,
                record,
            });
        }
    }
    Ok(all)
}
