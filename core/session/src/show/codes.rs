//! Codes for another phone to read, and a dog that was measured at another table.

use super::{Drawn, Glass, signing::line};
use crate::act::Act;
use crate::days;
use crate::judging;
use crate::looking::ShownCodes;
use crate::state::{Elsewhere, Session, Visit};
use crate::view::*;

use standsquare_journal::record::dogs::Came;

/// A line of what codes say.
pub(crate) fn code_line(label: &str, value: Text) -> StatementLine {
    line(label, value)
}

/// A moment in a session's own time, to the minute.
pub(crate) fn moment(at_ms: i64, offset_min: i32) -> Text {
    Text::of("moment")
        .day("day", days::of_moment(at_ms, offset_min))
        .plain("time", clock(at_ms, offset_min))
}

fn clock(at_ms: i64, offset_min: i32) -> String {
    let minutes = at_ms.div_euclid(60_000) + i64::from(offset_min);
    let minutes = minutes.rem_euclid(24 * 60);
    format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

/// What came of a dog elsewhere.
fn came_text(s: &Session, came: &Came) -> Text {
    match came {
        Came::Category(id) => {
            let known = s.loaded.pack.category(&id.as_str().into());
            let label = known.map_or_else(|| id.clone(), |c| c.label.clone());
            Text::of("heard.category").plain("category", label)
        }
        Came::NotToday => Text::of("heard.not_today"),
        Came::Referred => Text::of("heard.referred"),
        Came::Untold => Text::of("heard.untold"),
    }
}

fn when(s: &Session, e: &Elsewhere) -> Text {
    let key = if e.of_this_session {
        "heard.other_phone"
    } else {
        "heard.other_table"
    };
    Text::of(key)
        .day("day", days::of_moment(e.at_ms, s.offset_min))
        .plain("time", clock(e.at_ms, s.offset_min))
}

impl Glass<'_> {
    /// Codes in turn.
    pub(super) fn codes(&self, shown: &ShownCodes) -> Drawn {
        let (count, at) = (shown.frames.len(), shown.at);
        let empty = || QrMatrix {
            side: 0,
            modules: Vec::new(),
        };
        let codes = CodesScreen {
            how: shown.how.clone(),
            code: shown.frames.get(at).cloned().unwrap_or_else(empty),
            number: at as u32 + 1,
            count: count as u32,
            says: shown.says.clone(),
        };
        let drawn = Drawn::new("title.codes", Screen::Codes { codes }).offer(
            "share_codes",
            Act::ShareCodes,
            Role::Quiet,
        );
        let drawn = match shown.from_start {
            true => drawn,
            false => drawn.offer("copy_whole", Act::ShowCopy { whole: true }, Role::Quiet),
        };
        match shown.answered {
            true => drawn.offer("read_answer", Act::OpenSlipCheck, Role::Main),
            false => drawn,
        }
    }

    /// What is said in the queue of a dog that another table has measured.
    pub(super) fn heard_note(&self, s: &Session, dog: &str) -> Option<Text> {
        Some(when(s, &s.elsewhere_by_book(dog)?))
    }

    /// The dog in hand was measured at another table.
    pub(super) fn heard(&self, s: &Session, v: &Visit, e: &Elsewhere) -> Drawn {
        let again = judging::again(s, v, e);
        let heard = HeardScreen {
            known: when(s, e),
            came: came_text(s, &e.came),
            rules: again.says,
        };
        let (on, off) = match again.is_usual {
            true => (Role::Main, Role::Other),
            false => (Role::Other, Role::Main),
        };
        let on_label = match again.is_usual {
            true => "offer.measure_here_too",
            false => "offer.measure_all_the_same",
        };
        let drawn = Drawn::new("title.heard", Screen::Heard { heard });
        let offers = [
            ("measure_here_too", Act::MeasureHereToo, on, on_label),
            (
                "measured_elsewhere",
                Act::MeasuredElsewhere,
                off,
                "offer.measured_elsewhere",
            ),
        ];
        offers
            .into_iter()
            .fold(drawn, |drawn, (id, act, role, label)| {
                drawn.offer(id, act, role).labelled(Text::of(label))
            })
            .offer("park", Act::Park, Role::Quiet)
    }
}
