//! Ends and exceptions that no published rule tries: found missing by mutation testing
//! (docs/mutants.md), each a promise of the pack's format.

use crate::support::*;
use standsquare_measuring::*;

fn larkmere(changes: &[(&str, &str)]) -> RulePack {
    changed("larkmere", changes)
}

fn small(pack: &RulePack) -> Case {
    let mut case = case_for(pack);
    case.seen
        .push(placing("hoop-35", PlacingResult::Flat, "anna"));
    case
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

#[test]
fn what_a_pack_says_otherwise_than_usual_is_read() {
    let pack = larkmere(&[
        ("sign = \"each-dog\"", "sign = \"session\""),
        ("coat = \"not-pressed\"", "coat = \"pressed\""),
    ]);
    assert_eq!(
        (pack.signing(), pack.coat()),
        (Signing::Session, Coat::Pressed)
    );
}

#[test]
fn a_pack_without_its_heading_is_told_which() {
    let (start, end) = (LARKMERE.find("[pack]"), LARKMERE.find("[limits]"));
    let text = format!(
        "{}{}",
        &LARKMERE[..start.expect("it")],
        &LARKMERE[end.expect("it")..]
    );
    let faults = RulePack::parse(&text).expect_err("no [pack]");
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].clause, "pack");
    assert!(
        faults[0].fix.starts_with("add it: [pack];"),
        "{}",
        faults[0].fix
    );
}

#[test]
fn one_suffices_or_equal_ones_are_counted() {
    let pack = larkmere(&[]);
    let v = judge(&pack, &small(&pack));
    let counted = v
        .reasons
        .iter()
        .find(|r| r.key == "equal-measures")
        .expect("counted");
    assert_eq!(
        (&counted.args["count"], &counted.args["needed"]),
        (&Arg::Count(1), &Arg::Count(2))
    );
    assert!(!has(&v.reasons, "one-suffices"));
    let mut tall = case_for(&pack);
    tall.seen = (0..3)
        .map(|_| placing("hoop-43", PlacingResult::NotFlat, "anna"))
        .collect();
    let v = judge(&pack, &tall);
    assert!(has(&v.reasons, "one-suffices") && !has(&v.reasons, "equal-measures"));
}

#[test]
fn a_border_zone_never_asks_for_fewer_measures_than_usual() {
    for (usual, needed, clause) in [
        (2, 3, "border[0].measures_needed"),
        (3, 3, "measures.needed"),
        (4, 4, "measures.needed"),
    ] {
        let text = format!("[measures]\nneeded = {usual} #");
        let files = pack_files();
        let finland = &files.iter().find(|(n, _)| n == "finland").expect("it").1;
        let start = finland.find("[measures]").expect("it");
        let line = finland[start..].find("needed = 1").expect("it") + start;
        let changed = format!(
            "{}{}{}",
            &finland[..line],
            &text["[measures]\n".len()..],
            &finland[line + 10..]
        );
        let pack = RulePack::parse(&changed).unwrap_or_else(|f| panic!("{f:#?}"));
        let v = measured(&pack, "475 mm");
        let counted = v
            .reasons
            .iter()
            .find(|r| r.key == "equal-measures")
            .expect("counted");
        assert_eq!(counted.args["needed"], Arg::Count(needed), "{usual}");
        assert_eq!(counted.clause, clause, "{usual}");
    }
}

#[test]
fn a_second_window_is_told_after_the_first_measure_only() {
    let pack = larkmere(&[("differ = \"refer\"", "differ = \"further-decides\"")]);
    let mut case = small(&pack);
    assert!(judge(&pack, &case).second_window.is_some());
    case.earlier = vec![earlier("2025-03-01", "medium", None, &[])];
    let v = judge(&pack, &case);
    assert!(has(&v.reasons, "differ-further"));
    assert_eq!(v.second_window, None);
    assert!(!has(&v.tell_handler, "tell-second-window"));
}

#[test]
fn differing_measures_settle_nothing_while_the_dog_is_too_young_for_the_last() {
    let numbers = [
        ("differ = \"refer\"", "differ = \"lower-counts\""),
        (
            "needed = 2\nmeanwhile",
            "needed = 2\none_from_age = \"5 years\"\nmeanwhile",
        ),
    ];
    let pack = larkmere(&numbers);
    for (born, settled) in [("2021-06-15", false), ("2021-06-14", true)] {
        let case = Case {
            born: Some(day(born)),
            earlier: vec![earlier("2025-03-01", "medium", None, &[])],
            ..small(&pack)
        };
        let v = judge(&pack, &case);
        assert_eq!(v.category(), Some(&"small".into()));
        assert_eq!(v.status == Some(Status::Definitive), settled, "{born}");
    }
}

#[test]
fn forty_categories_are_allowed() {
    let files = pack_files();
    let akc = &files.iter().find(|(n, _)| n == "akc").expect("it").1;
    let (start, end) = (
        akc.find("[[category]]").expect("it"),
        akc.find("[[gauge]]").expect("it"),
    );
    for (count, right) in [(40, true), (41, false)] {
        let category = |i| {
            let limit = if i < count {
                format!("up_to = {}\n", 100 + i)
            } else {
                String::new()
            };
            format!("[[category]]\nid = \"c{i}\"\nlabel = \"c\"\n{limit}")
        };
        let all: String = (1..=count).map(category).collect();
        let text = format!("{}{all}{}", &akc[..start], &akc[end..]);
        assert_eq!(RulePack::parse(&text).is_ok(), right, "{count}");
    }
}

#[test]
fn a_limit_without_its_hoop_is_one_fault_and_no_more() {
    let (start, end) = (
        LARKMERE.rfind("[[gauge]]").expect("it"),
        LARKMERE.find("[hoops]").expect("it"),
    );
    let text = format!("{}{}", &LARKMERE[..start], &LARKMERE[end..]);
    let text = text.replacen(
        "label = \"Medium\"",
        "label = \"Medium\"\nat_limit = \"goes-up\"",
        1,
    );
    let faults = RulePack::parse(&text).expect_err("no hoop of 43");
    let clauses: Vec<&str> = faults.iter().map(|f| f.clause.as_str()).collect();
    assert_eq!(clauses, ["procedure[hoops].placings"]);
}

#[test]
fn a_procedure_names_gauges_of_its_own_kind() {
    let named = |name: &str, from: &str, to: &str| {
        let files = pack_files();
        let text = &files.iter().find(|(n, _)| n == name).expect("it").1;
        assert!(text.contains(from), "{from}");
        RulePack::parse(&text.replacen(from, to, 1))
    };
    let both = "reposition = \"after-each\"\ngauges = [\"hoop-35\", \"hoop-43\"]";
    assert!(named("larkmere", "reposition = \"after-each\"", both).is_ok());
    assert!(
        named(
            "akc",
            "id = \"readings\"",
            "gauges = [\"scale\"]\nid = \"readings\""
        )
        .is_ok()
    );
    let team = "id = \"team\"";
    let wrong = "gauges = [\"hoop-35\", \"hoop-43\", \"hoop-48\", \"scale\"]\nid = \"team\"";
    let faults = named("switzerland", team, wrong).expect_err("a scale for placings");
    assert_eq!(faults.len(), 1);
    assert!(
        faults[0]
            .reason
            .starts_with("'scale' is not a gauge of the kind")
    );
}

#[test]
fn readings_may_be_ninety_nine_and_a_mode_needs_two() {
    let sizes = |maximum: u32| {
        let files = pack_files();
        let akc = &files.iter().find(|(n, _)| n == "akc").expect("it").1;
        let text = akc.replacen("maximum = 1 ", &format!("maximum = {maximum} "), 1);
        RulePack::parse(&text.replacen("most_in_all = 9 ", "most_in_all = 999 ", 1)).is_ok()
    };
    assert_eq!([98, 99, 100, 101].map(sizes), [true, true, false, false]);
    changed(
        "akc",
        &[
            ("maximum = 1 ", "maximum = 2 "),
            ("decide = \"mean\"", "decide = \"mode\""),
        ],
    );
}
