//! The record book's number against the chip's.

use standsquare_chip::{
    ChipNumber, Comparison, Form, ReadOutcome, Refusal, Slip, Unreadable, compare, parse_printed,
};

const CHIP: &str = "999000000112233";

fn number(text: &str) -> ChipNumber {
    text.parse().expect("a number")
}

fn against(book: &str) -> Comparison {
    compare(
        book,
        &ReadOutcome::Number {
            number: number(CHIP),
        },
    )
}

#[test]
fn equal_whatever_the_grouping() {
    for book in [
        CHIP,
        " 999000000112233 ",
        "999 000 000 112 233",
        "999 000000112233",
        "999.000.000.112.233",
        "999-000000112233",
        "999\u{a0}000000112233",
    ] {
        assert_eq!(against(book), Comparison::Equal, "{book:?}");
    }
}

#[test]
fn the_same_chip_in_another_form() {
    for (book, form) in [
        ("3E7.000001B669", Form::HexDotted),
        ("8000F9C00001B669", Form::Hex16),
        ("966D8000039F0001", Form::Hex16),
        ("A0000000999000000112233", Form::A7x15),
        ("1000000999000000112233", Form::One6x15),
    ] {
        assert_eq!(against(book), Comparison::OtherForm { form }, "{book}");
    }
}

#[test]
fn a_slip_of_the_pen_is_shown_side_by_side() {
    let cases: [(&str, Slip, &[u32], bool); 7] = [
        // The last digit: also the number of a litter-mate.
        ("999000000112234", Slip::OneDigit, &[14], true),
        // The same serial under another code is of another batch.
        ("998000000112233", Slip::OneDigit, &[2], false),
        ("999000000912233", Slip::OneDigit, &[9], false),
        ("999000000121233", Slip::Swapped, &[10, 11], false),
        ("999000000212133", Slip::Swapped, &[9, 12], false),
        // A leading or other zero lost: never filled in, only shown.
        ("99900000112233", Slip::Missing, &[8], false),
        ("9990000000112233", Slip::Extra, &[9], false),
    ];
    for (book, slip, at, neighbours) in cases {
        let expected = Comparison::MisKeyed {
            book: book.to_owned(),
            chip: CHIP.to_owned(),
            slip,
            at: at.to_vec(),
            neighbours,
        };
        assert_eq!(against(book), expected, "{book}");
    }
    // A letter O for a zero.
    assert!(matches!(
        against("99900000O112233"),
        Comparison::MisKeyed {
            slip: Slip::OneDigit,
            ..
        }
    ));
}

/// Every one-digit error and every swap of two digits, and never "equal".
#[test]
fn every_one_digit_error_and_swap_is_mis_keyed() {
    let chip = CHIP.as_bytes();
    for i in 0..15 {
        for digit in b'0'..=b'9' {
            let mut book = chip.to_vec();
            book[i] = digit;
            let book = String::from_utf8(book).expect("digits");
            match against(&book) {
                Comparison::Equal => assert_eq!(book, CHIP),
                Comparison::MisKeyed { at, .. } => assert_eq!(at, [i as u32]),
                // A code no chip can carry is still a slip away.
                other => panic!("{book}: {other:?}"),
            }
        }
        for j in 0..i {
            let mut book = chip.to_vec();
            book.swap(i, j);
            let book = String::from_utf8(book).expect("digits");
            match against(&book) {
                Comparison::Equal => assert_eq!(book, CHIP),
                Comparison::MisKeyed { slip, .. } => assert_eq!(slip, Slip::Swapped),
                other => panic!("{book}: {other:?}"),
            }
        }
    }
}

#[test]
fn another_number_is_different() {
    let book = "999000000445566";
    assert_eq!(
        against(book),
        Comparison::Different {
            book: number(book),
            chip: number(CHIP)
        }
    );
    assert!(matches!(
        against("0A1B2C3D4E"),
        Comparison::Different { .. }
    ));
}

#[test]
fn a_book_entry_that_is_no_number_is_unreadable() {
    for book in ["", "see vet", "12345", "999000000112233 999000000112234"] {
        assert!(
            matches!(
                against(book),
                Comparison::Unreadable {
                    of: Unreadable::Book { .. }
                }
            ),
            "{book:?}"
        );
    }
    let long = "9".repeat(100_000);
    assert_eq!(parse_printed(&long), Err(Refusal::TooLong));
}

#[test]
fn what_scanning_came_to_is_passed_on() {
    assert_eq!(
        compare(CHIP, &ReadOutcome::Unreadable),
        Comparison::Unreadable {
            of: Unreadable::Chip
        }
    );
    assert_eq!(
        compare(CHIP, &ReadOutcome::NoneFound { passes: 3 }),
        Comparison::NoneFound { passes: 3 }
    );
    let numbers = vec![number("999000000445566"), number(CHIP)];
    let got = ReadOutcome::TwoChips {
        numbers: numbers.clone(),
    };
    assert_eq!(
        compare("999 000000112233", &got),
        Comparison::TwoChips {
            numbers: numbers.clone(),
            in_book: Some(number(CHIP))
        }
    );
    assert_eq!(
        compare("999000000000001", &got),
        Comparison::TwoChips {
            numbers,
            in_book: None
        }
    );
}

#[test]
fn an_older_number_is_text_and_never_padded() {
    let older = ReadOutcome::Number {
        number: number("0A1B2C3D4E"),
    };
    assert_eq!(compare("0a1b2c3d4e", &older), Comparison::Equal);
    assert!(matches!(
        compare("0A1B2C3D4F", &older),
        Comparison::MisKeyed { .. }
    ));
    let nine = parse_printed("123 456 789").expect("nine digits");
    assert_eq!(nine.number.to_string(), "123456789");
    // 036… shortened to 14 digits by a spreadsheet is damage.
    assert_eq!(
        parse_printed("36000000112233"),
        Err(Refusal::WrongLength { digits: 14 })
    );
    assert_eq!(
        parse_printed("8000123456789012"),
        Err(Refusal::HexOrIndustrial)
    );
    for digits in [1, 8, 11, 12, 13, 14, 17, 21, 23] {
        assert!(parse_printed(&"1".repeat(digits)).is_err(), "{digits}");
    }
}
