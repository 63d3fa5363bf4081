//! Ends and exceptions that no published rule tries: found missing by mutation testing
//! (docs/mutants.md), each a promise of the pack's format.

use crate::support::*;
use standsquare_measuring::*;

fn larkmere(changes: &[(&str, &str)]) -> RulePack {
    changed("larkmere", changes)
}

/// A pack of tests/packs with texts replaced.
fn changed(name: &str, changes: &[(&str, &str)]) -> RulePack {
    let files = pack_files();
    let mut text = files
        .iter()
        .find(|(n, _)| n == name)
        .expect("a pack")
        .1
        .clone();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    RulePack::parse(&text).unwrap_or_else(|f| panic!("{f:#?}"))
}

fn small(pack: &RulePack) -> Case {
    let mut case = case_for(pack);
    case.seen
        .push(placing("hoop-35", PlacingResult::Flat, "anna"));
    case
}

fn void_reading(value: &str, by: &str) -> Seen {
    let Seen::Reading(r) = reading("scale", value, by) else {
        unreachable!("a reading")
    };
    Seen::Reading(Reading {
        void: Some(VoidReason::Moved),
        ..r
    })
}

#[test]
fn an_impasse_without_any_reading_leaves_it_to_the_body_only_if_a_category_was_held() {
    let pack = changed(
        "akc",
        &[(
            "id = \"readings\"",
            "impasse = \"refer\"\nid = \"readings\"",
        )],
    );
    let mut case = case_for(&pack);
    case.seen = (0..9).map(|_| void_reading("15 in", "anna")).collect();
    let v = judge(&pack, &case);
    assert_eq!(v.outcome, Outcome::NotToday, "nothing is known of it");
    case.earlier = vec![earlier("2025-01-01", "20", None, &[])];
    let v = judge(&pack, &case);
    assert_eq!(v.category(), Some(&"20".into()), "what it held goes on");
    assert_eq!(v.status, Some(Status::Referred));
}

#[test]
fn mixed_placings_stay_near_the_limit_when_readings_decide() {
    // Switzerland's team without the border zone, whose dogs are near a limit anyway.
    let files = pack_files();
    let text = &files
        .iter()
        .find(|(n, _)| n == "switzerland")
        .expect("it")
        .1;
    let text = &text[..text.find("[[border]]").expect("the zone")];
    let text = text.replacen("procedure = \"readings\"", "procedure = \"team\"", 1);
    let pack = RulePack::parse(&text).expect("a pack");
    let mut case = case_for(&pack);
    case.seen = vec![
        placing("hoop-35", PlacingResult::NotFlat, "anna"),
        placing("hoop-35", PlacingResult::Flat, "anna"),
    ];
    case.seen
        .extend((0..3).map(|_| reading("scale", "340 mm", "anna")));
    let v = judge(&pack, &case);
    assert_eq!(v.category(), Some(&"s".into()));
    assert!(has(&v.reasons, "doubt-goes-on") && v.near_limit);
    assert!(progress(&pack, &case).near_limit);
}

#[test]
fn a_day_itself_is_neither_before_nor_after() {
    let pack = larkmere(&[("same_day = \"refused\"", "same_day = \"allowed\"")]);
    let mut case = small(&pack);
    case.earlier = vec![earlier("2026-06-14", "large", None, &[])];
    let v = judge(&pack, &case);
    assert!(!has(&v.flags, "earlier-in-future"));
    assert!(has(&v.reasons, "same-day-again"));
    case.earlier = vec![earlier("2026-06-15", "large", None, &[])];
    assert!(has(&judge(&pack, &case).flags, "earlier-in-future"));
    // A dog born today is too young; one born tomorrow can't be.
    case.earlier.clear();
    case.born = Some(day("2026-06-14"));
    assert_eq!(keys(&judge(&pack, &case).tell_handler), ["too-young"]);
    case.born = Some(day("2026-06-15"));
    assert!(has(&judge(&pack, &case).flags, "birth-after-today"));
}

#[test]
fn of_one_day_a_decision_comes_last() {
    // The same small written down twice on one day, once with the body's decision: one measure.
    let pack = larkmere(&[("differ = \"refer\"", "differ = \"further-decides\"")]);
    let mut case = case_for(&pack);
    case.seen = (0..3)
        .map(|_| placing("hoop-35", PlacingResult::NotFlat, "anna"))
        .collect();
    case.seen
        .push(placing("hoop-43", PlacingResult::Flat, "anna"));
    let plain = earlier("2025-01-01", "small", None, &[]);
    let decided = EarlierMeasure {
        status: Some(Status::Definitive),
        ..plain.clone()
    };
    for both in [vec![plain.clone(), decided.clone()], vec![decided, plain]] {
        case.earlier = both;
        let v = judge(&pack, &case);
        assert!(has(&v.reasons, "differ-further"), "{:?}", keys(&v.reasons));
    }
}

#[test]
fn a_panel_may_change_what_was_good_for_a_time() {
    let pack = changed(
        "akc",
        &[(
            "[event_measure]",
            "[remeasure]\npanel = 1\nto_change = 1\n\n[event_measure]",
        )],
    );
    let mut case = case_for(&pack);
    case.born = Some(day("2024-06-14"));
    // Made at 20 months: it counts for nothing at two years, but a panel may look at it again.
    case.earlier = vec![earlier("2026-02-14", "16", None, &[])];
    measure(&pack, &mut case, "15 in".parse().expect("a length"));
    assert_eq!(judge(&pack, &case).measure, WhichMeasure::First);
    case.purpose = Purpose::Remeasure;
    let v = judge(&pack, &case);
    assert_eq!(v.outcome, Outcome::Category("16".into()));
    assert!(!has(&v.tell_handler, "panel-nothing-to-change"));
}

#[test]
fn only_a_scale_that_was_read_is_asked_for_its_check() {
    let other = "[[gauge]]\nid = \"other\"\nlabel = \"Other\"\nkind = \"scale\"\ncheck_every = \"1 year\"\n\n[measurers]";
    let pack = changed(
        "akc",
        &[
            (
                "kind = \"scale\"",
                "check_every = \"1 year\"\nkind = \"scale\"",
            ),
            ("[measurers]", other),
        ],
    );
    let mut case = case_for(&pack);
    case.gauges.clear();
    case.seen = vec![reading("scale", "15 in", "anna")];
    let v = judge(&pack, &case);
    let asked: Vec<_> = v
        .flags
        .iter()
        .filter(|f| f.key == "gauge-not-checked")
        .collect();
    assert_eq!(asked.len(), 1);
    assert_eq!(asked[0].args["gauge"], Arg::Gauge("scale".into()));
}

#[test]
fn a_cap_on_the_very_day_changes_nothing() {
    let pack = larkmere(&[(
        "unknown = \"flagged\"",
        "unknown = { provisional-for = \"24 months\" }",
    )]);
    let case = Case {
        born: None,
        ..small(&pack)
    };
    let v = judge(&pack, &case);
    assert_eq!(v.status, Some(Status::ProvisionalUntil(day("2028-06-14"))));
    let until = v
        .tell_handler
        .iter()
        .find(|r| r.key == "tell-until")
        .expect("until when");
    assert_eq!(until.clause, "measures.meanwhile");
}

#[test]
fn a_book_of_today_is_not_of_the_future_and_a_label_means_its_category() {
    let pack = larkmere(&[("label = \"Small\"", "label = \"Knee high\"")]);
    let measure = |on: &str, words: &str| BookMeasure {
        on: Some(day(on)),
        category: Some(words.into()),
        signatures: Some(2),
    };
    let check = |born: &str, book: BookMeasure, office: BookMeasure| {
        let entries = |m| BookEntries {
            born: Some(day(born)),
            measures: vec![m],
            ..BookEntries::default()
        };
        let check = BookCheck {
            today: day("2026-06-14"),
            book: entries(book),
            office: Some(entries(office)),
            chip_read: None,
        };
        let found = check_book(&pack, &check).findings;
        found
            .into_iter()
            .map(|f| f.reason.key.into_owned())
            .collect::<Vec<_>>()
    };
    let today = measure("2026-06-14", "Knee high");
    let found = check("2026-06-14", today.clone(), measure("2026-06-14", "small"));
    for key in [
        "book-born-future",
        "book-measure-future",
        "book-measure-before-birth",
        "book-measure-differs",
    ] {
        assert!(!found.contains(&key.to_owned()), "{key} in {found:?}");
    }
    let found = check(
        "2026-06-15",
        measure("2026-06-15", "Knee high"),
        measure("2026-06-15", "medium"),
    );
    for key in [
        "book-born-future",
        "book-measure-future",
        "book-measure-differs",
    ] {
        assert!(found.contains(&key.to_owned()), "{key} not in {found:?}");
    }
}

#[test]
fn a_name_may_have_a_hundred_characters_and_no_more() {
    for (length, right) in [(100, true), (101, false), (200, false)] {
        let name = format!("name = \"{}\"", "é".repeat(length));
        let text = LARKMERE.replacen("name = \"Larkmere Agility League\"", &name, 1);
        assert_eq!(RulePack::parse(&text).is_ok(), right, "{length}");
    }
}

#[test]
fn the_lowest_limit_is_ten_centimetres() {
    for (mm, right) in [(100, true), (99, false)] {
        let text = LARKMERE.replace("\"35 cm\"", &mm.to_string());
        assert_eq!(RulePack::parse(&text).is_ok(), right, "{mm}");
    }
}
