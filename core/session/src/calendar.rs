//! A calendar entry (RFC 5545) for the window of a second measure.

use chrono::{DateTime, Datelike, NaiveDate, Timelike};

/// Octets of a line, its end not counted (RFC 5545, section 3.1).
const LINE: usize = 75;

/// The text of a calendar with one entry over whole days, both included.
///
/// `uid` names it for good; `made_ms` is when it was made, Unix milliseconds.
pub fn entry(uid: &str, made_ms: i64, from: NaiveDate, to: NaiveDate, summary: &str) -> String {
    let made = DateTime::from_timestamp_millis(made_ms).unwrap_or_default();
    // The end is the first day that is no part of it (section 3.6.1).
    let end = to.succ_opt().unwrap_or(to);
    let mut out = String::new();
    for text in [
        "BEGIN:VCALENDAR".to_owned(),
        "VERSION:2.0".to_owned(),
        "PRODID:-//Standsquare//Standsquare//EN".to_owned(),
        "BEGIN:VEVENT".to_owned(),
        format!("UID:{}", escaped(uid)),
        format!(
            "DTSTAMP:{}T{:02}{:02}{:02}Z",
            digits(made.date_naive()),
            made.hour(),
            made.minute(),
            made.second()
        ),
        format!("DTSTART;VALUE=DATE:{}", digits(from)),
        format!("DTEND;VALUE=DATE:{}", digits(end)),
        format!("SUMMARY:{}", escaped(summary)),
        // Nobody is busy for a year.
        "TRANSP:TRANSPARENT".to_owned(),
        "END:VEVENT".to_owned(),
        "END:VCALENDAR".to_owned(),
    ] {
        fold(&mut out, &text);
    }
    out
}

/// A day in eight digits (section 3.3.4).
fn digits(day: NaiveDate) -> String {
    format!("{:04}{:02}{:02}", day.year(), day.month(), day.day())
}

/// A text value (section 3.3.11). Control characters have no place in one.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '\\' | ';' | ',' => out.extend(['\\', c]),
            '\n' => out.push_str("\\n"),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

/// A content line, folded so that no line is too long and no character is cut.
fn fold(out: &mut String, line: &str) {
    let mut used = 0;
    for c in line.chars() {
        if used + c.len_utf8() > LINE {
            out.push_str("\r\n ");
            used = 1;
        }
        out.push(c);
        used += c.len_utf8();
    }
    out.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().expect("a day")
    }

    #[test]
    fn lines_are_folded_at_75_octets_and_unfold_to_what_was_said() {
        let summary = "é".repeat(200) + ";,\\ \n\u{7}end";
        let text = entry("u", 0, day("2027-11-25"), day("2028-11-24"), &summary);
        for line in text.split("\r\n") {
            assert!(line.len() <= 75, "{line}");
        }
        assert!(!text.replace("\r\n", "").contains(['\r', '\n']));
        let unfolded = text.replace("\r\n ", "");
        let said = "é".repeat(200) + "\\;\\,\\\\ \\nend";
        assert!(unfolded.contains(&format!("SUMMARY:{said}\r\n")));
    }

    #[test]
    fn the_end_is_the_day_after_the_last() {
        let text = entry("u", 0, day("2027-11-25"), day("2028-02-28"), "x");
        assert!(text.contains("DTSTART;VALUE=DATE:20271125\r\n"));
        assert!(text.contains("DTEND;VALUE=DATE:20280229\r\n"), "{text}");
        assert!(text.contains("DTSTAMP:19700101T000000Z\r\n"));
    }
}
