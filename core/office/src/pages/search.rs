//! Finding a dog, and who looked at what.

use maud::{Markup, html};

use super::{Looker, day_in_words, moment, page, scrolled, words};
use crate::looked::Look;
use crate::search::{Found, MOST_FOUND};
use crate::state::OfficeState;

/// The page of a search for `text`.
pub fn search(office: &OfficeState, looker: &Looker, text: &str, found: &[Found]) -> Markup {
    let content = html! {
        form.search method="get" action="/search" role="search" {
            label for="q" { "Chip number or name" }
            input #q name="q" value=(text) autocomplete="off";
            button type="submit" { "Search" }
        }
        @if text.trim().is_empty() {
            p { "Type the beginning of a chip number or of a name." }
        } @else if found.is_empty() {
            p role="status" { "No dog on record begins with '" (text) "'." }
        } @else {
            @if found.len() as i64 == MOST_FOUND {
                p role="status" { "The first " (MOST_FOUND) " measures. Type more to see fewer." }
            }
            (scrolled("Measures found", &table(found)))
        }
    };
    page(office, looker, "Search", &content)
}

fn table(found: &[Found]) -> Markup {
    html! {
        table {
            caption { "Measures found" }
            thead {
                tr {
                    th scope="col" { "Dog" }
                    th scope="col" { "Chip" }
                    th scope="col" { "Day" }
                    th scope="col" { "Found" }
                    th scope="col" { "To decide" }
                }
            }
            tbody {
                @for one in found {
                    tr {
                        th scope="row" {
                            a href={ "/measures/" (hex::encode(one.head)) } { (one.dog) }
                        }
                        td {
                            @if one.chip.is_empty() { "none" } @else {
                                a.chip href={ "/dogs/" (one.chip) } { (one.chip) }
                            }
                        }
                        td { (day_in_words(one.day)) }
                        td { (words::outcome(&one.outcome)) }
                        td { @if one.open { span.care { "yes" } } @else { "no" } }
                    }
                }
            }
        }
    }
}

/// The page of the newest looks.
pub fn looked(office: &OfficeState, looker: &Looker, looks: &[Look]) -> Markup {
    let content = html! {
        @if looks.is_empty() { p { "Nobody has looked at anything yet." } } @else {
            (scrolled("Looks", &looks_table(looks)))
        }
    };
    page(office, looker, "Who looked at what", &content)
}

fn looks_table(looks: &[Look]) -> Markup {
    html! {
        table {
            caption { "The newest looks first" }
            thead {
                tr {
                    th scope="col" { "When" }
                    th scope="col" { "Account" }
                    th scope="col" { "At" }
                    th scope="col" { "Which" }
                }
            }
            tbody {
                @for look in looks {
                    tr {
                        td { (moment(look.at_ms, 0)) " UTC" }
                        td { (look.account) }
                        td { (look.what) }
                        td { code { (look.which) } }
                    }
                }
            }
        }
    }
}
