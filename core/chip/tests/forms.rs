//! Every form of a frame's content, with the source of each example, and what
//! is refused. "facts" are the project's collected facts about chip numbers.

use standsquare_chip::{Checksum, ChipFlag, Form, Parsed, Profile, Refusal};
use standsquare_reader::encode::{encode, forms, frame30};

fn good(form: Form, content: &[u8]) -> Parsed {
    form.parse(content)
        .unwrap_or_else(|e| panic!("{form:?} {}: {e}", content.escape_ascii()))
}

/// (form, content, number, source)
const EXAMPLES: [(Form, &str, &str, &str); 13] = [
    (
        Form::Decimal15,
        "999123456789012",
        "999123456789012",
        "CRAN ISO11784Tools tests",
    ),
    (
        Form::Decimal15,
        "982 003 123 456 789",
        "982003123456789",
        "a parser's test on GitHub",
    ),
    (
        Form::Decimal15,
        "999 000000001008",
        "999000000001008",
        "the project's brief",
    ),
    (
        Form::HexDotted,
        "3E7.1CBE991A14",
        "999123456789012",
        "CRAN ISO11784Tools tests",
    ),
    (
        Form::Hex16,
        "8000F9DCBE991A14",
        "999123456789012",
        "ISO11784Tools and computed: animal bit left",
    ),
    (
        Form::Hex16,
        "2858997D3B9F0001",
        "999123456789012",
        "ISO11784Tools and computed: animal bit right",
    ),
    (
        Form::Hex16Left,
        "8000F9DCBE991A14",
        "999123456789012",
        "as above, order declared",
    ),
    (
        Form::Hex16Right,
        "2858997D3B9F0001",
        "999123456789012",
        "as above, order declared",
    ),
    (
        Form::A7x15,
        "A0000000982126054206704",
        "982126054206704",
        "a script for tag readers on GitHub",
    ),
    (
        Form::One6x15,
        "1000000982003123456789",
        "982003123456789",
        "a parser's test on GitHub",
    ),
    (
        Form::Hex4x10,
        "009C1486C6F81F",
        "156088160532511",
        "Hcreak/Self_FDX-B and computed",
    ),
    (
        Form::Legacy9,
        "123456789",
        "123456789",
        "length from memory, no source",
    ),
    (
        Form::Legacy10,
        "0a1b2c3d4e",
        "0A1B2C3D4E",
        "five bytes as ten hex digits: pm3 cmdlfdestron.c",
    ),
];

#[test]
fn every_example_reads_as_its_source_says() {
    for (form, content, number, source) in EXAMPLES {
        let parsed = good(form, content.as_bytes());
        assert_eq!(parsed.number.to_string(), number, "{content}: {source}");
        assert_eq!(parsed.checksum, Checksum::Absent, "{content}");
    }
}

/// ESPHome wl_134.cpp for the layout; the bytes for 999-112233 are computed in
/// the facts. The XOR byte of this frame is a line feed.
#[test]
fn the_thirty_byte_frame() {
    let hex = "0239363642313030303030374533303031303030303030303030300af503";
    let bytes = hex::decode(hex).expect("hex");
    let parsed = good(Form::Frame30, &bytes);
    assert_eq!(parsed.number.to_string(), "999000000112233");
    assert_eq!(parsed.checksum, Checksum::Verified);
    assert_eq!(parsed.animal, Some(true));
    assert_eq!(frame30("999000000112233"), Ok(bytes));
}

#[test]
fn every_one_bit_error_in_the_thirty_byte_frame_is_refused() {
    let frame = frame30("999000000112233").expect("a frame");
    for i in 0..frame.len() * 8 {
        let mut wrong = frame.clone();
        wrong[i / 8] ^= 1 << (i % 8);
        // Capital and small hex digits are the same: the XOR still tells.
        assert!(Form::Frame30.parse(&wrong).is_err(), "bit {i}");
    }
}

/// As the facts count: about 12.5 % of frames have an XOR byte that a reader of
/// lines or of STX and ETX would trip over.
#[test]
fn frames_with_a_trap_in_the_check_byte_are_common_and_read() {
    let mut rng = fastrand::Rng::with_seed(30);
    let mut traps = 0;
    for _ in 0..20_000 {
        let number = format!("{:03}{:012}", rng.u16(1..1000), rng.u64(..1 << 38));
        let frame = frame30(&number).expect("a frame");
        traps += u32::from(matches!(frame[27], 0x02 | 0x03 | 0x0A | 0x0D));
        assert!(frame[28] >= 0x80);
        assert_eq!(good(Form::Frame30, &frame).number.to_string(), number);
    }
    assert!((2_000..3_000).contains(&traps), "{traps} of 20000");
}

#[test]
fn what_is_no_number_is_refused_with_its_reason() {
    let refused: [(Form, &str, Refusal); 24] = [
        (
            Form::Decimal15,
            "99912345678901",
            Refusal::WrongLength { digits: 14 },
        ),
        (
            Form::Decimal15,
            "9991234567890123",
            Refusal::WrongLength { digits: 16 },
        ),
        (Form::Decimal15, "", Refusal::WrongLength { digits: 0 }),
        (Form::Decimal15, "99 9123456789012", Refusal::NotANumber),
        (Form::Decimal15, "999 123 456789012", Refusal::NotANumber),
        (Form::Decimal15, "999  123456789012", Refusal::NotANumber),
        (Form::Decimal15, " 999123456789012", Refusal::NotANumber),
        (Form::Decimal15, "ID999123456789012", Refusal::NotANumber),
        (Form::Decimal15, "999123456789012.", Refusal::NotANumber),
        (Form::Decimal15, "99912345678901O", Refusal::NotANumber),
        (
            Form::Decimal15,
            "999999999999999",
            Refusal::NationalTooLarge,
        ),
        (Form::Decimal15, "000123456789012", Refusal::CountryZero),
        (
            Form::Decimal15,
            "LR 0006 0000000018514348",
            Refusal::Industrial,
        ),
        (
            Form::One6x15,
            "LR 0006 0000000018514348",
            Refusal::Industrial,
        ),
        (Form::One6x15, "0000000982003123456789", Refusal::NotANumber),
        (Form::One6x15, "100000098200312345678", Refusal::NotANumber),
        (Form::A7x15, "B0000000982126054206704", Refusal::NotANumber),
        (Form::A7x15, "A000000098212605420670A", Refusal::NotANumber),
        (Form::HexDotted, "3E71CBE991A14", Refusal::NotANumber),
        (
            Form::HexDotted,
            "3E8.1CBE991A14",
            Refusal::CountryTooLarge { country: 1000 },
        ),
        (Form::HexDotted, "3E7.4000000000", Refusal::NationalTooLarge),
        (
            Form::Hex4x10,
            "03E81CBE991A14",
            Refusal::CountryTooLarge { country: 1000 },
        ),
        (Form::Legacy9, "12345678A", Refusal::NotANumber),
        (Form::Legacy10, "ABCDEFGHIJ", Refusal::NotANumber),
    ];
    for (form, content, reason) in refused {
        assert_eq!(form.parse(content.as_bytes()), Err(reason), "{content:?}");
    }
}

/// A keyboard in another layout gives signs where a reader types digits.
#[test]
fn another_keyboard_layout_is_told_from_a_damaged_number() {
    for signs in ["(((!@#$%^&*()!@", "ççç&é\"'(-è_çà&é"] {
        assert_eq!(signs.chars().count(), 15);
        assert_eq!(
            Form::Decimal15.parse(signs.as_bytes()),
            Err(Refusal::KeyboardLayout)
        );
    }
}

#[test]
fn sixteen_hex_digits_are_taken_in_one_order_only() {
    // Both orders are a plain number: nothing tells which.
    let both = format!("{:016X}", 999u64 << 38 | 0x0200_0000);
    assert_eq!(
        Form::Hex16.parse(both.as_bytes()),
        Err(Refusal::BitOrderUnclear)
    );
    assert!(Form::Hex16Left.parse(both.as_bytes()).is_ok());
    // Neither is: a retagged chip's order has to be declared.
    let retagged = format!("{:016X}", 0xA000_F9DC_BE99_1A14u64);
    assert_eq!(
        Form::Hex16.parse(retagged.as_bytes()),
        Err(Refusal::BitOrderUnclear)
    );
    let parsed = good(Form::Hex16Left, retagged.as_bytes());
    assert_eq!(parsed.number.to_string(), "999123456789012");
    assert!(parsed.flags.contains(&ChipFlag::Retagged));
    assert_eq!(parsed.code.map(|c| c.retag()), Some(2));
    // A declared order that is plainly the wrong one.
    assert_eq!(
        Form::Hex16Right.parse(b"8000F9DCBE991A14"),
        Err(Refusal::OtherBitOrder)
    );
    assert_eq!(
        Form::Hex16Left.parse(b"2858997D3B9F0001"),
        Err(Refusal::OtherBitOrder)
    );
}

#[test]
fn decimal_digits_alone_are_not_hexadecimal_unless_declared() {
    let digits = b"8000123456789012";
    assert!(Form::Hex16.parse(digits).is_ok());
    assert_eq!(
        Form::Hex16.parse_undeclared(digits),
        Err(Refusal::HexOrIndustrial)
    );
    // The beginning of a longer number in the form with A and seven digits.
    assert_eq!(
        Form::Hex16.parse_undeclared(b"A000000099900000"),
        Err(Refusal::FormUnclear)
    );
    assert_eq!(
        Form::Hex4x10.parse_undeclared(b"00360000001122"),
        Err(Refusal::WrongLength { digits: 14 })
    );
}

/// ISO 3166-1 numeric codes below 900, makers' codes from 900 (ISO 24631-1);
/// 900 shared and 999 test as in the facts' sources.
#[test]
fn codes_that_are_pointed_out() {
    let flags = |number: &str| good(Form::Decimal15, number.as_bytes()).flags;
    assert_eq!(flags("999000000112233"), [ChipFlag::TestCode]);
    assert_eq!(flags("900215000000001"), [ChipFlag::SharedCode]);
    assert_eq!(flags("001000000000001"), [ChipFlag::UnassignedCountry]);
    assert_eq!(flags("826000000000001"), []);
    assert_eq!(flags("036000000000001"), []);
    assert_eq!(flags("982003123456789"), []);
    assert_eq!(
        good(Form::Legacy9, b"123456789").flags,
        [ChipFlag::LegacyText]
    );
}

#[test]
fn every_other_bit_of_the_chip_is_flagged() {
    let flagged = |bit: u32| {
        let word = (1u64 << 63 | 999 << 38 | 112_233) ^ (1 << bit);
        let parsed = Parsed::of_code(standsquare_chip::IsoCode(word), Checksum::Absent);
        parsed.expect("still a number").flags
    };
    for (bits, flag) in [
        (48..=48, ChipFlag::ExtraData),
        (49..=49, ChipFlag::Advanced),
        (50..=54, ChipFlag::ReservedBits),
        (55..=59, ChipFlag::UserInfo),
        (60..=62, ChipFlag::Retagged),
        (63..=63, ChipFlag::NotAnimal),
    ] {
        for bit in bits {
            assert_eq!(flagged(bit), [ChipFlag::TestCode, flag], "bit {bit}");
        }
    }
    let seven = good(Form::A7x15, b"A0100000982126054206704");
    assert_eq!(seven.flags, [ChipFlag::UnknownDigits]);
}

/// The emulated reader and the product know the same forms by the same names.
#[test]
fn profiles_and_the_emulated_reader_have_the_same_names() {
    let mut profiles: Vec<String> = Profile::all().into_iter().map(|p| p.name).collect();
    let mut emulated: Vec<String> = forms();
    profiles.sort();
    emulated.sort();
    assert_eq!(profiles, emulated);
    for profile in Profile::all() {
        assert_eq!(profile.check(), Ok(()), "{}", profile.name);
        let json = serde_json::to_string(&profile).expect("JSON");
        assert_eq!(
            serde_json::from_str::<Profile>(&json).expect("JSON"),
            profile
        );
        let names = (
            Form::by_name(profile.form.name()),
            Profile::builtin(&profile.name),
        );
        assert_eq!(names, (Some(profile.form), Some(profile)));
    }
    assert!(encode("no-such-form", "999000000112233").is_err());
}
