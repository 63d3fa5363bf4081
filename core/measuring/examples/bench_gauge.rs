//! `gauge.fit`: spread and bias from a year of 50,000 measures of five placings each, against
//! statsmodels' own probit fit of the same rows (Newton's method, its defaults, from a ready design
//! matrix), in the same run, taken in turn on one thread; both from rows in memory to estimates with
//! their covariance and likelihood, the same to a millionth. No two rows have the same height, so
//! that nothing can be put together. On stderr: both times, and the same with heights read to a
//! millimetre, as they are, where ours puts equal ones together first and statsmodels does not.
//!
//! `gauge.year`: the whole report of four years' records against four times that of one: how far
//! from linear it is.

use std::error::Error;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

use chrono::{Days, NaiveDate};
use standsquare_measuring::MeasurerId;
use standsquare_measuring::gauge::probit::gather;
use standsquare_measuring::gauge::{Cell, Known, Least, Year, fit};

const MEASURES: u64 = 50_000;
const PLACINGS: u64 = 5;
const ROUNDS: usize = 9;
const FIT_GOAL: f64 = 10.0;
const YEAR_GOAL: f64 = 1.25;
/// As in `tests/gauge/oracles.rs`.
const PACKAGES: &[&str] = &[
    "scipy==1.17.1",
    "statsmodels==0.14.6",
    "scikit-learn==1.9.1",
];

/// Sebastiano Vigna's splitmix64.
struct Dice(u64);

impl Dice {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}

fn placing(dice: &mut Dice) -> (f64, bool) {
    let room = 60.0 * dice.unit() - 30.0;
    let p = standsquare_measuring::gauge::normal::below((room + 1.0) / 6.0);
    (room, dice.unit() < p)
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

fn say(name: &str, value: f64, goal: f64, ok: bool) {
    let verdict = if ok { "ok" } else { "short" };
    println!("{name} {value:.2} {goal} {verdict}");
}

/// Cargo's folder for what tests leave, beside which this program lies.
fn scratch() -> Result<PathBuf, Box<dyn Error>> {
    let program = std::env::current_exe()?;
    let target = program
        .ancestors()
        .nth(3)
        .ok_or("this program lies nowhere")?;
    let scratch = target.join("tmp");
    std::fs::create_dir_all(&scratch)?;
    Ok(scratch)
}

type Rows = Vec<(f64, bool)>;

/// How many times as fast as statsmodels ours is on these rows, taken in turn.
fn against(name: &str, rows: &Rows) -> Result<f64, Box<dyn Error>> {
    let scratch = scratch()?;
    let python = standsquare_reader::oracle::python(&scratch.to_string_lossy(), "gauge", PACKAGES)?;
    let python = python.ok_or("without the oracles there is nothing to measure against")?;
    let file = scratch.join(format!("bench-gauge-{name}.f64"));
    let bytes: Vec<u8> = rows
        .iter()
        .flat_map(|(room, flat)| [*room, f64::from(u8::from(*flat))])
        .flat_map(f64::to_le_bytes)
        .collect();
    std::fs::write(&file, bytes)?;
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/gauge/bench.py");
    let mut theirs = Command::new(python)
        .arg(script)
        .arg(&file)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()?;
    let mut ask = theirs.stdin.take().ok_or("no way to ask")?;
    let mut answers = BufReader::new(theirs.stdout.take().ok_or("no answer")?).lines();
    let (mut our_times, mut their_times, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        let begun = Instant::now();
        let cells: Vec<Cell> = rows
            .iter()
            .map(|(room, flat)| Cell::one(*room, *flat))
            .collect();
        let ours = fit(&gather(cells), 60)?;
        let took = begun.elapsed().as_secs_f64();
        ask.write_all(b"fit\n")?;
        let answer = answers.next().ok_or("statsmodels ended early")??;
        let theirs: Vec<f64> = answer
            .split_whitespace()
            .map(str::parse)
            .collect::<Result<_, _>>()?;
        let same = |a: f64, b: f64| (a - b).abs() <= 1e-6 * b.abs();
        if !(same(ours.intercept, theirs[1])
            && same(ours.slope, theirs[2])
            && same(ours.covariance.slope, theirs[3])
            && same(ours.log_likelihood, theirs[4]))
        {
            return Err(format!("not the same fit: {ours:?}, {answer}").into());
        }
        our_times.push(took);
        their_times.push(theirs[0]);
        ratios.push(theirs[0] / took);
    }
    drop(ask);
    theirs.wait()?;
    let (ours, theirs) = (median(our_times), median(their_times));
    eprintln!("{name}: ours {ours:.4} s, statsmodels {theirs:.4} s");
    Ok(median(ratios))
}

fn fits() -> Result<(), Box<dyn Error>> {
    let mut dice = Dice(1);
    let rows: Rows = (0..MEASURES * PLACINGS)
        .map(|_| placing(&mut dice))
        .collect();
    let read = rows.iter().map(|(r, flat)| (r.round(), *flat)).collect();
    let to_a_millimetre = against("to a millimetre", &read)?;
    eprintln!("to a millimetre: {to_a_millimetre:.2} times as fast");
    let ratio = against("every height its own", &rows)?;
    say("gauge.fit", ratio, FIT_GOAL, ratio >= FIT_GOAL);
    Ok(())
}

/// The seconds that the records of so many years take, from the first record to the report.
fn years(n: u64) -> f64 {
    let mut dice = Dice(2);
    let first = NaiveDate::from_ymd_opt(2026, 1, 1).unwrap_or_default();
    let ids: Vec<MeasurerId> = (0..40)
        .map(|i| MeasurerId::from(format!("m{i:02}")))
        .collect();
    let records: Vec<(usize, NaiveDate, f64, bool, usize)> = (0..n * MEASURES)
        .map(|i| {
            let on = first + Days::new(i * 365 / MEASURES);
            let who = (dice.unit() * 40.0) as usize;
            // Heights read to a millimetre.
            let (room, flat) = placing(&mut dice);
            (who, on, room.round(), flat, (dice.unit() * 3.0) as usize)
        })
        .collect();
    let begun = Instant::now();
    let mut year = Year::new(3);
    for (i, (who, on, room_mm, flat, found)) in records.iter().enumerate() {
        let (by, other) = (&ids[*who], &ids[(who + 1) % 40]);
        year.placing(
            by,
            Known {
                on: *on,
                room_mm: *room_mm,
                flat: *flat,
            },
        );
        year.pair((by, *found), (other, *found));
        year.measure(i as u64 / 2, *found);
    }
    let report = year.report(0.95, Least::default());
    let took = begun.elapsed().as_secs_f64();
    assert!(report.pooled.is_ok() && report.measurers.len() == 40);
    took
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut ratios = Vec::new();
    let mut one = Vec::new();
    for _ in 0..ROUNDS {
        let (short, long) = (years(1), years(4));
        one.push(short);
        ratios.push(long / (4.0 * short));
    }
    eprintln!("a year of {MEASURES} measures: {:.3} s", median(one));
    let ratio = median(ratios);
    say("gauge.year", ratio, YEAR_GOAL, ratio <= YEAR_GOAL);
    fits()
}
