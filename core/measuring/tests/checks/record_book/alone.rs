//! The book by itself.

use super::*;

#[test]
fn a_complete_book_has_nothing_to_find() {
    let f = check(book(vec![]), None);
    assert_eq!(f.findings, []);
    assert!(f.may_measure);
    assert_eq!(
        (f.measure, f.window, f.position),
        (WhichMeasure::First, None, None)
    );
}

#[test]
fn what_is_missing_stops_the_dog_or_is_pointed_out() {
    let f = check(BookEntries::default(), None);
    let stops = |e| (e, "book-missing", "do-handler-completes", true);
    let points = |e| (e, "book-missing", "do-point-out", false);
    assert_eq!(
        found(&f),
        [
            stops(BookEntry::Name),
            stops(BookEntry::Chip),
            stops(BookEntry::Born),
            points(BookEntry::Number),
            points(BookEntry::Breed),
            points(BookEntry::Handler),
        ]
    );
    assert!(!f.may_measure);
    assert_eq!(f.findings[0].reason.args["text"], Arg::Text("name".into()));
    assert_eq!(f.findings[0].kind, FindingKind::Missing);
    // Blanks are as good as nothing; a sex is not asked for by this pack.
    let blank = BookEntries {
        name: Some("  ".into()),
        sex: None,
        ..book(vec![])
    };
    assert_eq!(found(&check(blank, None)), [stops(BookEntry::Name)]);
}

#[test]
fn a_pack_may_ask_for_the_sex_and_for_nothing_else() {
    let text = LARKMERE
        .replacen(
            "must_have = [\"name\", \"chip\", \"born\"]",
            "must_have = [\"sex\"]",
            1,
        )
        .replacen("should_have = [", "should_have = []\n# [", 1);
    let pack = RulePack::parse(&text).unwrap();
    let check = BookCheck {
        today: day("2026-06-14"),
        book: BookEntries {
            measures: vec![BookMeasure::default()],
            ..Default::default()
        },
        office: None,
        chip_read: None,
    };
    let f = check_book(&pack, &check);
    assert_eq!(
        found(&f),
        [(BookEntry::Sex, "book-missing", "do-handler-completes", true)]
    );
}

#[test]
fn entries_of_earlier_measures() {
    let undated = BookMeasure {
        on: None,
        ..measure("2025-06-01", "small")
    };
    let without = BookMeasure {
        category: None,
        ..measure("2025-06-01", "small")
    };
    let unsigned = BookMeasure {
        signatures: Some(1),
        ..measure("2025-06-01", "small")
    };
    let unseen = BookMeasure {
        signatures: None,
        ..measure("2025-06-01", "small")
    };
    for (m, entry, key) in [
        (undated, BookEntry::MeasureDate, "book-measure-undated"),
        (
            without,
            BookEntry::MeasureCategory,
            "book-measure-no-category",
        ),
        (
            unsigned,
            BookEntry::MeasureSignatures,
            "book-measure-unsigned",
        ),
    ] {
        let f = check(book(vec![m]), None);
        assert_eq!(found(&f), [(entry, key, "do-point-out", false)]);
    }
    assert_eq!(check(book(vec![unseen]), None).findings, []);
    // Where the pack must have them, they stop the dog.
    let text = LARKMERE
        .replacen(
            "must_have = [",
            "signatures = 1\nmust_have = [\"measure-date\", ",
            1,
        )
        .replacen(
            "\"measure-date\", \"measure-category\"",
            "\"measure-category\"",
            1,
        );
    let pack = RulePack::parse(&text).unwrap();
    let with = |m| BookCheck {
        today: day("2026-06-14"),
        book: book(vec![m]),
        office: None,
        chip_read: None,
    };
    let f = check_book(
        &pack,
        &with(BookMeasure {
            on: None,
            ..measure("2025-06-01", "small")
        }),
    );
    assert_eq!(
        found(&f),
        [(
            BookEntry::MeasureDate,
            "book-measure-undated",
            "do-not-measure",
            true
        )]
    );
    let one = BookMeasure {
        signatures: Some(1),
        ..measure("2025-06-01", "small")
    };
    assert_eq!(check_book(&pack, &with(one)).findings, []);
}

#[test]
fn contradictions_within_the_book() {
    for (measures, key, to_do) in [
        (
            vec![measure("2026-06-15", "small")],
            "book-measure-future",
            "do-ask-handler",
        ),
        (
            vec![measure("2024-02-09", "small")],
            "book-measure-before-birth",
            "do-ask-handler",
        ),
        (
            vec![
                measure("2026-01-01", "small"),
                measure("2025-01-01", "small"),
            ],
            "book-measures-disordered",
            "do-point-out",
        ),
        (
            vec![
                measure("2026-01-01", "small"),
                measure("2026-01-01", "medium"),
            ],
            "book-measure-twice",
            "do-ask-office",
        ),
        (
            vec![measure("2025-06-01", "tiny")],
            "book-measure-bad-category",
            "do-ask-office",
        ),
    ] {
        let f = check(book(measures), None);
        let hit = f
            .findings
            .iter()
            .find(|x| x.reason.key == key)
            .unwrap_or_else(|| panic!("{key}"));
        assert_eq!(
            (hit.to_do.key.as_ref(), hit.stops, hit.kind),
            (to_do, false, FindingKind::Contradicts)
        );
        let others = f
            .findings
            .iter()
            .filter(|x| x.kind != FindingKind::OutOfTime);
        assert_eq!(others.count(), 1, "{key}: {:#?}", f.findings);
    }
    let future = BookEntries {
        born: Some(day("2026-06-15")),
        ..book(vec![])
    };
    assert_eq!(
        found(&check(future, None)),
        [(BookEntry::Born, "book-born-future", "do-ask-handler", false)]
    );
    // The day itself is none.
    let fine = BookEntries {
        born: Some(day("2024-02-10")),
        ..book(vec![
            measure("2024-02-10", "small"),
            measure("2025-06-14", "Small"),
        ])
    };
    assert_eq!(check(fine, None).findings, []);
    let today = BookEntries {
        born: Some(day("2026-06-14")),
        ..book(vec![])
    };
    assert_eq!(check(today, None).findings, []);
}
