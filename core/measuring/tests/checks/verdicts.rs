//! The pieces of a verdict one by one: who may measure, when, with what, and what follows.

use crate::support::*;
use standsquare_measuring::*;

/// Larkmere's pack with one text replaced.
fn larkmere(from: &str, to: &str) -> RulePack {
    assert!(LARKMERE.contains(from), "{from}");
    RulePack::parse(&LARKMERE.replacen(from, to, 1)).unwrap_or_else(|f| panic!("{f:#?}"))
}

/// A small dog of Larkmere's, measured flat on the 35 hoop.
fn small(pack: &RulePack) -> Case {
    let mut case = case_for(pack);
    case.seen
        .push(placing("hoop-35", PlacingResult::Flat, "anna"));
    case
}

fn flat() -> PlacingResult {
    PlacingResult::Flat
}

fn not() -> PlacingResult {
    PlacingResult::NotFlat
}

fn void(seen: Base) -> PlacingResult {
    PlacingResult::Void {
        seen,
        reason: VoidReason::Moved,
    }
}

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

#[test]
fn fewer_measurers_are_refused_or_provisional() {
    let refused = pack("larkmere");
    let mut case = small(&refused);
    case.measurers.pop();
    let v = judge(&refused, &case);
    assert_eq!(v.outcome, Outcome::Refused);
    assert_eq!(v.tell_handler[0].clause, "measurers.needed");
    assert!(matches!(progress(&refused, &case).next, Next::Refused(_)));
    let provisional = larkmere(
        "fewer = \"refused\"",
        "fewer = { provisional-for = \"6 months\" }",
    );
    let v = judge(&provisional, &case);
    assert_eq!(v.status, Some(Status::ProvisionalUntil(day("2026-12-14"))));
}

#[test]
fn ties_to_the_dog() {
    let pack = pack("larkmere");
    for (tie, key, refused) in [
        (Tie::OwnDog, "tie-own-dog", true),
        (Tie::Household, "tie-household", true),
        (Tie::Bred, "tie-bred", false),
        (Tie::Trains, "tie-trains", false),
        (Tie::SameClub, "tie-same-club", false),
    ] {
        let mut case = small(&pack);
        case.measurers[1].ties.push(tie);
        let v = judge(&pack, &case);
        assert_eq!(v.outcome == Outcome::Refused, refused, "{key}");
        assert!(has(&v.reasons, key), "{key}");
    }
}

#[test]
fn gauges_not_checked_overdue_or_out_of_tolerance() {
    let pack = pack("larkmere");
    let mut case = small(&pack);
    case.gauges.clear();
    let v = judge(&pack, &case);
    // Only the hoop that was used.
    assert_eq!(keys(&v.flags), ["gauge-not-checked"]);
    assert_eq!(v.flags[0].args["gauge"], Arg::Gauge("hoop-35".into()));
    for (checked, mm, flags) in [
        ("2025-06-14", "351 mm", vec![]),
        ("2025-06-13", "349 mm", vec!["gauge-check-overdue"]),
        ("2026-06-01", "351.1 mm", vec!["gauge-out-of-tolerance"]),
        ("2026-06-01", "348.9 mm", vec!["gauge-out-of-tolerance"]),
    ] {
        case.gauges = vec![GaugeHere {
            gauge: "hoop-35".into(),
            checked: Some(day(checked)),
            height: Some(mm.parse().unwrap()),
        }];
        assert_eq!(keys(&judge(&pack, &case).flags), flags, "{checked} {mm}");
    }
}

#[test]
fn a_gauge_is_looked_at_before_any_dog() {
    let pack = pack("larkmere");
    let here = |checked: Option<&str>, height: Option<&str>| GaugeHere {
        gauge: "hoop-43".into(),
        checked: checked.map(day),
        height: height.map(|h| h.parse().unwrap()),
    };
    let keys = |here: GaugeHere| -> Vec<String> {
        let notes = check_gauge(&pack, &here, day("2026-06-14"));
        assert!(notes.iter().all(|n| n.response == Response::Flagged));
        notes.iter().map(|n| n.reason.key.to_string()).collect()
    };
    assert_eq!(
        keys(here(Some("2025-06-14"), Some("429 mm"))),
        Vec::<String>::new()
    );
    assert_eq!(keys(here(None, None)), ["gauge-not-checked"]);
    assert_eq!(
        keys(here(Some("2025-06-13"), Some("428.9 mm"))),
        ["gauge-check-overdue", "gauge-out-of-tolerance"]
    );
    assert_eq!(
        keys(GaugeHere {
            gauge: "hoop-50".into(),
            ..here(None, None)
        }),
        Vec::<String>::new()
    );
    // A pack may refuse what is measured with an overdue hoop.
    let strict = larkmere("check_overdue = \"flagged\"", "check_overdue = \"refused\"");
    let mut case = small(&strict);
    case.gauges.clear();
    assert_eq!(judge(&strict, &case).outcome, Outcome::Refused);
}

#[test]
fn the_interval_may_come_from_the_last_check_the_category_never_does() {
    let pack = larkmere(
        "interval_from = \"nominal\"",
        "interval_from = \"last-check\"",
    );
    let mut case = small(&pack);
    case.gauges[0].height = Some("350.6 mm".parse().unwrap());
    let v = judge(&pack, &case);
    assert_eq!(v.interval.unwrap().to_string(), "h ≤ 350.6 mm");
    assert_eq!(v.category(), Some(&"small".into()));
    case.gauges.clear();
    assert_eq!(
        judge(&pack, &case).interval.unwrap().to_string(),
        "h ≤ 350 mm"
    );
}

#[test]
fn flat_at_35_and_over_at_43_is_named_a_contradiction() {
    let pack = pack("larkmere");
    let mut case = small(&pack);
    case.seen
        .extend((0..3).map(|_| placing("hoop-43", not(), "anna")));
    let v = judge(&pack, &case);
    assert_eq!(v.interval, None);
    let c = v.contradiction.unwrap();
    assert_eq!(
        (c.one.to_string(), c.other.to_string()),
        ("h ≤ 350 mm".into(), "h > 430 mm".into())
    );
    assert!(has(&v.reasons, "contradiction") && has(&v.reasons, "impasse-not-today"));
    assert_eq!(v.outcome, Outcome::NotToday);
    assert!(matches!(progress(&pack, &case).next, Next::Impasse(_)));
    for (impasse, category) in [("refer", "large"), ("higher", "large"), ("lower", "small")] {
        let pack = larkmere(
            "impasse = \"not-today\"",
            &format!("impasse = \"{impasse}\""),
        );
        let v = judge(&pack, &case);
        assert_eq!(v.category(), Some(&category.into()), "{impasse}");
        assert_eq!(v.status == Some(Status::Referred), impasse == "refer");
    }
}

#[test]
fn mixed_placings_are_near_the_limit_and_one_flat_settles() {
    let pack = pack("larkmere");
    let mut case = case_for(&pack);
    case.seen = vec![
        placing("hoop-35", not(), "anna"),
        placing("hoop-35", not(), "anna"),
        placing("hoop-35", flat(), "anna"),
    ];
    let v = judge(&pack, &case);
    assert!(v.near_limit && progress(&pack, &case).near_limit);
    assert_eq!(v.category(), Some(&"small".into()));
    // Placings after it was settled are kept and named, and change nothing.
    case.seen.push(placing("hoop-35", not(), "anna"));
    let after = judge(&pack, &case);
    assert_eq!(after.category(), v.category());
    assert_eq!(keys(&after.flags), ["after-settled"]);
    assert_eq!(after.flags[0].args["count"], Arg::Count(1));
    // One sort only: hoops tell no more.
    let mut clear = small(&pack);
    clear.seen.push(placing("hoop-35", flat(), "anna"));
    assert!(!judge(&pack, &clear).near_limit);
    // Void placings make nothing mixed.
    let mut voided = small(&pack);
    voided
        .seen
        .push(placing("hoop-35", void(Base::NotFlat), "anna"));
    let v = judge(&pack, &voided);
    assert!(!v.near_limit);
    assert!(
        v.reasons
            .iter()
            .any(|r| r.key == "placings-void" && r.args["count"] == Arg::Count(1))
    );
}

#[test]
fn a_hoop_that_gives_no_result_ends_in_an_impasse() {
    let pack = pack("larkmere");
    let mut case = case_for(&pack);
    for i in 0..8 {
        let Next::Place {
            gauge,
            valid_so_far,
            ..
        } = progress(&pack, &case).next
        else {
            panic!("placing {i}")
        };
        assert_eq!((gauge, valid_so_far), ("hoop-35".into(), 0));
        case.seen
            .push(placing("hoop-35", void(Base::NotSeen), "anna"));
    }
    let Next::Impasse(why) = progress(&pack, &case).next else {
        panic!("an impasse")
    };
    assert_eq!(
        (why.key.as_ref(), why.clause.as_str()),
        ("too-many-placings", "procedure[hoops].placings.maximum")
    );
    assert_eq!(judge(&pack, &case).outcome, Outcome::NotToday);
    // The other hoop may still be used; over at 43 needs no 35.
    assert_eq!(
        progress(&pack, &case).other_gauges,
        [GaugeId::from("hoop-43")]
    );
    case.seen
        .extend((0..3).map(|_| placing("hoop-43", not(), "anna")));
    assert_eq!(judge(&pack, &case).category(), Some(&"large".into()));
    // Both used up: no other is offered.
    case.seen.truncate(8);
    case.seen
        .extend((0..8).map(|_| placing("hoop-43", void(Base::NotSeen), "anna")));
    assert_eq!(progress(&pack, &case).other_gauges, []);
}

#[test]
fn the_largest_hoop_first_and_the_majority() {
    // Scaffolding: WAO's pack tries the blocks, its procedure is not published.
    let wao = pack("wao");
    let mut case = case_for(&wao);
    let gauge = |case: &Case| match progress(&wao, case).next {
        Next::Place { gauge, .. } => gauge,
        other => panic!("{other:?}"),
    };
    assert_eq!(gauge(&case), "hoop-500".into());
    assert_eq!(
        progress(&wao, &case).other_gauges,
        ["hoop-410".into(), "hoop-320".into()]
    );
    case.seen.push(placing("hoop-500", flat(), "anna"));
    assert_eq!(
        gauge(&case),
        "hoop-500".into(),
        "one flat of three is no majority"
    );
    case.seen.push(placing("hoop-500", not(), "anna"));
    case.seen.push(placing("hoop-500", flat(), "anna"));
    assert_eq!(gauge(&case), "hoop-410".into());
    case.seen.push(placing("hoop-410", not(), "anna"));
    assert_eq!(gauge(&case), "hoop-410".into());
    case.seen.push(placing("hoop-410", not(), "anna"));
    let v = judge(&wao, &case);
    assert_eq!(v.category(), Some(&"525".into()));
    assert_eq!(v.interval.unwrap().to_string(), "410 < h ≤ 500 mm");
    assert!(has(&v.reasons, "majority-within") && has(&v.reasons, "majority-over"));
}

#[test]
fn a_hoop_that_can_tell_nothing_more_is_not_offered() {
    let wao = pack("wao");
    let mut case = case_for(&wao);
    case.seen = vec![
        placing("hoop-410", flat(), "anna"),
        placing("hoop-410", flat(), "anna"),
    ];
    let next = progress(&wao, &case);
    assert!(matches!(next.next, Next::Place { gauge, .. } if gauge == "hoop-320".into()));
    assert_eq!(next.other_gauges, []);
}

#[test]
fn independent_measurers_take_turns_and_may_differ() {
    let make = |then: &str, today: &str| {
        RulePack::parse(
            &LARKMERE
                .replacen("work = \"together\"", "work = \"independently\"", 1)
                .replacen("then = \"refer\"", &format!("then = \"{then}\""), 1)
                .replacen("today = \"higher\"", &format!("today = \"{today}\""), 1)
                .replacen("tell = \"measurers\"", "tell = \"organiser\"", 1),
        )
        .unwrap()
    };
    let pack = make("refer", "higher");
    let mut case = case_for(&pack);
    let turn = |case: &Case| match progress(&pack, case).next {
        Next::Place { by, .. } => by.unwrap().to_string(),
        other => panic!("{other:?}"),
    };
    assert_eq!(turn(&case), "anna");
    case.seen.push(placing("hoop-35", not(), "ben"));
    assert_eq!(turn(&case), "ben", "whoever has begun goes on");
    case.seen
        .extend((0..2).map(|_| placing("hoop-35", not(), "ben")));
    case.seen.push(placing("hoop-43", flat(), "ben"));
    assert_eq!(turn(&case), "anna");
    assert_eq!(judge(&pack, &case).outcome, Outcome::NotYet);
    case.seen.push(placing("hoop-35", flat(), "anna"));
    let v = judge(&pack, &case);
    assert_eq!(v.category(), Some(&"medium".into()));
    assert_eq!(v.status, Some(Status::Referred));
    assert_eq!(v.interval, None);
    assert!(v.contradiction.is_some());
    assert_eq!(keys(&v.flags), ["measurers-differ", "measurers-differ"]);
    assert_eq!(keys(&v.tell_handler)[0], "tell-by-organiser");
    assert!(
        v.reasons
            .iter()
            .any(|r| r.args.get("by") == Some(&Arg::Measurer("ben".into())))
    );
    let next = progress(&pack, &case).next;
    assert_eq!(
        next,
        Next::Differ {
            found: vec!["small".into(), "medium".into()]
        }
    );

    assert_eq!(
        judge(&make("refer", "lower"), &case).category(),
        Some(&"small".into())
    );
    let v = judge(&make("lower-stands", "higher"), &case);
    assert_eq!(v.category(), Some(&"small".into()));
    assert_ne!(v.status, Some(Status::Referred));
    assert_eq!(
        judge(&make("higher-stands", "lower"), &case).category(),
        Some(&"medium".into())
    );
    case.earlier = vec![earlier("2025-01-01", "large", None, &[])];
    assert_eq!(
        judge(&make("refer", "earlier"), &case).category(),
        Some(&"large".into())
    );
}

#[test]
fn one_more_measurer_outvotes_or_the_body_decides() {
    let pack = RulePack::parse(
        &LARKMERE
            .replacen("work = \"together\"", "work = \"independently\"", 1)
            .replacen("then = \"refer\"", "then = \"one-more-measurer\"", 1)
            .replacen("tell = \"measurers\"", "tell = \"office\"", 1),
    )
    .unwrap();
    let mut case = case_for(&pack);
    let over = |case: &mut Case, gauge: &str, by: &str| {
        case.seen.extend((0..3).map(|_| placing(gauge, not(), by)));
    };
    case.seen.push(placing("hoop-35", flat(), "anna"));
    over(&mut case, "hoop-35", "ben");
    case.seen.push(placing("hoop-43", flat(), "ben"));
    let found = vec!["small".into(), "medium".into()];
    assert_eq!(progress(&pack, &case).next, Next::OneMoreMeasurer { found });
    assert_eq!(judge(&pack, &case).outcome, Outcome::NotYet);
    case.measurers.push(MeasurerHere::new("cora"));
    // A stranger's placings count for nothing and are named.
    case.seen.push(placing("hoop-43", flat(), "zoe"));
    assert!(has(&judge(&pack, &case).flags, "unknown-measurer"));
    case.seen.pop();
    let mut small = case.clone();
    small.seen.push(placing("hoop-35", flat(), "cora"));
    let v = judge(&pack, &small);
    assert_eq!(v.category(), Some(&"small".into()));
    let outvoted = v
        .flags
        .iter()
        .find(|f| f.key == "measurers-outvoted")
        .unwrap();
    assert_eq!(outvoted.args["count"], Arg::Count(2));
    over(&mut case, "hoop-43", "cora");
    let v = judge(&pack, &case);
    assert_eq!(
        (v.category(), v.status),
        (Some(&"large".into()), Some(Status::Referred))
    );
    assert_eq!(keys(&v.tell_handler)[0], "tell-by-office");
}

#[test]
fn measurers_who_work_together_need_not_be_satisfied() {
    let pack = pack("larkmere");
    let mut case = small(&pack);
    case.dissent = vec![Dissent {
        by: "ben".into(),
        category: Some("medium".into()),
    }];
    let v = judge(&pack, &case);
    assert_eq!(
        (v.category(), v.status),
        (Some(&"medium".into()), Some(Status::Referred))
    );
    assert_eq!(keys(&v.flags), ["measurer-dissents-for"]);
    case.dissent[0].category = None;
    let v = judge(&pack, &case);
    assert_eq!(
        (v.category(), v.status),
        (Some(&"small".into()), Some(Status::Referred))
    );
    assert_eq!(keys(&v.flags), ["measurer-dissents"]);
    assert!(has(&v.tell_handler, "tell-referred"));
}

#[test]
fn what_is_unknown_is_pointed_out_and_never_lost() {
    let pack = pack("larkmere");
    let mut case = small(&pack);
    case.earlier = vec![
        earlier("2020-01-01", "tiny", None, &[]),
        earlier("2026-07-01", "small", None, &[]),
    ];
    case.seen.push(placing("hoop-50", flat(), "anna"));
    case.today = day("2025-12-31");
    let v = judge(&pack, &case);
    for key in [
        "unknown-category",
        "earlier-in-future",
        "unknown-gauge",
        "rules-not-in-force",
    ] {
        assert!(has(&v.flags, key), "{key}");
    }
    case.born = Some(day("2026-01-01"));
    assert!(has(&judge(&pack, &case).flags, "birth-after-today"));
}

#[test]
fn not_today_keeps_what_is_known() {
    let pack = pack("larkmere");
    let mut case = case_for(&pack);
    case.seen = vec![
        placing("hoop-35", not(), "anna"),
        placing("hoop-35", not(), "anna"),
        placing("hoop-35", not(), "anna"),
    ];
    case.stopped = Some("nervous".into());
    let v = judge(&pack, &case);
    assert_eq!(v.outcome, Outcome::NotToday);
    assert_eq!(v.interval.unwrap().to_string(), "h > 350 mm");
    assert_eq!(v.status, None);
    assert!(has(&v.reasons, "never-flat-over"));
}

#[test]
fn categories_may_name_others() {
    let pack = larkmere(
        "label = \"Small\"",
        "label = \"Small\"\nmay_also_run_in = [\"medium\"]",
    );
    let v = judge(&pack, &small(&pack));
    assert_eq!(v.may_also_run_in, [CategoryId::from("medium")]);
    assert!(has(&v.reasons, "may-also-run"));
}

#[test]
fn a_dog_settled_already_is_flagged_and_has_no_window() {
    let pack = pack("larkmere");
    let mut case = small(&pack);
    // Two equal ones settle it, and so does a status that says so.
    for before in [
        vec![
            earlier("2023-01-01", "small", None, &[]),
            earlier("2024-02-01", "small", None, &[]),
        ],
        vec![EarlierMeasure {
            status: Some(Status::Definitive),
            ..earlier("2026-05-01", "small", None, &[])
        }],
    ] {
        case.earlier = before;
        let v = judge(&pack, &case);
        assert_eq!(keys(&v.flags), ["already-definitive"]);
        assert_eq!(v.status, Some(Status::Definitive));
    }
}

#[test]
fn a_measure_for_one_event_takes_its_own_number_of_measurers() {
    let text = format!("{LARKMERE}\n[event_measure]\nmeasurers = 1\n");
    let pack = RulePack::parse(&text).unwrap();
    let mut case = small(&pack);
    case.measurers.pop();
    assert_eq!(judge(&pack, &case).outcome, Outcome::Refused);
    case.purpose = Purpose::ThisEvent;
    let v = judge(&pack, &case);
    assert_eq!(v.status, Some(Status::ThisEventOnly));
    assert!(has(&v.reasons, "for-this-event"));
    case.measurers.clear();
    let v = judge(&pack, &case);
    assert_eq!(v.tell_handler[0].clause, "event_measure.measurers");
}

#[test]
fn a_decision_makes_what_was_found_before_it_history() {
    let pack = pack("larkmere");
    let decided = |category| EarlierMeasure {
        status: Some(Status::Definitive),
        ..earlier("2025-01-01", category, None, &[])
    };
    let first = earlier("2023-12-01", "medium", None, &[]);
    let mut case = small(&pack);
    for before in [
        vec![first.clone(), decided("small")],
        vec![decided("small"), first.clone()],
    ] {
        case.earlier = before;
        let v = judge(&pack, &case);
        assert_eq!(
            (v.category(), v.status),
            (Some(&"small".into()), Some(Status::Definitive))
        );
        assert_eq!(v.measure, WhichMeasure::Further(3));
        assert!(!has(&v.flags, "measures-differ"));
    }
    // One that differs from the decision goes where the pack says; only the decision is named.
    case.earlier = vec![earlier("2023-12-01", "large", None, &[]), decided("medium")];
    let v = judge(&pack, &case);
    assert_eq!(v.status, Some(Status::Referred));
    let named: Vec<_> = v
        .flags
        .iter()
        .filter(|f| f.key == "measures-differ")
        .collect();
    assert_eq!(named.len(), 1);
    assert_eq!(named[0].args["category"], Arg::Category("medium".into()));
}

#[test]
fn a_panel_of_independent_measurers_asks_for_no_one_more() {
    let text = LARKMERE
        .replacen("work = \"together\"", "work = \"independently\"", 1)
        .replacen("then = \"refer\"", "then = \"one-more-measurer\"", 1)
        + "\n[remeasure]\npanel = 2\nto_change = 2\n";
    let pack = RulePack::parse(&text).unwrap();
    let mut case = small(&pack);
    case.purpose = Purpose::Remeasure;
    case.earlier = vec![earlier("2025-01-01", "small", None, &[])];
    case.seen
        .extend((0..3).map(|_| placing("hoop-43", not(), "ben")));
    let v = judge(&pack, &case);
    assert_eq!(v.category(), Some(&"small".into()));
    assert!(has(&v.reasons, "panel-keeps"));
}

#[test]
fn readings_by_each_rule() {
    let akc = |decide: &str, needed: usize, extra: &str| {
        let (_, text) = pack_files().into_iter().find(|(n, _)| n == "akc").unwrap();
        let needed_at = text.find("[procedure.readings]").unwrap();
        let (head, tail) = text.split_at(needed_at);
        let tail = tail
            .replacen("needed = 1 ", &format!("needed = {needed} "), 1)
            .replacen("maximum = 1 ", &format!("maximum = {} ", needed + 1), 1)
            .replacen("step = \"1/16 in\"", "step = \"1 mm\"", 1)
            .replacen(
                "decide = \"mean\"",
                &format!("{extra}\ndecide = \"{decide}\""),
                1,
            );
        RulePack::parse(&format!("{head}{tail}")).unwrap_or_else(|f| panic!("{f:#?}"))
    };
    let values = ["450 mm", "456 mm", "451 mm", "456 mm"];
    for (decide, n, height) in [
        ("mean", 4, "h = 453.25 mm"),
        ("mean", 3, "452.333333 < h < 452.333334 mm"),
        ("median", 4, "h = 453.5 mm"),
        ("median", 3, "h = 451 mm"),
        ("mode", 4, "h = 456 mm"),
        ("lowest", 4, "h = 450 mm"),
        ("highest", 4, "h = 456 mm"),
        ("mean", 1, "h = 450 mm"),
    ] {
        let pack = akc(decide, n, "");
        let mut case = case_for(&pack);
        case.seen = values[..n]
            .iter()
            .map(|v| reading("scale", v, "anna"))
            .collect();
        let v = judge(&pack, &case);
        assert_eq!(v.interval.unwrap().to_string(), height, "{decide} of {n}");
        // One fewer: not yet.
        case.seen.pop();
        assert_eq!(
            judge(&pack, &case).outcome,
            Outcome::NotYet,
            "{decide} of {n}"
        );
    }
    // A tie has no mode: one more is asked for, and settles or not.
    let mode = akc("mode", 2, "");
    let mut case = case_for(&mode);
    case.seen = vec![
        reading("scale", "450 mm", "anna"),
        reading("scale", "451 mm", "anna"),
    ];
    assert!(matches!(
        progress(&mode, &case).next,
        Next::Read {
            needed: 3,
            valid_so_far: 2,
            ..
        }
    ));
    assert!(has(&judge(&mode, &case).reasons, "no-single-mode"));
    let mut third = case.clone();
    third.seen.push(reading("scale", "450 mm", "anna"));
    assert_eq!(
        judge(&mode, &third).interval.unwrap().to_string(),
        "h = 450 mm"
    );
    third.seen[2] = reading("scale", "452 mm", "anna");
    let v = judge(&mode, &third);
    assert_eq!(v.outcome, Outcome::NotToday);
    assert!(has(&v.reasons, "readings-undecided"));
    // Different categories (18 in is 457.2 mm) are an impasse where the pack says so.
    let same = akc("mean", 2, "same_category = true");
    case.seen[1] = reading("scale", "458 mm", "anna");
    assert!(has(&judge(&same, &case).reasons, "readings-differ"));
    assert_eq!(judge(&same, &case).outcome, Outcome::NotYet);
    assert!(judge(&akc("mean", 2, ""), &case).category().is_some());
    // Agreed and clear of every limit: earlier.
    let early = akc("mean", 3, "stop_early = { after = 2, clear_by = 5 }");
    for (a, b, stops) in [
        ("450 mm", "452 mm", true),
        ("450 mm", "453 mm", false),
        ("460 mm", "470 mm", false),
        ("463 mm", "470 mm", true),
        ("450 mm", "463 mm", false),
    ] {
        case.seen = vec![reading("scale", a, "anna"), reading("scale", b, "anna")];
        let v = judge(&early, &case);
        assert_eq!(has(&v.reasons, "readings-stop-early"), stops, "{a} {b}");
        assert_eq!(v.category().is_some(), stops, "{a} {b}");
    }
}

#[test]
fn readings_are_rounded_to_the_step_and_void_ones_do_not_count() {
    let (_, text) = pack_files()
        .into_iter()
        .find(|(n, _)| n == "finland")
        .unwrap();
    for (round, value, known) in [
        ("down", "463 mm", "460 ≤ h < 470 mm"),
        ("down", "460 mm", "460 ≤ h < 470 mm"),
        ("up", "463 mm", "460 < h ≤ 470 mm"),
        ("up", "470 mm", "460 < h ≤ 470 mm"),
        ("nearest", "464.9 mm", "455 ≤ h < 465 mm"),
        ("nearest", "465 mm", "465 ≤ h < 475 mm"),
    ] {
        let pack =
            RulePack::parse(&text.replace("round = \"down\"", &format!("round = \"{round}\"")))
                .unwrap();
        let mut case = case_for(&pack);
        let mut void = reading("scale", "300 mm", "anna");
        if let Seen::Reading(r) = &mut void {
            r.void = Some(VoidReason::Stance);
        }
        case.seen = vec![void, reading("scale", value, "anna")];
        let v = judge(&pack, &case);
        assert_eq!(v.interval.unwrap().to_string(), known, "{round} {value}");
        assert!(has(&v.reasons, "placings-void"));
    }
    // Too many void ones end it.
    let pack = pack("finland");
    let mut case = case_for(&pack);
    for i in 0..9 {
        assert!(
            matches!(progress(&pack, &case).next, Next::Read { .. }),
            "{i}"
        );
        let mut void = reading("scale", "300 mm", "anna");
        if let Seen::Reading(r) = &mut void {
            r.void = Some(VoidReason::Moved);
        }
        case.seen.push(void);
    }
    assert!(matches!(progress(&pack, &case).next, Next::Impasse(_)));
    // A scale that the pack does not know counts for nothing.
    case.seen = vec![reading("ruler", "460 mm", "anna")];
    assert!(has(&judge(&pack, &case).flags, "unknown-gauge"));
    assert_eq!(judge(&pack, &case).outcome, Outcome::NotYet);
}

#[test]
fn what_other_parts_read_from_a_pack() {
    let pack = pack("larkmere");
    assert_eq!(
        (pack.id(), pack.edition(), pack.name()),
        ("larkmere", "2026", "Larkmere Agility League")
    );
    assert!(pack.is_demo() && !crate::support::pack("akc").is_demo());
    assert_eq!(
        (pack.valid_from(), pack.valid_to()),
        (day("2026-01-01"), None)
    );
    assert!(pack.is_valid_on(day("2026-01-01")) && !pack.is_valid_on(day("2025-12-31")));
    let ends = larkmere(
        "valid_from = 2026-01-01",
        "valid_from = 2026-01-01\nvalid_to = 2026-12-31",
    );
    assert!(ends.is_valid_on(day("2026-12-31")) && !ends.is_valid_on(day("2027-01-01")));
    assert_eq!(pack.hoops().count(), 2);
    assert_eq!(crate::support::pack("akc").hoops().count(), 0);
    assert_eq!(pack.category(&"medium".into()).unwrap().label, "Medium");
    assert_eq!(
        pack.gauge(&"hoop-43".into()).unwrap().height,
        Some(Length::from_mm(430))
    );
    assert_eq!(
        (pack.category(&"x".into()), pack.gauge(&"x".into())),
        (None, None)
    );
    assert_eq!(
        (pack.measurers_needed(), pack.working(), pack.signing()),
        (2, Working::Together, Signing::EachDog)
    );
    assert_eq!(
        (pack.keep_records(), pack.keep_personal()),
        (Span::months(120), Span::months(24))
    );
    assert_eq!(pack.max_tilt_centidegrees(), Some(100));
    assert_eq!(
        (pack.touching(), crate::support::pack("fci").touching()),
        (Touching::Within, Touching::Over)
    );
    assert_eq!(pack.steps()[0], Step::Papers);
    assert!(pack.may_swap(Step::Handler, Step::Chip) && pack.may_swap(Step::Chip, Step::Handler));
    assert!(!pack.may_swap(Step::Papers, Step::Handler));
    assert_eq!(pack.coat(), Coat::NotPressed);
    let range = |id: &str| pack.range(&id.into()).map(|r| r.to_string());
    assert_eq!(range("small").as_deref(), Some("h ≤ 350 mm"));
    assert_eq!(range("medium").as_deref(), Some("350 < h ≤ 430 mm"));
    assert_eq!(range("large").as_deref(), Some("h > 430 mm"));
    assert_eq!(range("x"), None);
    let fci = crate::support::pack("fci")
        .range(&"m".into())
        .unwrap()
        .to_string();
    assert_eq!(fci, "350 ≤ h < 430 mm");
}
