//! Phones: which are enrolled, a one-time code for another one, and one that is lost.

use maud::{Markup, html};
use standsquare_sync::EnrolCode;

use super::keys::{About, form, is_revoked, listed};
use super::qr::qr;
use super::{Looker, moment, page, scrolled, short};
use crate::enrolling::{LONGEST_LABEL, Phone};
use crate::keys::Noticed;
use crate::state::OfficeState;
use standsquare_sync::enrol::LONGEST_ADDRESS;

fn of<'a>(notices: &'a [Noticed], key: &[u8; 32]) -> Vec<&'a Noticed> {
    notices.iter().filter(|n| *n.notice.key == *key).collect()
}

/// What a person of the roster is called; of nobody, that several use it.
fn user<'a>(office: &'a OfficeState, person: &'a str) -> &'a str {
    if person.is_empty() {
        return "several people";
    }
    let known = office.roster().people.iter().find(|p| p.id == person);
    known.map_or(person, |p| &p.name)
}

fn called(phone: &Phone) -> String {
    match &phone.enrolled {
        Some(enrolled) => enrolled.label.clone(),
        None => format!("Phone {}", short(&phone.key)),
    }
}

/// Every phone, and the form for a code.
pub fn phones(
    office: &OfficeState,
    looker: &Looker,
    phones: &[Phone],
    notices: &[Noticed],
    reached_at: &str,
) -> Markup {
    let table = html! {
        table {
            caption { "Phones" }
            thead { tr {
                th scope="col" { "Phone" } th scope="col" { "Used by" }
                th scope="col" { "Enrolled" } th.number scope="col" { "Sessions sent" }
                th scope="col" { "Stands" }
            } }
            tbody {
                @for phone in phones {
                    tr {
                        th scope="row" {
                            a href={ "/phones/" (hex::encode(phone.key)) } { (called(phone)) }
                        }
                        @match &phone.enrolled {
                            Some(e) => {
                                td { (user(office, &e.person)) }
                                td { (moment(e.at_ms, 0)) " UTC, code by " (e.name) }
                            }
                            None => { td { "not known" } td { "no: it only sent returns" } }
                        }
                        td.number { (phone.sessions) }
                        td {
                            @if is_revoked(&of(notices, &phone.key)) { strong.care { "reported" } }
                            @else { "good" }
                        }
                    }
                }
            }
        }
    };
    let content = html! {
        (code_form(office, looker, reached_at))
        h2 { "Phones of this office" }
        @if phones.is_empty() { p { "None yet." } } @else { (scrolled("Phones", &table)) }
    };
    page(office, looker, "Phones", &content)
}

fn code_form(office: &OfficeState, looker: &Looker, reached_at: &str) -> Markup {
    let Some(word) = &looker.form_word else {
        return html! {};
    };
    html! {
        form.card method="post" action="/phones/codes" {
            h2 { "Enrol a phone" }
            p { "The phone is shown a code that is good once, for a quarter of an hour. From then on it fetches the roster by itself." }
            input type="hidden" name="word" value=(word);
            label for="person" { "Who uses it" }
            select #person name="person" {
                option value="" { "Several people" }
                @for person in &office.roster().people {
                    option value=(person.id) { (person.name) ", " (person.number) }
                }
            }
            label for="label" { "What to call it here" }
            input #label name="label" required maxlength=(LONGEST_LABEL) autocomplete="off";
            label for="address" { "This office's address, as phones reach it" }
            input #address name="address" type="url" required maxlength=(LONGEST_ADDRESS) value=(reached_at)
                autocomplete="off";
            button type="submit" { "Show the code" }
        }
    }
}

/// The page with a one-time code; `None` if it does not fit into one.
pub fn code(
    office: &OfficeState,
    looker: &Looker,
    label: &str,
    code: &EnrolCode,
) -> Option<Markup> {
    let text = code.text();
    let drawn = qr("code", "One-time code for enrolling a phone", &text)?;
    let content = html! {
        p {
            "Show this to the phone, and to nobody else. It is good once, until "
            strong { (moment(code.until_ms, 0)) " UTC" } "."
        }
        (drawn)
        details {
            summary { "As text, for a phone whose camera does not read it" }
            p { code { (text) } }
        }
        p { "The office's address in it: " code { (code.address) } }
        p { a.button href="/phones" { "Done" } }
    };
    Some(page(office, looker, &format!("Code for {label}"), &content))
}

/// One phone.
pub fn phone(office: &OfficeState, looker: &Looker, phone: &Phone, notices: &[Noticed]) -> Markup {
    let said = of(notices, &phone.key);
    let about = About {
        key: phone.key,
        person: "",
        called: "this phone",
        form: 1,
    };
    let content = html! {
        @if is_revoked(&said) { p { strong.care { "This phone was reported." } } }
        dl {
            @if let Some(e) = &phone.enrolled {
                dt { "Used by" } dd { (user(office, &e.person)) }
                dt { "Enrolled" } dd { (moment(e.at_ms, 0)) " UTC, code by " (e.name) }
            } @else {
                dt { "Enrolled" } dd { "no: it only sent returns" }
            }
            dt { "Sessions sent" } dd { (phone.sessions) }
            dt { "Key" } dd { code { (hex::encode(phone.key)) } }
        }
        h2 { "Said of it" }
        (listed(&said))
        (form(looker, &about, said.len()))
        p { a href="/phones" { "All phones" } }
    };
    page(office, looker, &called(phone), &content)
}
