//! The rules: what is in force, a try-out for a new pack, and publishing it.

use maud::{Markup, html};

use super::{Looker, day, moment, page};
use crate::packs::{Looked, Published};
use crate::state::OfficeState;

/// What the page of the rules shows.
pub struct Rules {
    /// Everything published, the newest first.
    pub published: Vec<Published>,
    /// The text in force today.
    pub present: String,
    /// Today, days since 1970-01-01.
    pub today: i32,
    /// What was tried, with its cases, and what came of it.
    pub tried: Option<(String, String, Looked)>,
}

/// The page of the rules.
pub fn rules(office: &OfficeState, looker: &Looker, rules: &Rules) -> Markup {
    let content = html! {
        p { "Phones measure by the pack that is in force on the day they fetch the roster." }
        (history(rules))
        details {
            summary { "The pack in force today" }
            pre tabindex="0" { (rules.present) }
        }
        @match &rules.tried {
            Some((text, cases, looked)) => {
                (outcome(looked))
                @if looked.check.status == 0 { (publish(looker, rules, text)) }
                (try_out(looker, text, cases))
            }
            None => (try_out(looker, "", "")),
        }
    };
    page(office, looker, "Rules", &content)
}

fn history(rules: &Rules) -> Markup {
    html! {
        section aria-labelledby="published" {
            h2 #published { "Published" }
            @if rules.published.is_empty() {
                p { "None yet: the roster's own pack is in force." }
            } @else {
                ul {
                    @for pack in &rules.published {
                        li {
                            "From " strong { (day(pack.from_day)) }
                            @if pack.from_day > rules.today { " (to come)" }
                            ", published by " (pack.name) ", " (moment(pack.published_ms, 0)) " UTC"
                        }
                    }
                }
            }
        }
    }
}

fn outcome(looked: &Looked) -> Markup {
    html! {
        section aria-labelledby="outcome" {
            h2 #outcome { "What the try-out says" }
            h3 { @if looked.check.status == 0 { "The pack is in order" } @else { "The pack is refused" } }
            pre tabindex="0" { (looked.check.text) }
            @if let Some(tried) = &looked.tried {
                h3 {
                    @match tried.status {
                        0 => "Every case was judged",
                        2 => "Some cases are refused",
                        _ => "The cases cannot be read",
                    }
                }
                pre tabindex="0" { (tried.text) }
            }
            h3 { "What differs from the pack in force" }
            @if looked.changes.is_empty() {
                p { "Nothing." }
            } @else {
                pre tabindex="0" {
                    @for (mark, line) in &looked.changes { (mark) " " (line) "\n" }
                }
            }
        }
    }
}

fn publish(looker: &Looker, rules: &Rules, text: &str) -> Markup {
    let Some((worker, word)) = looker.worker.as_ref().zip(looker.form_word.as_ref()) else {
        return html! {};
    };
    if !worker.role.may_decide() {
        return html! { p { "Only a secretary publishes." } };
    }
    let next = rules.published.first().map_or(0, |p| p.nth) + 1;
    html! {
        form.card method="post" action="/rules/publish" {
            h2 { "Publish this pack" }
            input type="hidden" name="word" value=(word);
            input type="hidden" name="nth" value=(next);
            input type="hidden" name="pack" value=(text);
            label for="from" { "In force from" }
            p.small #from-help { "Tomorrow at the earliest. A published pack is never changed; publish another." }
            input #from type="date" name="from" required min=(day(rules.today + 1))
                aria-describedby="from-help";
            button type="submit" { "Publish" }
        }
    }
}

fn try_out(looker: &Looker, text: &str, cases: &str) -> Markup {
    let Some(word) = looker.form_word.as_ref() else {
        return html! { p { a href="/sign-in" { "Sign in" } " to try a pack out." } };
    };
    html! {
        form.card method="post" action="/rules/try" {
            h2 { "Try a pack out" }
            p { "Nothing is recorded by trying." }
            input type="hidden" name="word" value=(word);
            label for="pack" { "The pack's text" }
            textarea #pack name="pack" rows="12" required spellcheck="false" { "\n" (text) }
            label for="cases" { "Cases to judge by it, a JSON list; may be empty" }
            textarea #cases name="cases" rows="6" spellcheck="false" { "\n" (cases) }
            button type="submit" { "Try it out" }
        }
    }
}
