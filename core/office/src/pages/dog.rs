//! A dog's whole history: every measure of one chip number.

use maud::{Markup, html};

use super::{Looker, day_in_words, page, scrolled, words};
use crate::read::VisitLine;
use crate::state::OfficeState;

/// The page of a chip number; `measures` oldest first, at least one.
pub fn dog(office: &OfficeState, looker: &Looker, chip: &str, measures: &[VisitLine]) -> Markup {
    let mut names: Vec<_> = measures.iter().map(|m| m.statement.dog.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    let roster = office.roster();
    let earlier: Vec<_> = roster
        .dogs
        .iter()
        .filter(|d| d.chip == chip)
        .flat_map(|d| &d.earlier)
        .collect();
    let table = html! {
        table {
            caption { "Measures, oldest first" }
            thead {
                tr {
                    th scope="col" { "Day" }
                    th scope="col" { "Measure" }
                    th scope="col" { "Found" }
                    th scope="col" { "Height" }
                    th scope="col" { "Status" }
                    th scope="col" { "To look at" }
                }
            }
            tbody {
                @for known in earlier {
                    tr {
                        th scope="row" { (known.day) }
                        td { (words::measure(known.measure)) }
                        td { (known.category) }
                        td {}
                        td { "known before this office's records" }
                        td {}
                    }
                }
                @for measure in measures {
                    @let s = &measure.statement;
                    tr {
                        th scope="row" {
                            a href={ "/measures/" (hex::encode(measure.head)) } {
                                (day_in_words(s.day))
                            }
                        }
                        td { (words::measure(s.measure)) }
                        td { (words::outcome(&s.outcome)) }
                        td { (words::height(s)) }
                        td { (words::status(&s.status)) }
                        td {
                            @if measure.points.is_empty() { "nothing" } @else {
                                ul { @for p in &measure.points { li { (words::point(p)) } } }
                                @if measure.weight > 0 { span.care { "not decided" } }
                            }
                        }
                    }
                }
            }
        }
    };
    let content = html! {
        p { "Chip " span.chip { (chip) } }
        (scrolled("Measures", &table))
        h2 { "Files" }
        ul {
            li {
                a href={ "/dogs/" (chip) "/dossier.json" } { "Dossier" }
                ": everything that was signed, with proof, for whoever has to judge it"
            }
            li {
                a href={ "/dogs/" (chip) "/history.pdf" } { "History" }
                " on paper (PDF), with every decision and appeal"
            }
            @if measures.last().is_some_and(|m| m.statement.window_from.is_some()) {
                li {
                    a href={ "/dogs/" (chip) "/second-measure.ics" } { "Second measure" }
                    " for a calendar"
                }
            }
        }
        p { a href="/" { "Returns inbox" } }
    };
    page(office, looker, &names.join(" / "), &content)
}
