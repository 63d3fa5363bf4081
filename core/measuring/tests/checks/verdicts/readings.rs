//! Readings, and what other parts read from a pack.

use super::*;

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
