//! Europe, and whippets.

use super::*;

#[test]
fn finland_from_eighteen_months_and_a_day() {
    // F1 agilityliitto.fi
    let finland = pack("finland");
    for (born, today, may) in [
        ("2024-01-10", "2025-07-10", false),
        ("2024-01-10", "2025-07-11", true),
        ("2024-08-31", "2026-02-28", false),
        ("2024-08-31", "2026-03-01", true),
    ] {
        let v = dog(&finland, born, today, "40 cm", vec![]);
        assert_eq!(v.outcome != Outcome::Refused, may, "{born} {today}");
    }
}

#[test]
fn finland_records_whole_centimetres_as_intervals() {
    // F1 agilityliitto.fi ("46–47")
    let finland = pack("finland");
    for height in ["460 mm", "463 mm", "469 mm"] {
        let v = measured(&finland, height);
        assert_eq!(v.interval.unwrap().to_string(), "460 ≤ h < 470 mm");
        assert_eq!(v.status, Some(Status::Definitive));
    }
}

#[test]
fn finland_border_dogs_at_48_need_three_results_in_one_class_by_different_judges() {
    // F1 agilityliitto.fi
    let finland = pack("finland");
    let zone = |low| {
        let (from, to) = (
            HeightInterval::at_least(mm(low)),
            HeightInterval::below(mm(low + 10)),
        );
        Some(from.merge(&to).unwrap())
    };
    let (a, b) = (
        earlier("2025-01-01", "i", zone(470), &["ulla"]),
        earlier("2025-02-01", "i", zone(470), &["veikko"]),
    );
    let one = measured(&finland, "475 mm");
    assert!(one.near_limit);
    assert_eq!(one.status, Some(Status::ThisEventOnly));
    let mut case = case_for(&finland);
    measure(&finland, &mut case, mm(475));
    case.earlier = vec![a.clone()];
    assert_eq!(judge(&finland, &case).status, Some(Status::ThisEventOnly));
    case.earlier = vec![a.clone(), b.clone()];
    let three = judge(&finland, &case);
    assert_eq!(three.status, Some(Status::Definitive));
    assert!(
        three
            .reasons
            .iter()
            .any(|r| r.clause == "border[0].measures_needed")
    );
    // Two of one class and two of the other are not enough; the fifth decides at last.
    let c = earlier("2025-03-01", "l", zone(480), &["wilma"]);
    let d = earlier("2025-04-01", "l", zone(480), &["xeni"]);
    case.earlier = vec![a.clone(), c.clone(), d.clone()];
    let four = judge(&finland, &case);
    assert_eq!(four.status, Some(Status::ThisEventOnly));
    case.earlier = vec![a.clone(), b, c, d];
    let five = judge(&finland, &case);
    assert_eq!(
        (five.category(), five.status),
        (Some(&"i".into()), Some(Status::Definitive))
    );
    // The same judge again is refused.
    case.earlier = vec![EarlierMeasure {
        by: vec!["anna".into()],
        ..a
    }];
    let same = judge(&finland, &case);
    assert_eq!(same.outcome, Outcome::Refused);
    assert!(has(&same.reasons, "same-measurer-again"));
}

#[test]
fn no_consecutive_measurements_by_one_measurer() {
    // F1 thejmbonline.co.uk (ponies; only this clause is known, so it is tried on Finland's pack)
    let text = pack_files()
        .into_iter()
        .find(|(n, _)| n == "finland")
        .unwrap()
        .1;
    let jmb = RulePack::parse(&text.replace("never-again", "not-the-last")).unwrap();
    let mut case = case_for(&jmb);
    measure(&jmb, &mut case, mm(400));
    let by = |on, who| earlier(on, "m", None, &[who]);
    case.earlier = vec![by("2025-01-01", "anna"), by("2025-02-01", "veikko")];
    assert_ne!(judge(&jmb, &case).outcome, Outcome::Refused);
    case.earlier = vec![by("2025-02-01", "anna"), by("2025-01-01", "veikko")];
    assert_eq!(judge(&jmb, &case).outcome, Outcome::Refused);
}

/// Three judges of Sweden's panel with one reading each, of a dog held to be small.
fn panel(values: [&str; 3]) -> Verdict {
    let sweden = pack("sweden");
    let mut case = case_for(&sweden);
    case.purpose = Purpose::Remeasure;
    case.measurers = ["anna", "ben", "cora"].map(MeasurerHere::new).into();
    case.earlier = vec![earlier("2025-01-01", "s", None, &[])];
    for (value, by) in values.into_iter().zip(["anna", "ben", "cora"]) {
        case.seen.push(reading("scale", value, by));
    }
    judge(&sweden, &case)
}

#[test]
fn sweden_a_class_changes_only_if_all_three_agree_on_the_same_different_one() {
    // F1 agilityklubben.se
    for (values, category) in [
        (["350 mm", "350 mm", "351 mm"], "m"),
        (["350 mm", "349 mm", "351 mm"], "s"),
        (["350 mm", "430 mm", "351 mm"], "s"),
        (["349 mm", "349 mm", "349 mm"], "s"),
        (["480 mm", "481 mm", "490 mm"], "l"),
    ] {
        let v = panel(values);
        assert_eq!(v.category(), Some(&category.into()), "{values:?}");
        assert_eq!(v.measure, WhichMeasure::Panel);
        let key = if category == "s" {
            "panel-keeps"
        } else {
            "panel-changes"
        };
        assert!(has(&v.reasons, key), "{values:?}");
    }
}

#[test]
fn sweden_three_must_be_there_twice_at_most_and_from_eighteen_months() {
    // F1 agilityklubben.se
    let sweden = pack("sweden");
    let mut case = case_for(&sweden);
    case.purpose = Purpose::Remeasure;
    case.measurers = ["anna", "ben"].map(MeasurerHere::new).into();
    case.earlier = vec![earlier("2025-01-01", "s", None, &[])];
    let v = judge(&sweden, &case);
    assert_eq!(v.outcome, Outcome::Refused);
    assert_eq!(v.tell_handler[0].clause, "remeasure.panel");
    case.measurers.push(MeasurerHere::new("cora"));
    assert_eq!(judge(&sweden, &case).outcome, Outcome::NotYet);
    case.born = Some(day("2024-12-14"));
    assert_eq!(judge(&sweden, &case).outcome, Outcome::NotYet);
    case.born = Some(day("2024-12-15"));
    assert!(has(&judge(&sweden, &case).reasons, "panel-too-young"));
    case.born = Some(day("2016-03-01"));
    let by_panel = |on| EarlierMeasure {
        by_panel: true,
        ..earlier(on, "s", None, &[])
    };
    case.earlier.push(by_panel("2025-02-01"));
    assert_eq!(judge(&sweden, &case).outcome, Outcome::NotYet);
    case.earlier.push(by_panel("2025-03-01"));
    assert!(has(&judge(&sweden, &case).reasons, "panel-too-often"));
    case.earlier.clear();
    assert!(has(
        &judge(&sweden, &case).reasons,
        "panel-nothing-to-change"
    ));
    assert!(has(
        &judge(&pack("akc"), &case).reasons,
        "panel-not-provided"
    ));
}

#[test]
fn switzerland_border_dogs_go_to_a_special_team() {
    // F2 agilitynow.eu
    let swiss = pack("switzerland");
    for (height, border) in [
        ("329 mm", false),
        ("330 mm", true),
        ("370 mm", true),
        ("371 mm", false),
        ("409 mm", false),
        ("410 mm", true),
        ("450 mm", true),
        ("451 mm", false),
        ("480 mm", false),
    ] {
        let v = measured(&swiss, height);
        assert_eq!(v.near_limit, border, "{height}");
        assert_eq!(v.status == Some(Status::Definitive), !border, "{height}");
    }
}

#[test]
fn switzerland_hoop_first_then_the_mean_of_three_readings_decides_without_appeal() {
    // F2 agilitynow.eu
    let swiss = pack("switzerland");
    let mut case = case_for(&swiss);
    let known = HeightInterval::exactly(mm(352));
    case.earlier = vec![earlier("2026-01-01", "m", Some(known), &["ben"])];
    let Next::Place { gauge, .. } = progress(&swiss, &case).next else {
        panic!("the hoop comes first")
    };
    assert_eq!(gauge, "hoop-35".into());
    // Clearly flat: small, whatever the first measure said.
    let mut clear = case.clone();
    clear
        .seen
        .push(placing("hoop-35", PlacingResult::Flat, "anna"));
    let v = judge(&swiss, &clear);
    assert_eq!(
        (v.category(), v.status),
        (Some(&"s".into()), Some(Status::Definitive))
    );
    // Mixed placings are a doubt: three readings to the millimetre.
    case.seen
        .push(placing("hoop-35", PlacingResult::NotFlat, "anna"));
    case.seen
        .push(placing("hoop-35", PlacingResult::Flat, "anna"));
    for (i, value) in ["349.4 mm", "350.4 mm"].into_iter().enumerate() {
        let Next::Read {
            valid_so_far,
            needed,
            step,
            ..
        } = progress(&swiss, &case).next
        else {
            panic!("readings follow")
        };
        assert_eq!((valid_so_far as usize, needed, step), (i, 3, mm(1)));
        case.seen.push(reading("scale", value, "anna"));
    }
    for (third, category, height) in [
        // (349 + 350 + 350) / 3 lies below 350, however little; (349 + 350 + 351) / 3 is 350.
        ("350.4 mm", "s", "349.666666 < h < 349.666667 mm"),
        ("350.5 mm", "m", "h = 350 mm"),
    ] {
        let mut done = case.clone();
        done.seen.push(reading("scale", third, "anna"));
        let v = judge(&swiss, &done);
        assert_eq!(v.category(), Some(&category.into()), "{third}");
        assert_eq!(v.interval.unwrap().to_string(), height);
        assert_eq!(v.status, Some(Status::Definitive));
        assert!(v.reasons.iter().any(|r| r.clause == "border[0].settles"));
    }
}

#[test]
fn fei_two_measure_blind_and_the_lower_counts() {
    // F2 horseandhound.co.uk, F1 inside.fei.org
    let fei = pack("fei");
    let mut case = case_for(&fei);
    case.seen = vec![
        reading("scale", "1489 mm", "anna"),
        reading("scale", "1490 mm", "ben"),
    ];
    let v = judge(&fei, &case);
    assert_eq!(v.category(), Some(&"pony".into()));
    assert!(has(&v.flags, "measurers-differ"));
    assert!(has(&v.reasons, "measurers-stand"));
    case.seen.reverse();
    assert_eq!(judge(&fei, &case), v);
    case.seen = vec![
        reading("scale", "1490 mm", "anna"),
        reading("scale", "1495 mm", "ben"),
    ];
    assert_eq!(judge(&fei, &case).category(), Some(&"horse".into()));
    case.measurers[0].ties = vec![Tie::SameClub];
    assert!(has(&judge(&fei, &case).tell_handler, "tie-same-club"));
    assert_eq!(judge(&fei, &case).outcome, Outcome::Refused);
}

#[test]
fn fei_from_six_interim_for_fifteen_months_from_eight_for_life() {
    // F1 inside.fei.org
    let fei = pack("fei");
    let at = |today| dog(&fei, "2018-05-20", today, "145 cm", vec![]);
    assert_eq!(at("2024-05-19").outcome, Outcome::Refused);
    assert_eq!(
        at("2024-05-20").status,
        Some(Status::ProvisionalUntil(day("2025-08-20")))
    );
    assert_eq!(
        at("2026-05-19").status,
        Some(Status::ProvisionalUntil(day("2027-08-19")))
    );
    assert_eq!(at("2026-05-20").status, Some(Status::Definitive));
}

#[test]
fn whippets_alternating_the_mode_of_six_and_a_seventh_is_final() {
    // F1 Sporting Whippet Club
    let whippet = pack("procedure-only-whippet");
    let mut case = case_for(&whippet);
    let values = [
        "468 mm", "471 mm", "468 mm", "471 mm", "466 mm", "473 mm", "472 mm",
    ];
    for (i, value) in values.into_iter().enumerate() {
        let Next::Read {
            by,
            valid_so_far,
            needed,
            reposition_first,
            ..
        } = progress(&whippet, &case).next
        else {
            panic!("reading {i}")
        };
        let turn = if i % 2 == 0 { "anna" } else { "ben" };
        assert_eq!(by, Some(turn.into()), "reading {i}");
        assert_eq!(valid_so_far as usize, i);
        assert_eq!(needed, if i < 6 { 6 } else { 7 });
        // Moved after readings 1, 3 and 5.
        assert_eq!(reposition_first, [1, 3, 5].contains(&i), "reading {i}");
        case.seen.push(reading("scale", value, turn));
    }
    let v = judge(&whippet, &case);
    assert_eq!(v.category(), Some(&"upper".into()));
    assert_eq!(v.interval, Some(HeightInterval::exactly(mm(472))));
    assert!(has(&v.reasons, "last-reading-decides"));
    assert!(!has(&v.flags, "measurer-twice-running"));
    // With a mode among six there is no seventh.
    case.seen.truncate(5);
    case.seen.push(reading("scale", "468 mm", "ben"));
    let v = judge(&whippet, &case);
    assert_eq!(v.interval, Some(HeightInterval::exactly(mm(468))));
    assert_eq!(v.category(), Some(&"lower".into()));
    // Two in a row by one measurer are pointed out.
    case.seen.push(reading("scale", "468 mm", "ben"));
    assert!(has(&judge(&whippet, &case).flags, "measurer-twice-running"));
}
