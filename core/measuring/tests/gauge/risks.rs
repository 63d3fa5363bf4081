//! Risks of a body's dogs, guard bands, and how sure one verdict is.

use standsquare_measuring::gauge::risk::{Band, Heights, fates, how_sure};
use standsquare_measuring::gauge::{ModelFault, Placer, Ways};
use standsquare_measuring::{Case, Placing, PlacingResult, RulePack, Seen};

use super::support::{Dice, larkmere_with, pack};

fn heights() -> Heights {
    let band = |from_mm, to_mm, dogs| Band {
        from_mm,
        to_mm,
        dogs,
    };
    Heights::new(vec![
        band(250.0, 345.0, 50.0),
        band(345.0, 355.0, 20.0),
        band(355.0, 600.0, 130.0),
    ])
    .expect("heights")
}

/// A height of such a dog.
fn drawn(dice: &mut Dice) -> f64 {
    match dice.below(200) {
        0..50 => dice.between(250.0, 345.0),
        50..70 => dice.between(345.0, 355.0),
        _ => dice.between(355.0, 600.0),
    }
}

#[test]
fn risks_are_those_of_dogs_drawn_one_by_one() {
    let pack = pack("larkmere");
    let placers = [Placer::new(6.0, 1.0).expect("a placer")];
    for guard in [0.0, 4.0] {
        let ways = Ways::of(&pack).expect("ways").guarded(guard);
        let found = fates(&pack, &ways, &heights(), &placers);
        let whole: f64 = found
            .0
            .iter()
            .map(|f| f.found.iter().sum::<f64>() + f.open)
            .sum();
        assert!((whole - 1.0).abs() < 1e-9);
        let (mut low, mut high, n) = (0_u32, 0_u32, 200_000);
        let mut dice = Dice(9);
        for _ in 0..n {
            let height = drawn(&mut dice);
            let truth = if height <= 350.0 {
                0
            } else {
                1 + usize::from(height > 430.0)
            };
            // The pack's rule written out once more: one flat of three, the smaller hoop first.
            let within = |dice: &mut Dice, hoop: f64| {
                (0..3).any(|_| height + 1.0 + 6.0 * dice.normal() <= hoop - guard)
            };
            let says = if within(&mut dice, 350.0) {
                0
            } else {
                1 + usize::from(!within(&mut dice, 430.0))
            };
            low += u32::from(says < truth);
            high += u32::from(says > truth);
        }
        for (count, p) in [(low, found.too_low()), (high, found.too_high())] {
            let n = f64::from(n);
            assert!(
                (f64::from(count) / n - p).abs() < 5.0 * (p / n).sqrt(),
                "{guard}: {count} {p}"
            );
        }
    }
}

#[test]
fn a_guard_band_trades_one_risk_for_the_other() {
    let pack = pack("larkmere");
    let placers = [Placer::new(6.0, 0.0).expect("a placer")];
    let risk = |guard| {
        fates(
            &pack,
            &Ways::of(&pack).expect("ways").guarded(guard),
            &heights(),
            &placers,
        )
    };
    let (plain, guarded) = (risk(0.0), risk(5.0));
    assert!(guarded.too_low() < 0.7 * plain.too_low());
    assert!(guarded.too_high() > plain.too_high());
}

fn case_with(results: &[(&str, bool)]) -> Case {
    let mut case = Case::new("2026-06-14".parse().expect("a day"));
    for (hoop, flat) in results {
        case.seen.push(Seen::Placing(Placing {
            gauge: (*hoop).into(),
            result: if *flat {
                PlacingResult::Flat
            } else {
                PlacingResult::NotFlat
            },
            by: "ottoline".into(),
            at: None,
        }));
    }
    case
}

/// Bayes by counting: dogs are drawn, placed, and only those kept whose placings came out so.
#[test]
fn how_sure_is_the_share_of_such_dogs_that_truly_are() {
    let pack = pack("larkmere");
    let placer = Placer::new(8.0, -2.0).expect("a placer");
    for results in [
        &[("hoop-35", true)][..],
        &[("hoop-35", false), ("hoop-35", false), ("hoop-35", true)],
    ] {
        let case = case_with(results);
        let sure = how_sure(&pack, &case, &heights(), |_| placer).expect("said");
        assert!((sure.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        let mut dice = Dice(7);
        let (mut kept, mut small) = (0_u32, 0_u32);
        while kept < 20_000 {
            let height = drawn(&mut dice);
            let same = results
                .iter()
                .all(|(_, flat)| (height - 2.0 + 8.0 * dice.normal() <= 350.0) == *flat);
            if same {
                kept += 1;
                small += u32::from(height <= 350.0);
            }
        }
        let share = f64::from(small) / f64::from(kept);
        assert!(
            (share - sure[0]).abs() < 0.018,
            "{results:?}: {share} {sure:?}"
        );
    }
    let nothing = case_with(&[]);
    assert_eq!(how_sure(&pack, &nothing, &heights(), |_| placer), None);
}

#[test]
fn a_pack_says_what_its_body_knows_and_nothing_is_made_up_for_one_that_does_not() {
    assert!(pack("larkmere").doc().sureness.is_none());
    let text = format!(
        "{}\n[sureness]\nspread = \"4 mm\"\nreads_low = \"1 mm\"\nguard_band = \"2 mm\"\n\
         heights = [{{ from = \"20 cm\", to = \"35 cm\", dogs = 30 }}, {{ from = \"35 cm\", to = \"70 cm\", dogs = 70 }}]\n",
        standsquare_measuring::LARKMERE
    );
    let pack = RulePack::parse(&text).unwrap_or_else(|f| panic!("{f:?}"));
    let s = pack.doc().sureness.clone().expect("the table");
    let placer = s.placer().expect("a placer");
    assert_eq!(
        (placer.spread_mm(), placer.bias_mm(), s.guard_band_mm()),
        (4.0, -1.0, 2.0)
    );
    assert_eq!(s.known_heights().expect("heights").bands()[1].dogs, 0.7);
    assert_eq!(RulePack::parse(&pack.to_toml()), Ok(pack));
    for (bad, clause) in [
        ("spread = \"0 mm\"", "sureness.spread"),
        ("reads_low = \"1 mm\"", "sureness.spread"),
        (
            "spread = \"4 mm\"\nreads_low = \"1 mm\"\nreads_high = \"1 mm\"",
            "sureness.reads_low",
        ),
        (
            "spread = \"4 mm\"\nguard_band = \"35 cm\"",
            "sureness.guard_band",
        ),
        (
            "spread = \"4 mm\"\nshown_to = \"handler\"",
            "sureness.shown_to",
        ),
        (
            "spread = \"4 mm\"\nheights = [{ from = \"35 cm\", to = \"20 cm\", dogs = 1 }]",
            "sureness.heights[0]",
        ),
    ] {
        let text = format!("{}\n[sureness]\n{bad}\n", standsquare_measuring::LARKMERE);
        let faults = RulePack::parse(&text).expect_err(bad);
        assert!(
            faults.iter().any(|f| f.clause == clause),
            "{bad}: {faults:?}"
        );
    }
}

#[test]
fn what_makes_no_sense_says_so() {
    for (s, b) in [
        (0.0, 0.0),
        (-1.0, 0.0),
        (f64::NAN, 0.0),
        (1.0, f64::INFINITY),
    ] {
        assert_eq!(Placer::new(s, b), Err(ModelFault::Spread));
    }
    let band = |from_mm, to_mm, dogs| Band {
        from_mm,
        to_mm,
        dogs,
    };
    for bands in [
        vec![],
        vec![band(2.0, 1.0, 1.0)],
        vec![band(1.0, 2.0, 0.0)],
        vec![band(1.0, 3.0, 1.0), band(2.0, 4.0, 1.0)],
    ] {
        assert_eq!(Heights::new(bands), Err(ModelFault::Heights));
    }
    let ways = Ways::of(&pack("larkmere")).expect("ways");
    assert!(ways.with_hoop(&"hoop-99".into(), 350.0).is_err());
    let refused = larkmere_with("from = \"15 months\"", "from = \"20 years\"");
    assert!(matches!(Ways::of(&refused), Err(ModelFault::Refused(key)) if key == "too-young"));
    for fault in [
        ModelFault::Spread,
        ModelFault::TooManyWays,
        ModelFault::Heights,
        ModelFault::Level,
    ] {
        assert!(fault.to_string().len() > 20);
    }
}

/// A hoop that its check found 2 mm too high lets in dogs as if they were 2 mm lower.
#[test]
fn a_hoop_that_is_too_high_is_reckoned_with() {
    let placers = [Placer::new(5.0, 0.0).expect("a placer")];
    let pack = pack("larkmere");
    let bent = Ways::of(&pack)
        .expect("ways")
        .with_hoop(&"hoop-35".into(), 352.0)
        .expect("a hoop");
    let straight = Ways::of(&pack).expect("ways");
    let (a, b) = (
        bent.odds(353.0, &placers).found[0],
        straight.odds(351.0, &placers).found[0],
    );
    assert!((a - b).abs() < 1e-12);
}
