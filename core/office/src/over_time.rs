//! Returns over time: how many sessions and dogs came in, month by month, and how many of
//! the dogs wait for a decision.

use chrono::{Datelike, Months, NaiveDate};
use std::collections::BTreeMap;

use crate::db::{self, DbFault};
use crate::state::OfficeState;

/// How many months are shown. Own choice, no source: a second measure falls at most so long
/// after the first in the demo league's rules.
pub const MONTHS: u32 = 24;

/// A month's returns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Month {
    /// Its first day.
    pub first: NaiveDate,
    /// Sessions, each phone's record of one counted by itself.
    pub sessions: i64,
    /// Dogs on record.
    pub dogs: i64,
    /// Of these, those that wait for a decision.
    pub open: i64,
}

impl OfficeState {
    /// The last [`MONTHS`] months up to today, oldest first; those without a return, too.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn returns_over_time(&self, today: NaiveDate) -> Result<Vec<Month>, DbFault> {
        let this = today.with_day(1).unwrap_or(today);
        let first = this
            .checked_sub_months(Months::new(MONTHS - 1))
            .unwrap_or(this);
        let mut months: BTreeMap<NaiveDate, Month> = (0..MONTHS)
            .filter_map(|n| first.checked_add_months(Months::new(n)))
            .map(|first| {
                let none = Month {
                    first,
                    sessions: 0,
                    dogs: 0,
                    open: 0,
                };
                (first, none)
            })
            .collect();
        let (days, sessions) = db::read(self.engine(), |sql| {
            let from = [
                self.body(),
                i64::from(first.year()).into(),
                i64::from(first.to_epoch_days()).into(),
            ];
            let days = sql.query(
                "SELECT day, COUNT(*), COUNT(CASE WHEN weight > 0 THEN 1 END) FROM visits
                 WHERE body = $1 AND year >= $2 AND day >= $3 GROUP BY day",
                &from,
            )?;
            let sessions = sql.query(
                "SELECT day, COUNT(*) FROM sessions
                 WHERE body = $1 AND year >= $2 AND day >= $3 GROUP BY day",
                &from,
            )?;
            Ok((days, sessions))
        })?;
        for row in days {
            let (dogs, open) = (row.int(1)?, row.int(2)?);
            if let Some(month) = month_of(row.int(0)?).and_then(|first| months.get_mut(&first)) {
                month.dogs += dogs;
                month.open += open;
            }
        }
        for row in sessions {
            let sessions = row.int(1)?;
            if let Some(month) = month_of(row.int(0)?).and_then(|first| months.get_mut(&first)) {
                month.sessions += sessions;
            }
        }
        Ok(months.into_values().collect())
    }
}

/// The first day of a day's month.
fn month_of(day: i64) -> Option<NaiveDate> {
    NaiveDate::from_epoch_days(i32::try_from(day).ok()?)?.with_day(1)
}
