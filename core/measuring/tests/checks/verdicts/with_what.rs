//! Who and with what: measurers, ties to the dog, gauges and their checks.

use super::*;

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
