//! Fuzzers on every framer, every form and both telegram decoders: no panic, no
//! growing memory, the same frames however the bytes are cut, and nothing
//! accepted that is not what its raw bytes say.
//!
//! `cargo test` runs each from random seeds, 20,000 times or as often as
//! `BOLERO_RANDOM_ITERATIONS` says; `cargo bolero test -p standsquare-chip NAME`
//! runs one guided by coverage.

use bolero::{TypeGenerator, check};
use standsquare_chip::telegram::{FdxB, Hdx};
use standsquare_chip::{
    Checksum, Form, Frame, Framer, Framing, Pairing, Profile, ReadLog, ReadOutcome, cli, compare,
    parse_printed,
};
use standsquare_reader::encode::encode;
use standsquare_reader::telegram;

const TIMES: usize = 20_000;
/// The longest frame that any profile keeps, start and end included.
const LONGEST: usize = 130;

/// What happens to a framer.
#[derive(Debug, TypeGenerator)]
enum Event {
    /// Any bytes.
    Bytes(Vec<u8>),
    /// A whole frame of the framer's own profile.
    Good(u64),
    /// One with a byte changed, and cut.
    Bad {
        number: u64,
        at: u8,
        xor: u8,
        length: u8,
    },
    /// Time passes, milliseconds; clocks jump back too.
    Time(i16),
    /// The link drops.
    Lost,
}

fn number(profile: &Profile, raw: u64) -> String {
    match profile.form {
        Form::Legacy9 => format!("{:09}", raw % 1_000_000_000),
        Form::Legacy10 => format!("{:010X}", raw & 0xFF_FFFF_FFF0),
        _ => format!("{:03}{:012}", raw % 999 + 1, (raw >> 10) & ((1 << 38) - 1)),
    }
}

fn bytes_of(profile: &Profile, event: &Event) -> Vec<u8> {
    match event {
        Event::Bytes(bytes) => bytes.clone(),
        Event::Good(n) => encode(&profile.name, &number(profile, *n)).expect("a frame"),
        Event::Bad {
            number: n,
            at,
            xor,
            length,
        } => {
            let mut frame = encode(&profile.name, &number(profile, *n)).expect("a frame");
            let (at, length) = (*at as usize % frame.len(), *length as usize % frame.len());
            frame[at] ^= xor;
            frame.truncate(length + 1);
            frame
        }
        Event::Time(_) | Event::Lost => Vec::new(),
    }
}

/// What a read claims is what its raw bytes say when read again by themselves.
fn sound(profile: &Profile, frame: &Frame) {
    match frame {
        Frame::Refused(refused) => assert!(refused.raw.len() <= LONGEST),
        Frame::Read(read) => {
            assert!(read.raw.len() <= LONGEST);
            let mut again = Framer::new(profile.clone());
            let mut frames = again.feed(&read.raw, 0);
            match &profile.framing {
                Framing::IdleGap { gap_ms } => frames.extend(again.tick(i64::from(*gap_ms))),
                // The raw line holds the last byte of its end only.
                Framing::Line { end } if end.len() > 1 => {
                    let text = &read.raw[..read.raw.len() - 1];
                    frames = again.feed(&[b"\0", text, end].concat(), 0);
                }
                _ => {}
            }
            let numbers: Vec<_> = frames
                .iter()
                .filter_map(|f| match f {
                    Frame::Read(r) => Some(&r.number),
                    Frame::Refused(_) => None,
                })
                .collect();
            assert_eq!(numbers, [&read.number]);
            assert_eq!(
                read.form == Form::Frame30,
                read.checksum == Checksum::Verified
            );
        }
    }
}

#[test]
fn fuzz_framers() {
    let profiles = Profile::all();
    check!()
        .with_iterations(TIMES)
        .with_type::<(u8, Vec<Event>)>()
        .for_each(|(which, events)| {
            let profile = &profiles[*which as usize % profiles.len()];
            let mut whole = Framer::new(profile.clone());
            let mut bytewise = Framer::new(profile.clone());
            let mut log = ReadLog::new();
            let mut at_ms = 0i64;
            for event in events {
                let (one, other) = match event {
                    Event::Time(ms) => {
                        at_ms += i64::from(*ms);
                        (whole.tick(at_ms), bytewise.tick(at_ms))
                    }
                    Event::Lost => {
                        let lost = |f: &mut Framer| {
                            let refused = f.link_lost();
                            assert_eq!(f.held(), 0);
                            refused.map(Frame::Refused).into_iter().collect()
                        };
                        (lost(&mut whole), lost(&mut bytewise))
                    }
                    _ => {
                        let bytes = bytes_of(profile, event);
                        let one: Vec<Frame> = whole.feed(&bytes, at_ms);
                        let mut other: Vec<Frame> = bytewise.feed(&[], at_ms);
                        for byte in bytes {
                            other.extend(bytewise.feed(&[byte], at_ms));
                        }
                        (one, other)
                    }
                };
                assert_eq!(one, other, "cut differently, read differently");
                assert!(whole.held() <= 128);
                for frame in one {
                    sound(profile, &frame);
                    log.take(frame);
                }
            }
            assert!(log.heard().len() <= 16);
        });
}

#[test]
fn fuzz_pairing() {
    check!()
        .with_iterations(TIMES / 20)
        .with_type::<Vec<(u8, Event)>>()
        .for_each(|events| {
            let profiles = Profile::all();
            let mut pairing = Pairing::default();
            for (i, (which, event)) in events.iter().enumerate() {
                let profile = &profiles[*which as usize % profiles.len()];
                let at_ms = i as i64 * 400;
                match event {
                    Event::Lost => pairing.link_lost(),
                    Event::Time(_) => pairing.tick(at_ms),
                    _ => pairing.feed(&bytes_of(profile, event), at_ms),
                }
                let _ = pairing.proposal(None);
            }
        });
}

#[test]
fn fuzz_forms_and_printed_numbers() {
    check!().with_iterations(TIMES).for_each(|bytes: &[u8]| {
        for form in Form::ALL {
            if let Ok(parsed) = form.parse(bytes) {
                let text = parsed.number.to_string();
                assert_eq!(text.parse(), Ok(parsed.number));
            }
        }
        let text = String::from_utf8_lossy(bytes);
        if let Ok(printed) = parse_printed(&text) {
            let got = ReadOutcome::Number {
                number: printed.number,
            };
            let _ = compare(&text, &got);
        }
        let _ = cli::chip_read("auto", &hex::encode(bytes));
        let _ = cli::chip_read("auto", &text);
    });
}

#[test]
fn fuzz_telegram_decoders() {
    check!()
        .with_iterations(TIMES)
        .with_type::<(u64, u32, Vec<u8>, Vec<u8>)>()
        .for_each(|(word, trailer, flips, any)| {
            let trailer = trailer & 0xFF_FFFF;
            let mut air = telegram::fdxb(*word, trailer);
            let mut hdx = telegram::hdx(*word, trailer);
            for flip in flips {
                let at = *flip as usize;
                air[at % 128] ^= true;
                hdx[at % 112] ^= true;
            }
            // Whatever is accepted is exactly what the other program would send.
            if let Ok(got) = FdxB::from_air_bits(&air) {
                assert_eq!(telegram::fdxb(got.code.0, got.trailer), air);
            }
            if let Ok(got) = Hdx::from_air_bits(&hdx) {
                assert_eq!(telegram::hdx(got.code.0, got.trailer), hdx);
            }
            if flips.is_empty() {
                assert!(FdxB::from_air_bits(&air).is_ok() && Hdx::from_air_bits(&hdx).is_ok());
            }
            for form in [Form::FdxB, Form::Hdx, Form::IdCrc, Form::Frame30] {
                let _ = form.parse(any);
            }
        });
}
