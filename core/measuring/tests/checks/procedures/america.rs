//! North America.

use super::*;

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
