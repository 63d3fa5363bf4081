//! Published decision procedures, each through the whole engine. The source stands beside each
//! test as in facts: F1 the issuer's own text, F2 a mirror or another's report.

use crate::support::*;
use standsquare_measuring::*;

fn mm(n: i64) -> Length {
    Length::from_mm(n)
}

/// A dog measured at this height on this day, with these earlier measures.
fn dog(
    pack: &RulePack,
    born: &str,
    today: &str,
    height: &str,
    before: Vec<EarlierMeasure>,
) -> Verdict {
    let mut case = case_for(pack);
    case.born = Some(day(born));
    case.today = day(today);
    case.earlier = before;
    measure(pack, &mut case, height.parse().unwrap());
    judge(pack, &case)
}

#[test]
fn akc_from_fifteen_months_a_measure_is_temporary_until_the_second_birthday() {
    // F2 e-hauoli.com
    let akc = pack("akc");
    let at = |today| dog(&akc, "2024-03-31", today, "15 in", vec![]);
    let young = at("2025-06-29");
    assert_eq!(young.outcome, Outcome::Refused);
    assert_eq!(
        young.tell_handler[0].args["from"],
        Arg::Date(day("2025-06-30"))
    );
    assert_eq!(young.tell_handler[0].clause, "age[0].from");
    let first = at("2025-06-30");
    assert_eq!(first.category(), Some(&"16".into()));
    assert_eq!(
        first.status,
        Some(Status::ProvisionalUntil(day("2026-03-30")))
    );
    let last = at("2026-03-30");
    assert_eq!(
        last.status,
        Some(Status::ProvisionalUntil(day("2026-03-30")))
    );
    let two = at("2026-03-31");
    assert_eq!(two.status, Some(Status::ThisEventOnly));
    assert!(has(&two.reasons, "age-counts"));
}

#[test]
fn akc_two_official_measures_and_a_third_decides() {
    // F2 e-hauoli.com, fasttimesagility.us
    let akc = pack("akc");
    let first = earlier("2025-01-10", "16", None, &[]);
    let at = |height, before| dog(&akc, "2020-01-01", "2026-06-14", height, before);
    let agreed = at("18 in", vec![first.clone()]);
    assert_eq!(agreed.status, Some(Status::Definitive));
    assert_eq!(agreed.measure, WhichMeasure::Second);
    let differ = at("18 1/16 in", vec![first.clone()]);
    assert_eq!(differ.category(), Some(&"20".into()));
    assert_eq!(differ.status, Some(Status::ThisEventOnly));
    assert!(has(&differ.tell_handler, "tell-further"));
    assert!(has(&differ.flags, "measures-differ"));
    let second = earlier("2025-02-10", "20", None, &[]);
    for (height, category) in [("18 in", "16"), ("18 1/16 in", "20")] {
        for before in [
            vec![first.clone(), second.clone()],
            vec![second.clone(), first.clone()],
        ] {
            let third = at(height, before);
            assert_eq!(third.measure, WhichMeasure::Further(3));
            assert_eq!(third.category(), Some(&category.into()));
            assert_eq!(third.status, Some(Status::Definitive));
        }
    }
    // Three different ones: no third can decide, so that the body must.
    let third = at("23 in", vec![first, second]);
    assert_eq!(third.status, Some(Status::Referred));
}

#[test]
fn akc_above_22_inches_one_suffices_on_request() {
    // F2 fasttimesagility.us
    let akc = pack("akc");
    let mut case = case_for(&akc);
    measure(&akc, &mut case, Length::from_sixteenths(22 * 16 + 1));
    assert_eq!(judge(&akc, &case).status, Some(Status::ThisEventOnly));
    case.on_request = true;
    let v = judge(&akc, &case);
    assert_eq!(v.status, Some(Status::Definitive));
    assert!(has(&v.reasons, "on-request"));
    let mut lower = case_for(&akc);
    lower.on_request = true;
    measure(&akc, &mut lower, Length::from_inches(22));
    assert_eq!(judge(&akc, &lower).status, Some(Status::ThisEventOnly));
}

#[test]
fn akc_a_judge_of_record_measures_for_those_trials_only() {
    // F2 oes.org
    let akc = pack("akc");
    let mut case = case_for(&akc);
    case.purpose = Purpose::ThisEvent;
    case.earlier = vec![earlier("2025-01-10", "16", None, &[])];
    measure(&akc, &mut case, Length::from_inches(16));
    let v = judge(&akc, &case);
    assert_eq!(v.status, Some(Status::ThisEventOnly));
    assert_eq!(v.measure, WhichMeasure::ThisEvent);
    // And it counts for nothing later.
    let mut later = case_for(&akc);
    later.earlier = vec![EarlierMeasure {
        for_event: true,
        ..earlier("2025-01-10", "16", None, &[])
    }];
    assert_eq!(judge(&akc, &later).measure, WhichMeasure::First);
    // A body without such a measure refuses it.
    case.purpose = Purpose::ThisEvent;
    assert_eq!(judge(&pack("usdaa"), &case).outcome, Outcome::Refused);
}

#[test]
fn usdaa_more_than_a_quarter_inch_below_needs_no_second() {
    // F1 usdaa.com
    let usdaa = pack("usdaa-2016");
    for (height, needs_second) in [
        ("18 11/16 in", false),
        ("18 3/4 in", true),
        ("19 in", true),
        ("19 1/16 in", false),
        ("16 11/16 in", false),
        ("16 3/4 in", true),
    ] {
        let v = measured(&usdaa, height);
        let settled = v.status == Some(Status::Definitive);
        assert_eq!(!settled, needs_second, "{height}");
        assert_eq!(v.near_limit, needs_second, "{height}");
    }
}

#[test]
fn cpe_within_half_an_inch_of_a_jump_height_two_and_one_after_two_years() {
    // F1 k9cpe.com
    let cpe = pack("cpe");
    let at = |today, height, before| dog(&cpe, "2024-06-14", today, height, before);
    for (height, one_suffices) in [
        ("7 7/16 in", true),
        ("7 1/2 in", false),
        ("8 1/2 in", false),
        ("8 9/16 in", true),
    ] {
        let v = at("2026-06-14", height, vec![]);
        assert_eq!(
            v.status == Some(Status::Definitive),
            one_suffices,
            "{height}"
        );
    }
    let first = earlier("2025-12-01", "4", None, &[]);
    let early = at("2026-06-13", "7 3/4 in", vec![first.clone()]);
    assert_eq!(early.status, Some(Status::ThisEventOnly));
    assert!(has(&early.reasons, "one-older-needed"));
    let late = at("2026-06-14", "7 3/4 in", vec![first]);
    assert_eq!(late.status, Some(Status::Definitive));
}

#[test]
fn cpe_under_eight_inches_needs_two_judges_and_over_the_top_a_card_at_once() {
    // F1 k9cpe.com
    let cpe = pack("cpe");
    let v = measured(&cpe, "7 in");
    assert!(has(&v.flags, "more-measurers-needed"));
    let mut two = case_for(&cpe);
    two.measurers.push(MeasurerHere::new("ben"));
    measure(&cpe, &mut two, Length::from_inches(7));
    assert!(!has(&judge(&cpe, &two).flags, "more-measurers-needed"));
    // Automatic: the dog of a year and a half gets it too.
    let card = dog(&cpe, "2025-01-01", "2026-06-14", "24 9/16 in", vec![]);
    assert_eq!(card.category(), Some(&"card".into()));
    assert_eq!(card.status, Some(Status::Definitive));
}

#[test]
fn nadac_above_18_inches_may_be_judged_visually_below_two_are_needed() {
    // F1 nadac.com
    let nadac = pack("nadac");
    let mut case = case_for(&nadac);
    case.by_eye = Some("20".into());
    assert_eq!(progress(&nadac, &case).next, Next::Decided("20".into()));
    let v = judge(&nadac, &case);
    assert_eq!(v.category(), Some(&"20".into()));
    assert!(has(&v.flags, "judged-by-eye"));
    // No height is invented: only the category's own range is known.
    assert_eq!(v.interval.unwrap().to_string(), "h > 457.2 mm");
    case.by_eye = Some("to-18".into());
    assert_eq!(judge(&nadac, &case).outcome, Outcome::Refused);
    case.by_eye = None;
    measure(&nadac, &mut case, Length::from_inches(17));
    assert_eq!(judge(&nadac, &case).status, Some(Status::ThisEventOnly));
    case.earlier = vec![earlier("2026-01-01", "to-18", None, &[])];
    assert_eq!(judge(&nadac, &case).status, Some(Status::Definitive));
}

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

#[test]
fn new_zealand_interim_from_seventeen_months_permanent_two_weeks_before_two_years() {
    // F2 fivefaultclub.nz
    let nz = pack("procedure-only-nz");
    let at = |today| dog(&nz, "2024-05-20", today, "40 cm", vec![]);
    assert_eq!(at("2025-10-19").outcome, Outcome::Refused);
    assert_eq!(
        at("2025-10-20").status,
        Some(Status::ProvisionalUntil(day("2026-05-05")))
    );
    assert_eq!(
        at("2026-05-05").status,
        Some(Status::ProvisionalUntil(day("2026-05-05")))
    );
    assert_eq!(at("2026-05-06").status, Some(Status::Definitive));
    let mut case = case_for(&nz);
    for m in &mut case.measurers {
        m.leading = false;
    }
    assert!(has(
        &judge(&nz, &case).tell_handler,
        "leading-measurer-needed"
    ));
    case.measurers[1].leading = true;
    assert_eq!(judge(&nz, &case).outcome, Outcome::NotYet);
}

#[test]
fn western_australia_two_judges_and_again_at_two_years_unless_class_600() {
    // F1 dogswest.com
    let wa = pack("procedure-only-wa");
    let at = |today, height, before| dog(&wa, "2024-05-20", today, height, before);
    let young = at("2026-05-19", "50 cm", vec![]);
    let until = Status::ProvisionalUntil(day("2026-05-19"));
    assert_eq!(young.status, Some(until));
    // Measured again at two, the young dog's measure counts for nothing; a 600's is for good.
    let first = vec![earlier("2026-05-19", "lower", None, &[])];
    let two = at("2026-05-20", "50 cm", first);
    assert_eq!(
        (two.measure, two.status),
        (WhichMeasure::First, Some(Status::Definitive))
    );
    let tall = at("2026-05-19", "501 mm", vec![]);
    assert_eq!(tall.status, Some(Status::Definitive));
    assert!(has(&tall.reasons, "age-counts"));
    let first = vec![earlier("2026-05-19", "600", None, &[])];
    let again = at("2026-05-20", "501 mm", first);
    assert_eq!(again.measure, WhichMeasure::Second);
    assert!(has(&again.flags, "already-definitive"));
    // One judge alone may not measure; a dog that never stands still is not measured today.
    let mut case = case_for(&wa);
    for _ in 0..9 {
        let Seen::Reading(r) = reading("scale", "50 cm", "anna") else {
            unreachable!()
        };
        let void = Some(VoidReason::Stance);
        case.seen.push(Seen::Reading(Reading { void, ..r }));
    }
    assert_eq!(judge(&wa, &case).outcome, Outcome::NotToday);
    case.measurers.pop();
    assert!(has(
        &judge(&wa, &case).tell_handler,
        "more-measurers-needed"
    ));
}

#[test]
fn fci_tattoo_or_chip_from_eighteen_months() {
    // F2 petolog.com
    let fci = pack("fci");
    let mut case = case_for(&fci);
    case.identity = Identified::Otherwise("tattoo".into());
    let v = judge(&fci, &case);
    assert_eq!(v.outcome, Outcome::NotYet);
    assert!(has(&v.flags, "identified-otherwise"));
    for identity in [Identified::Otherwise("photograph".into()), Identified::Not] {
        case.identity = identity;
        assert!(has(&judge(&fci, &case).tell_handler, "no-chip"));
        assert_eq!(judge(&fci, &case).outcome, Outcome::Refused);
    }
    assert_eq!(
        dog(&fci, "2024-05-20", "2025-11-19", "40 cm", vec![]).outcome,
        Outcome::Refused
    );
    assert_ne!(
        dog(&fci, "2024-05-20", "2025-11-20", "40 cm", vec![]).outcome,
        Outcome::Refused
    );
}

#[test]
fn ifcs_measures_for_its_own_event() {
    // F1 ifcsdogsports.org (trial)
    assert_eq!(
        measured(&pack("ifcs"), "350 mm").status,
        Some(Status::ThisEventOnly)
    );
}
