//! When: the second measure, windows, the same day again.

use super::*;

#[test]
fn the_second_measure_too_early_in_time_and_late() {
    let pack = pack("larkmere");
    let mut case = small(&pack);
    for (first, outcome, key) in [
        ("2025-06-15", Outcome::Refused, "second-too-early"),
        (
            "2025-06-14",
            Outcome::Category("small".into()),
            "second-in-window",
        ),
        (
            "2024-06-14",
            Outcome::Category("small".into()),
            "second-in-window",
        ),
        (
            "2024-06-13",
            Outcome::Category("small".into()),
            "second-late",
        ),
    ] {
        case.earlier = vec![earlier(first, "small", None, &[])];
        let v = judge(&pack, &case);
        assert_eq!(v.outcome, outcome, "{first}");
        assert_eq!(v.measure, WhichMeasure::Second);
        assert!(has(&v.reasons, key) || has(&v.flags, key), "{first}");
        assert_eq!(has(&v.flags, "second-late"), key == "second-late");
        if v.category().is_some() {
            assert_eq!(v.status, Some(Status::Definitive));
            assert_eq!(v.second_window, None);
            assert_eq!(keys(&v.tell_handler), ["tell-category", "tell-definitive"]);
        }
    }
    let position = |day_| window_position(&pack, day("2025-06-14"), None, day(day_));
    assert_eq!(position("2026-06-13"), Some(WindowPosition::TooEarly));
    assert_eq!(position("2027-06-14"), Some(WindowPosition::InWindow));
    assert_eq!(position("2027-06-15"), Some(WindowPosition::Late));
}

#[test]
fn a_window_may_count_from_birth() {
    let from_birth = larkmere("counts_from = \"first-measure\"", "counts_from = \"birth\"");
    assert_eq!(second_window(&from_birth, day("2026-01-01"), None), None);
    assert_eq!(
        second_window(&from_birth, day("2026-01-01"), Some(day("2025-02-28"))),
        Some(Window {
            from: day("2026-02-28"),
            to: day("2027-02-28")
        })
    );
}

#[test]
fn early_and_late_mean_what_the_pack_says() {
    let first = |on| vec![earlier(on, "small", None, &[])];
    let early = larkmere(
        "early = \"refused\"",
        "early = { provisional-for = \"3 months\" }",
    );
    let mut case = Case {
        earlier: first("2026-01-14"),
        ..small(&early)
    };
    let v = judge(&early, &case);
    assert_eq!(v.status, Some(Status::ProvisionalUntil(day("2026-09-14"))));
    assert!(has(&v.flags, "second-too-early"));
    let tell = v
        .tell_handler
        .iter()
        .find(|r| r.key == "tell-until")
        .unwrap();
    assert_eq!(tell.clause, "measures.window.early");
    let early = larkmere("early = \"refused\"", "early = \"allowed\"");
    let v = judge(&early, &case);
    assert_eq!(v.status, Some(Status::Definitive));
    assert!(has(&v.reasons, "second-too-early") && v.flags.is_empty());
    let late = larkmere("late = \"flagged\"", "late = \"refused\"");
    case.earlier = first("2020-01-14");
    assert_eq!(judge(&late, &case).outcome, Outcome::Refused);
}

#[test]
fn a_cap_only_shortens() {
    // The first measure is good until its window ends; three months are sooner, ten years are not.
    for (span, until) in [("3 months", "2026-09-14"), ("10 years", "2028-06-14")] {
        let to = format!("unknown = {{ provisional-for = \"{span}\" }}");
        let pack = larkmere("unknown = \"flagged\"", &to);
        let case = Case {
            born: None,
            ..small(&pack)
        };
        let v = judge(&pack, &case);
        assert_eq!(
            v.status,
            Some(Status::ProvisionalUntil(day(until))),
            "{span}"
        );
        assert!(has(&v.flags, "birth-unknown"));
    }
}

#[test]
fn differing_measures_go_where_the_pack_says() {
    let first = vec![earlier("2025-01-01", "medium", None, &[])];
    for (differ, category, status) in [
        ("refer", "small", Status::Referred),
        ("lower-counts", "small", Status::Definitive),
        ("higher-counts", "medium", Status::Definitive),
        ("latest-counts", "small", Status::Definitive),
        (
            "further-decides",
            "small",
            Status::ProvisionalUntil(day("2027-01-01")),
        ),
    ] {
        let pack = larkmere("differ = \"refer\"", &format!("differ = \"{differ}\""));
        let case = Case {
            earlier: first.clone(),
            ..small(&pack)
        };
        let v = judge(&pack, &case);
        assert_eq!(
            (v.category(), v.status),
            (Some(&category.into()), Some(status)),
            "{differ}"
        );
        assert!(has(&v.flags, "measures-differ"));
    }
    for (today, category) in [
        ("lower", "small"),
        ("higher", "large"),
        ("earlier", "large"),
        ("latest", "small"),
    ] {
        let pack = larkmere(
            "differ_today = \"latest\"",
            &format!("differ_today = \"{today}\""),
        );
        let first = vec![earlier("2025-01-01", "large", None, &[])];
        let case = Case {
            earlier: first,
            ..small(&pack)
        };
        let v = judge(&pack, &case);
        assert_eq!(v.category(), Some(&category.into()), "{today}");
        assert!(has(&v.tell_handler, "tell-referred"));
        assert!(has(&v.flags, "already-definitive"), "one large settles it");
    }
}

#[test]
fn a_measure_good_meanwhile_for_the_event_only() {
    let pack = larkmere(
        "meanwhile = \"until-window-ends\"",
        "meanwhile = \"event-only\"",
    );
    let v = judge(&pack, &small(&pack));
    assert_eq!(v.status, Some(Status::ThisEventOnly));
    assert!(v.second_window.is_some());
    assert!(has(&v.tell_handler, "tell-event-only"));
}

#[test]
fn a_window_that_has_run_out_gives_this_event_only() {
    // Two measures that differ, long after: no window is open any more.
    let pack = larkmere("differ = \"refer\"", "differ = \"further-decides\"");
    let case = Case {
        earlier: vec![earlier("2024-06-13", "medium", None, &[])],
        ..small(&pack)
    };
    assert_eq!(judge(&pack, &case).status, Some(Status::ThisEventOnly));
    let case = Case {
        earlier: vec![earlier("2024-06-14", "medium", None, &[])],
        ..small(&pack)
    };
    assert_eq!(
        judge(&pack, &case).status,
        Some(Status::ProvisionalUntil(day("2026-06-14")))
    );
}

#[test]
fn the_same_day_again_and_too_many_attempts() {
    let pack = pack("larkmere");
    let mut case = small(&pack);
    case.earlier = vec![earlier("2026-06-14", "small", None, &[])];
    assert!(has(&judge(&pack, &case).tell_handler, "same-day-again"));
    case.earlier.clear();
    case.attempts = vec![day("2026-01-01"), day("2026-02-01")];
    assert!(judge(&pack, &case).flags.is_empty());
    case.attempts.push(day("2026-03-01"));
    let v = judge(&pack, &case);
    assert_eq!(keys(&v.flags), ["too-many-attempts"]);
    assert!(v.category().is_some());
}

#[test]
fn what_was_seen_before_is_shown_and_never_judged_by() {
    let pack = pack("larkmere");
    let plain = small(&pack);
    let read = |value, reason| {
        let Seen::Reading(r) = reading("stick", value, "cora") else {
            unreachable!("a reading")
        };
        Seen::Reading(Reading { void: reason, ..r })
    };
    let before = vec![
        SeenBefore {
            on: day("2026-06-14"),
            seen: vec![
                placing("hoop-43", flat(), "cora"),
                placing("hoop-35", not(), "cora"),
                placing("hoop-35", void(Base::Flat), "dan"),
                placing("hoop-35", not(), "cora"),
            ],
        },
        SeenBefore {
            on: day("2025-06-01"),
            seen: vec![
                read("36 cm", None),
                read("41 cm", Some(VoidReason::Moved)),
                read("365 mm", None),
                reading("wicket", "14 in", "cora"),
            ],
        },
    ];
    let mut case = Case {
        seen_before: before,
        ..plain.clone()
    };
    let v = judge(&pack, &case);
    let shown: Vec<String> = v
        .reasons
        .iter()
        .filter(|r| r.key.ends_with("-before"))
        .map(|r| r.english())
        .collect();
    assert_eq!(
        shown,
        [
            "on 2025-06-01 stick was read: 360 mm, 365 mm; 1 void",
            "on 2025-06-01 wicket was read: 355.6 mm; 0 void",
            "on 2026-06-14 hoop-35 was placed: 0 flat, 2 not flat, 1 void",
            "on 2026-06-14 hoop-43 was placed: 1 flat, 0 not flat, 0 void",
        ]
    );
    // Nothing else of the verdict knows of it.
    let mut without = v.clone();
    without.reasons.retain(|r| !r.key.ends_with("-before"));
    assert_eq!(without, judge(&pack, &plain));
    assert_eq!(progress(&pack, &case), progress(&pack, &plain));
    // A dog that is refused shows it, too.
    case.earlier = vec![earlier("2026-06-14", "small", None, &[])];
    let v = judge(&pack, &case);
    assert_eq!(v.outcome, Outcome::Refused);
    assert!(has(&v.reasons, "placed-before") && has(&v.reasons, "read-before"));
}
