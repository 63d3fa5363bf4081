//! The demo league's rules, from the first placing to the verdict.

use standsquare_measuring::*;

fn pack() -> RulePack {
    RulePack::parse(LARKMERE).unwrap_or_else(|f| panic!("{f:?}"))
}

fn day(text: &str) -> chrono::NaiveDate {
    text.parse().unwrap()
}

fn case() -> Case {
    let checked = |gauge: &str| GaugeHere {
        gauge: gauge.into(),
        checked: Some(day("2026-05-01")),
        height: None,
    };
    Case {
        born: Some(day("2024-02-10")),
        measurers: vec![MeasurerHere::new("ottoline"), MeasurerHere::new("bram")],
        gauges: vec![checked("hoop-35"), checked("hoop-43")],
        ..Case::new(day("2026-06-14"))
    }
}

fn placed(case: &mut Case, gauge: &str, result: PlacingResult) {
    case.seen.push(Seen::Placing(Placing {
        gauge: gauge.into(),
        result,
        by: "ottoline".into(),
        at: None,
    }));
}

fn keys(reasons: &[Reason]) -> Vec<&str> {
    reasons.iter().map(|r| r.key.as_ref()).collect()
}

#[test]
fn a_small_is_flat_at_the_first_placing() {
    let (pack, mut case) = (pack(), case());
    assert_eq!(
        progress(&pack, &case).next,
        Next::Place {
            gauge: "hoop-35".into(),
            by: None,
            valid_so_far: 0,
            needed: 3,
            reposition_first: false
        }
    );
    assert_eq!(progress(&pack, &case).other_gauges, ["hoop-43".into()]);
    placed(&mut case, "hoop-35", PlacingResult::Flat);
    assert_eq!(progress(&pack, &case).next, Next::Decided("small".into()));
    let v = judge(&pack, &case);
    assert_eq!(v.outcome, Outcome::Category("small".into()));
    assert_eq!(v.interval.unwrap().to_string(), "h ≤ 350 mm");
    assert_eq!(v.status, Some(Status::ProvisionalUntil(day("2028-06-14"))));
    assert_eq!(v.measure, WhichMeasure::First);
    assert_eq!(
        v.second_window,
        Some(Window {
            from: day("2027-06-14"),
            to: day("2028-06-14")
        })
    );
    assert_eq!(v.flags, []);
    assert_eq!(
        keys(&v.tell_handler),
        ["tell-category", "tell-until", "tell-second-window"]
    );
}

#[test]
fn a_medium_takes_three_placings_at_35_and_one_at_43() {
    let (pack, mut case) = (pack(), case());
    placed(&mut case, "hoop-35", PlacingResult::NotFlat);
    let void = PlacingResult::Void {
        seen: Base::Flat,
        reason: VoidReason::Moved,
    };
    placed(&mut case, "hoop-35", void);
    assert_eq!(
        progress(&pack, &case).next,
        Next::Place {
            gauge: "hoop-35".into(),
            by: None,
            valid_so_far: 1,
            needed: 3,
            reposition_first: true
        }
    );
    placed(&mut case, "hoop-35", PlacingResult::NotFlat);
    assert_eq!(judge(&pack, &case).outcome, Outcome::NotYet);
    placed(&mut case, "hoop-35", PlacingResult::NotFlat);
    placed(&mut case, "hoop-43", PlacingResult::Flat);
    let v = judge(&pack, &case);
    assert_eq!(v.outcome, Outcome::Category("medium".into()));
    assert_eq!(v.interval.unwrap().to_string(), "350 < h ≤ 430 mm");
    assert!(!v.near_limit);
}

#[test]
fn a_large_needs_no_second_measure() {
    let (pack, mut case) = (pack(), case());
    for _ in 0..3 {
        placed(&mut case, "hoop-43", PlacingResult::NotFlat);
    }
    let v = judge(&pack, &case);
    assert_eq!(v.outcome, Outcome::Category("large".into()));
    assert_eq!(v.status, Some(Status::Definitive));
    assert_eq!(v.second_window, None);
}

#[test]
fn not_today_keeps_what_was_seen() {
    let (pack, mut case) = (pack(), case());
    placed(&mut case, "hoop-35", PlacingResult::NotFlat);
    case.stopped = Some("nervous".into());
    let v = judge(&pack, &case);
    assert_eq!(v.outcome, Outcome::NotToday);
    assert_eq!(keys(&v.tell_handler), ["tell-not-today"]);
}
