//! People of the roster and their keys.

use maud::{Markup, html};

use super::keys::{About, form, is_revoked, listed};
use super::{Looker, page, scrolled, short};
use crate::keys::{KnownKey, Noticed};
use crate::state::OfficeState;

/// Everybody of the roster.
pub fn people(office: &OfficeState, looker: &Looker, notices: &[Noticed]) -> Markup {
    let table = html! {
        table {
            caption { "People in the roster" }
            thead { tr {
                th scope="col" { "Name" } th scope="col" { "Number" } th scope="col" { "Role" }
                th scope="col" { "Keys" }
            } }
            tbody {
                @for person in &office.roster().people {
                    @let said: Vec<_> = notices.iter().filter(|n| n.notice.person == person.id).collect();
                    tr {
                        th scope="row" { a href={ "/people/" (person.id) } { (person.name) } }
                        td { (person.number) }
                        td { (person.role) }
                        td {
                            @if is_revoked(&said) { strong.care { "one was reported" } }
                            @else { "nothing was reported" }
                        }
                    }
                }
            }
        }
    };
    page(office, looker, "People", &scrolled("People", &table))
}

/// One person's keys.
pub fn person(
    office: &OfficeState,
    looker: &Looker,
    id: &str,
    keys: &[KnownKey],
    notices: &[Noticed],
) -> Markup {
    let known = office.roster().people.iter().find(|p| p.id == id);
    let title = known.map_or(id, |p| &p.name);
    let content = html! {
        @match known {
            Some(p) => p { (p.number) ", " (p.role) "." },
            None => p.care { "Not in the roster any more." },
        }
        @if keys.is_empty() {
            p { "No return that came in was signed by them: there is no key to speak of yet." }
        }
        @for (n, key) in keys.iter().enumerate() {
            @let said: Vec<_> = notices
                .iter()
                .filter(|s| *s.notice.key == key.key && s.notice.person == id)
                .collect();
            section aria-labelledby={ "key-" (n) } {
                h2 id={ "key-" (n) } { "Key " code { (short(&key.key)) } }
                @if is_revoked(&said) { p { strong.care { "It was reported." } } }
                dl {
                    dt { "Number beside it" } dd { (key.number) }
                    dt { "On phones" }
                    dd {
                        @if key.phones.is_empty() { "none that sent a return" }
                        @for phone in &key.phones {
                            a href={ "/phones/" (hex::encode(phone)) } { code { (short(phone)) } } " "
                        }
                    }
                    dt { "Whole" } dd { code { (hex::encode(key.key)) } }
                }
                h3 { "Said of it" }
                (listed(&said))
                (form(looker, &About { key: key.key, person: id, called: "this key", form: n }, said.len()))
            }
        }
        p { a href="/people" { "All people" } }
    };
    page(office, looker, title, &content)
}
