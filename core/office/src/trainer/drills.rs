//! What drills with a model dog say: of the body, and of one person.

use maud::{Markup, html};
use standsquare_measuring::gauge::pooled::pooled;
use standsquare_measuring::gauge::{Estimate, Least, fit, profile, share};

use super::LEVEL;
use super::page::csv;
use crate::pages::scrolled;
use crate::practice::{Practised, cells};
use crate::state::OfficeState;

fn estimate(e: &Estimate) -> String {
    format!("{:.1} mm ({:.1} to {:.1})", e.value, e.low, e.high)
}

/// All together: the common spread and bias, and how far people differ, without a name.
pub(super) fn of_the_body(all: &[Practised]) -> Markup {
    let mut groups: Vec<&[Practised]> = Vec::new();
    groups.extend(all.chunk_by(|a, b| a.record.trainee == b.record.trainee));
    let used: Vec<_> = groups.iter().map(|g| cells(g)).collect();
    let found = pooled(&used, LEVEL, Least::default().placings);
    html! {
        @match found {
            Ok(p) => {
                dl {
                    dt { "Placings over a model of known height" } dd { (p.n) ", by " (groups.len()) " people" }
                    dt { "Spread of one placing" } dd { (estimate(&p.spread_mm)) }
                    dt { "Bias, above nothing reads high" } dd { (estimate(&p.bias_mm)) }
                    dt { "Standard deviation of people's biases" } dd { (estimate(&p.between_mm)) }
                }
                p { "These are a model's, not a dog's: a dog moves. What the rules state is for the body to decide." }
            }
            Err(why) => p { (why) },
        }
    }
}

/// One person's drills, and what follows from them.
pub(super) fn of_one(office: &OfficeState, id: &str, all: &[Practised]) -> Markup {
    let least = Least::default();
    let (n, right) = all
        .iter()
        .map(Practised::right)
        .fold((0, 0), |(n, k), (a, b)| (n + a, k + b));
    let placings = cells(all);
    let found = fit(&placings, least.placings);
    let name = |id: &str| {
        let person = office.roster().people.iter().find(|p| p.id == id);
        person.map_or_else(|| id.to_owned(), |p| p.name.clone())
    };
    let table = html! {
        table {
            caption { "Drills, each signed by a trainer" }
            thead { tr {
                th scope="col" { "Day" } th scope="col" { "Hoop" } th scope="col" { "Right" }
                th scope="col" { "Of" } th scope="col" { "Signed by" }
            } }
            tbody {
                @for drill in all {
                    @let (n, k) = drill.right();
                    tr {
                        th scope="row" { (drill.record.on) }
                        td { (drill.record.drill.plan.gauge) }
                        td.number { (k) } td.number { (n) }
                        td { (name(&drill.trainer)) }
                    }
                }
            }
        }
    };
    if all.is_empty() {
        return html! { p { "None that a trainer signed." } };
    }
    html! {
        (scrolled("Drills", &table))
        @if n < least.pairs { p { "Right: " (n) " so far; nothing is said below " (least.pairs) "." } } @else {
            @let s = share(right, n, LEVEL);
            p { "Right: " (format!("{:.1} % ({:.1} % to {:.1} %)", 100.0 * s.share, 100.0 * s.low, 100.0 * s.high)) }
        }
        @match &found {
            Ok(f) => {
                @let (spread, bias) = profile(&placings, f, LEVEL);
                p { "Spread of one placing: " (estimate(&spread)) ". Bias: " (estimate(&bias)) ", from " (f.n) " placings." }
            }
            Err(why) => p { "Spread and bias: " (why) },
        }
        p { a href={ "/trainer/measurers/" (id) "/drills.csv" } { "Every placing as CSV" } }
    }
}

/// Every placing of every drill.
pub fn drills_csv(all: &[Practised]) -> String {
    let head = ["day", "hoop", "signed_by", "placing", "model_mm", "answer"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for drill in all {
        let tasks = drill.record.drill.tasks.iter().zip(&drill.record.answers);
        for (n, (task, answer)) in tasks.enumerate() {
            use standsquare_measuring::gauge::practice::Answer;
            let word = match answer {
                Answer::Flat => "flat",
                Answer::NotFlat => "not-flat",
                Answer::Void => "void",
            };
            rows.push(vec![
                drill.record.on.to_string(),
                drill.record.drill.plan.gauge.to_string(),
                drill.trainer.clone(),
                (n + 1).to_string(),
                format!("{}", task.height.micrometres() as f64 / 1_000.0),
                word.to_owned(),
            ]);
        }
    }
    csv(&rows)
}
