//! Days as numbers in the record and as dates everywhere else.

use chrono::{DateTime, FixedOffset, NaiveDate};

/// The date of a day counted from 1970-01-01; that day itself for one that no calendar has.
pub fn date(day: i32) -> NaiveDate {
    NaiveDate::from_epoch_days(day).unwrap_or_default()
}

/// The number of a date's day, counted from 1970-01-01.
pub fn number(date: NaiveDate) -> i32 {
    date.to_epoch_days()
}

/// The day that a moment falls on, `offset_min` minutes east of UTC. A moment or
/// offset outside what a calendar can hold falls back to UTC, then to 1970.
pub fn of_moment(at_ms: i64, offset_min: i32) -> NaiveDate {
    let Some(utc) = DateTime::from_timestamp_millis(at_ms) else {
        return NaiveDate::default();
    };
    match offset_min.checked_mul(60).and_then(FixedOffset::east_opt) {
        Some(offset) => utc.with_timezone(&offset).date_naive(),
        None => utc.date_naive(),
    }
}

/// A day as a person types it: `YYYY-MM-DD`, or the same eight digits with anything or
/// nothing between them.
pub fn typed(text: &str) -> Option<NaiveDate> {
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    if digits.len() != 8 || text.chars().any(char::is_alphabetic) {
        return None;
    }
    NaiveDate::from_ymd_opt(
        digits[..4].parse().ok()?,
        digits[4..6].parse().ok()?,
        digits[6..].parse().ok()?,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_is_typed_with_or_without_marks_between() {
        for text in ["2024-02-29", "20240229", "2024 02 29", "2024.02.29"] {
            assert_eq!(
                typed(text).map(|d| d.to_string()).as_deref(),
                Some("2024-02-29")
            );
        }
        for text in ["", "20230229", "2024-2-29", "x2024-02-29", "202402291"] {
            assert_eq!(typed(text), None, "{text}");
        }
    }

    #[test]
    fn a_late_evening_belongs_to_its_own_days_date() {
        // 2026-11-25T23:30:00Z is already the 26th an hour further east.
        let at = 1_795_649_400_000;
        assert_eq!(of_moment(at, 0).to_string(), "2026-11-25");
        assert_eq!(of_moment(at, 60).to_string(), "2026-11-26");
        assert_eq!(date(number(of_moment(at, 60))), of_moment(at, 60));
    }
}
