//! A measurer's own figures, from this phone's own records: agreement, placings near a limit, spread
//! and bias from drills, drift. Below a stated minimum nothing is said. One person at a time: there is
//! no list to compare people by.

use standsquare_measuring::gauge::drift::{self, Period, Point};
use standsquare_measuring::gauge::probit::gather;
use standsquare_measuring::gauge::{Cell, Least, Placer, TooFew, fit, profile, share};

use crate::days;
use crate::roster::Loaded;
use crate::state::{Drilled, State};
use crate::view::{Chart, ChartPoint, Text};

/// How sure the intervals are.
const LEVEL: f64 = 0.95;

fn few(few: TooFew) -> Text {
    Text::of("own.few")
        .count("have", few.have as i64)
        .count("need", few.need as i64)
}

/// The same of the points of a chart.
fn few_points(few: TooFew) -> Text {
    Text::of("own.few_points")
        .count("have", few.have as i64)
        .count("need", few.need as i64)
}

fn percent(share: f64) -> i64 {
    (100.0 * share).round() as i64
}

/// A share with its interval, in words, or that there is too little.
fn told(key: &str, count: u64, n: u64, least: u64) -> Text {
    if n < least {
        return few(TooFew {
            have: n,
            need: least,
        });
    }
    let s = share(count, n, LEVEL);
    Text::of(key)
        .count("percent", percent(s.share))
        .count("low", percent(s.low))
        .count("high", percent(s.high))
        .count("n", n as i64)
}

/// Thousandths, kept within what a chart can hold.
fn thousandths(x: f64) -> i32 {
    (1_000.0 * x).round().clamp(-1e6, 1e6) as i32
}

fn points(days_of: &[String], all: &[Point]) -> Vec<ChartPoint> {
    let pairs = days_of.iter().zip(all);
    pairs
        .map(|(day, p)| ChartPoint {
            day: day.clone(),
            value: thousandths(p.value),
            low: thousandths(p.low),
            high: thousandths(p.high),
            outside: p.outside,
        })
        .collect()
}

/// A chart of shares by session.
fn shares(id: &str, said: Text, sessions: &[(String, u64, u64)], least: Least) -> Chart {
    let used: Vec<&(String, u64, u64)> = sessions.iter().filter(|(_, _, n)| *n > 0).collect();
    let counts: Vec<(u64, u64)> = used.iter().map(|(_, k, n)| (*k, *n)).collect();
    let days_of: Vec<String> = used.iter().map(|(day, ..)| day.clone()).collect();
    let (middle, all, silence) = match drift::shares(&counts, least.periods) {
        Ok((middle, all)) => (thousandths(middle), points(&days_of, &all), None),
        Err(why) => (0, Vec::new(), Some(few_points(why))),
    };
    Chart {
        id: id.into(),
        title: Text::of(&format!("own.{id}")),
        said,
        from: 0,
        to: 1_000,
        top: Text::of("own.all"),
        bottom: Text::of("own.none"),
        middle,
        points: all,
        silence,
    }
}

/// All charts of one person.
pub fn charts(state: &State, loaded: &Loaded, person: &str) -> Vec<Chart> {
    let least = Least::default();
    let sat = state.sittings();
    let own = |pick: fn(&crate::state::Sitting) -> (u64, u64)| -> Vec<(String, u64, u64)> {
        sat.iter()
            .filter_map(|(day, s)| {
                let (k, n) = pick(s.measurers.get(person)?);
                Some((days::date(*day).to_string(), k, n))
            })
            .collect()
    };
    let sum =
        |all: &[(String, u64, u64)]| all.iter().fold((0, 0), |(k, n), (_, a, b)| (k + a, n + b));
    let mut charts = Vec::new();
    let alike = own(|s| (s.alike, s.compared));
    if !alike.is_empty() {
        let (k, n) = sum(&alike);
        let said = told("own.alike_said", k, n, least.pairs);
        charts.push(shares("alike", said, &alike, least));
        let mixed = own(|s| (s.mixed, s.dogs));
        let (k, n) = sum(&mixed);
        let said = told("own.mixed_said", k, n, least.pairs);
        charts.push(shares("mixed", said, &mixed, least));
    }
    let watched: Vec<(String, u64, u64)> = sat
        .iter()
        .filter_map(|(day, s)| {
            let w = s.trainees.get(person)?;
            Some((days::date(*day).to_string(), w.same, w.dogs))
        })
        .collect();
    if !watched.is_empty() {
        let (k, n) = sum(&watched);
        let said = told("own.watched_said", k, n, least.pairs);
        charts.push(shares("watched", said, &watched, least));
    }
    let none = Vec::new();
    let drills = state.practice.drills.get(person).unwrap_or(&none);
    if !drills.is_empty() {
        charts.push(drift_of(loaded, drills, least));
    }
    charts
}

fn cells_of(drills: &[Drilled]) -> Vec<Cell> {
    let all = drills.iter().flat_map(|d| &d.cells);
    gather(
        all.map(|(room_um, flat)| Cell::one(*room_um as f64 / 1_000.0, *flat))
            .collect(),
    )
}

/// A length in micrometres, to a tenth of a millimetre.
fn um(mm: f64) -> i64 {
    (mm * 10.0).round() as i64 * 100
}

/// Spread and bias from all drills, in words: of the placings of known heights that there are.
pub fn spread_and_bias(drills: &[Drilled]) -> Vec<Text> {
    let cells = cells_of(drills);
    let n: u32 = cells.iter().map(|c| c.flat + c.not).sum();
    match fit(&cells, Least::default().placings) {
        Ok(found) => {
            let (spread, bias) = profile(&cells, &found, LEVEL);
            [("own.spread", spread), ("own.bias", bias)]
                .map(|(key, e)| {
                    Text::of(key)
                        .length("value", um(e.value))
                        .length("low", um(e.low))
                        .length("high", um(e.high))
                        .count("n", n)
                })
                .to_vec()
        }
        Err(standsquare_measuring::gauge::FitFault::TooFew(why)) => vec![few(why)],
        Err(_) => vec![Text::of("own.no_fit").count("n", n)],
    }
}

/// Drills in order against the body's stated spread and bias, or else their own: above the middle
/// reads low.
fn drift_of(loaded: &Loaded, drills: &[Drilled], least: Least) -> Chart {
    let stated = loaded.pack.doc().sureness.as_ref();
    let stated = stated.and_then(|s| s.placer());
    let own = || fit(&cells_of(drills), least.placings).ok()?.placer();
    let placer: Option<Placer> = stated.or_else(own);
    let mut days_of = Vec::new();
    let mut periods = Vec::new();
    if let Some(placer) = placer {
        for drill in drills {
            let mut period = Period::default();
            for (room_um, flat) in &drill.cells {
                period.add(*flat, placer.flat(0.0, *room_um as f64 / 1_000.0));
            }
            // Where nothing was open, nothing can be said: of_measurer leaves it out as well.
            if period.surplus().is_some() {
                days_of.push(days::of_moment(drill.begun_ms, 0).to_string());
                periods.push(period);
            }
        }
    }
    let (points, silence) = match drift::of_measurer(&periods, least.periods) {
        Ok(all) => (points(&days_of, &all), None),
        Err(why) => (Vec::new(), Some(few_points(why))),
    };
    let reach = points
        .iter()
        .map(|p| p.high.max(p.value).max(-p.value))
        .max()
        .unwrap_or(1_000);
    Chart {
        id: "drift".into(),
        title: Text::of("own.drift"),
        said: Text::of("own.drills").count("count", drills.len() as i64),
        from: -reach,
        to: reach,
        top: Text::of("own.low"),
        bottom: Text::of("own.high"),
        middle: 0,
        points,
        silence,
    }
}
