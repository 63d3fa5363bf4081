//! Hoops: contradictions, mixed placings, an impasse, the order, measurers apart and together.

use super::*;

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
