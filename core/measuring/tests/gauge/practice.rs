//! Drills: made from a seed, answered, judged.

use standsquare_measuring::Length;
use standsquare_measuring::gauge::practice::{Answer, Drill, DrillFault, DrillRecord, Plan};
use standsquare_measuring::gauge::{FitFault, Least};

use super::support::{Dice, pack};

fn plan(placings: u32) -> Plan {
    Plan {
        gauge: "hoop-35".into(),
        placings,
        reach: Length::from_mm(15),
        step: Length::from_mm(1),
    }
}

fn room(drill: &Drill, i: usize) -> f64 {
    350.0 - drill.tasks[i].height.nm() as f64 / 1e6
}

#[test]
fn a_drill_is_its_seeds_and_uses_every_height_about_equally() {
    let pack = pack("larkmere");
    let drill = Drill::new(&pack, plan(70), 5).expect("a drill");
    assert_eq!(drill, Drill::new(&pack, plan(70), 5).expect("the same"));
    assert_ne!(
        drill.tasks,
        Drill::new(&pack, plan(70), 6).expect("another").tasks
    );
    let mut counts = std::collections::BTreeMap::new();
    for t in &drill.tasks {
        *counts.entry(t.height).or_insert(0) += 1;
    }
    assert_eq!(counts.len(), 30, "15 heights either side");
    assert!(counts.values().all(|n| (2..=3).contains(n)), "{counts:?}");
    assert!(
        !counts.contains_key(&Length::from_mm(350)),
        "no right answer there"
    );
    assert!(
        drill.tasks.windows(2).any(|w| w[0].height > w[1].height),
        "shuffled"
    );
}

#[test]
fn a_hand_that_scatters_is_told_how_much() {
    let pack = pack("larkmere");
    let drill = Drill::new(&pack, plan(400), 11).expect("a drill");
    let mut dice = Dice(12);
    let answers: Vec<Answer> = (0..400)
        .map(|i| match i % 50 {
            0 => Answer::Void,
            _ if room(&drill, i) + 2.0 > 5.0 * dice.normal() => Answer::Flat,
            _ => Answer::NotFlat,
        })
        .collect();
    let told = drill
        .feedback(&answers, 0.95, Least::default())
        .expect("feedback");
    assert_eq!(told.lines.len(), 400);
    let right = told.right.expect("enough");
    assert_eq!(right.n, 392, "void ones do not count");
    assert_eq!(
        right.count,
        told.lines.iter().filter(|l| l.right == Some(true)).count() as u64
    );
    let fit = told.fit.expect("a fit");
    let (spread, bias) = (fit.spread_mm(0.95), fit.bias_mm(0.95));
    assert!(spread.low < 5.0 && 5.0 < spread.high, "{spread:?}");
    assert!(bias.low < -2.0 && -2.0 < bias.high, "{bias:?}");
}

#[test]
fn too_little_is_met_with_silence_and_a_perfect_hand_with_the_reason() {
    let pack = pack("larkmere");
    let drill = Drill::new(&pack, plan(10), 1).expect("a drill");
    let told = drill
        .feedback(&[Answer::Flat; 10], 0.95, Least::default())
        .expect("feedback");
    assert!(told.right.is_err() && matches!(told.fit, Err(FitFault::TooFew(_))));
    let drill = Drill::new(&pack, plan(100), 1).expect("a drill");
    let perfect: Vec<Answer> = (0..100)
        .map(|i| {
            if room(&drill, i) > 0.0 {
                Answer::Flat
            } else {
                Answer::NotFlat
            }
        })
        .collect();
    let told = drill
        .feedback(&perfect, 0.95, Least::default())
        .expect("feedback");
    assert_eq!(told.right.expect("enough").count, 100);
    assert_eq!(told.fit, Err(FitFault::NoOverlap));
    let turned: Vec<Answer> = (0..100)
        .map(|i| {
            if (room(&drill, i) > 0.0) == (i % 4 == 0) {
                Answer::Flat
            } else {
                Answer::NotFlat
            }
        })
        .collect();
    let told = drill
        .feedback(&turned, 0.95, Least::default())
        .expect("feedback");
    assert_eq!(told.fit, Err(FitFault::NotRising));
}

#[test]
fn plans_that_make_no_drill() {
    let pack = pack("larkmere");
    let with = |change: fn(&mut Plan)| {
        let mut p = plan(20);
        change(&mut p);
        Drill::new(&pack, p, 1)
    };
    for bad in [
        with(|p| p.placings = 0),
        with(|p| p.placings = 501),
        with(|p| p.step = Length::ZERO),
        with(|p| p.reach = Length::from_micrometres(500)),
        with(|p| p.reach = Length::from_mm(350)),
    ] {
        assert_eq!(bad, Err(DrillFault::Plan));
    }
    assert!(matches!(
        with(|p| p.gauge = "hoop-99".into()),
        Err(DrillFault::UnknownHoop(_))
    ));
    let drill = Drill::new(&pack, plan(20), 1).expect("a drill");
    let fault = drill
        .feedback(&[Answer::Flat; 19], 0.95, Least::default())
        .expect_err("one is missing");
    assert!(fault.to_string().contains("19 answers to 20"), "{fault}");
}

#[test]
fn a_kept_drill_is_told_from_a_changed_one() {
    let pack = pack("larkmere");
    let drill = Drill::new(&pack, plan(20), 3).expect("a drill");
    let record = DrillRecord {
        trainee: "wren".into(),
        on: "2026-06-14".parse().expect("a day"),
        rules: ("larkmere".into(), "2026".into()),
        drill,
        answers: vec![Answer::Flat; 20],
    };
    assert!(record.holds(&pack));
    let text = serde_json::to_string(&record).expect("JSON");
    assert_eq!(
        serde_json::from_str::<DrillRecord>(&text).expect("a record"),
        record
    );
    let mut easier = record.clone();
    easier.drill.tasks[0].height = Length::from_mm(300);
    assert!(!easier.holds(&pack));
    let mut shorter = record.clone();
    shorter.answers.pop();
    assert!(!shorter.holds(&pack));
    let mut other = record;
    other.rules.1 = "2025".into();
    assert!(!other.holds(&pack));
}
