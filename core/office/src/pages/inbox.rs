//! The first page: what needs a decision, then the sessions.

use maud::{Markup, html};

use super::{Looker, day_in_words, league, moment, page, scrolled, session_id, short, words};
use crate::read::{SessionLine, SetAsideLine, VisitLine};
use crate::state::OfficeState;

/// What the first page shows.
pub struct Inbox {
    /// Measures with something to decide, the weightiest first.
    pub undecided: Vec<VisitLine>,
    /// Frames set aside that nobody has decided about.
    pub set_aside: Vec<SetAsideLine>,
    /// Measures with an objection or appeal that is not decided: head, dog, since when.
    pub appeals: Vec<([u8; 32], String, i32)>,
    /// How many frames wait for earlier ones.
    pub waiting: i64,
    /// Sessions, newest first.
    pub sessions: Vec<SessionLine>,
}

/// The inbox.
pub fn inbox(office: &OfficeState, looker: &Looker, inbox: &Inbox) -> Markup {
    let nothing =
        inbox.undecided.is_empty() && inbox.set_aside.is_empty() && inbox.appeals.is_empty();
    let content = html! {
        section aria-labelledby="undecided" {
            h2 #undecided { "Needs a decision" }
            @if nothing { p { "Nothing at the moment." } }
            @if !inbox.undecided.is_empty() { (undecided_table(&inbox.undecided)) }
            @if !inbox.appeals.is_empty() {
                h3 { "Objections and appeals" }
                ul {
                    @for (head, dog, since) in &inbox.appeals {
                        li {
                            a href={ "/measures/" (hex::encode(head)) } { (dog) }
                            ", since " (day_in_words(*since))
                        }
                    }
                }
            }
            @if !inbox.set_aside.is_empty() { (set_aside_table(&inbox.set_aside)) }
        }
        @if inbox.waiting > 0 {
            p.care role="status" {
                (inbox.waiting)
                @if inbox.waiting == 1 { " batch waits" } @else { " batches wait" }
                " for earlier ones of the same phone, which have not come yet."
            }
        }
        section aria-labelledby="sessions" {
            h2 #sessions { "Sessions" }
            @if inbox.sessions.is_empty() {
                p { "No session has come in yet. A phone sends its return after closing a session." }
            } @else {
                (session_table(office, &inbox.sessions))
            }
        }
    };
    page(office, looker, "Returns inbox", &content)
}

fn undecided_table(visits: &[VisitLine]) -> Markup {
    let table = html! {
        table {
            caption { "Measures to decide about, the weightiest first" }
            thead {
                tr {
                    th scope="col" { "Dog" }
                    th scope="col" { "Why" }
                    th scope="col" { "Found" }
                    th scope="col" { "Measured" }
                }
            }
            tbody {
                @for visit in visits {
                    tr {
                        th scope="row" {
                            a href={ "/measures/" (hex::encode(visit.head)) } {
                                (visit.statement.dog)
                            }
                        }
                        td {
                            ul {
                                @for point in visit.points.iter().filter(|p| p.weight() > 0) {
                                    li { (words::point(point)) }
                                }
                            }
                        }
                        td { (words::outcome(&visit.statement.outcome)) }
                        td { (day_in_words(visit.statement.day)) ", " (visit.venue) }
                    }
                }
            }
        }
    };
    scrolled("Measures to decide about", &table)
}

fn set_aside_table(lines: &[SetAsideLine]) -> Markup {
    let table = html! {
        table {
            caption { "Batches that are kept but not in the record" }
            thead {
                tr {
                    th scope="col" { "Batch" }
                    th scope="col" { "Why" }
                    th scope="col" { "Phone" }
                    th scope="col" { "Events" }
                    th scope="col" { "Came" }
                }
            }
            tbody {
                @for line in lines {
                    tr {
                        th scope="row" {
                            a href={ "/aside/" (hex::encode(line.id)) } { (short(&line.id)) }
                        }
                        td.care { (words::set_aside(&line.reason)) }
                        td { code { (short(&line.device_key)) } }
                        td { (line.events.0) " to " (line.events.1) }
                        td { (moment(line.received_ms, 0)) " UTC" }
                    }
                }
            }
        }
    };
    scrolled("Batches set aside", &table)
}

fn session_table(office: &OfficeState, sessions: &[SessionLine]) -> Markup {
    let table = html! {
        table {
            caption { "Sessions, newest day first" }
            thead {
                tr {
                    th scope="col" { "Day" }
                    th scope="col" { "Venue" }
                    th scope="col" { "League" }
                    th.number scope="col" { "Dogs" }
                    th.number scope="col" { "To decide" }
                    th scope="col" { "State" }
                    th scope="col" { "Phone" }
                }
            }
            tbody {
                @for line in sessions {
                    tr {
                        th scope="row" {
                            a href={ "/sessions/" (session_id(line.session)) } {
                                (day_in_words(line.day))
                            }
                        }
                        td { (line.venue) }
                        td { (league(office, &line.league)) }
                        td.number { (line.dogs) }
                        td.number { (line.open) }
                        td {
                            @match line.closed_ms {
                                Some(at_ms) => { "closed " (moment(at_ms, line.offset_min)) }
                                None => "not closed yet",
                            }
                            @if line.between > 0 {
                                br;
                                span.care {
                                    (line.between)
                                    @if line.between == 1 { " bite or fall" }
                                    @else { " bites or falls" }
                                    " between two dogs"
                                }
                            }
                        }
                        td { code { (short(&line.device_key)) } }
                    }
                }
            }
        }
    };
    scrolled("Sessions", &table)
}
