//! The statistics against scipy, statsmodels and scikit-learn on random data. Set
//! STANDSQUARE_SKIP_ORACLES to leave that out where PyPI is out of reach; then the test says so.

use std::io::Write;
use std::process::{Command, Stdio};

use serde_json::{Value, json};
use standsquare_measuring::gauge::agreement::{pairs, panel};
use standsquare_measuring::gauge::pooled::given;
use standsquare_measuring::gauge::risk::global_risk;
use standsquare_measuring::gauge::{Cell, fit, normal, share};

use super::support::{Dice, close};

/// What is installed from PyPI; `examples/bench_gauge.rs` uses the same.
const PACKAGES: &[&str] = &[
    "scipy==1.17.1",
    "statsmodels==0.14.6",
    "scikit-learn==1.9.1",
];
/// Data sets of each kind.
const SETS: usize = 1_000;

fn ask(question: &Value) -> Option<Value> {
    let python =
        match standsquare_reader::oracle::python(env!("CARGO_TARGET_TMPDIR"), "gauge", PACKAGES) {
            Ok(python) => python?,
            Err(why) => panic!("{why}"),
        };
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/gauge/oracle.py");
    let mut child = Command::new(python)
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("python");
    let mut stdin = child.stdin.take().expect("piped");
    let input = question.to_string();
    let writer = std::thread::spawn(move || stdin.write_all(input.as_bytes()));
    let out = child.wait_with_output().expect("its answer");
    writer.join().expect("the writer").expect("all written");
    assert!(out.status.success(), "the oracle failed");
    Some(serde_json::from_slice(&out.stdout).expect("JSON"))
}

fn numbers(v: &Value) -> Vec<f64> {
    v.as_array()
        .expect("an array")
        .iter()
        .map(|x| x.as_f64().unwrap_or(f64::NAN))
        .collect()
}

fn table(dice: &mut Dice) -> Vec<Vec<u64>> {
    let size = 2 + dice.below(4) as usize;
    let most = [3, 10, 200][dice.below(3) as usize];
    let mut t: Vec<Vec<u64>> = (0..size)
        .map(|i| {
            (0..size)
                .map(|j| dice.below(most) + if i == j { dice.below(3 * most) } else { 0 })
                .collect()
        })
        .collect();
    // Two cells off the diagonal at least, so that every oracle has something to divide by.
    t[0][1] += 1;
    t[1][0] += 1;
    t
}

fn rows(dice: &mut Dice) -> Vec<Vec<u32>> {
    let (raters, size) = (2 + dice.below(6), 2 + dice.below(4) as usize);
    (0..8 + dice.below(30))
        .map(|_| {
            let mut row = vec![0; size];
            let favourite = dice.below(size as u64) as usize;
            for _ in 0..raters {
                let stays = dice.below(3) > 0;
                let to = if stays {
                    favourite
                } else {
                    dice.below(size as u64) as usize
                };
                row[to] += 1;
            }
            row
        })
        .collect()
}

/// Placings with known spread and bias over heights about a hoop.
fn placings(dice: &mut Dice, n: u64) -> Vec<(f64, bool)> {
    let (s, b) = (dice.between(1.0, 12.0), dice.between(-8.0, 8.0));
    (0..n)
        .map(|_| {
            let room = (dice.between(-30.0, 30.0) * 10.0).round() / 10.0;
            (room, room - b > s * dice.normal())
        })
        .collect()
}

#[test]
fn every_statistic_is_that_of_the_oracles() {
    let mut dice = Dice(14_253);
    let z: Vec<f64> = (0..SETS).map(|_| dice.between(-36.0, 36.0)).collect();
    let p: Vec<f64> = (0..SETS)
        .map(|i| match i % 3 {
            0 => dice.unit(),
            1 => 10_f64.powf(dice.between(-300.0, -1.0)),
            _ => 1.0 - 10_f64.powf(dice.between(-15.0, -1.0)),
        })
        .collect();
    let levels = [0.8, 0.9, 0.95, 0.99];
    let kappas: Vec<(Vec<Vec<u64>>, f64)> = (0..SETS)
        .map(|i| (table(&mut dice), levels[i % 4]))
        .collect();
    let panels: Vec<Vec<Vec<u32>>> = (0..SETS / 4).map(|_| rows(&mut dice)).collect();
    let shares: Vec<(u64, u64, f64)> = (0..SETS)
        .map(|i| {
            let n = 1 + dice.below(500);
            (dice.below(n + 1), n, levels[i % 4])
        })
        .collect();
    let mut probits = Vec::new();
    while probits.len() < SETS {
        let n = 60 + dice.below(240);
        let set = placings(&mut dice, n);
        let cells: Vec<Cell> = set.iter().map(|(r, f)| Cell::one(*r, *f)).collect();
        if let Ok(fit) = fit(&cells, 60) {
            probits.push((set, fit));
        }
    }
    let groups: Vec<Vec<Vec<(f64, bool)>>> = (0..20)
        .map(|_| {
            let n = 3 + dice.below(8);
            let spread = dice.between(3.0, 8.0);
            (0..n)
                .map(|_| {
                    let bias = 4.0 * dice.normal();
                    (0..80)
                        .map(|_| {
                            let room = dice.between(-20.0, 20.0);
                            (room, room - bias > spread * dice.normal())
                        })
                        .collect()
                })
                .collect()
        })
        .collect();
    let taus: Vec<f64> = groups.iter().map(|_| dice.between(0.05, 1.5)).collect();
    let fitted: Vec<_> = groups
        .iter()
        .zip(&taus)
        .map(|(g, tau)| {
            let cells: Vec<Vec<Cell>> = g
                .iter()
                .map(|m| m.iter().map(|(r, f)| Cell::one(*r, *f)).collect())
                .collect();
            given(&cells, *tau, 0.95, 60).expect("a fit")
        })
        .collect();
    let risks: Vec<[f64; 5]> = (0..200)
        .map(|_| {
            let sd = dice.between(20.0, 90.0);
            let mean = dice.between(300.0, 450.0);
            [
                mean,
                sd,
                mean + sd * dice.between(-2.0, 2.0),
                dice.between(0.0, 6.0),
                dice.between(1.0, 10.0),
            ]
        })
        .collect();

    let question = json!({
        "z": z,
        "p": p,
        "kappa": kappas.iter().map(|(t, l)| json!({"table": t, "level": l})).collect::<Vec<_>>(),
        "panel": panels,
        "share": shares,
        "probit": probits.iter().map(|(set, _)| json!({
            "room": set.iter().map(|s| s.0).collect::<Vec<_>>(),
            "flat": set.iter().map(|s| u8::from(s.1)).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "pooled": groups.iter().zip(&taus).map(|(g, tau)| {
            let all: Vec<(usize, f64, bool)> = g.iter().enumerate()
                .flat_map(|(i, m)| m.iter().map(move |(r, f)| (i, *r, *f))).collect();
            json!({
                "who": all.iter().map(|a| a.0).collect::<Vec<_>>(),
                "room": all.iter().map(|a| a.1).collect::<Vec<_>>(),
                "flat": all.iter().map(|a| u8::from(a.2)).collect::<Vec<_>>(),
                "variance": tau * tau,
            })
        }).collect::<Vec<_>>(),
        "risk": risks,
    });
    let Some(answer) = ask(&question) else { return };

    for (i, (below, above)) in numbers(&answer["below"])
        .iter()
        .zip(numbers(&answer["above"]))
        .enumerate()
    {
        for (ours, theirs) in [(normal::below(z[i]), *below), (normal::above(z[i]), above)] {
            assert!(
                (ours - theirs).abs() <= 1e-13 * theirs,
                "{}: {ours} {theirs}",
                z[i]
            );
        }
    }
    for (p, theirs) in p.iter().zip(numbers(&answer["quantile"])) {
        assert!(
            close(normal::quantile(*p), theirs, 1e-13),
            "{p}: {} {theirs}",
            normal::quantile(*p)
        );
    }
    for ((t, level), theirs) in kappas
        .iter()
        .zip(answer["kappa"].as_array().expect("an array"))
    {
        let k = pairs(t, *level, 1).expect("enough").kappa.expect("a kappa");
        let ours = [k.kappa, k.kappa, k.error, k.low, k.high];
        for (a, b) in ours.iter().zip(numbers(theirs)) {
            assert!(close(*a, b, 1e-6), "{t:?}: {ours:?} {theirs}");
        }
    }
    for (rows, theirs) in panels
        .iter()
        .zip(answer["panel"].as_array().expect("an array"))
    {
        let k = panel(rows, 0.95, 2).expect("even").expect("a kappa");
        for (a, b) in [k.kappa, k.error].iter().zip(numbers(theirs)) {
            assert!(close(*a, b, 1e-6), "{rows:?}: {k:?} {theirs}");
        }
    }
    for ((k, n, level), theirs) in shares
        .iter()
        .zip(answer["share"].as_array().expect("an array"))
    {
        let s = share(*k, *n, *level);
        for (a, b) in [s.low, s.high].iter().zip(numbers(theirs)) {
            assert!(close(*a, b, 1e-9), "{k} of {n}: {s:?} {theirs}");
        }
    }
    for ((set, f), theirs) in probits
        .iter()
        .zip(answer["probit"].as_array().expect("an array"))
    {
        let c = &f.covariance;
        let ours = [
            f.intercept,
            f.slope,
            c.intercept,
            c.both,
            c.slope,
            f.log_likelihood,
        ];
        for (a, b) in ours.iter().zip(numbers(theirs)) {
            assert!(
                close(*a, b, 1e-6),
                "{} placings: {ours:?} {theirs}",
                set.len()
            );
        }
    }
    for (f, theirs) in fitted
        .iter()
        .zip(answer["pooled"].as_array().expect("an array"))
    {
        let ours =
            std::iter::once(f.spread_mm.value).chain(f.measurers.iter().map(|m| m.bias_mm.value));
        for (a, b) in ours.zip(numbers(theirs)) {
            assert!(close(a, b, 1e-5), "{f:?} {theirs}");
        }
    }
    for ([mean, sd, limit, guard, u], theirs) in risks
        .iter()
        .zip(answer["risk"].as_array().expect("an array"))
    {
        let density = |h: f64| normal::density((h - mean) / sd) / sd;
        let accept = |h: f64| normal::below((limit - guard - h) / u);
        let span = (mean - 12.0 * sd, mean + 12.0 * sd);
        let ours = global_risk(span, *limit, 0.5 * u, density, accept);
        for (a, b) in [ours.consumer, ours.producer].iter().zip(numbers(theirs)) {
            assert!((a - b).abs() < 1e-9, "{ours:?} {theirs}");
        }
    }
    println!(
        "agreed: {SETS} of the normal distribution, {SETS} kappas, {} panels, {SETS} shares, {SETS} probit fits, {} pooled, {} risks",
        panels.len(),
        fitted.len(),
        risks.len()
    );
}
