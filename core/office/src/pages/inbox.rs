//! The first page: what needs a look, then the sessions.

use maud::{Markup, html};

use super::{day_in_words, league, moment, page, session_id, words};
use crate::read::{SessionLine, SetAsideLine};
use crate::state::OfficeState;

/// The inbox.
pub fn inbox(
    office: &OfficeState,
    sessions: &[SessionLine],
    set_aside: &[SetAsideLine],
    waiting: i64,
) -> Markup {
    let content = html! {
        @if !set_aside.is_empty() {
            section aria-labelledby="aside" {
                h2 #aside { "Set aside: somebody has to look" }
                (set_aside_table(set_aside))
            }
        }
        @if waiting > 0 {
            p.care role="status" {
                (waiting)
                @if waiting == 1 { " batch waits" } @else { " batches wait" }
                " for earlier ones of the same phone, which have not come yet."
            }
        }
        section aria-labelledby="sessions" {
            h2 #sessions { "Sessions" }
            @if sessions.is_empty() {
                p { "No session has come in yet. A phone sends its return after closing a session." }
            } @else {
                (session_table(office, sessions))
            }
        }
    };
    page(office, "Returns inbox", &content)
}

fn session_table(office: &OfficeState, sessions: &[SessionLine]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label="Sessions" {
            table {
                caption { "Sessions, newest day first" }
                thead {
                    tr {
                        th scope="col" { "Day" }
                        th scope="col" { "Venue" }
                        th scope="col" { "League" }
                        th.number scope="col" { "Dogs" }
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
                            td {
                                @match line.closed_ms {
                                    Some(at_ms) => { "closed " (moment(at_ms, line.offset_min)) }
                                    None => "not closed yet",
                                }
                            }
                            td { code { (short(&line.device_key)) } }
                        }
                    }
                }
            }
        }
    }
}

fn set_aside_table(lines: &[SetAsideLine]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label="Set aside" {
            table {
                caption { "Batches that are kept but not in the record" }
                thead {
                    tr {
                        th scope="col" { "Came" }
                        th scope="col" { "Why" }
                        th scope="col" { "Phone" }
                        th scope="col" { "Events" }
                        th scope="col" { "Batch" }
                    }
                }
                tbody {
                    @for line in lines {
                        tr {
                            td { (moment(line.received_ms, 0)) " UTC" }
                            td.care { (words::set_aside(&line.reason)) }
                            td { code { (short(&line.device_key)) } }
                            td { (line.events.0) " to " (line.events.1) }
                            td { code { (short(&line.id)) } }
                        }
                    }
                }
            }
        }
    }
}

/// Enough of a key or id to tell a few apart.
pub(super) fn short(bytes: &[u8]) -> String {
    hex::encode(&bytes[..bytes.len().min(4)])
}
