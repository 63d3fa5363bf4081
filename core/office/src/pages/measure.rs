//! One measure: all that was signed, what there is to look at, and the decisions.

use maud::{Markup, html};
use standsquare_journal::record::fact::Seen;

use super::appeal::appeals;
use super::decision::{Subject, decisions, form};
use super::{Looker, day, day_in_words, moment, page, session_id, signer, words};
use crate::appeals::Noted;
use crate::decide::{Decision, Verdict};
use crate::objections::Objection;
use crate::read::VisitLine;
use crate::state::OfficeState;

/// The page of a measure.
pub fn measure(
    office: &OfficeState,
    looker: &Looker,
    visit: &VisitLine,
    decided: &[Decision],
    steps: &[Noted],
    objected: &[Objection],
) -> Markup {
    let s = &visit.statement;
    let title = format!("{}, {}", s.dog, day_in_words(s.day));
    let subject = Subject {
        id: visit.head,
        kind: "measure",
        points: &visit.points,
        decided: decided.len(),
    };
    let content = html! {
        section aria-labelledby="points" {
            h2 #points { "To look at" }
            @if visit.points.is_empty() {
                p { "Nothing." }
            } @else {
                ul {
                    @for point in &visit.points {
                        li {
                            (words::point(point)) " " span.small { "(" code { (point.kind) } ")" }
                        }
                    }
                }
                @if visit.weight == 0 { p { "All of it is decided or needs no decision." } }
            }
        }
        section aria-labelledby="stated" {
            h2 #stated { "As it was signed" }
            (stated(visit))
            (signatures(office, visit))
        }
        @if !objected.is_empty() { (at_the_table(visit, objected)) }
        (decisions(decided))
        @if !visit.points.is_empty() || !decided.is_empty() {
            (form(looker, &subject, &Verdict::ALL))
        }
        (appeals(looker, visit, steps))
        p {
            a href={ "/sessions/" (session_id(visit.session)) } { "The whole session" }
            @if !s.chip.is_empty() {
                " · " a href={ "/dogs/" (s.chip) } { "All measures of this chip" }
            }
        }
    };
    page(office, looker, &title, &content)
}

/// What the handler objected, in their words.
fn at_the_table(visit: &VisitLine, objected: &[Objection]) -> Markup {
    html! {
        section aria-labelledby="objected" {
            h2 #objected { "Objected at the table" }
            @for objection in objected {
                p.small { (moment(objection.at_ms, visit.offset_min)) ", by the phone's clock" }
                @match (objection.words.as_deref(), objection.erased_ms) {
                    (Some(""), _) => p { "Without words." },
                    (Some(words), _) => blockquote { (words) },
                    (None, Some(at_ms)) => p {
                        "The words were erased on " (moment(at_ms, 0)) " UTC: the rules keep them no longer."
                    },
                    (None, None) => p.care { "The words have not come yet; the phone brings them." },
                }
            }
            p { "Note it below as an objection or an appeal where your rules ask for that." }
        }
    }
}

fn stated(visit: &VisitLine) -> Markup {
    let s = &visit.statement;
    html! {
        dl {
            dt { "Height category" } dd { (words::outcome(&s.outcome)) }
            dt { "Status" }
            dd {
                (words::status(&s.status))
                @if let Some(until) = s.status_until { ", good until " (day(until)) }
            }
            @let height = words::height(s);
            @if !height.is_empty() { dt { "Height" } dd { (height) } }
            dt { "Measure" } dd { (words::measure(s.measure)) }
            @if let (Some(from), Some(to)) = (s.window_from, s.window_to) {
                dt { "Second measure" } dd { (day(from)) " to " (day(to)) }
            }
            dt { "Chip" }
            dd {
                @if s.chip.is_empty() { "none in the record book" } @else {
                    span.chip { (s.chip) }
                }
                ", " (words::proof(s.proof))
                @if let Some(read) = &s.chip_read { ", read: " span.chip { (read) } }
            }
            dt { "Placings" }
            dd {
                @if s.placings.is_empty() { "none" } @else {
                    ol {
                        @for placing in &s.placings {
                            li { (placing.hoop) ": " (seen(placing.seen)) }
                        }
                    }
                }
            }
            dt { "Rules" } dd { (s.pack) ", edition " (s.edition) }
            dt { "Where" } dd { (visit.venue) }
            dt { "Stated" } dd { (moment(visit.stated_ms, visit.offset_min)) ", by the phone's clock" }
        }
    }
}

fn seen(seen: Seen) -> &'static str {
    match seen {
        Seen::Flat => "base flat",
        Seen::NotFlat => "base not flat",
        Seen::Moved => "dog moved, void",
        Seen::FlatVoid => "base flat, made void by all measurers",
        Seen::NotFlatVoid => "base not flat, made void by all measurers",
    }
}

fn signatures(office: &OfficeState, visit: &VisitLine) -> Markup {
    html! {
        h3 { "Signed by" }
        @if visit.signed.is_empty() { p.care { "Nobody." } } @else {
            ul {
                @for signed in &visit.signed {
                    li {
                        (signer(office, signed)) ", " (signed.number) ", "
                        (moment(signed.signed_ms, visit.offset_min))
                        @if let Some(how) = signed.how { ", " (how.words()) }
                    }
                }
            }
            p.small { "How a key was opened is what the phone that signed says in its record." }
        }
        p.small { "Record head " code { (hex::encode(visit.head)) } }
    }
}
