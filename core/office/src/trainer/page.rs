//! What the trainer's pages look like.

use maud::{Markup, PreEscaped, html};
use standsquare_measuring::RulePack;
use standsquare_measuring::gauge::risk::fates;
use standsquare_measuring::gauge::{Least, Placer, Share, TooFew, Ways, worth};

use super::plot::{Axes, Line, lines};
use super::{LEVEL, Measured, OfMeasurer, changes};
use crate::pages::{Looker, page, scrolled};
use crate::practice::Practised;
use crate::state::OfficeState;

/// How far either side of the limits the operating curve goes, in spreads.
const REACH: f64 = 4.0;

fn percent(x: f64) -> String {
    format!("{:.1} %", 100.0 * x)
}

/// A share with its interval and how much it rests on, or why nothing is said.
fn told(share: &Result<Share, TooFew>) -> Markup {
    html! {
        @match share {
            Ok(s) => {
                (percent(s.share)) " (" (s.count) " of " (s.n) "; "
                (percent(s.low)) " to " (percent(s.high)) ")"
            }
            Err(few) => { (few) }
        }
    }
}

fn figure(label: &str, svg: Result<String, String>) -> Markup {
    html! {
        @match svg {
            // Made by the drawing library from numbers and escaped names.
            Ok(svg) => figure.scroll tabindex="0" role="img" aria-label=(label) { (PreEscaped(svg)) },
            Err(why) => p { "The plot could not be drawn: " (why) },
        }
    }
}

/// The first page: the body's numbers, and the measurers by name, without any.
pub fn overview(
    office: &OfficeState,
    looker: &Looker,
    pack: &RulePack,
    all: &[Measured],
    drills: &[Practised],
) -> Markup {
    let mut people: Vec<_> = office.roster().people.iter().collect();
    people.sort_by(|a, b| a.name.cmp(&b.name));
    let content = html! {
        p { "Intervals hold the truth in " (percent(LEVEL)) " of such cases. Where there is too little, nothing is said." }
        h2 { "What second measures make of first ones" }
        (transitions(pack, all))
        p { a href="/trainer/changes.csv" { "The counts as CSV" } }
        h2 { "How sure a category is" }
        (sureness(pack))
        h2 { "Spread and bias from drills" }
        (super::drills::of_the_body(drills))
        h2 { "Measurers" }
        p { "One at a time. There is no list to compare them by, and none is meant." }
        ul {
            @for person in people {
                li { a href={ "/trainer/measurers/" (person.id) } { (person.name) } }
            }
        }
        p { a href="/" { "Returns inbox" } }
    };
    page(office, looker, "Training", &content)
}

fn transitions(pack: &RulePack, all: &[Measured]) -> Markup {
    let found = changes(pack.categories().len(), all);
    let least = Least::default();
    let table = html! {
        table {
            caption { "Category at the second measure, of the dogs of each first one" }
            thead {
                tr {
                    th scope="col" { "First" }
                    th scope="col" { "Dogs" }
                    @for c in pack.categories() { th scope="col" { (c.label) } }
                }
            }
            tbody {
                @for (c, row) in pack.categories().iter().zip(found.rows(LEVEL, least.pairs)) {
                    tr {
                        th scope="row" { (c.label) }
                        td.number { (row.n) }
                        @match &row.to {
                            Ok(to) => { @for s in to { td { (told(&Ok(*s))) } } }
                            Err(few) => { td colspan=(pack.categories().len()) { (few) } }
                        }
                    }
                }
            }
        }
    };
    html! {
        (scrolled("Second measures", &table))
        p { "Changed in all: " (told(&found.changed(LEVEL, least.pairs))) }
    }
}

fn sureness(pack: &RulePack) -> Markup {
    let stated = pack.doc().sureness.clone().unwrap_or_default();
    let Some(placer) = stated.placer() else {
        return html! {
            p { "The rules state no spread of a placing (sureness.spread), so nothing can be said. It comes from the body's own data: placings over dogs or a model of known height." }
        };
    };
    let ways = match Ways::of(pack) {
        Ok(ways) => ways,
        Err(why) => return html! { p { (why) } },
    };
    let limits: Vec<f64> = pack
        .categories()
        .iter()
        .filter_map(|c| c.up_to.map(|l| l.nm() as f64 / 1e6))
        .collect();
    let room = REACH * placer.spread_mm() + placer.bias_mm().abs();
    let plots = limits.iter().map(|limit| {
        let (from, to) = (limit - room, limit + room);
        let curve = ways.curve(from, to, 121, &[placer]);
        let all: Vec<Line> = pack
            .categories()
            .iter()
            .enumerate()
            .map(|(i, c)| Line {
                name: c.label.clone(),
                points: curve
                    .iter()
                    .map(|(h, odds)| (h / 10.0, odds.found[i]))
                    .collect(),
            })
            .filter(|l| l.points.iter().any(|(_, p)| *p > 0.001))
            .collect();
        let axes = Axes {
            across: "true height, cm",
            up: "probability of the category",
            x: (from / 10.0, to / 10.0),
            y: (0.0, 1.0),
        };
        let label = format!(
            "Probability of each category by true height about {} cm",
            limit / 10.0
        );
        figure(&label, lines(&axes, &all))
    });
    let guard = stated.guard_band_mm();
    let risks = stated.known_heights().map(|heights| {
        let plain = fates(pack, &ways, &heights, &[placer]);
        let guarded =
            (guard > 0.0).then(|| fates(pack, &ways.clone().guarded(guard), &heights, &[placer]));
        (plain, guarded)
    });
    html! {
        p {
            "By the rules' own procedure, with the spread of " (placer.spread_mm()) " mm and the bias of "
            (placer.bias_mm()) " mm that the rules state, and placings that err independently of each other."
        }
        @for plot in plots { (plot) }
        (more_placings(pack, &placer))
        @if let Some((plain, guarded)) = &risks {
            p { "Of all dogs, found too low: " (percent(plain.too_low())) "; too high: " (percent(plain.too_high())) "." }
            @if let Some(g) = guarded {
                p { "With hoops " (guard) " mm lower (a guard band): too low " (percent(g.too_low())) "; too high " (percent(g.too_high())) "." }
            }
        }
    }
}

/// What the number of placings is worth at each limit.
fn more_placings(pack: &RulePack, placer: &Placer) -> Markup {
    let limits = pack.categories().iter().enumerate();
    let limits = limits.filter(|(_, c)| c.up_to.is_some());
    let rows = limits.filter_map(|(i, c)| Some((c, worth(pack, i, 5, &[*placer]).ok()?)));
    let rows: Vec<_> = rows.collect();
    let table = html! {
        table {
            caption { "What the number of placings is worth" }
            thead {
                tr {
                    th scope="col" { "Category" }
                    th scope="col" { "Placings" }
                    th scope="col" { "Half the dogs are over from, cm" }
                    th scope="col" { "From one in twenty to nineteen in twenty, mm" }
                }
            }
            tbody {
                @for (c, all) in &rows { @for w in all {
                    tr {
                        th scope="row" { (c.label) }
                        td.number { (w.placings) }
                        td.number { (format!("{:.2}", w.half_mm / 10.0)) }
                        td.number { (format!("{:.1}", w.width_mm)) }
                    }
                } }
            }
        }
    };
    scrolled("What the number of placings is worth", &table)
}

/// One measurer's page.
pub fn measurer(
    office: &OfficeState,
    looker: &Looker,
    (id, name): (&str, &str),
    found: &OfMeasurer,
    drills: &[Practised],
) -> Markup {
    let content = html! {
        dl {
            dt { "Dogs signed for" } dd { (found.dogs) }
            dt { "With mixed placings (near a limit)" } dd { (told(&found.near_limit)) }
            dt { "First measures that the second changed" } dd { (told(&found.changed)) }
        }
        h2 { "Months" }
        p { "The share of dogs with mixed placings. A month outside the limits is worth a look; it is no fault by itself: other dogs, another hoop, another floor do it as well." }
        @match &found.chart {
            Ok((centre, points)) => {
                (chart(*centre, points))
                p {
                    @let out: Vec<String> = found.months.iter().zip(points).filter(|(_, p)| p.outside)
                        .map(|((m, ..), _)| m.format("%B %Y").to_string()).collect();
                    @if out.is_empty() { "No month lies outside." } @else { "Outside: " (out.join(", ")) "." }
                }
            }
            Err(few) => p { "Months: " (few) },
        }
        p { a href={ "/trainer/measurers/" (id) "/months.csv" } { "The months as CSV" } }
        h2 { "Drills with a model dog" }
        (super::drills::of_one(office, id, drills))
        p { a href="/trainer" { "Training" } }
    };
    page(office, looker, name, &content)
}

fn chart(centre: f64, points: &[standsquare_measuring::gauge::drift::Point]) -> Markup {
    let line = |name: &str, of: &dyn Fn(usize) -> f64| Line {
        name: name.into(),
        points: (0..points.len()).map(|i| ((i + 1) as f64, of(i))).collect(),
    };
    let all = [
        line("this month", &|i| points[i].value),
        line("upper limit", &|i| points[i].high),
        line("lower limit", &|i| points[i].low),
        line("all months", &|_| centre),
    ];
    let top = points
        .iter()
        .map(|p| p.high.max(p.value))
        .fold(0.05, f64::max);
    let axes = Axes {
        across: "month",
        up: "share with mixed placings",
        x: (1.0, points.len() as f64),
        y: (0.0, (1.05 * top).min(1.0)),
    };
    figure(
        "Share with mixed placings by month, with control limits",
        lines(&axes, &all),
    )
}

pub(crate) fn csv(rows: &[Vec<String>]) -> String {
    let mut out = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    for row in rows {
        // Writing to memory cannot fail, and every row has as many fields as the first.
        let _ = out.write_record(row);
    }
    out.into_inner()
        .ok()
        .and_then(|bytes| String::from_utf8(bytes).ok())
        .unwrap_or_default()
}

/// The transition counts: first, second, dogs.
pub fn changes_csv(pack: &RulePack, all: &[Measured]) -> String {
    let found = changes(pack.categories().len(), all);
    let mut rows = vec![["first", "second", "dogs"].map(str::to_owned).to_vec()];
    for (first, counts) in pack.categories().iter().zip(found.counts()) {
        for (second, n) in pack.categories().iter().zip(counts) {
            rows.push(vec![
                first.id.to_string(),
                second.id.to_string(),
                n.to_string(),
            ]);
        }
    }
    csv(&rows)
}

/// A measurer's months: month, dogs with mixed placings, dogs.
pub fn months_csv(found: &OfMeasurer) -> String {
    let mut rows = vec![["month", "near_limit", "dogs"].map(str::to_owned).to_vec()];
    rows.extend(
        found
            .months
            .iter()
            .map(|(m, k, n)| vec![m.format("%Y-%m").to_string(), k.to_string(), n.to_string()]),
    );
    csv(&rows)
}
