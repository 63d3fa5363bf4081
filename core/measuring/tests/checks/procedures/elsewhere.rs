//! Oceania and the world.

use super::*;

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
