//! How each profile cuts the stream, case by case.

use standsquare_chip::{Frame, Framer, Profile, Refusal};
use standsquare_reader::encode::{encode, forms, frame30};

const PIP: &str = "999000000112233";
const MOSS: &str = "999000000445566";

fn framer(profile: &str) -> Framer {
    Framer::new(Profile::builtin(profile).expect("a profile"))
}

/// Each frame as its number or as the reason of its refusal.
fn told(frames: Vec<Frame>) -> Vec<String> {
    let tell = |frame| match frame {
        Frame::Read(read) => read.number.to_string(),
        Frame::Refused(refused) => format!("{:?}", refused.reason),
    };
    frames.into_iter().map(tell).collect()
}

fn feed(profile: &str, bytes: &[u8]) -> Vec<String> {
    told(framer(profile).feed(bytes, 0))
}

#[test]
fn a_start_byte_in_noise_hides_no_thirty_byte_frame() {
    let frame = frame30(PIP).expect("a frame");
    for noise in [
        b"\x02".as_slice(),
        b"\x02\x02\x02",
        b"\x0296",
        b"\x02966B1",
        b"\x03\x02\xFF",
    ] {
        assert_eq!(feed("stx-etx-wl30", &[noise, &frame].concat()), [PIP]);
    }
    // Most of a frame, and then a whole one: the broken one is told of.
    for cut in 9..30 {
        let bytes = [&frame[..cut], &frame].concat();
        assert_eq!(feed("stx-etx-wl30", &bytes), ["Damaged", PIP], "{cut}");
    }
    // Frames back to back, the check byte of each a line feed.
    assert_eq!(frame[27], b'\n');
    let three = frame.repeat(3);
    assert_eq!(feed("stx-etx-wl30", &three), [PIP, PIP, PIP]);
}

/// A check byte that is itself the start or the end byte.
#[test]
fn a_check_byte_that_looks_like_start_or_end() {
    let mut rng = fastrand::Rng::with_seed(2);
    let mut seen = [0; 4];
    while seen.contains(&0) {
        let number = format!("999{:012}", rng.u64(..1 << 38));
        let frame = frame30(&number).expect("a frame");
        let Some(i) = [0x02, 0x03, 0x0A, 0x0D]
            .iter()
            .position(|b| *b == frame[27])
        else {
            continue;
        };
        seen[i] += 1;
        let twice = [frame.as_slice(), &frame].concat();
        assert_eq!(feed("stx-etx-wl30", &twice), [number.clone(), number]);
    }
}

#[test]
fn a_wrong_check_is_told_and_the_next_frame_is_read() {
    let good = frame30(PIP).expect("a frame");
    let mut wrong = good.clone();
    wrong[5] ^= 1;
    let bytes = [wrong.as_slice(), &good].concat();
    assert_eq!(feed("stx-etx-wl30", &bytes), ["CheckFailed", PIP]);
}

#[test]
fn lines_begin_anew_at_noise_and_keep_printable_text() {
    assert_eq!(feed("line-15", b"\x00\xFF999000000112233\r\n"), [PIP]);
    assert_eq!(feed("line-15", b"~999000000112233\r\n"), ["NotANumber"]);
    assert_eq!(
        feed("line-15", b"7999000000112233\r\n"),
        ["WrongLength { digits: 16 }"]
    );
    // Noise inside a number: neither half is one, and the first is told of.
    assert_eq!(
        feed("line-15", b"99900000\x8000112233\r\n"),
        ["Damaged", "WrongLength { digits: 8 }"]
    );
    assert_eq!(
        feed("line-15", b"READY\r\nBATT 83%\r\n\r\n"),
        [] as [&str; 0]
    );
}

#[test]
fn a_line_needs_its_whole_end() {
    assert_eq!(feed("line-15", b"999000000112233\r"), [] as [&str; 0]);
    assert_eq!(feed("line-15", b"999000000112233\n"), ["Damaged"]);
    assert_eq!(feed("line-15", b"999000000112233\r\r\n"), ["Damaged"]);
    assert_eq!(feed("line-15-cr", b"999000000112233\r\n"), [PIP]);
    assert_eq!(feed("line-15-lf", b"999000000112233\n"), [PIP]);
    let mut cut = framer("line-15");
    cut.feed(b"999000000112233\r", 0);
    let lost = cut.link_lost().expect("a frame cut short");
    assert_eq!(
        (lost.reason, lost.raw.as_slice()),
        (Refusal::Truncated, PIP.as_bytes())
    );
}

#[test]
fn delimited_text_needs_start_suffix_and_end() {
    assert_eq!(
        feed("stx-etx-hex14", b"\x02009C1486C6F81F\r\n\x03"),
        ["156088160532511"]
    );
    assert_eq!(
        feed("stx-etx-hex14", b"\x02009C1486C6F81F\x03"),
        ["Damaged"]
    );
    assert_eq!(
        feed("stx-etx-hex14", b"009C1486C6F81F\r\n\x03"),
        [] as [&str; 0]
    );
    assert_eq!(
        feed("stx-etx-hex14", b"\x02009C1486\x02009C1486C6F81F\r\n\x03"),
        ["Damaged", "156088160532511"]
    );
}

#[test]
fn silence_ends_a_frame_and_only_one_number_may_be_in_it() {
    let after_silence = |pieces: &[&str]| {
        let mut framer = framer("idle-15");
        let mut frames = Vec::new();
        for piece in pieces {
            frames.extend(framer.feed(piece.as_bytes(), 0));
        }
        assert_eq!(frames, [], "nothing before the silence");
        assert_eq!(framer.tick(299), []);
        told(framer.tick(300))
    };
    assert_eq!(after_silence(&["999000", "000112233"]), [PIP]);
    assert_eq!(after_silence(&[PIP, "\r\n", PIP, "\r\n"]), [PIP]);
    assert_eq!(after_silence(&[PIP, "\r\n", MOSS]), ["TwoNumbers"]);
    assert_eq!(after_silence(&[PIP, "\r\n", "battery 83"]), ["NotANumber"]);
    assert_eq!(after_silence(&["\x01\x02"]), [] as [&str; 0]);
    // Silence may be noticed only when the next bytes come.
    let mut late = framer("idle-15");
    late.feed(PIP.as_bytes(), 0);
    assert_eq!(told(late.feed(MOSS.as_bytes(), 5_000)), [PIP]);
    // The link drops first: the number may have had more to it.
    let lost = late.link_lost().expect("a frame not ended");
    assert_eq!(lost.reason, Refusal::Truncated);
}

#[test]
fn a_frame_that_stops_for_two_seconds_is_dropped() {
    for (pause, expected) in [(2_000, vec![PIP]), (2_001, vec!["Truncated"])] {
        let mut framer = framer("line-15");
        assert_eq!(framer.feed(b"99900000", 0), []);
        let got = told(framer.feed(b"0112233\r\n", pause));
        assert_eq!(got, expected, "after {pause} ms");
    }
}

#[test]
fn the_keyboard_wedge_reads_keys_in_utf_8() {
    assert_eq!(feed("wedge-15", b"999000000112233\r"), [PIP]);
    assert_eq!(feed("wedge-15", b"999000000112233\t"), [PIP]);
    assert_eq!(
        feed("wedge-15", "ççç&é\"'(-è_çà&é\r".as_bytes()),
        ["KeyboardLayout"]
    );
    // A leading zero that got lost on the way is damage.
    assert_eq!(
        feed("wedge-15", b"36000000112233\r"),
        ["WrongLength { digits: 14 }"]
    );
    assert_eq!(feed("wedge-15", b"036000000112233\r"), ["036000000112233"]);
}

#[test]
fn what_never_ends_is_too_long_once_and_bounded() {
    for profile in Profile::all() {
        let mut framer = Framer::new(profile.clone());
        let mut frames = framer.feed(&[b"\x02".as_slice(), &[b'7'; 100_000]].concat(), 0);
        assert!(framer.held() <= 128, "{}", profile.name);
        frames.extend(framer.feed(b"\r\n\x03", 0));
        frames.extend(framer.tick(1_000));
        let told = told(frames);
        assert!(told.len() <= 1, "{}: {told:?}", profile.name);
        // And the next whole frame is read.
        if profile.form.name().starts_with("decimal") {
            let frame = encode(&profile.name, PIP).expect("a frame");
            let mut frames = framer.feed(&frame, 2_000);
            frames.extend(framer.tick(3_000));
            assert_eq!(self::told(frames), [PIP], "{}", profile.name);
        }
    }
}

/// Each profile on every other form's frames: no number, or the right one.
#[test]
fn a_wrong_profile_gives_no_wrong_number_from_whole_frames() {
    let mut rng = fastrand::Rng::with_seed(77);
    for form in forms() {
        for _ in 0..50 {
            let number = match form.as_str() {
                f if f.contains("legacy-9") => format!("{:09}", rng.u32(..1_000_000_000)),
                f if f.contains("legacy-10") => format!("{:09X}1", rng.u64(..1 << 36)),
                _ => format!("{:03}{:012}", rng.u16(1..1000), rng.u64(..1 << 38)),
            };
            let frame = encode(&form, &number).expect("a frame");
            for profile in Profile::all() {
                let mut framer = Framer::new(profile.clone());
                let mut frames = framer.feed(&frame, 0);
                frames.extend(framer.tick(1_000));
                for frame in frames {
                    if let Frame::Read(read) = frame {
                        assert_eq!(
                            read.number.to_string(),
                            number,
                            "{form} by {}",
                            profile.name
                        );
                    }
                }
            }
        }
    }
}
