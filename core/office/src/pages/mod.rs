//! The office's pages: plain HTML that works without any script.

mod appeal;
mod aside;
mod calendar;
mod csv;
mod decision;
mod dog;
mod hoops;
mod inbox;
mod keys;
mod measure;
mod over_time;
mod packs;
mod people;
mod phones;
mod qr;
mod search;
mod session;
mod sign_in;
mod style;
pub(crate) mod words;

pub use aside::aside;
pub use calendar::second_measure;
pub use csv::{csv_name, return_csv};
pub use dog::dog;
pub use hoops::{hoop, hoops, in_doubt, said};
pub use inbox::{Inbox, inbox};
pub use measure::measure;
pub use over_time::over_time;
pub use packs::{Rules, rules};
pub use people::{people, person};
pub use phones::{code, phone, phones};
pub use search::{looked, search};
pub use session::session;
pub use sign_in::sign_in;
pub use style::STYLE;

use chrono::{DateTime, FixedOffset, NaiveDate};
use maud::{DOCTYPE, Markup, html};

use crate::accounts::Worker;
use crate::read::SignedLine;
use crate::state::OfficeState;

/// What every page and file of an invented league says.
pub const DEMO_MARK: &str = "demo, not official";

/// Who looks at a page.
#[derive(Clone, Debug, Default)]
pub struct Looker {
    /// Who is signed in.
    pub worker: Option<Worker>,
    /// What their forms have to bring back.
    pub form_word: Option<String>,
}

/// A whole page around `content`.
pub(crate) fn page(office: &OfficeState, looker: &Looker, title: &str, content: &Markup) -> Markup {
    let roster = office.roster();
    html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " · " (roster.office.name) }
                link rel="stylesheet" href="/style.css";
            }
            body {
                a.skip href="#main" { "Skip to the content" }
                header {
                    p.office { a href="/" { (roster.office.name) } }
                    @if roster.demo { p.demo role="note" { (DEMO_MARK) } }
                    (who(looker))
                    nav aria-label="Office" {
                        a href="/" { "Inbox" } " " a href="/search" { "Search" }
                        " " a href="/rules" { "Rules" }
                        " " a href="/over-time" { "Over time" }
                        @if looker.worker.as_ref().is_some_and(|w| w.role.may_decide()) {
                            " " a href="/people" { "People" } " " a href="/phones" { "Phones" }
                            " " a href="/looked" { "Looks" }
                        }
                        @if looker.worker.as_ref().is_some_and(|w| w.role.may_train()) {
                            " " a href="/hoops" { "Hoops" } " " a href="/trainer" { "Training" }
                        }
                    }
                }
                main #main { h1 { (title) } (content) }
                footer {
                    p {
                        "This office signs its receipts with the key "
                        code { (hex::encode(office.public_key())) } "."
                    }
                }
            }
        }
    }
}

fn who(looker: &Looker) -> Markup {
    html! {
        @match (&looker.worker, &looker.form_word) {
            (Some(worker), Some(word)) => form.who method="post" action="/sign-out" {
                input type="hidden" name="word" value=(word);
                span { (worker.name) ", " (worker.role.word()) }
                button type="submit" { "Sign out" }
            },
            _ => p.who { a href="/sign-in" { "Sign in" } },
        }
    }
}

/// A page for something that is not there, or that failed.
pub fn trouble(office: &OfficeState, title: &str, what_to_do: &str) -> Markup {
    let content = html! { p { (what_to_do) } p { a href="/" { "Returns inbox" } } };
    page(office, &Looker::default(), title, &content)
}

/// A day number as `YYYY-MM-DD`.
pub(crate) fn day(number: i32) -> String {
    NaiveDate::from_epoch_days(number)
        .map(|d| d.to_string())
        .unwrap_or_default()
}

pub(crate) fn day_in_words(number: i32) -> String {
    NaiveDate::from_epoch_days(number)
        .map(|d| d.format("%-d %B %Y").to_string())
        .unwrap_or_default()
}

/// A moment in the session's own time.
pub(crate) fn moment(at_ms: i64, offset_min: i32) -> String {
    let zone = FixedOffset::east_opt(offset_min.saturating_mul(60));
    match (DateTime::from_timestamp_millis(at_ms), zone) {
        (Some(utc), Some(zone)) => utc
            .with_timezone(&zone)
            .format("%Y-%m-%d %H:%M")
            .to_string(),
        _ => String::new(),
    }
}

/// A session's id as it is written everywhere.
pub fn session_id(session: [u8; 16]) -> String {
    uuid::Uuid::from_bytes(session).to_string()
}

/// The name of who signed, if the roster has it, else their id.
pub(crate) fn signer<'a>(office: &'a OfficeState, signed: &'a SignedLine) -> &'a str {
    let person = office
        .roster()
        .people
        .iter()
        .find(|p| p.id == signed.person);
    person.map_or(&signed.person, |p| &p.name)
}

/// The league's name if it is this office's, else its id.
pub(crate) fn league<'a>(office: &'a OfficeState, id: &'a str) -> &'a str {
    let ours = &office.roster().league;
    if ours.id == id { &ours.name } else { id }
}

/// Enough of a key or id to tell a few apart.
fn short(bytes: &[u8]) -> String {
    hex::encode(&bytes[..bytes.len().min(4)])
}

/// A table that can be scrolled sideways by keyboard, too.
pub(crate) fn scrolled(label: &str, table: &Markup) -> Markup {
    html! { div.scroll tabindex="0" role="region" aria-label={ (label) ", table" } { (table) } }
}
