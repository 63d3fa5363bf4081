//! Height rules as data: packs, placings and readings, verdicts with reasons, dates, record-book checks.
//!
//! Pure: no clock, no files, no network. A body's rules come in as a [`RulePack`], one dog at the
//! table as a [`Case`]; [`progress()`] says what to do next, [`judge()`] gives the [`Verdict`] with
//! its reasons, [`check_book()`] looks at the record book before. Lengths are exact in nanometres,
//! dates are calendar days in the session's own time zone.

mod book;
mod case;
pub mod cli;
pub mod dates;
pub mod gauge;
mod ids;
mod interval;
mod judge;
mod length;
pub mod order;
mod pack;
mod procedure;
mod progress;
mod reason;
#[cfg(test)]
mod schema;
mod verdict;

pub use book::{
    BookCheck, BookEntries, BookFindings, BookMeasure, Finding, FindingKind, check_book,
};
pub use case::{
    Base, Case, Dissent, EarlierMeasure, GaugeHere, Identified, MeasurerHere, Placing,
    PlacingResult, Purpose, Reading, Seen, SeenBefore, Tie, VoidReason,
};
pub use dates::{Span, Window, WindowPosition};
pub use ids::{CategoryId, GaugeId, MeasurerId, ProcedureId};
pub use interval::{Contradiction, End, HeightInterval};
pub use judge::{GaugeNote, check_gauge, judge, second_window, window_position};
pub use length::{Length, LengthError};
pub use pack::*;
pub use progress::{Next, Progress, progress};
pub use reason::{Arg, Flag, KEYS, Key, Reason};
pub use verdict::{Outcome, Status, Verdict, WhichMeasure};
