//! How it ends: what is unknown, not today, one event, decisions, panels.

use super::*;

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
