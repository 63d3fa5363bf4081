//! A dog's second measure as a calendar (RFC 5545), for whoever has to remember it.

use chrono::{DateTime, NaiveDate, Utc};
use icalendar::{Calendar, Component, Event, EventLike};

use super::DEMO_MARK;
use crate::read::VisitLine;
use crate::state::OfficeState;

/// The calendar of the newest measure that asks for a second one; `None` if none does. The
/// same measure always gives the same entry, so that taking it in again changes nothing.
pub fn second_measure(office: &OfficeState, measures: &[VisitLine]) -> Option<String> {
    let newest = measures.last()?;
    let s = &newest.statement;
    let (from, to) = (
        NaiveDate::from_epoch_days(s.window_from?)?,
        NaiveDate::from_epoch_days(s.window_to?)?,
    );
    let stamp: DateTime<Utc> = DateTime::from_timestamp_millis(newest.stated_ms)?;
    let roster = office.roster();
    let mark = match roster.demo || s.demo {
        true => format!("{DEMO_MARK}: "),
        false => String::new(),
    };
    let mut event = Event::new();
    event
        .uid(&format!(
            "{}@{}",
            hex::encode(newest.head),
            roster.league.id
        ))
        .timestamp(stamp)
        .summary(&format!("{mark}second measure of {}", s.dog))
        .description(&format!(
            "Chip {}. Due from {from} to {to}, {}. Bring the record book.",
            s.chip, roster.league.name
        ))
        .starts(from)
        // The end of days is the first day after them (RFC 5545 §3.6.1).
        .ends(to.succ_opt()?);
    let mut calendar = Calendar::new();
    calendar.name(&roster.league.name).push(event.done());
    Some(calendar.done().to_string())
}
