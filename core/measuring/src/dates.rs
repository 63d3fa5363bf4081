//! Calendar sums: ages, windows and where a day lies in them. Every date is a calendar day in the
//! session's own time zone; this crate never sees a clock.

use std::fmt;
use std::str::FromStr;

use chrono::{Days, Months, NaiveDate};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

/// The longest span a pack may name, 100 years, in months.
const MOST_MONTHS: u32 = 1_200;
/// The most days a pack may add or take off.
const MOST_DAYS: i32 = 36_600;

/// Calendar months and then days. Years are twelve months. Written `"2 years"`, `"15 months"`,
/// `"18 months 1 day"`, `"24 months - 14 days"`.
///
/// Months are added first and held at the end of a shorter month (31 January and one month is the
/// last of February; 29 February and twelve months is 28 February), then the days.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Span {
    /// Calendar months.
    pub months: u32,
    /// Days after (or, negative, before) that.
    pub days: i32,
}

impl Span {
    /// That many calendar months.
    pub const fn months(months: u32) -> Self {
        Span { months, days: 0 }
    }

    /// The day this span after `from`; `None` only beyond the calendar's end (year 262 142).
    pub fn after(self, from: NaiveDate) -> Option<NaiveDate> {
        let date = from.checked_add_months(Months::new(self.months))?;
        let days = Days::new(u64::from(self.days.unsigned_abs()));
        if self.days < 0 {
            date.checked_sub_days(days)
        } else {
            date.checked_add_days(days)
        }
    }

    /// For comparing two spans of one pack where no date is given: months of 30 days and a bit,
    /// scaled to whole numbers (400 years are 4 800 months and 146 097 days).
    pub(crate) fn rough_days(self) -> i64 {
        i64::from(self.months) * 146_097 + i64::from(self.days) * 4_800
    }
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = |n: u32, one: &'static str| {
            if n == 1 {
                one.to_owned()
            } else {
                format!("{one}s")
            }
        };
        let days = self.days.unsigned_abs();
        match (self.months, self.days) {
            (0, d) if d < 0 => write!(f, "0 months - {days} {}", unit(days, "day")),
            (0, _) => write!(f, "{days} {}", unit(days, "day")),
            (m, 0) => write!(f, "{m} {}", unit(m, "month")),
            (m, d) => {
                let minus = if d < 0 { "- " } else { "" };
                write!(
                    f,
                    "{m} {} {minus}{days} {}",
                    unit(m, "month"),
                    unit(days, "day")
                )
            }
        }
    }
}

impl FromStr for Span {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let short: String = text.chars().take(40).collect();
        let wrong = || {
            format!(
                "'{short}' is not a span of time; write for example \"2 years\", \"15 months\", \
                 \"18 months 1 day\" or \"24 months - 14 days\" (100 years at most)"
            )
        };
        let mut span = Span::default();
        let mut words = text.split_whitespace().peekable();
        // Units must come in falling order, each at most once; only days may be taken off.
        let mut last = 0;
        while let Some(word) = words.next() {
            let minus = word == "-";
            let number = if minus {
                words.next().ok_or_else(wrong)?
            } else {
                word
            };
            if number.len() > 5 || !number.bytes().all(|b| b.is_ascii_digit()) {
                return Err(wrong());
            }
            let n: u32 = number.parse().map_err(|_| wrong())?;
            let (rank, months_each) = match words.next().ok_or_else(wrong)? {
                "year" | "years" => (1, 12),
                "month" | "months" => (2, 1),
                "week" | "weeks" => (3, 0),
                "day" | "days" => (4, 0),
                _ => return Err(wrong()),
            };
            if rank <= last || (minus && rank < 3) {
                return Err(wrong());
            }
            last = rank;
            span.months += n * months_each;
            let days = match rank {
                3 => n * 7,
                4 => n,
                _ => 0,
            };
            let days = i32::try_from(days).map_err(|_| wrong())?;
            span.days += if minus { -days } else { days };
        }
        if last == 0 || span.months > MOST_MONTHS || span.days.abs() > MOST_DAYS {
            return Err(wrong());
        }
        Ok(span)
    }
}

impl Serialize for Span {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Span {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let text = String::deserialize(d)?;
        text.parse().map_err(de::Error::custom)
    }
}

/// A day as files write it: the year in four digits, the month and the day, hyphens between.
///
/// The calendar library's own reader knows every way of writing dates, and weighed 20 kB on a
/// phone.
pub fn day(text: &str) -> Option<NaiveDate> {
    let mut parts = text.trim().split('-');
    let mut number = |digits: std::ops::RangeInclusive<usize>| -> Option<u32> {
        let part = parts.next().filter(|part| digits.contains(&part.len()))?;
        let digits = part.bytes().all(|b| b.is_ascii_digit());
        part.parse().ok().filter(|_| digits)
    };
    let (year, month, day) = (number(4..=4)?, number(1..=2)?, number(1..=2)?);
    match parts.next() {
        None => NaiveDate::from_ymd_opt(year.cast_signed(), month, day),
        Some(_) => None,
    }
}

/// A stretch of days, both ends included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Window {
    /// The first day in it.
    pub from: NaiveDate,
    /// The last day in it.
    pub to: NaiveDate,
}

/// Where a day lies against a window.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum WindowPosition {
    /// Before its first day.
    TooEarly,
    /// In it, ends included.
    InWindow,
    /// After its last day.
    Late,
}

impl Window {
    /// From one span after `origin` to another, both days included.
    pub fn after(origin: NaiveDate, from: Span, to: Span) -> Option<Window> {
        Some(Window {
            from: from.after(origin)?,
            to: to.after(origin)?,
        })
    }

    /// Where `day` lies.
    pub fn position(&self, day: NaiveDate) -> WindowPosition {
        if day < self.from {
            WindowPosition::TooEarly
        } else if day > self.to {
            WindowPosition::Late
        } else {
            WindowPosition::InWindow
        }
    }
}

/// A date in a pack: a TOML date (`2026-01-31`) or the same as text.
pub(crate) mod pack_date {
    use super::*;

    pub fn serialize<S: Serializer>(date: &NaiveDate, s: S) -> Result<S::Ok, S::Error> {
        date.serialize(s)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<NaiveDate, D::Error> {
        struct Visitor;
        impl<'de> de::Visitor<'de> for Visitor {
            type Value = NaiveDate;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a date such as 2026-01-31")
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<NaiveDate, E> {
                let right_shape = text.len() == 10;
                text.parse()
                    .ok()
                    .filter(|_| right_shape)
                    .ok_or_else(|| E::invalid_value(de::Unexpected::Str(text), &self))
            }

            fn visit_map<A: de::MapAccess<'de>>(self, map: A) -> Result<NaiveDate, A::Error> {
                let access = de::value::MapAccessDeserializer::new(map);
                let date = toml::value::Datetime::deserialize(access)?;
                self.visit_str(&date.to_string())
            }
        }
        d.deserialize_any(Visitor)
    }

    pub mod option {
        use super::*;

        pub fn serialize<S: Serializer>(date: &Option<NaiveDate>, s: S) -> Result<S::Ok, S::Error> {
            date.serialize(s)
        }

        pub fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<Option<NaiveDate>, D::Error> {
            #[derive(Deserialize)]
            struct Wrapped(#[serde(with = "super")] NaiveDate);
            Ok(Option::<Wrapped>::deserialize(d)?.map(|w| w.0))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn span(text: &str) -> Span {
        text.parse().unwrap()
    }

    /// Against the calendar library's own reader, on all that has this form, near it or not.
    #[test]
    fn a_day_is_read_as_the_calendar_library_reads_it() {
        let texts = [
            "2026-01-31",
            "2026-02-29",
            "2024-02-29",
            "2026-13-01",
            "2026-00-10",
            "2026-1-3",
            "0001-01-01",
            "9999-12-31",
            "2026-01-32",
            "2026-01",
            "2026-01-01-01",
            "",
            "-",
            "--",
            " 2026-01-31 ",
            "2026-0a-01",
            "20260131",
            "2026/01/31",
            "2026-011-01",
        ];
        for text in texts {
            assert_eq!(super::day(text), text.parse().ok(), "{text}");
        }
        let first = day("1899-12-25");
        for n in 0..90_000 {
            let date = first + Days::new(n);
            assert_eq!(super::day(&date.to_string()), Some(date));
        }
    }

    #[test]
    fn months_are_held_at_month_ends_and_leap_days() {
        for (from, by, to) in [
            ("2024-01-31", "1 month", "2024-02-29"),
            ("2023-01-31", "1 month", "2023-02-28"),
            ("2024-02-29", "12 months", "2025-02-28"),
            ("2024-02-29", "4 years", "2028-02-29"),
            ("2024-08-31", "18 months 1 day", "2026-03-01"),
            ("2024-03-15", "24 months - 14 days", "2026-03-01"),
            ("2024-03-15", "2 years - 2 weeks", "2026-03-01"),
            ("2024-12-31", "0 days", "2024-12-31"),
        ] {
            assert_eq!(span(by).after(day(from)), Some(day(to)), "{from} + {by}");
        }
    }

    #[test]
    fn a_window_includes_both_its_days() {
        let w = Window::after(day("2026-03-10"), Span::months(12), Span::months(24)).unwrap();
        for (on, position) in [
            ("2027-03-09", WindowPosition::TooEarly),
            ("2027-03-10", WindowPosition::InWindow),
            ("2028-03-10", WindowPosition::InWindow),
            ("2028-03-11", WindowPosition::Late),
        ] {
            assert_eq!(w.position(day(on)), position, "{on}");
        }
    }

    #[test]
    fn spans_are_written_and_read_again() {
        for text in [
            "15 months",
            "1 month",
            "18 months 1 day",
            "24 months - 14 days",
            "0 days",
            "0 months - 3 days",
            "1 day",
        ] {
            assert_eq!(span(text).to_string(), text);
        }
        assert_eq!(span("2 years").to_string(), "24 months");
        assert_eq!(
            span("1 year 3 months 2 days"),
            Span {
                months: 15,
                days: 2
            }
        );
        for text in [
            "",
            "+3 days",
            "4294967295 years",
            "months",
            "3",
            "3 moons",
            "1 day 1 month",
            "- 3 months",
            "101 years",
            "999999 days",
            "1 month 1 month",
            "-",
            "- 3",
            "3 days -",
        ] {
            let error = text.parse::<Span>().expect_err(text);
            assert!(error.contains("write for example"), "{error}");
        }
    }

    #[test]
    fn spans_are_compared_by_their_days() {
        for (shorter, longer) in [
            ("12 months - 1 day", "12 months"),
            ("12 months", "12 months 1 day"),
            ("364 days", "1 year"),
            ("1 year", "366 days"),
            ("30 days", "1 month"),
            ("1 month", "31 days"),
        ] {
            assert!(
                span(shorter).rough_days() < span(longer).rough_days(),
                "{shorter}"
            );
        }
        assert_eq!(span("100 years").rough_days(), 1_200 * 146_097);
        assert_eq!(span("3 days").rough_days(), 3 * 4_800);
    }

    #[test]
    fn the_longest_spans_are_taken() {
        assert_eq!(span("100 years"), Span::months(1_200));
        assert_eq!(span("36600 days").days, 36_600);
        for text in [
            "100 years 1 month",
            "36601 days",
            "5230 weeks",
            "0 months - 36601 days",
        ] {
            assert!(text.parse::<Span>().is_err(), "{text}");
        }
        assert_eq!(span("1 year").after(NaiveDate::MAX), None);
        assert_eq!(span("0 months - 1 day").after(NaiveDate::MIN), None);
    }
}
