//! One batch that was set aside.

use maud::{Markup, html};

use super::decision::{Subject, decisions, form};
use super::{Looker, moment, page, short, words};
use crate::decide::{Decision, Verdict};
use crate::points::Point;
use crate::read::SetAsideLine;
use crate::state::OfficeState;

/// The page of a frame that was set aside.
pub fn aside(
    office: &OfficeState,
    looker: &Looker,
    line: &SetAsideLine,
    decided: &[Decision],
) -> Markup {
    let points = [Point::of(&line.reason)];
    let subject = Subject {
        id: line.id,
        kind: "aside",
        points: &points,
        decided: decided.len(),
    };
    let content = html! {
        p {
            "This batch is kept as it came, and nothing of it is in the record: "
            strong { (words::set_aside(&line.reason)) } "."
        }
        dl {
            dt { "Came" } dd { (moment(line.received_ms, 0)) " UTC" }
            dt { "Phone" } dd { code { (hex::encode(line.device_key)) } }
            dt { "Events" } dd { (line.events.0) " to " (line.events.1) }
            dt { "Batch" } dd { code { (hex::encode(line.id)) } }
        }
        (decisions(decided))
        (form(looker, &subject, &[Verdict::Noted]))
        p { a href="/" { "Returns inbox" } }
    };
    page(
        office,
        looker,
        &format!("Batch {} set aside", short(&line.id)),
        &content,
    )
}
