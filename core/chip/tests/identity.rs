//! When a number counts: bounce, second read, confirmation, two numbers.

use standsquare_chip::{
    BOUNCE_MS, ChipNumber, Frame, Framer, Ground, Identity, NotYet, Profile, ReadLog, ReadOutcome,
};
use standsquare_reader::encode::encode;

const PIP: &str = "999000000112233";
const MOSS: &str = "999000000112234";

fn number(text: &str) -> ChipNumber {
    text.parse().expect("a number")
}

/// One whole frame of this profile as its framer gives it.
fn frame(profile: &str, text: &str, at_ms: i64) -> Frame {
    let mut framer = Framer::new(Profile::builtin(profile).expect("a profile"));
    let bytes = encode(profile, text).expect("a frame");
    let mut frames = framer.feed(&bytes, at_ms);
    assert_eq!(frames.len(), 1);
    frames.remove(0)
}

fn line(text: &str, at_ms: i64) -> Frame {
    frame("line-15", text, at_ms)
}

#[test]
fn a_number_with_a_check_counts_at_once() {
    let mut log = ReadLog::new();
    assert_eq!(log.identity(), Identity::Nothing);
    let now = log.take(frame("stx-etx-wl30", PIP, 0));
    assert_eq!(
        now,
        Identity::Known {
            number: number(PIP),
            ground: Ground::Checksum
        }
    );
}

#[test]
fn a_bounce_is_one_read_with_a_count() {
    let mut log = ReadLog::new();
    for at_ms in [0, 40, 80, BOUNCE_MS] {
        let now = log.take(line(PIP, at_ms));
        assert_eq!(
            now,
            Identity::NeedsSecondRead {
                number: number(PIP)
            },
            "at {at_ms}"
        );
    }
    let heard = &log.heard()[0];
    assert_eq!((heard.separate, heard.frames, heard.reads.len()), (1, 4, 1));
    assert_eq!(log.outcome(), None);
}

#[test]
fn a_second_separate_equal_read_makes_it_count() {
    let mut log = ReadLog::new();
    log.take(line(PIP, 0));
    let now = log.take(line(PIP, BOUNCE_MS + 1));
    assert_eq!(
        now,
        Identity::Known {
            number: number(PIP),
            ground: Ground::SecondRead
        }
    );
    // The raw bytes of both are kept.
    assert_eq!(log.heard()[0].reads.len(), 2);
}

/// A phone's clock may be set back between two frames: that is no second read.
#[test]
fn a_clock_set_back_a_little_makes_no_second_read() {
    let mut log = ReadLog::new();
    log.take(line(PIP, 10_000));
    let now = log.take(line(PIP, 9_900));
    assert!(matches!(now, Identity::NeedsSecondRead { .. }));
}

#[test]
fn a_persons_confirmation_makes_it_count() {
    let mut log = ReadLog::new();
    log.take(line(PIP, 0));
    assert!(!log.confirm(&number(MOSS)), "never heard");
    assert!(log.confirm(&number(PIP)));
    assert_eq!(
        log.identity(),
        Identity::Known {
            number: number(PIP),
            ground: Ground::Confirmed
        }
    );
}

#[test]
fn two_different_numbers_are_both_kept_and_asked_about() {
    let mut log = ReadLog::new();
    log.take(frame("stx-etx-wl30", PIP, 0));
    // The later one, checked or not, replaces nothing.
    for (later, at_ms) in [(line(MOSS, 10), 10), (line(MOSS, 5_000), 5_000)] {
        let now = log.take(later);
        let numbers = vec![number(PIP), number(MOSS)];
        assert_eq!(now, Identity::TwoNumbers { numbers }, "at {at_ms}");
    }
    let numbers = vec![number(PIP), number(MOSS)];
    assert_eq!(log.outcome(), Some(ReadOutcome::TwoChips { numbers }));
    // A person says that one was another dog's: it stays on record.
    assert!(log.set_aside(&number(MOSS), true));
    assert!(matches!(log.identity(), Identity::Known { .. }));
    assert_eq!(log.heard().len(), 2);
    log.take(line(MOSS, 9_000));
    assert!(matches!(log.identity(), Identity::Known { .. }));
    assert!(log.set_aside(&number(MOSS), false));
    assert!(matches!(log.identity(), Identity::TwoNumbers { .. }));
}

#[test]
fn a_typed_number_counts_as_typed_and_a_read_as_more() {
    let mut log = ReadLog::new();
    assert!(log.typed("99900000011223", 0).is_err(), "14 digits");
    assert_eq!(log.identity(), Identity::Nothing);
    log.typed("999 000 000 112 233", 0).expect("15 digits");
    let ground = |log: &ReadLog| match log.identity() {
        Identity::Known { ground, .. } => ground,
        other => panic!("{other:?}"),
    };
    assert_eq!(ground(&log), Ground::Typed);
    log.take(frame("stx-etx-wl30", PIP, 50));
    assert_eq!(ground(&log), Ground::Checksum);
    // Another typed than read: both kept.
    log.typed(MOSS, 60).expect("15 digits");
    assert!(matches!(log.identity(), Identity::TwoNumbers { .. }));
}

#[test]
fn one_pass_is_not_enough_to_say_that_there_is_no_chip() {
    let mut log = ReadLog::new();
    assert_eq!(log.give_up(), Err(NotYet::ScanAgain { done: 0, wanted: 2 }));
    log.pass_done();
    assert_eq!(log.give_up(), Err(NotYet::ScanAgain { done: 1, wanted: 2 }));
    log.pass_done();
    assert_eq!(log.give_up(), Ok(ReadOutcome::NoneFound { passes: 2 }));
    // Half a number: something is there.
    let mut framer = Framer::new(Profile::builtin("line-15").expect("a profile"));
    framer.feed(b"9990000001", 0);
    log.take(Frame::Refused(framer.link_lost().expect("half a number")));
    assert_eq!(log.give_up(), Ok(ReadOutcome::Unreadable));
    log.take(line(PIP, 0));
    assert_eq!(log.give_up(), Err(NotYet::NumberHeard));
}

#[test]
fn a_stuck_reader_fills_no_memory() {
    let mut log = ReadLog::new();
    for i in 0..5_000i64 {
        log.take(line(PIP, i * 2 * BOUNCE_MS));
        log.take(line(&format!("999{i:012}"), i));
        let mut framer = Framer::new(Profile::builtin("line-15").expect("a profile"));
        framer.feed(b"9990000001", i);
        log.take(Frame::Refused(framer.link_lost().expect("half a number")));
    }
    assert!(log.heard().len() <= 16);
    assert!(log.heard().iter().all(|h| h.reads.len() <= 8));
    assert_eq!(log.refused().len(), 32);
    assert_eq!(log.heard()[0].separate, 5_000);
    assert!(log.dropped() > 0);
}

#[test]
fn the_log_survives_being_written_down() {
    let mut log = ReadLog::new();
    log.take(frame("stx-etx-wl30", PIP, 0));
    log.take(line(MOSS, 10));
    log.typed("123456789", 20).expect("an older number");
    log.pass_done();
    let json = serde_json::to_string(&log).expect("JSON");
    assert_eq!(serde_json::from_str::<ReadLog>(&json).expect("JSON"), log);
}
