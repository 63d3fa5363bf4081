//! The record book: every finding with what to do, and which measure it is.

use crate::support::*;
use standsquare_measuring::*;

fn measure(on: &str, category: &str) -> BookMeasure {
    BookMeasure {
        on: Some(day(on)),
        category: Some(category.into()),
        signatures: Some(2),
    }
}

/// A complete book with these measures.
fn book(measures: Vec<BookMeasure>) -> BookEntries {
    BookEntries {
        number: Some("L-0042".into()),
        name: Some("Pip".into()),
        chip: Some("999000000112233".into()),
        born: Some(day("2024-02-10")),
        breed: Some("cross".into()),
        sex: Some("female".into()),
        handler: true,
        measures,
    }
}

fn check(book: BookEntries, office: Option<BookEntries>) -> BookFindings {
    let check = BookCheck {
        today: day("2026-06-14"),
        book,
        office,
        chip_read: None,
    };
    check_book(&pack("larkmere"), &check)
}

/// The findings as entry, key, what to do and whether it stops the dog.
fn found(f: &BookFindings) -> Vec<(BookEntry, &str, &str, bool)> {
    f.findings
        .iter()
        .map(|x| {
            (
                x.entry,
                x.reason.key.as_ref(),
                x.to_do.key.as_ref(),
                x.stops,
            )
        })
        .collect()
}

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

#[test]
fn the_book_against_the_office() {
    let other = BookEntries {
        number: Some("L-0043".into()),
        name: Some("Moss".into()),
        chip: Some("999000000112234".into()),
        born: Some(day("2024-02-11")),
        breed: Some("collie".into()),
        sex: Some("male".into()),
        handler: false,
        measures: vec![],
    };
    let f = check(book(vec![]), Some(other));
    let all = |entry, to_do| (entry, "book-differs", to_do, false);
    assert_eq!(
        found(&f),
        [
            all(BookEntry::Number, "do-point-out"),
            all(BookEntry::Name, "do-ask-handler"),
            all(BookEntry::Chip, "do-ask-office"),
            all(BookEntry::Born, "do-ask-handler"),
            all(BookEntry::Breed, "do-point-out"),
            all(BookEntry::Sex, "do-point-out"),
        ]
    );
    assert!(f.may_measure);
    // Case and spaces make no difference, and what one side lacks contradicts nothing.
    let alike = BookEntries {
        name: Some("PIP".into()),
        chip: Some("999 000000 112233".into()),
        sex: None,
        ..book(vec![])
    };
    assert_eq!(check(book(vec![]), Some(alike)).findings, []);
}

#[test]
fn measures_of_the_book_against_the_office() {
    let office = |m| Some(book(m));
    let f = check(book(vec![measure("2025-06-01", "small")]), office(vec![]));
    assert_eq!(
        found(&f),
        [(
            BookEntry::MeasureDate,
            "book-measure-unknown",
            "do-ask-office",
            false
        )]
    );
    let f = check(book(vec![]), office(vec![measure("2025-06-01", "small")]));
    assert_eq!(
        found(&f),
        [(
            BookEntry::MeasureDate,
            "book-measure-lacking",
            "do-write-in",
            false
        )]
    );
    assert_eq!(
        f.findings[0].reason.args["category"],
        Arg::Category("small".into())
    );
    assert_eq!(
        f.measure,
        WhichMeasure::Second,
        "the office's knowledge counts"
    );
    let f = check(
        book(vec![measure("2025-06-01", "Small")]),
        office(vec![measure("2025-06-01", "medium")]),
    );
    assert_eq!(
        found(&f),
        [(
            BookEntry::MeasureCategory,
            "book-measure-differs",
            "do-ask-office",
            false
        )]
    );
    // The label and the id mean the same category.
    let f = check(
        book(vec![measure("2025-06-01", "Small")]),
        office(vec![measure("2025-06-01", "small")]),
    );
    assert_eq!(f.findings, []);
    // An id that is not its label's words counts as well.
    let toy =
        RulePack::parse(&LARKMERE.replacen("label = \"Small\"", "label = \"Toy\"", 1)).unwrap();
    for words in ["small", "TOY"] {
        let check = BookCheck {
            today: day("2026-06-14"),
            book: book(vec![measure("2025-06-14", words)]),
            office: None,
            chip_read: None,
        };
        let f = check_book(&toy, &check);
        assert_eq!(
            f.earlier,
            [(day("2025-06-14"), Some("small".into()))],
            "{words}"
        );
    }
    // Words that neither knows are compared as words.
    let f = check(
        book(vec![measure("2025-06-01", "tiny")]),
        office(vec![measure("2025-06-01", "Tiny ")]),
    );
    assert!(
        !f.findings
            .iter()
            .any(|x| x.reason.key == "book-measure-differs")
    );
    let f = check(
        book(vec![measure("2025-06-01", "tiny")]),
        office(vec![measure("2025-06-01", "toy")]),
    );
    assert!(
        f.findings
            .iter()
            .any(|x| x.reason.key == "book-measure-differs")
    );
}

#[test]
fn the_chip_read_against_the_book() {
    let with = |read: &str| {
        let check = BookCheck {
            today: day("2026-06-14"),
            book: book(vec![]),
            office: None,
            chip_read: Some(read.into()),
        };
        check_book(&pack("larkmere"), &check)
    };
    assert_eq!(with("999 000000112233").findings, []);
    let f = with("999000000112234");
    assert_eq!(
        found(&f),
        [(BookEntry::Chip, "book-chip-differs", "do-not-measure", true)]
    );
    assert!(!f.may_measure);
}

#[test]
fn first_or_second_measure_from_book_and_office() {
    let f = check(book(vec![measure("2025-06-14", "Small")]), None);
    assert_eq!(f.measure, WhichMeasure::Second);
    assert_eq!(f.earlier, [(day("2025-06-14"), Some("small".into()))]);
    assert_eq!(
        f.window,
        Some(Window {
            from: day("2026-06-14"),
            to: day("2027-06-14")
        })
    );
    assert_eq!(f.position, Some(WindowPosition::InWindow));
    assert!(f.may_measure && f.findings.is_empty());

    let f = check(book(vec![measure("2025-06-15", "small")]), None);
    assert_eq!(
        found(&f),
        [(
            BookEntry::MeasureDate,
            "second-too-early",
            "do-come-back",
            true
        )]
    );
    assert_eq!(
        f.findings[0].to_do.args["from"],
        Arg::Date(day("2026-06-15"))
    );
    assert!(!f.may_measure);

    let f = check(book(vec![measure("2024-06-13", "small")]), None);
    assert_eq!(
        found(&f),
        [(BookEntry::MeasureDate, "second-late", "do-point-out", false)]
    );
    assert_eq!(f.position, Some(WindowPosition::Late));

    let two = vec![
        measure("2024-03-01", "small"),
        measure("2025-06-01", "small"),
    ];
    let f = check(book(two), None);
    assert_eq!((f.measure, f.window), (WhichMeasure::Further(3), None));

    // One measure known to both is one; the office fills in the category that the book lacks.
    let bare = BookMeasure {
        category: None,
        ..measure("2025-06-14", "small")
    };
    let f = check(
        book(vec![bare]),
        Some(book(vec![measure("2025-06-14", "medium")])),
    );
    assert_eq!(f.earlier, [(day("2025-06-14"), Some("medium".into()))]);
    // A measure dated after today is none yet; today's is one.
    let f = check(book(vec![measure("2026-06-15", "small")]), None);
    assert_eq!(f.measure, WhichMeasure::First);
    let f = check(book(vec![measure("2026-06-14", "small")]), None);
    assert_eq!(f.measure, WhichMeasure::Second);
}

#[test]
fn a_late_or_early_measure_as_the_pack_says() {
    let pack = |from: &str, to: &str| RulePack::parse(&LARKMERE.replacen(from, to, 1)).unwrap();
    let at = |pack: &RulePack, first: &str| {
        let check = BookCheck {
            today: day("2026-06-14"),
            book: book(vec![measure(first, "small")]),
            office: None,
            chip_read: None,
        };
        check_book(pack, &check)
    };
    let strict = pack("late = \"flagged\"", "late = \"refused\"");
    let f = at(&strict, "2024-06-13");
    assert_eq!(
        found(&f),
        [(
            BookEntry::MeasureDate,
            "second-late",
            "do-not-measure",
            true
        )]
    );
    let lax = pack("early = \"refused\"", "early = \"allowed\"");
    assert_eq!(at(&lax, "2026-01-01").findings, []);
    let short = pack(
        "early = \"refused\"",
        "early = { provisional-for = \"1 month\" }",
    );
    let f = at(&short, "2026-01-01");
    assert_eq!(
        found(&f),
        [(
            BookEntry::MeasureDate,
            "second-too-early",
            "do-point-out",
            false
        )]
    );
}

#[test]
fn the_window_from_birth_takes_the_birth_that_is_known() {
    let text = LARKMERE.replacen(
        "counts_from = \"first-measure\"",
        "counts_from = \"birth\"",
        1,
    );
    let pack = RulePack::parse(&text).unwrap();
    let check = |book_born: Option<&str>, office_born: Option<&str>| {
        let with = |born: Option<&str>| BookEntries {
            born: born.map(day),
            ..book(vec![measure("2025-12-01", "small")])
        };
        let check = BookCheck {
            today: day("2026-06-14"),
            book: with(book_born),
            office: Some(with(office_born)),
            chip_read: None,
        };
        check_book(&pack, &check).window.map(|w| w.from.to_string())
    };
    assert_eq!(
        check(Some("2025-02-10"), Some("2025-03-10")).as_deref(),
        Some("2026-02-10")
    );
    assert_eq!(
        check(None, Some("2025-03-10")).as_deref(),
        Some("2026-03-10")
    );
    assert_eq!(check(None, None), None);
}
