//! Decisions on record, and the form for the next one.

use maud::{Markup, html};

use super::{Looker, moment, words};
use crate::decide::{Decision, LONGEST_REASON, SHORTEST_REASON, Verdict};
use crate::points::{Point, write_points};

/// The decisions so far, oldest first.
pub(super) fn decisions(decisions: &[Decision]) -> Markup {
    html! {
        section aria-labelledby="decisions" {
            h2 #decisions { "Decisions" }
            @if decisions.is_empty() {
                p { "None yet." }
            } @else {
                ol.decisions {
                    @for decision in decisions {
                        li {
                            p {
                                strong { (words::verdict(decision.verdict)) }
                                @if decision.nth < decisions.len() as i64 {
                                    " (no longer in force)"
                                }
                            }
                            blockquote { (decision.reason) }
                            p.small {
                                (decision.name) ", " (moment(decision.decided_ms, 0)) " UTC"
                                @if !decision.covers.is_empty() {
                                    ", about: "
                                    (decision.covers.iter().map(words::point)
                                        .collect::<Vec<_>>().join("; "))
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What a form decides about.
pub(super) struct Subject<'a> {
    /// The statement's head or the frame's id.
    pub id: [u8; 32],
    /// Where the page goes back to: `measure` or `aside`.
    pub kind: &'a str,
    /// What is on the page.
    pub points: &'a [Point],
    /// Decisions so far.
    pub decided: usize,
}

/// The form, for whoever may use it; else who may.
pub(super) fn form(looker: &Looker, subject: &Subject<'_>, verdicts: &[Verdict]) -> Markup {
    let Some((worker, word)) = looker.worker.as_ref().zip(looker.form_word.as_ref()) else {
        return html! { p { a href="/sign-in" { "Sign in" } " as a secretary to decide." } };
    };
    if !worker.role.may_decide() {
        return html! { p { "Only a secretary decides." } };
    }
    html! {
        form.card method="post" action={ "/decisions/" (hex::encode(subject.id)) } {
            h2 { @if subject.decided == 0 { "Decide" } @else { "Decide anew" } }
            input type="hidden" name="word" value=(word);
            input type="hidden" name="nth" value=(subject.decided + 1);
            input type="hidden" name="seen" value=(write_points(subject.points));
            input type="hidden" name="back" value=(subject.kind);
            fieldset {
                legend { "Decision" }
                @for verdict in verdicts {
                    label.choice {
                        input type="radio" name="verdict" value=(verdict.word()) required;
                        " " (words::verdict(*verdict))
                    }
                }
            }
            label for="reason" { "Reason" }
            p.small #reason-help {
                "Stays on record with your name. At least " (SHORTEST_REASON) " characters."
            }
            textarea #reason name="reason" rows="4" required minlength=(SHORTEST_REASON)
                maxlength=(LONGEST_REASON) aria-describedby="reason-help" {}
            button type="submit" { "Record the decision" }
        }
    }
}
