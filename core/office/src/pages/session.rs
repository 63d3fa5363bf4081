//! One session: its dogs, their categories and flags, and who signed.

use maud::{Markup, html};

use super::{
    DEMO_MARK, Looker, day, day_in_words, league, moment, page, scrolled, session_id, short,
    signer, words,
};
use crate::incidents::Incident;
use crate::read::{SessionLine, VisitLine};
use crate::state::OfficeState;

/// The page of a session. `lines` holds it as each device wrote it; at least one.
pub fn session(
    office: &OfficeState,
    looker: &Looker,
    lines: &[SessionLine],
    visits: &[VisitLine],
    happened: &[Incident],
) -> Markup {
    let Some(first) = lines.first() else {
        return super::trouble(office, "No such session", "Nothing of it has come in.");
    };
    let demo = office.roster().demo || visits.iter().any(|v| v.statement.demo);
    let title = format!("{}, {}", day_in_words(first.day), venue(first));
    let content = html! {
        @if demo { p { strong { (DEMO_MARK) } ": an invented league." } }
        dl {
            dt { "League" } dd { (league(office, &first.league)) }
            dt { "Session" } dd { code { (session_id(first.session)) } }
            dt { "Return" }
            dd {
                a href={ "/sessions/" (session_id(first.session)) "/return.csv" } { "return.csv" }
                " · "
                a href={ "/sessions/" (session_id(first.session)) "/return.pdf" } { "return.pdf" }
            }
        }
        @if lines.len() > 1 {
            p.care {
                (lines.len()) " phones kept a record of this session. Each is shown as it was "
                "written; nothing is merged."
            }
        }
        @for line in lines {
            @let own: Vec<_> = visits
                .iter()
                .filter(|v| v.device_key == line.device_key && v.journal == line.journal)
                .collect();
            section aria-label={ "Phone " (short(&line.device_key)) } {
                h2 { "As written by phone " code { (short(&line.device_key)) } }
                p {
                    @match line.closed_ms {
                        Some(at_ms) => { "Closed " (moment(at_ms, line.offset_min)) "." }
                        None => "Not closed yet: more may come.",
                    }
                }
                @if own.is_empty() {
                    p { "No dog has come in yet." }
                } @else {
                    (dogs(office, line, &own))
                }
                @let here: Vec<_> = happened
                    .iter()
                    .filter(|i| i.device_key == line.device_key && i.journal == line.journal)
                    .collect();
                @if !here.is_empty() { (what_happened(line, &own, &here)) }
            }
        }
        p { a href="/" { "Returns inbox" } }
    };
    page(office, looker, &title, &content)
}

/// Bites and falls, with the dog at the table or between two dogs.
fn what_happened(line: &SessionLine, visits: &[&VisitLine], here: &[&Incident]) -> Markup {
    let at_table = |number: i64| {
        let visit = visits
            .iter()
            .find(|v| i64::from(v.statement.visit) == number);
        html! {
            @match (number, visit) {
                (0, _) => "between two dogs",
                (_, Some(v)) => a href={ "/measures/" (hex::encode(v.head)) } { (v.statement.dog) },
                (n, None) => { "visit " (n) ", not stated" }
            }
        }
    };
    let table = html! {
        table {
            caption { "Bites and falls" }
            thead {
                tr {
                    th scope="col" { "When" }
                    th scope="col" { "What" }
                    th scope="col" { "To whom" }
                    th scope="col" { "At the table" }
                    th scope="col" { "In words" }
                }
            }
            tbody {
                @for happened in here {
                    tr {
                        th scope="row" { (moment(happened.at_ms, line.offset_min)) }
                        td.care { (words::harm(&happened.what)) }
                        td { (words::whom(&happened.whom)) }
                        td { (at_table(happened.visit)) }
                        td { (happened.words) }
                    }
                }
            }
        }
    };
    let label = format!("Bites and falls of phone {}", short(&line.device_key));
    scrolled(&label, &table)
}

fn venue(line: &SessionLine) -> &str {
    if line.venue.is_empty() {
        "venue not named"
    } else {
        &line.venue
    }
}

fn dogs(office: &OfficeState, line: &SessionLine, visits: &[&VisitLine]) -> Markup {
    let table = html! {
            table {
                caption {
                    (visits.len()) @if visits.len() == 1 { " dog" } @else { " dogs" }
                    ", in the order of the day"
                }
                thead {
                    tr {
                        th.number scope="col" { "No." }
                        th scope="col" { "Dog" }
                        th scope="col" { "Chip" }
                        th scope="col" { "Height category" }
                        th scope="col" { "Height" }
                        th scope="col" { "Measure" }
                        th scope="col" { "Second measure" }
                        th scope="col" { "Flags" }
                        th scope="col" { "Signed by" }
                    }
                }
                tbody { @for visit in visits { (dog(office, line, visit)) } }
            }
    };
    scrolled(
        &format!("Dogs of phone {}", short(&line.device_key)),
        &table,
    )
}

fn dog(office: &OfficeState, line: &SessionLine, visit: &VisitLine) -> Markup {
    let s = &visit.statement;
    html! {
        tr {
            td.number { (s.visit) }
            th scope="row" { a href={ "/measures/" (hex::encode(visit.head)) } { (s.dog) } }
            td {
                @if s.chip.is_empty() { "none in the book" } @else { span.chip { (s.chip) } }
                br;
                span.small { (words::proof(s.proof)) }
                @if let Some(read) = &s.chip_read {
                    @if *read != s.chip { br; span.small { "read: " (grouped(read)) } }
                }
            }
            td { (words::outcome(&s.outcome)) br; span.small { (words::status(&s.status)) } }
            td { (words::height(s)) }
            td { (words::measure(s.measure)) }
            td {
                @if let (Some(from), Some(to)) = (s.window_from, s.window_to) {
                    (day(from)) " to " (day(to))
                }
            }
            td {
                @if visit.points.is_empty() { "none" } @else {
                    ul {
                        @for point in &visit.points {
                            li {
                                (words::point(point)) " "
                                span.small { "(" code { (point.kind) } ")" }
                            }
                        }
                    }
                    @if visit.weight > 0 { span.care { "not decided" } }
                }
            }
            td {
                @if visit.signed.is_empty() { span.care { "nobody yet" } } @else {
                    ul {
                        @for signed in &visit.signed {
                            li {
                                (signer(office, signed)) " " span.small {
                                    (signed.number) ", " (moment(signed.signed_ms, line.offset_min))
                                    @if let Some(how) = signed.how { ", " (how.short()) }
                                }
                            }
                        }
                    }
                    @if visit.signed.len() < s.measurers.len() {
                        span.care { "of " (s.measurers.len()) " measurers" }
                    }
                }
            }
        }
    }
}

/// A number that is not the record book's, in groups so that it is not taken for it.
fn grouped(number: &str) -> String {
    let digits: Vec<char> = number.chars().collect();
    let groups: Vec<String> = digits.chunks(3).map(|c| c.iter().collect()).collect();
    groups.join(" ")
}
