//! Windows against two independent calendars: java.time and Python's dateutil, on 100,000 random
//! pairs with month ends and leap days among them. Set STANDSQUARE_SKIP_ORACLES to leave them out
//! where their tools are missing; then the test says so.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use chrono::{Datelike, NaiveDate};
use standsquare_measuring::{Span, Window, WindowPosition};

const PAIRS: usize = 100_000;

/// Sebastiano Vigna's splitmix64 with a fixed seed: the same pairs in every run.
struct Dice(u64);

impl Dice {
    fn next(&mut self, below: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % below
    }
}

/// A day from 1950 to 2149: a third of them the last of a month, a sixth a leap day or next to it.
fn day(dice: &mut Dice) -> NaiveDate {
    let year = 1950 + i32::try_from(dice.next(200)).unwrap();
    let month = 1 + u32::try_from(dice.next(12)).unwrap();
    let first = NaiveDate::from_ymd_opt(year, month, 1).unwrap();
    match dice.next(6) {
        0 | 1 => first + chrono::Months::new(1) - chrono::Days::new(1),
        2 => {
            let leap = NaiveDate::from_ymd_opt(year / 4 * 4, 3, 1).unwrap();
            leap - chrono::Days::new(dice.next(3))
        }
        _ => first + chrono::Days::new(dice.next(u64::from(first.num_days_in_month()))),
    }
}

struct Pair {
    origin: NaiveDate,
    day: NaiveDate,
    from: Span,
    to: Span,
}

fn pairs() -> Vec<Pair> {
    let mut dice = Dice(20_260_614);
    (0..PAIRS)
        .map(|i| {
            let origin = day(&mut dice);
            // Half of them the usual 12 to 24 months, the others anything, with days before or after.
            let (from, to) = if i % 2 == 0 {
                (Span::months(12), Span::months(24))
            } else {
                let months = u32::try_from(dice.next(120)).unwrap();
                let days = i32::try_from(dice.next(61)).unwrap() - 30;
                let longer = months + u32::try_from(dice.next(36)).unwrap();
                (
                    Span { months, days },
                    Span {
                        months: longer,
                        days: days.abs(),
                    },
                )
            };
            // Within a few days of an end as often as anywhere, so that the ends are tried.
            let near = [from, to][usize::try_from(dice.next(2)).unwrap()];
            let day = if dice.next(2) == 0 {
                near.after(origin).unwrap() + chrono::Days::new(dice.next(5)) - chrono::Days::new(2)
            } else {
                day(&mut dice)
            };
            Pair {
                origin,
                day,
                from,
                to,
            }
        })
        .collect()
}

fn ours(pair: &Pair) -> String {
    let w = Window::after(pair.origin, pair.from, pair.to).expect("within the calendar");
    let position = match w.position(pair.day) {
        WindowPosition::TooEarly => "early",
        WindowPosition::InWindow => "in",
        WindowPosition::Late => "late",
    };
    format!("{} {} {position}", w.from, w.to)
}

/// Feeds the pairs to an oracle and compares line by line.
fn compare(name: &str, mut oracle: Command) {
    let pairs = pairs();
    let input: String = pairs
        .iter()
        .map(|p| {
            format!(
                "{} {} {} {} {} {}\n",
                p.origin, p.day, p.from.months, p.from.days, p.to.months, p.to.days
            )
        })
        .collect();
    let mut child = oracle
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap_or_else(|e| panic!("{name} does not start: {e}"));
    let mut stdin = child.stdin.take().expect("piped");
    let writer = std::thread::spawn(move || stdin.write_all(input.as_bytes()));
    let output = child.wait_with_output().expect("its answer");
    writer.join().expect("the writer").expect("all written");
    assert!(output.status.success(), "{name} failed");
    let answer = String::from_utf8(output.stdout).expect("text");
    let mut lines = answer.lines();
    let mut found = [0; 3];
    for p in &pairs {
        let ours = ours(p);
        let theirs = lines.next().unwrap_or("nothing");
        assert_eq!(
            ours, theirs,
            "{name}: {} {} from {} to {}",
            p.origin, p.day, p.from, p.to
        );
        let which = ["early", "in", "late"]
            .iter()
            .position(|w| ours.ends_with(w));
        found[which.unwrap()] += 1;
    }
    assert_eq!(lines.next(), None, "{name}: more answers than pairs");
    println!("{name}: {PAIRS} pairs agree (early, in, late: {found:?})");
    // A comparison in which one answer hardly came would prove little.
    assert!(found.iter().all(|n| *n > PAIRS / 10), "{found:?}");
}

fn skipped(name: &str) -> bool {
    let skip = std::env::var_os("STANDSQUARE_SKIP_ORACLES").is_some();
    if skip {
        println!("LEFT OUT: {name} (STANDSQUARE_SKIP_ORACLES is set)");
    }
    skip
}

fn runs(command: &mut Command) -> bool {
    command
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|s| s.success())
}

fn oracles() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracles")
}

#[test]
fn windows_agree_with_java_time() {
    if skipped("java.time") {
        return;
    }
    assert!(
        runs(Command::new("java").arg("--version")),
        "java is missing: install a JDK of 17 or later (Debian: apt-get install openjdk-17-jdk-headless), \
         or set STANDSQUARE_SKIP_ORACLES=1 to leave this out"
    );
    let mut java = Command::new("java");
    java.arg(oracles().join("Window.java"));
    compare("java.time", java);
}

#[test]
fn windows_agree_with_dateutil() {
    if skipped("dateutil") {
        return;
    }
    let missing = "is missing: install Python 3 with venv (Debian: apt-get install python3-venv) and let pip \
                   reach a package index, or set STANDSQUARE_SKIP_ORACLES=1 to leave this out";
    let venv = Path::new(env!("CARGO_TARGET_TMPDIR")).join("dateutil");
    let python = venv.join("bin/python");
    let has_it = |python: &Path| runs(Command::new(python).args(["-c", "import dateutil"]));
    if !has_it(&python) {
        let made = runs(Command::new("python3").arg("-m").arg("venv").arg(&venv));
        assert!(made, "python3 or its venv {missing}");
        let pip = [
            "-m",
            "pip",
            "install",
            "--quiet",
            "python-dateutil==2.9.0.post0",
        ];
        runs(Command::new(&python).args(pip));
        assert!(has_it(&python), "python-dateutil {missing}");
    }
    let mut command = Command::new(python);
    command.arg(oracles().join("window.py"));
    compare("dateutil", command);
}

#[test]
fn the_pairs_hold_month_ends_and_leap_days() {
    let pairs = pairs();
    let last = |d: NaiveDate| u32::from(d.num_days_in_month()) == d.day();
    let ends = pairs.iter().filter(|p| last(p.origin)).count();
    let leap = pairs
        .iter()
        .filter(|p| (p.origin.month(), p.origin.day()) == (2, 29))
        .count();
    assert!(ends > PAIRS / 4 && leap > PAIRS / 50, "{ends} {leap}");
}
