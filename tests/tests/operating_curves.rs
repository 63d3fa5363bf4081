//! The operating curves against the phone itself: dogs of known heights taken through the acts of
//! a session, each placing drawn with the probability Φ((L − h − b) / s), together and each on their
//! own. The categories that are put up for signing must come as often as `Ways` says. Nothing of the
//! formula for a whole procedure is in the run: the session asks its own engine what comes next.

use std::path::Path;

use standsquare_journal::record::fact::Outcome;
use standsquare_measuring::RulePack;
use standsquare_measuring::gauge::{Odds, Placer, Ways};
use standsquare_session::act::PlacingSeen;
use standsquare_session::view::Screen;
use standsquare_session::{Act, Phone, Stamp};
use standsquare_tests::{Table, demo};
use tempfile::TempDir;

/// Dogs of each height; `STANDSQUARE_DOGS` for more, `STANDSQUARE_SEED` for others.
fn setting(name: &str, otherwise: u32) -> u32 {
    let asked = std::env::var(name).ok();
    asked.and_then(|n| n.parse().ok()).unwrap_or(otherwise)
}

/// Sebastiano Vigna's splitmix64: the same numbers in every run.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn unit(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    /// A standard normal deviate (Marsaglia's polar method).
    fn normal(&mut self) -> f64 {
        loop {
            let (u, v) = (2.0 * self.unit() - 1.0, 2.0 * self.unit() - 1.0);
            let s = u * u + v * v;
            if s > 0.0 && s < 1.0 {
                return u * (-2.0 * s.ln() / s).sqrt();
            }
        }
    }
}

/// A phone with a dog at the table that is to be stood square: every simulated dog begins there, in
/// a copy of its folder.
fn at_the_table(roster: String) -> Table {
    let mut t = Table::new("");
    demo::set_up_with(&mut t, roster);
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000112233");
    t.tap("settled");
    t
}

fn copy(from: &Path) -> TempDir {
    let to = TempDir::new().expect("a folder");
    for entry in std::fs::read_dir(from).expect("the phone's folder") {
        let entry = entry.expect("a file");
        let name = entry.file_name();
        // SQLite makes its shared memory anew.
        if !name.to_string_lossy().ends_with("-shm") {
            std::fs::copy(entry.path(), to.path().join(name)).expect("copied");
        }
    }
    to
}

/// What a dog of this height is found to be: a category's id, or what else came of it.
fn found(from: &Path, dice: &mut Dice, height: f64, placers: &[Placer]) -> String {
    let folder = copy(from);
    let mut at_ms = 1_795_600_000_000;
    let mut stamp = |dice: &mut Dice| {
        at_ms += 2_000;
        Stamp {
            at_ms,
            offset_min: 60,
            entropy: (0..4).flat_map(|_| dice.next().to_le_bytes()).collect(),
        }
    };
    let mut phone = Phone::open(folder.path(), [7; 32], &stamp(dice)).expect("opens");
    // The first seat begins.
    let mut by = 0;
    for _ in 0..100 {
        let view = phone.view();
        let act = match &view.screen {
            Screen::Stance { .. } => Act::StandsSquare,
            Screen::HandOver { hand_over } => {
                by += 1;
                Act::TakeOver {
                    person: hand_over.person.clone(),
                }
            }
            Screen::Placing { placing } => {
                let placer = &placers[by.min(placers.len() - 1)];
                let hoop = placing.hoop.nominal_um as f64 / 1e3;
                let seems = height + placer.bias_mm() + placer.spread_mm() * dice.normal();
                Act::Place {
                    hoop: placing.hoop.id.clone(),
                    seen: if seems <= hoop {
                        PlacingSeen::BaseFlat
                    } else {
                        PlacingSeen::BaseNotFlat
                    },
                }
            }
            Screen::Sign { .. } => {
                let session = phone.state().session.as_ref().expect("a session");
                let visit = session.in_hand().expect("a dog");
                let (statement, ..) = visit.stated.as_ref().expect("what is to be signed");
                return match &statement.outcome {
                    _ if statement.status == "referred" => "referred".into(),
                    Outcome::Category { id, .. } => id.clone(),
                    Outcome::Referred { .. } => "referred".into(),
                    Outcome::NotToday { .. } => "not today".into(),
                };
            }
            other => panic!("{other:?}"),
        };
        let seen = view.revision;
        phone.apply(&act, seen, &stamp(dice)).expect("recorded");
    }
    panic!("no end");
}

fn agrees(name: &str, roster: String, placers: &[Placer], heights: &[f64]) {
    let read: serde_json::Value = serde_json::from_str(&roster).expect("JSON");
    let pack = RulePack::parse(read["pack"].as_str().expect("a pack")).expect("read");
    let ways = Ways::of(&pack).expect("ways");
    let table = at_the_table(roster);
    let mut dice = Dice(u64::from(setting("STANDSQUARE_SEED", 106)));
    let n = setting("STANDSQUARE_DOGS", 150);
    for height in heights {
        let Odds {
            found: chances,
            referred,
            not_today,
            ..
        } = ways.odds(*height, placers);
        let mut ends: Vec<(String, f64)> = ways
            .categories()
            .iter()
            .map(ToString::to_string)
            .zip(chances)
            .collect();
        ends.push(("referred".into(), referred));
        ends.push(("not today".into(), not_today));
        let came: Vec<String> = (0..n)
            .map(|_| found(table.dir(), &mut dice, *height, placers))
            .collect();
        let mut counted = 0;
        for (end, p) in ends {
            let count = came.iter().filter(|c| **c == end).count() as u32;
            counted += count;
            let share = f64::from(count) / f64::from(n);
            println!("{name}, {height} mm, {end}: {share:.4} of {n}, {p:.4} worked out");
            // Four standard deviations (one in 16,000 by chance) and half a dog; the dice are fixed.
            let slack = 4.0 * (p * (1.0 - p) / f64::from(n)).sqrt() + 0.5 / f64::from(n);
            assert!((share - p).abs() <= slack, "{name} {height} {end}");
        }
        assert_eq!(counted, n, "{name} {height}: an end nobody counted");
    }
}

fn placer(spread: f64, bias: f64) -> Placer {
    Placer::new(spread, bias).expect("a placer")
}

#[test]
fn together() {
    agrees(
        "together",
        standsquare_office::demo::roster_json(),
        &[placer(5.0, -1.5)],
        &[348.0, 356.0, 433.0],
    );
}

#[test]
fn each_on_their_own() {
    agrees(
        "each on their own",
        demo::roster_with("work = \"together\"", "work = \"independently\""),
        &[placer(4.0, -2.0), placer(7.0, 3.0)],
        &[351.0, 357.0, 433.0],
    );
}
