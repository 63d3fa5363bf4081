//! The book beside the office and the chip, and which measure it is.

use super::*;

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
