//! The operating curves against the real engine: a dog of known height, placings that scatter,
//! `progress` saying what to place next and `judge` what came of it. Nothing of the formula is in
//! the run.

use standsquare_measuring::gauge::{Placer, Ways, worth};
use standsquare_measuring::{
    Case, GaugeHere, MeasurerHere, Next, Outcome, Placing, PlacingResult, RulePack, Seen, Status,
    judge, progress,
};

use super::support::{Dice, larkmere_with, pack};

/// Dogs of each height.
const DOGS: u32 = 4_000;

/// One dog through the engine. The category's index, or what else came of it.
fn measured(
    pack: &RulePack,
    dice: &mut Dice,
    height: f64,
    placers: &[Placer],
) -> Result<usize, &'static str> {
    let today = pack.valid_from();
    let here = |n: usize| MeasurerHere {
        leading: true,
        ..MeasurerHere::new(format!("m{n}"))
    };
    let mut case = Case {
        born: today.checked_sub_months(chrono::Months::new(60)),
        measurers: (1..=pack.measurers_needed() as usize).map(here).collect(),
        gauges: pack
            .gauges()
            .iter()
            .map(|g| GaugeHere {
                gauge: g.id.clone(),
                checked: Some(today),
                height: None,
            })
            .collect(),
        ..Case::new(today)
    };
    loop {
        let (gauge, by) = match progress(pack, &case).next {
            Next::Place { gauge, by, .. } => (gauge, by.unwrap_or_else(|| "m1".into())),
            // One more comes and begins with the first hoop; from then on the engine asks them.
            Next::OneMoreMeasurer { .. } => {
                let n = case.measurers.len() + 1;
                case.measurers.push(here(n));
                (pack.gauges()[0].id.clone(), format!("m{n}").as_str().into())
            }
            Next::Read { .. } => return Err("readings"),
            _ => break,
        };
        let index: usize = by.as_str()[1..].parse().expect("a number");
        let placer = placers
            .get(index - 1)
            .unwrap_or(&placers[placers.len() - 1]);
        let hoop = pack.gauge(&gauge).and_then(|g| g.height).expect("a hoop");
        let seems = height + placer.bias_mm() + placer.spread_mm() * dice.normal();
        let result = if seems <= hoop.nm() as f64 / 1e6 {
            PlacingResult::Flat
        } else {
            PlacingResult::NotFlat
        };
        case.seen.push(Seen::Placing(Placing {
            gauge,
            result,
            by,
            at: None,
        }));
        assert!(case.seen.len() < 500, "{case:?}");
    }
    let verdict = judge(pack, &case);
    if verdict.status == Some(Status::Referred) {
        return Err("referred");
    }
    match verdict.outcome {
        Outcome::Category(id) => Ok(pack
            .categories()
            .iter()
            .position(|c| c.id == id)
            .expect("its index")),
        _ => Err("not today"),
    }
}

fn agrees(name: &str, pack: &RulePack, placers: &[Placer], heights: &[f64]) {
    let ways = Ways::of(pack).unwrap_or_else(|f| panic!("{name}: {f}"));
    let mut dice = Dice(106);
    for height in heights {
        let odds = ways.odds(*height, placers);
        let whole = odds.found.iter().sum::<f64>() + odds.referred + odds.not_today + odds.readings;
        assert!((whole - 1.0).abs() < 1e-12, "{name} {height}: {odds:?}");
        let mut found = vec![0; odds.found.len()];
        let (mut referred, mut not_today, mut readings) = (0, 0, 0);
        for _ in 0..DOGS {
            match measured(pack, &mut dice, *height, placers) {
                Ok(c) => found[c] += 1,
                Err("referred") => referred += 1,
                Err("readings") => readings += 1,
                Err(_) => not_today += 1,
            }
        }
        let counts = found.into_iter().chain([referred, not_today, readings]);
        let chances = odds
            .found
            .iter()
            .chain([&odds.referred, &odds.not_today, &odds.readings]);
        for (count, p) in counts.zip(chances) {
            let n = f64::from(DOGS);
            // Five standard deviations: one in 1.7 million by chance, and the dice are fixed.
            let slack = 5.0 * (p * (1.0 - p) / n).sqrt() + 1e-9;
            assert!(
                (f64::from(count) / n - p).abs() <= slack,
                "{name} {height}: {count} of {n}, {p}"
            );
        }
    }
}

fn placer(spread: f64, bias: f64) -> Placer {
    Placer::new(spread, bias).expect("a placer")
}

#[test]
fn one_flat_of_three_settles() {
    agrees(
        "larkmere",
        &pack("larkmere"),
        &[placer(5.0, -1.5)],
        &[335.0, 347.0, 350.0, 356.0, 362.0, 428.0, 433.0, 440.0],
    );
}

#[test]
fn the_largest_hoop_first_and_a_majority() {
    let largest = larkmere_with("order = \"smallest-first\"", "order = \"largest-first\"");
    agrees(
        "largest first",
        &largest,
        &[placer(30.0, 0.0)],
        &[345.0, 390.0, 430.0],
    );
    let majority = larkmere_with("flat = \"one-settles\"", "flat = \"majority\"");
    agrees(
        "majority",
        &majority,
        &[placer(6.0, 2.0)],
        &[344.0, 348.0, 355.0, 428.0],
    );
}

#[test]
fn measurers_on_their_own() {
    let text = standsquare_measuring::LARKMERE
        .replacen("work = \"together\"", "work = \"independently\"", 1)
        .replacen("flat = \"one-settles\"", "flat = \"majority\"", 1);
    for then in [
        "refer",
        "lower-stands",
        "higher-stands",
        "one-more-measurer",
    ] {
        let text = text.replacen("then = \"refer\"", &format!("then = \"{then}\""), 1);
        let pack = RulePack::parse(&text).unwrap_or_else(|f| panic!("{f:?}"));
        // The third differs from the first two, and places as the last of them.
        agrees(
            then,
            &pack,
            &[placer(4.0, -2.0), placer(7.0, 3.0)],
            &[346.0, 351.0, 433.0],
        );
    }
}

#[test]
fn every_pack_with_hoops_of_the_published_ones() {
    let mut followed = 0;
    for name in [
        "akc",
        "fci",
        "ifcs",
        "switzerland",
        "usdaa",
        "wao",
        "nadac",
        "cpe",
    ] {
        let pack = pack(name);
        let Some(hoop) = pack.hoops().find_map(|g| g.height) else {
            continue;
        };
        followed += 1;
        let at = hoop.nm() as f64 / 1e6;
        agrees(name, &pack, &[placer(6.0, 1.0)], &[at - 3.0, at + 2.0]);
    }
    assert!(followed >= 1, "{followed}");
}

/// The case that can be worked out by hand: one hoop, one of three settles, so a dog is over with
/// (1 − Φ)³.
#[test]
fn by_hand() {
    let ways = Ways::of(&pack("larkmere")).expect("ways");
    let p = placer(5.0, 0.0).flat(352.0, 350.0);
    let over = ways.odds(352.0, &[placer(5.0, 0.0)]).over(0);
    assert!((over - (1.0 - p).powi(3)).abs() < 1e-12);
}

#[test]
fn more_tries_let_bigger_dogs_in_where_one_flat_settles() {
    let pack = pack("larkmere");
    let all = worth(&pack, 0, 5, &[placer(5.0, 0.0)]).expect("worth");
    assert_eq!(
        all.iter().map(|w| w.placings).collect::<Vec<_>>(),
        [1, 2, 3, 4, 5]
    );
    // One placing: half the dogs at the limit. Each further try lifts that.
    assert!((all[0].half_mm - 350.0).abs() < 1e-9);
    assert!(all.windows(2).all(|w| w[1].half_mm > w[0].half_mm + 0.5));
    assert!(all.windows(2).all(|w| w[1].width_mm < w[0].width_mm));
    let majority = larkmere_with("flat = \"one-settles\"", "flat = \"majority\"");
    let all = worth(&majority, 0, 5, &[placer(5.0, 0.0)]).expect("worth");
    assert_eq!(
        all.iter().map(|w| w.placings).collect::<Vec<_>>(),
        [1, 3, 5]
    );
    assert!(
        all.iter().all(|w| (w.half_mm - 350.0).abs() < 1e-9),
        "{all:?}"
    );
}
