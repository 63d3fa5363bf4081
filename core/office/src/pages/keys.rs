//! What was said of a key, and the form to say more.

use maud::{Markup, html};
use standsquare_journal::record::notice::{Says, Why};

use super::qr::qr;
use super::{Looker, moment};
use crate::decide::{LONGEST_REASON, SHORTEST_REASON};
use crate::keys::Noticed;

/// Every reason that a key counts no more, in the order of the form.
const WHY: [(Why, &str, &str); 4] = [
    (
        Why::Lost,
        "lost",
        "It is lost: the phone that held it is gone",
    ),
    (
        Why::Exposed,
        "exposed",
        "Somebody else may know the PIN, or may have had the phone",
    ),
    (Why::Replaced, "replaced", "Another key took its place"),
    (Why::Ended, "ended", "Its owner measures no more"),
];

/// What a notice says, in a sentence.
pub(super) fn says(says: Says) -> String {
    match says {
        Says::Enrolled { from_ms, until_ms } => {
            let until = until_ms.map(|at| format!(" until {} UTC", moment(at, 0)));
            format!(
                "Theirs, and good from {} UTC{}",
                moment(from_ms, 0),
                until.unwrap_or_default()
            )
        }
        Says::Revoked { from_ms, why } => {
            format!(
                "Counts no more from {} UTC: {}",
                moment(from_ms, 0),
                why.word()
            )
        }
    }
}

/// Whether it counts no more at some moment.
pub(super) fn is_revoked(notices: &[&Noticed]) -> bool {
    notices
        .iter()
        .any(|n| matches!(n.notice.says, Says::Revoked { .. }))
}

/// The notices of one key, each with its code for phones without a signal.
pub(super) fn listed(notices: &[&Noticed]) -> Markup {
    html! {
        @if notices.is_empty() { p { "This office has said nothing of it." } } @else {
            ol.decisions {
                @for noticed in notices {
                    li {
                        p { strong { (says(noticed.notice.says)) } }
                        blockquote { (noticed.reason) }
                        p.small { (noticed.name) ", " (moment(noticed.notice.at_ms, 0)) " UTC" }
                        details {
                            summary { "Code for a phone without signal" }
                            @let id = format!("notice-{}", noticed.nth);
                            @if let Some(code) = qr(&id, "This notice as a QR code", &noticed.text) { (code) }
                            p { code { (noticed.text) } }
                        }
                    }
                }
            }
        }
    }
}

/// Of which key the form speaks.
pub(super) struct About<'a> {
    /// The key.
    pub key: [u8; 32],
    /// Whose: id in the roster; empty for a phone's.
    pub person: &'a str,
    /// What the form calls it: 'this key' or 'this phone'.
    pub called: &'a str,
    /// Told apart from other forms of the page.
    pub form: usize,
}

/// The form.
pub(super) fn form(looker: &Looker, about: &About<'_>, said: usize) -> Markup {
    let Some(word) = &looker.form_word else {
        return html! {};
    };
    let n = about.form;
    html! {
        form.card method="post" action={ "/keys/" (hex::encode(about.key)) } {
            h3 { "Say something of " (about.called) }
            input type="hidden" name="word" value=(word);
            input type="hidden" name="nth" value=(said + 1);
            input type="hidden" name="person" value=(about.person);
            fieldset {
                legend { "What" }
                @for (_, word, words) in WHY {
                    label.choice { input type="radio" name="says" value=(word) required; " " (words) }
                }
                @if !about.person.is_empty() {
                    label.choice {
                        input type="radio" name="says" value="enrolled" required;
                        " It is theirs, and what it signs counts"
                    }
                }
            }
            label for={ "since-" (n) } { "From when on, UTC" }
            p.small id={ "since-help-" (n) } {
                "When it happened, not when it was reported. What was signed from then on needs a decision."
            }
            input id={ "since-" (n) } name="since" type="datetime-local" required
                aria-describedby={ "since-help-" (n) };
            @if !about.person.is_empty() {
                label for={ "until-" (n) } { "If it is theirs: until when, UTC (may stay empty)" }
                input id={ "until-" (n) } name="until" type="datetime-local";
            }
            label for={ "reason-" (n) } { "Who said so, and how" }
            p.small id={ "reason-help-" (n) } { "Stays at the office with your name; phones are not told." }
            textarea id={ "reason-" (n) } name="reason" rows="3" required minlength=(SHORTEST_REASON)
                maxlength=(LONGEST_REASON) aria-describedby={ "reason-help-" (n) } {}
            button type="submit" { "Sign it and tell the phones" }
        }
    }
}
