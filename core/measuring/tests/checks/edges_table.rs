//! Ends and exceptions at the table that no published rule tries: found missing by mutation testing
//! (docs/mutants.md), each a promise of the pack's format.

use crate::support::*;
use standsquare_measuring::*;

fn larkmere(changes: &[(&str, &str)]) -> RulePack {
    changed("larkmere", changes)
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
fn a_procedure_of_readings_offers_no_hoop() {
    let pack = pack("switzerland");
    let next = progress(&pack, &case_for(&pack));
    assert!(matches!(next.next, Next::Read { gauge, .. } if gauge == "scale".into()));
    assert_eq!(next.other_gauges, []);
    // A hoop can't be read.
    let mut case = case_for(&pack);
    case.seen = vec![reading("hoop-35", "340 mm", "anna")];
    assert!(has(&judge(&pack, &case).flags, "unknown-gauge"));
}

/// Placings of one hoop: `f` flat, `n` not flat.
fn placings(hoop: &str, results: &str) -> Vec<Seen> {
    let result = |c| match c {
        'f' => PlacingResult::Flat,
        _ => PlacingResult::NotFlat,
    };
    results
        .chars()
        .map(|c| placing(hoop, result(c), "anna"))
        .collect()
}

#[test]
fn the_majority_of_one_three_and_five() {
    for (needed, results, within) in [
        (1, "f", Some(true)),
        (1, "n", Some(false)),
        (3, "fn", None),
        (3, "fnf", Some(true)),
        (3, "nfn", Some(false)),
        (5, "ff", None),
        (5, "fnfn", None),
        (5, "fff", Some(true)),
        (5, "nnn", Some(false)),
        (5, "fnfnf", Some(true)),
        (5, "nfnfn", Some(false)),
    ] {
        let pack = changed("wao", &[("needed = 3 ", &format!("needed = {needed} "))]);
        let mut case = case_for(&pack);
        case.seen = placings("hoop-320", results);
        let known = judge(&pack, &case).interval.expect("no contradiction");
        let limit = Length::from_mm(320);
        let wanted = match within {
            Some(true) => HeightInterval::at_most(limit),
            Some(false) => HeightInterval::above(limit),
            None => HeightInterval::UNKNOWN,
        };
        assert_eq!(known, wanted, "{results} of {needed}");
    }
}

#[test]
fn placings_after_a_hoop_is_settled_make_near_but_no_doubt() {
    let larkmere = larkmere(&[]);
    for (results, near) in [
        ("f", false),
        ("ff", false),
        ("fn", true),
        ("ffn", true),
        ("fffn", true),
        ("nnn", false),
        ("nnnn", false),
        ("nnnf", true),
        ("nnnnnnf", true),
        ("nf", true),
    ] {
        let mut case = case_for(&larkmere);
        case.seen = placings("hoop-35", results);
        assert_eq!(judge(&larkmere, &case).near_limit, near, "{results}");
    }
    // The Swiss team goes on to readings only where the placings were mixed before it was settled.
    let files = pack_files();
    let text = &files
        .iter()
        .find(|(n, _)| n == "switzerland")
        .expect("it")
        .1;
    let text = text.replacen("procedure = \"readings\"", "procedure = \"team\"", 1);
    let swiss = RulePack::parse(&text[..text.find("[[border]]").expect("it")]).expect("a pack");
    for (results, doubt) in [
        ("f", false),
        ("ffn", false),
        ("nnn", false),
        ("nnnf", false),
        ("nf", true),
        ("nnf", true),
    ] {
        let mut case = case_for(&swiss);
        case.seen = placings("hoop-35", results);
        case.seen.extend(placings("hoop-43", "f"));
        let goes_on = matches!(progress(&swiss, &case).next, Next::Read { .. });
        assert_eq!(goes_on, doubt, "{results}");
        if doubt {
            // The hoop without a doubt is known all the same.
            let known = judge(&swiss, &case).interval.expect("no contradiction");
            assert_eq!(
                known,
                HeightInterval::below(Length::from_mm(430)),
                "{results}"
            );
        }
    }
}

#[test]
fn void_readings_are_named_only_where_there_are_some() {
    let akc = pack("akc");
    let mut case = case_for(&akc);
    case.seen = vec![reading("scale", "15 in", "anna")];
    assert!(!has(&judge(&akc, &case).reasons, "placings-void"));
    case.seen.insert(0, void_reading("15 in", "anna"));
    let v = judge(&akc, &case);
    let void = v
        .reasons
        .iter()
        .find(|r| r.key == "placings-void")
        .expect("named");
    assert_eq!(void.args["count"], Arg::Count(1));
}

#[test]
fn whose_turn_it_is_matters_only_where_measurers_take_turns() {
    let (akc, whippet) = (pack("akc"), pack("procedure-only-whippet"));
    let turn = |pack: &RulePack, case: &Case| match progress(pack, case).next {
        Next::Read { by, .. } => by,
        other => panic!("{other:?}"),
    };
    assert_eq!(turn(&akc, &case_for(&akc)), None);
    assert_eq!(turn(&whippet, &case_for(&whippet)), Some("anna".into()));
    // Nobody at the table: nobody's turn, and too few to measure.
    let nobody = Case {
        measurers: vec![],
        ..case_for(&whippet)
    };
    assert!(matches!(progress(&whippet, &nobody).next, Next::Refused(_)));
}

#[test]
fn readings_stop_early_only_when_further_from_every_limit_than_asked() {
    let early = "decide = \"median\"\nstop_early = { after = 2, clear_by = \"10 mm\" } # form";
    let pack = changed("cneac", &[("decide = \"median\"", early)]);
    for (value, stops) in [
        ("359 mm", true),
        ("360 mm", false),
        ("370 mm", false),
        ("380 mm", false),
        ("381 mm", true),
        ("460 mm", false),
        ("481 mm", true),
    ] {
        let mut case = case_for(&pack);
        case.seen = vec![reading("scale", value, "anna"); 2];
        let v = judge(&pack, &case);
        assert_eq!(has(&v.reasons, "readings-stop-early"), stops, "{value}");
        assert_eq!(v.category().is_some(), stops, "{value}");
    }
}

#[test]
fn a_mode_comes_twice_at_least_and_alone() {
    let numbers = [
        ("needed = 6 ", "needed = 1 "),
        ("last_decides = true", "last_decides = false"),
    ];
    let pack = changed("procedure-only-whippet", &numbers);
    let decided = |values: &[&str]| {
        let mut case = case_for(&pack);
        let by = ["anna", "ben"];
        case.seen = values
            .iter()
            .zip(by.iter().cycle())
            .map(|(v, by)| reading("scale", v, by))
            .collect();
        judge(&pack, &case).category().is_some()
    };
    for (values, mode) in [
        (vec!["468 mm"], false),
        (vec!["468 mm", "468 mm"], true),
        (vec!["468 mm", "469 mm"], false),
        (vec!["468 mm", "469 mm", "469 mm"], true),
        (vec!["469 mm", "468 mm", "470 mm", "471 mm"], false),
    ] {
        assert_eq!(decided(&values), mode, "{values:?}");
    }
    // Two that come equally often: of six, none decides.
    let six = crate::support::pack("procedure-only-whippet");
    let mut case = case_for(&six);
    for (i, v) in ["468 mm", "469 mm", "468 mm", "469 mm", "470 mm", "471 mm"]
        .iter()
        .enumerate()
    {
        case.seen.push(reading("scale", v, ["anna", "ben"][i % 2]));
    }
    let v = judge(&six, &case);
    assert!(has(&v.reasons, "no-single-mode") && v.outcome == Outcome::NotYet);
    case.seen = vec![reading("scale", "468 mm", "anna"); 6];
    let v = judge(&six, &case);
    assert_eq!(
        v.interval,
        Some(HeightInterval::exactly(Length::from_mm(468)))
    );
}

/// The FEI's pack for so many vets; each finds a pony (p) or a horse (h).
fn vets(needed: u32, then: &str, found: &str) -> Verdict {
    let then = format!("then = \"{then}\"");
    let pack = changed(
        "fei",
        &[
            ("needed = 2 ", &format!("needed = {needed} ")),
            ("then = \"lower-stands\"", &then),
        ],
    );
    let people = ["anna", "ben", "cora", "dan", "ella"];
    let mut case = case_for(&pack);
    case.measurers = people[..found.len()]
        .iter()
        .map(|p| MeasurerHere::new(*p))
        .collect();
    let read =
        |(c, by): (char, &&str)| reading("scale", if c == 'p' { "145 cm" } else { "152 cm" }, by);
    case.seen = found.chars().zip(people.iter()).map(read).collect();
    judge(&pack, &case)
}

#[test]
fn one_more_measurer_decides_only_with_more_than_half() {
    for (needed, found, category) in [
        (2, "pph", Some("pony")),
        (2, "hhp", Some("horse")),
        (3, "pphh", None),
        (3, "ppph", Some("pony")),
        (4, "ppphh", Some("pony")),
        (4, "hhhpp", Some("horse")),
    ] {
        let v = vets(needed, "one-more-measurer", found);
        let agreed = category.map(CategoryId::from);
        assert_eq!(
            has(&v.flags, "measurers-outvoted"),
            agreed.is_some(),
            "{found}"
        );
        if agreed.is_some() {
            assert_eq!(v.category(), agreed.as_ref(), "{found}");
        } else {
            assert_eq!(v.status, Some(Status::Referred), "{found}");
        }
    }
    // Where the body decides, a majority does not.
    let v = vets(3, "refer", "pph");
    assert_eq!(v.status, Some(Status::Referred));
    assert!(!has(&v.flags, "measurers-outvoted"));
}

#[test]
fn whoever_measured_counts_before_those_who_only_stand_there() {
    let fei = pack("fei");
    let mut case = case_for(&fei);
    case.measurers = ["anna", "ben", "cora"].map(MeasurerHere::new).to_vec();
    case.seen = vec![
        reading("scale", "145 cm", "cora"),
        reading("scale", "145 cm", "ben"),
    ];
    assert_eq!(judge(&fei, &case).category(), Some(&"pony".into()));
}

#[test]
fn whoever_has_begun_goes_on_before_the_next_one_begins() {
    let nz = pack("procedure-only-nz");
    let turn = |case: &Case| match progress(&nz, case).next {
        Next::Read { by, .. } => by.map(|m| m.to_string()),
        other => panic!("{other:?}"),
    };
    let mut case = case_for(&nz);
    assert_eq!(turn(&case).as_deref(), Some("anna"));
    for i in 0..6 {
        let by = ["ben", "ben", "ben", "anna", "anna", "anna"][i];
        if i != 0 {
            assert_eq!(turn(&case).as_deref(), Some(by), "reading {i}");
        }
        case.seen.push(reading("scale", "40 cm", by));
    }
    assert!(judge(&nz, &case).category().is_some());
    // A void reading begins nothing: whoever has a valid one goes on.
    case.seen = vec![
        void_reading("40 cm", "anna"),
        reading("scale", "40 cm", "ben"),
    ];
    assert_eq!(turn(&case).as_deref(), Some("ben"));
}
