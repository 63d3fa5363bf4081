//! What `cargo xtask chip read` prints for one capture.

use serde_json::{Value, json};
use standsquare_chip::{Profile, cli};
use standsquare_reader::encode::{encode, forms};
use standsquare_reader::noise::noise;
use standsquare_reader::telegram;

fn read(form: &str, hex: &str) -> (Value, bool) {
    let (json, accepted) = cli::chip_read(form, hex);
    let value: Value = serde_json::from_str(&json).expect("one JSON object");
    assert_eq!(value["accepted"], accepted);
    assert_eq!(value["number"].is_null(), !accepted);
    assert_eq!(value["reason"].is_null(), accepted);
    (value, accepted)
}

fn text(form: &str, content: &str) -> (Value, bool) {
    read(form, &hex::encode(content))
}

const FRAME30: &str = "0239363642313030303030374533303031303030303030303030300af503";

#[test]
fn the_answer_has_these_fields_in_this_order() {
    let (json, accepted) = cli::chip_read("auto", FRAME30);
    assert!(accepted);
    assert_eq!(
        json,
        "{\"accepted\":true,\"number\":\"999000000112233\",\"form\":\"stx-etx-wl30\",\
         \"checksum\":\"verified\",\"animal\":true,\"flags\":[\"test_code\"],\"reason\":null}"
    );
    let (json, accepted) = cli::chip_read("line-15", "39");
    assert!(!accepted);
    assert!(json.starts_with(
        "{\"accepted\":false,\"number\":null,\"form\":\"line-15\",\"checksum\":null,\
         \"animal\":null,\"flags\":[],\"reason\":\""
    ));
}

#[test]
fn auto_understands_every_form_that_vouches_for_itself() {
    let e1 = telegram::pack(&telegram::fdxb(0x8000_F9C0_0001_B669, 0));
    let hdx = telegram::pack(&telegram::hdx(0x8000_F9C0_0001_B669, 0));
    let cases = [
        (FRAME30.to_owned(), "999000000112233", "stx-etx-wl30"),
        (hex::encode(e1), "999000000112233", "fdx-b"),
        (hex::encode(hdx), "999000000112233", "hdx"),
        (
            "AA25169A039F0000 3851".to_owned(),
            "999001500030037",
            "id-crc",
        ),
        (
            hex::encode("999123456789012"),
            "999123456789012",
            "decimal-15",
        ),
        (
            hex::encode("982 003 123 456 789"),
            "982003123456789",
            "decimal-15",
        ),
        (
            hex::encode("999 000000001008\r\n"),
            "999000000001008",
            "line-15",
        ),
        (
            hex::encode("999000000001008\n"),
            "999000000001008",
            "line-15-lf",
        ),
        (
            hex::encode("3E7.1CBE991A14"),
            "999123456789012",
            "hex-dotted",
        ),
        (hex::encode("8000F9DCBE991A14"), "999123456789012", "hex-16"),
        (hex::encode("2858997D3B9F0001"), "999123456789012", "hex-16"),
        (
            hex::encode("A0000000982126054206704"),
            "982126054206704",
            "a-7-15",
        ),
        (
            hex::encode("1000000982003123456789"),
            "982003123456789",
            "1-6-15",
        ),
        (
            hex::encode("\x02009C1486C6F81F\r\n\x03"),
            "156088160532511",
            "stx-etx-hex14",
        ),
    ];
    for (bytes, number, form) in cases {
        let (answer, accepted) = read("auto", &bytes);
        assert!(accepted, "{form}: {answer}");
        assert_eq!(
            (&answer["number"], &answer["form"]),
            (&json!(number), &json!(form))
        );
        // The form that it names reads the same bytes by itself.
        assert_eq!(read(form, &bytes).0, answer, "{form}");
    }
}

#[test]
fn auto_refuses_what_nothing_vouches_for() {
    let cases = [
        ("99900000011223", "14 digits"),
        ("9990000001122334", "sixteen digits"),
        ("000000000112233", "country code 000"),
        ("999999999999999", "274877906943"),
        ("LR 0006 0000000018514348\r\n", "industrial"),
        ("123456789\r\n", "older"),
        ("0A1B2C3D4E\r\n", "older"),
        ("009C1486C6F81F", "no known form"),
        ("100000098200312", "different number"),
        (
            "999000000112233\r\n999000000112234\r\n",
            "two different numbers",
        ),
        (
            "999000000112233\r\n3E7.00000003F0\r\n",
            "more than a number",
        ),
        ("SN 999000000112233\r\n", "no known form"),
        ("A000000F98212605420670", "no known form"),
        ("hello", "no known form"),
    ];
    for (content, reason) in cases {
        let (answer, accepted) = text("auto", content);
        assert!(!accepted, "{content:?}: {answer}");
        let said = answer["reason"].as_str().expect("a reason");
        assert!(said.contains(reason), "{content:?}: {said}");
    }
    // A number is a plain one in both bit orders.
    let both = format!("{:016X}", 999u64 << 38 | 0x0200_0000);
    assert!(!text("auto", &both).1);
    assert!(text("hex-16-left", &both).1);
    assert!(text("legacy-9", "123456789").1);
}

#[test]
fn bad_input_says_what_to_do() {
    for (form, hex, reason) in [
        ("auto", "", "no bytes"),
        ("auto", "xyz", "not hexadecimal"),
        ("auto", "393", "not hexadecimal"),
        ("line-16", "39", "there is no form"),
    ] {
        let (answer, accepted) = read(form, hex);
        assert!(!accepted);
        let said = answer["reason"].as_str().expect("a reason");
        assert!(said.contains(reason), "{said}");
    }
}

/// Every frame cut anywhere, under its own name: no number. Under `auto`: no
/// number, or (where the form without its terminator is whole) the right one.
/// `auto` cannot know what was cut away where just fifteen decimal digits are
/// left of hexadecimal ones; for that a person names the form.
#[test]
fn a_frame_cut_short_gives_no_number_or_the_right_one() {
    let mut rng = fastrand::Rng::with_seed(14);
    for form in forms() {
        for _ in 0..20 {
            let number = match form.as_str() {
                f if f.starts_with("line-legacy-9") => format!("{:09}", rng.u32(..1_000_000_000)),
                f if f.starts_with("line-legacy-10") => format!("{:09X}1", rng.u64(..1 << 36)),
                _ => format!("{:03}{:012}", rng.u16(1..1000), rng.u64(..1 << 38)),
            };
            let frame = encode(&form, &number).expect("a frame");
            let whole = read(&form, &hex::encode(&frame)).0;
            assert_eq!(whole["number"], number.as_str(), "{form}");
            for cut in 1..frame.len() {
                for piece in [&frame[..cut], &frame[cut..]] {
                    let (answer, accepted) = read("auto", &hex::encode(piece));
                    let left = piece.trim_ascii();
                    let fifteen = left.len() == 15 && left.iter().all(u8::is_ascii_digit);
                    assert!(
                        !accepted || fifteen || answer["number"] == number.as_str(),
                        "{form} {number} cut at {cut}: {answer}"
                    );
                }
                let (answer, accepted) = read(&form, &hex::encode(&frame[..cut]));
                assert!(!accepted, "{form} cut at {cut}: {answer}");
            }
        }
    }
}

#[test]
fn every_profile_reads_its_frames_out_of_noise() {
    let mut rng = fastrand::Rng::with_seed(9);
    for profile in Profile::all() {
        // Only silence ends one of these, and one capture has no silence in it.
        if profile.name == "idle-15" || profile.name.contains("legacy") {
            continue;
        }
        let frame = encode(&profile.name, "999000000112233").expect("a frame");
        for _ in 0..200 {
            let before = noise(&profile.name, &mut rng);
            let bytes = [before.as_slice(), &frame, &frame].concat();
            let (answer, accepted) = read(&profile.name, &hex::encode(&bytes));
            assert!(accepted, "{}: {answer}", profile.name);
            assert_eq!(answer["number"], "999000000112233");
        }
    }
}
