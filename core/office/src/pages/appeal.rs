//! Objections and appeals about a measure, and the form for the next step.

use maud::{Markup, html};

use super::{Looker, day_in_words, moment};
use crate::appeals::{Decided, Noted, Step, is_open};
use crate::decide::{LONGEST_REASON, SHORTEST_REASON};
use crate::read::VisitLine;

fn ended(outcome: Decided) -> &'static str {
    match outcome {
        Decided::Upheld => "Upheld: the handler is right",
        Decided::Dismissed => "Dismissed: the measure stands",
        Decided::Withdrawn => "Withdrawn by the handler",
    }
}

/// The steps so far, oldest first, and the form.
pub(super) fn appeals(looker: &Looker, visit: &VisitLine, steps: &[Noted]) -> Markup {
    html! {
        section aria-labelledby="appeals" {
            h2 #appeals { "Objections and appeals" }
            @if steps.is_empty() { p { "None." } } @else {
                ol.decisions { @for noted in steps { li { (step(noted)) } } }
                p { @if is_open(steps) { strong.care { "Not decided." } } @else { "Decided." } }
            }
        }
        (form(looker, visit, steps))
    }
}

fn step(noted: &Noted) -> Markup {
    let (title, words) = match &noted.step {
        Step::Objection { words } => ("Objection", words),
        Step::Appeal { words, .. } => ("Appeal", words),
        Step::Decided { outcome, reason } => (ended(*outcome), reason),
    };
    html! {
        p { strong { (title) } ", " (day_in_words(noted.day)) }
        blockquote { (words) }
        @if let Step::Appeal { interim, measurers, .. } = &noted.step {
            @if !interim.is_empty() { p { "Competes meanwhile as: " (interim) } }
            @if !measurers.is_empty() { p { "To be measured by: " (measurers) } }
        }
        p.small { "Noted by " (noted.name) ", " (moment(noted.noted_ms, 0)) " UTC" }
    }
}

fn form(looker: &Looker, visit: &VisitLine, steps: &[Noted]) -> Markup {
    let Some((worker, word)) = looker.worker.as_ref().zip(looker.form_word.as_ref()) else {
        return html! {};
    };
    if !worker.role.may_decide() {
        return html! {};
    }
    html! {
        form.card method="post" action={ "/appeals/" (hex::encode(visit.head)) } {
            h2 { "Note the next step" }
            input type="hidden" name="word" value=(word);
            input type="hidden" name="nth" value=(steps.len() + 1);
            fieldset {
                legend { "What happened" }
                (choice("objection", "The handler objects"))
                (choice("appeal", "An appeal was lodged"))
                @if is_open(steps) {
                    @for outcome in Decided::ALL { (choice(outcome.word(), ended(outcome))) }
                }
            }
            label for="happened" { "On which day" }
            input #happened name="day" type="date" required;
            label for="words" { "In the handler's words, or the reason of the outcome" }
            textarea #words name="words" rows="4" required minlength=(SHORTEST_REASON)
                maxlength=(LONGEST_REASON) {}
            label for="interim" { "Appeal: category meanwhile, if another" }
            input #interim name="interim" maxlength="200" autocomplete="off";
            label for="measurers" { "Appeal: numbers of uninvolved measurers who measure again" }
            input #measurers name="measurers" maxlength="200" autocomplete="off";
            button type="submit" { "Note it" }
        }
    }
}

fn choice(value: &str, words: &str) -> Markup {
    html! {
        label.choice {
            input type="radio" name="kind" value=(value) required;
            " " (words)
        }
    }
}
