//! The year that a row belongs to. Phones' clocks may say anything: what no calendar
//! of four digits has is year 0.

use chrono::{DateTime, Datelike, NaiveDate};

/// The year of a day, days since 1970-01-01.
pub fn of_day(day: i32) -> i64 {
    usable(NaiveDate::from_epoch_days(day).map(|d| d.year()))
}

/// The year of a moment, Unix milliseconds.
pub fn of_moment(at_ms: i64) -> i64 {
    usable(DateTime::from_timestamp_millis(at_ms).map(|d| d.year()))
}

fn usable(year: Option<i32>) -> i64 {
    year.filter(|y| (1..=9999).contains(y)).map_or(0, i64::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_and_moments_have_years() {
        assert_eq!((of_day(0), of_day(-1), of_day(20_782)), (1970, 1969, 2026));
        assert_eq!((of_moment(-1), of_moment(1_795_597_200_000)), (1969, 2026));
        assert_eq!((of_day(i32::MAX), of_day(i32::MIN)), (0, 0));
        assert_eq!((of_moment(i64::MAX), of_moment(i64::MIN)), (0, 0));
    }
}
