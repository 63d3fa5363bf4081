//! A body's year of 50,000 measures, taken in once.

use chrono::{Days, NaiveDate};
use standsquare_measuring::MeasurerId;
use standsquare_measuring::gauge::changes::Changes;
use standsquare_measuring::gauge::drift::{Period, of_measurer};
use standsquare_measuring::gauge::{Known, Least, Placer, Year};

use super::support::Dice;

const MEASURES: u64 = 50_000;

/// What measurer `i` really is: every third drifts low by 6 mm in the second half-year.
fn placer(i: u64, day: u64) -> Placer {
    let bias = (i % 5) as f64
        - 2.0
        - if i.is_multiple_of(3) && day > 182 {
            6.0
        } else {
            0.0
        };
    Placer::new(5.0, bias).expect("a placer")
}

#[test]
fn fifty_thousand_measures_in_one_pass() {
    let mut dice = Dice(50_000);
    let mut year = Year::new(3);
    let first = NaiveDate::from_ymd_opt(2026, 1, 1).expect("a day");
    let ids: Vec<MeasurerId> = (0..30)
        .map(|i| MeasurerId::from(format!("m{i:02}")))
        .collect();
    for n in 0..MEASURES {
        let day = n * 365 / MEASURES;
        let on = first + Days::new(day);
        // Every fifth dog's height is known, to the millimetre, within 20 mm of the hoop.
        if n % 5 == 0 {
            let room_mm = (dice.between(-20.0, 20.0)).round();
            let i = dice.below(30);
            let flat = dice.unit() < placer(i, day).flat(0.0, room_mm);
            year.placing(&ids[i as usize], Known { on, room_mm, flat });
        }
        let (a, b) = (dice.below(30), dice.below(29));
        let b = if b >= a { b + 1 } else { b };
        let truth = dice.below(3) as usize;
        let errs = |dice: &mut Dice| {
            if dice.below(20) == 0 {
                (truth + 1) % 3
            } else {
                truth
            }
        };
        let found = (errs(&mut dice), errs(&mut dice));
        year.pair((&ids[a as usize], found.0), (&ids[b as usize], found.1));
        // Two dogs in three come a second time.
        year.measure(n % 30_000, truth);
    }
    let report = year.report(0.95, Least::default());
    let agreement = report.agreement.expect("enough");
    assert_eq!(agreement.agree.n, MEASURES);
    // Both right, or both wrong in the same way.
    assert!((agreement.agree.share - (0.95 * 0.95 + 0.05 * 0.05)).abs() < 0.005);
    let pooled = report.pooled.expect("a fit");
    assert_eq!(pooled.n, MEASURES / 5);
    // The common spread takes the drift in: somewhat above 5 mm.
    assert!(
        pooled.spread_mm.low > 4.8 && pooled.spread_mm.high < 6.2,
        "{:?}",
        pooled.spread_mm
    );
    assert_eq!(
        report.changes.counts().iter().flatten().sum::<u64>(),
        20_000
    );
    assert_eq!(report.measurers.len(), 30);
    let mut caught = 0;
    for m in &report.measurers {
        let i: u64 = m.measurer.as_str()[1..].parse().expect("a number");
        assert!(
            m.agreement.as_ref().is_ok_and(|a| a.agree.n > 2_000),
            "{m:?}"
        );
        let chart = m.drift.as_ref().expect("a year of months");
        assert_eq!(chart.len(), 12);
        let out = chart.iter().skip(6).any(|p| p.outside);
        if i.is_multiple_of(3) {
            caught += u32::from(out);
        }
        let own = &pooled.measurers[m.index];
        assert!(own.n > 200 && own.alone.is_ok(), "{own:?}");
        if !i.is_multiple_of(3) {
            let truth = placer(i, 0).bias_mm();
            assert!(
                (own.bias_mm.value - truth).abs() < 4.0 * own.bias_mm.error,
                "{i}: {own:?}"
            );
        }
    }
    assert!(caught >= 7, "{caught} of the 10 who drift");
}

#[test]
fn little_data_is_met_with_silence() {
    let mut year = Year::new(2);
    let on = NaiveDate::from_ymd_opt(2026, 6, 14).expect("a day");
    let (o, b) = (MeasurerId::from("ottoline"), MeasurerId::from("bram"));
    for i in 0..19 {
        year.pair((&o, i % 2), (&b, 0));
        year.placing(
            &o,
            Known {
                on,
                room_mm: i as f64 - 9.0,
                flat: i > 9,
            },
        );
    }
    // Nonsense is not counted.
    year.pair((&o, 5), (&b, 0));
    let report = year.report(0.95, Least::default());
    let few = report.agreement.expect_err("too few");
    assert_eq!((few.have, few.need), (19, 20));
    assert!(few.to_string().contains("nothing is said below 20"));
    assert!(report.pooled.is_err());
    assert!(
        report
            .measurers
            .iter()
            .all(|m| m.agreement.is_err() && m.drift.is_err())
    );
    assert!(report.changes.changed(0.95, 1).is_err());
}

#[test]
fn changes_between_first_and_second_measure() {
    let mut changes = Changes::new(2);
    (0..30).for_each(|i| changes.add(0, usize::from(i < 3)));
    (0..10).for_each(|_| changes.add(1, 1));
    changes.add(7, 0);
    let rows = changes.rows(0.95, 20);
    let small = rows[0].to.as_ref().expect("enough");
    assert_eq!((rows[0].n, small[1].count, small[1].n), (30, 3, 30));
    assert!(small[1].low < 0.1 && 0.1 < small[1].high);
    assert!(rows[1].to.is_err(), "ten are too few");
    let all = changes.changed(0.95, 20).expect("enough");
    assert_eq!((all.count, all.n), (3, 40));
}

#[test]
fn a_steady_hand_stays_within_the_limits_and_a_drifting_one_does_not() {
    let mut dice = Dice(77);
    let chart = |dice: &mut Dice, drift: f64| {
        let periods: Vec<Period> = (0..12)
            .map(|month| {
                let mut p = Period::default();
                for _ in 0..40 {
                    let room = dice.between(-10.0, 10.0);
                    let off = drift * f64::from(month) / 11.0;
                    let flat = room + off > 5.0 * dice.normal();
                    p.add(
                        flat,
                        Placer::new(5.0, 0.0).expect("a placer").flat(0.0, room),
                    );
                }
                p
            })
            .collect();
        of_measurer(&periods, 6)
            .expect("enough")
            .iter()
            .any(|p| p.outside)
    };
    let alarms = |dice: &mut Dice, drift| (0..200).filter(|_| chart(dice, drift)).count();
    let (steady, drifting) = (alarms(&mut dice, 0.0), alarms(&mut dice, 5.0));
    assert!(steady <= 12, "{steady} false alarms in 200 years");
    assert!(drifting >= 190, "{drifting} of 200 caught");
    assert!(
        of_measurer(&[Period::default(); 12], 6).is_err(),
        "months that say nothing"
    );
}
