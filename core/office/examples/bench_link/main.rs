//! `sync.time` and `sync.tail`: 60 dogs from a phone to the office over a bad link made of
//! real packets (`tests/link/forwarder.py`: 300 ms there and back, every fifth packet lost,
//! down 3 s of every 8 s), against one HTTPS POST of all of it as gzip'd JSON with a time-out
//! of 30 s and back-off. How many times sooner everything is acknowledged: the medians
//! (goal: 12) and the 90th percentiles (goal: 8).
//!
//! The baseline is what a hash-chained log usually sends: every fact and signature, and with
//! each event its hash and the one before. The times against the shortest JSON that can be
//! thought of, without anything that the office could work out, go to standard error beside
//! it. The office is the real one, over TLS, on SQLite in a file. Both sides use the same
//! congestion control (cubic) over the same links in the same sitting.
//!
//! Needs root. `STANDSQUARE_LINK_RUNS` (20) runs of each, `STANDSQUARE_LINK_LANES` (5) at a
//! time, each lane with a link of its own.

#[path = "../../tests/support/mod.rs"]
mod support;

mod lanes;
mod ordinary;
mod ours;
mod post;
mod serving;

use std::path::{Path, PathBuf};
use std::time::Duration;

use lanes::{Figures, Scheme};
use support::Pen;
use support::json::{Form, gzipped};

/// Dogs in the return.
const DOGS: usize = 60;
/// A run that is not done by then counts as this long.
const GIVE_UP: Duration = Duration::from_secs(900);

fn main() {
    let words: Vec<String> = std::env::args().collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words[1..] {
        ["serve", dir, address] => serving::serve(Path::new(dir), address),
        ["phone", scheme, dir, address, day] => phone(scheme, Path::new(dir), address, day),
        _ => measure(),
    }
}

/// One run from the phone's side: prints how many seconds it took.
fn phone(scheme: &str, dir: &Path, address: &str, day: &str) {
    let pen = Pen::day(day.parse().expect("a number"), DOGS);
    let at = post::Place::new(dir, address);
    let took = match Scheme::read(scheme) {
        Scheme::Ours => ours::send(&at, &pen, GIVE_UP),
        Scheme::Lean => ordinary::send(&at, &gzipped(&pen.frames, 1, Form::Lean), GIVE_UP),
        Scheme::Chained => ordinary::send(&at, &gzipped(&pen.frames, 1, Form::Chained), GIVE_UP),
    };
    println!("{:.3}", took.unwrap_or(GIVE_UP).as_secs_f64());
}

fn setting(name: &str, usual: usize) -> usize {
    let set = std::env::var(name).ok().and_then(|v| v.parse().ok());
    set.unwrap_or(usual)
}

fn measure() {
    let runs = setting("STANDSQUARE_LINK_RUNS", 20);
    let lanes = setting("STANDSQUARE_LINK_LANES", 5);
    let forwarder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/link/forwarder.py");
    let taken = lanes::run(&forwarder, runs, lanes);
    let of = |scheme: Scheme| Figures::of(&taken, scheme);
    for scheme in Scheme::ALL {
        eprintln!("{}", of(scheme).told(scheme));
    }
    let (ours, lean, chained) = (of(Scheme::Ours), of(Scheme::Lean), of(Scheme::Chained));
    eprintln!(
        "against JSON without any hash: {:.1} times sooner, 90th percentile {:.1}",
        lean.median / ours.median,
        lean.tail / ours.tail
    );
    let line = |name: &str, ratio: f64, goal: f64| {
        let verdict = if ratio >= goal { "ok" } else { "short" };
        println!("{name} {ratio:.1} >={goal:.0} {verdict}");
    };
    line("sync.time", chained.median / ours.median, 12.0);
    line("sync.tail", chained.tail / ours.tail, 8.0);
}
