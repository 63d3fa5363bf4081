//! Moments, keys and statements in the words of a report.

use crate::record::fact::{Outcome, Statement};
use crate::record::notice::Standing;

/// How a key stood. All of it goes by the phone's own clock; what the office has received
/// by the day of a revocation was surely signed before it.
pub(super) fn in_words(standing: Standing) -> String {
    match standing {
        Standing::Unknown => "the office has enrolled no such key".into(),
        Standing::NotTheirs => "the office enrolled that key for somebody else".into(),
        Standing::NotYet { from_ms } => format!("key enrolled only from {}", moment(from_ms)),
        Standing::Good => "key enrolled".into(),
        Standing::RevokedLater { from_ms, why } => format!(
            "key revoked from {} on ({}), signed before",
            moment(from_ms),
            why.word()
        ),
        Standing::Over { until_ms } => format!("key enrolled only until {}", moment(until_ms)),
        Standing::Revoked { from_ms, why } => format!(
            "key revoked from {} on ({}), signed after",
            moment(from_ms),
            why.word()
        ),
    }
}

/// A moment in UTC, `2026-11-25 09:00:00`.
fn moment(at_ms: i64) -> String {
    let seconds = at_ms.div_euclid(1_000);
    let (day, second) = (seconds.div_euclid(86_400), seconds.rem_euclid(86_400));
    let (year, month, day) = date(day);
    let (hour, minute) = (second / 3_600, second / 60 % 60);
    format!(
        "{year:04}-{month:02}-{day:02} {hour:02}:{minute:02}:{:02} UTC",
        second % 60
    )
}

/// Year, month and day of a day counted from 1970-01-01, in the Gregorian calendar without
/// an end: years of 400 are alike.
fn date(day: i64) -> (i64, u8, i64) {
    const OF_400_YEARS: i64 = 146_097;
    let mut year = 1970 + day.div_euclid(OF_400_YEARS) * 400;
    let mut rest = day.rem_euclid(OF_400_YEARS);
    let leap = |year: i64| year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = |year: i64| if leap(year) { 366 } else { 365 };
    while rest >= days(year) {
        rest -= days(year);
        year += 1;
    }
    let february = if leap(year) { 29 } else { 28 };
    let mut month = 1;
    for days in [31, february, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31] {
        if rest < days {
            break;
        }
        rest -= days;
        month += 1;
    }
    (year, month, rest + 1)
}

/// Dogs by their places in the day.
pub(super) fn numbers(dogs: &[u32]) -> String {
    let words: Vec<String> = dogs.iter().map(u32::to_string).collect();
    words.join(", ")
}

/// Bytes in hexadecimal digits.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// What was stated of a dog.
pub(super) fn summary(s: &Statement) -> String {
    let outcome = match &s.outcome {
        Outcome::Category { label, .. } => label.clone(),
        Outcome::NotToday { reason } => format!("not today ({reason})"),
        Outcome::Referred { reason } => format!("referred ({reason})"),
    };
    let chip = match s.chip.as_str() {
        "" => "no chip in the record book",
        chip => chip,
    };
    format!("{}, {chip}, {outcome}", s.dog)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_reads_as_a_calendar_has_it() {
        // Common knowledge: Unix time 0, 10^9, and days about a leap day.
        for (at_ms, said) in [
            (0, "1970-01-01 00:00:00 UTC"),
            (1_000_000_000_000, "2001-09-09 01:46:40 UTC"),
            (-1, "1969-12-31 23:59:59 UTC"),
            (951_782_400_000, "2000-02-29 00:00:00 UTC"),
            (951_868_800_000, "2000-03-01 00:00:00 UTC"),
            (1_795_597_200_000, "2026-11-25 09:00:00 UTC"),
        ] {
            assert_eq!(moment(at_ms), said);
        }
    }
}
