//! Returns over time: a plot, and the same numbers as a table beside it.

use maud::{Markup, html};

use super::{Looker, page, scrolled};
use crate::over_time::Month;
use crate::state::OfficeState;

/// The plot's size and where its axes begin, in its own units.
const SIZE: (i64, i64) = (900, 320);
const LEFT: i64 = 60;
const TOP: i64 = 20;
const FOOT: i64 = 50;
/// Lines across, at most.
const STEPS: i64 = 5;

/// The page.
pub fn over_time(office: &OfficeState, looker: &Looker, months: &[Month]) -> Markup {
    let table = html! {
        table {
            caption { "Returns, month by month, the newest first" }
            thead { tr {
                th scope="col" { "Month" }
                th.number scope="col" { "Sessions" }
                th.number scope="col" { "Dogs" }
                th.number scope="col" { "Wait for a decision" }
            } }
            tbody {
                @for m in months.iter().rev() {
                    tr {
                        th scope="row" { (m.first.format("%B %Y")) }
                        td.number { (m.sessions) }
                        td.number { (m.dogs) }
                        td.number { (m.open) }
                    }
                }
            }
        }
    };
    let content = html! {
        (plot(months))
        (scrolled("Returns, month by month", &table))
        @if looker.worker.as_ref().is_some_and(|w| w.role.may_train()) {
            p { a href="/trainer" { "What second measures make of first ones" } }
        }
        p { a href="/" { "Returns inbox" } }
    };
    page(office, looker, "Returns over time", &content)
}

/// The next round number, so that the axis ends on one.
fn round_up(n: i64) -> i64 {
    let mut unit = 1;
    loop {
        for factor in [1, 2, 5] {
            let end = unit * factor * STEPS;
            if end >= n {
                return end;
            }
        }
        unit *= 10;
    }
}

/// Bars: dogs a month, those that wait for a decision hatched at the foot.
fn plot(months: &[Month]) -> Markup {
    let most = round_up(months.iter().map(|m| m.dogs).max().unwrap_or(0).max(1));
    let high = SIZE.1 - TOP - FOOT;
    let floor = SIZE.1 - FOOT;
    let wide = (SIZE.0 - LEFT) / i64::try_from(months.len()).unwrap_or(1).max(1);
    let tall = |dogs: i64| dogs * high / most;
    let bars = months
        .iter()
        .enumerate()
        .map(|(n, m)| (LEFT + n as i64 * wide, m));
    let (dogs, open) = months
        .iter()
        .fold((0, 0), |(dogs, open), m| (dogs + m.dogs, open + m.open));
    html! {
        figure {
            div.scroll tabindex="0" role="region" aria-label="Returns over time, plot" { svg.plot xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (SIZE.0) " " (SIZE.1) }
                role="img" aria-labelledby="plot-title plot-says" {
                title #plot-title { "Dogs on record, month by month" }
                desc #plot-says {
                    (dogs) " dogs in " (months.len()) " months, of which " (open)
                    " wait for a decision. The table after the plot has every number."
                }
                defs {
                    pattern #hatch width="6" height="6" patternUnits="userSpaceOnUse"
                        patternTransform="rotate(45)" {
                        rect width="6" height="6" fill="#fff" {}
                        rect width="3" height="6" fill="#6d2a00" {}
                    }
                }
                @for step in 0..=STEPS {
                    @let y = floor - high * step / STEPS;
                    line x1=(LEFT) x2=(SIZE.0) y1=(y) y2=(y) stroke="#6b7a70" stroke-width="1" {}
                    text x=(LEFT - 8) y=(y + 5) text-anchor="end" { (most * step / STEPS) }
                }
                @for (x, m) in bars {
                    rect x=(x + 4) y=(floor - tall(m.dogs)) width=(wide - 8)
                        height=(tall(m.dogs)) fill="#0b4a63" {}
                    rect x=(x + 4) y=(floor - tall(m.open)) width=(wide - 8)
                        height=(tall(m.open)) fill="url(#hatch)" stroke="#6d2a00" {}
                    @if m.first.format("%m").to_string() == "01" || x == LEFT {
                        text x=(x + 4) y=(floor + 40) { (m.first.format("%Y")) }
                    }
                    text x=(x + wide / 2) y=(floor + 20) text-anchor="middle" {
                        (m.first.format("%-m"))
                    }
                }
            }
            }
            figcaption {
                "Dogs on record by the month of their session. Hatched: those that wait for a decision."
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;

    #[test]
    fn the_axis_ends_on_a_round_number() {
        for (n, end) in [
            (1, 5),
            (5, 5),
            (6, 10),
            (11, 25),
            (26, 50),
            (51, 50 * 2),
            (7_001, 10_000),
        ] {
            assert_eq!(round_up(n), end, "{n}");
        }
    }

    #[test]
    fn bars_stand_for_their_numbers_and_nothing_is_styled_or_run() {
        let month = |n: u32, dogs, open| Month {
            first: NaiveDate::from_ymd_opt(2026, n, 1).expect("a day"),
            sessions: 1,
            dogs,
            open,
        };
        let svg = plot(&[month(1, 10, 0), month(2, 5, 5), month(3, 0, 0)]).into_string();
        // Of 250 units for ten dogs.
        for height in ["height=\"250\"", "height=\"125\"", "height=\"0\""] {
            assert!(svg.contains(height), "{height}: {svg}");
        }
        assert!(svg.contains("15 dogs in 3 months, of which 5"));
        assert!(!svg.contains("style=") && !svg.contains("<script"));
    }
}
