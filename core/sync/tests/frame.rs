//! Frames: one form only, and nothing but what was written comes out.

use proptest::prelude::*;
use standsquare_sync::{Frame, FrameFault, MAX_EVENT_BYTES, frame_id};

fn frame(events: Vec<Vec<u8>>) -> Frame {
    Frame {
        device_key: [1; 32],
        journal: [2; 16],
        from_seq: 7,
        events,
    }
}

#[test]
fn the_bytes_are_these() {
    // Worked out by hand from RFC 8949 §3: array of 5; 1; 32 bytes; 16 bytes; 7; array of 2 strings.
    let expected = format!(
        "85015820{}50{}0782426869{}",
        "01".repeat(32),
        "02".repeat(16),
        "40"
    );
    let bytes = frame(vec![b"hi".to_vec(), vec![]]).encode();
    assert_eq!(hex::encode(&bytes), expected);
}

#[test]
fn an_id_is_the_hash_of_domain_and_bytes() {
    // printf 'standsquare frame 1\0abc' | sha256sum
    let expected = "6b955905a73d29022569208fd71f9531712b847920593f9c343517df099d46d2";
    assert_eq!(hex::encode(frame_id(b"abc")), expected);
}

proptest! {
    #[test]
    fn what_is_written_is_read(
        key: [u8; 32], journal: [u8; 16], from_seq in 1..u64::MAX / 4,
        events in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..40), 1..9),
    ) {
        let frame = Frame { device_key: key, journal, from_seq, events };
        prop_assert_eq!(Frame::decode_strict(&frame.encode()), Ok(frame));
    }

    #[test]
    fn any_bytes_are_read_as_written_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        if let Ok(frame) = Frame::decode_strict(&bytes) {
            prop_assert_eq!(frame.encode(), bytes);
        }
    }

    #[test]
    fn a_changed_frame_is_refused_or_is_another_frame(at in 0usize..64, to: u8) {
        let bytes = frame(vec![b"hi".to_vec()]).encode();
        let mut changed = bytes.clone();
        let at = at % changed.len();
        changed[at] = to;
        if let Ok(other) = Frame::decode_strict(&changed) {
            prop_assert_eq!(other.encode(), changed.clone());
            prop_assert_eq!(changed == bytes, frame_id(&changed) == frame_id(&bytes));
        }
    }
}

#[test]
fn another_form_of_the_same_content_is_refused() {
    let bytes = frame(vec![b"hi".to_vec()]).encode();
    let tail = bytes.len() - 4;
    assert_eq!(&bytes[tail..], [0x81, 0x42, b'h', b'i']);
    // An indefinite list of events (RFC 8949 §3.2.2).
    let indefinite = [&bytes[..tail], &[0x9f, 0x42, b'h', b'i', 0xff]].concat();
    // A length in more bytes than needed (§4.2.1 forbids it).
    let long = [&bytes[..tail], &[0x81, 0x58, 2, b'h', b'i']].concat();
    let spare = [&bytes[..], &[0]].concat();
    for other in [indefinite, long, spare] {
        assert_eq!(
            Frame::decode_strict(&other),
            Err(FrameFault::NotDeterministic)
        );
    }
}

#[test]
fn what_no_journal_has_is_refused() {
    assert_eq!(
        Frame::decode_strict(&frame(vec![]).encode()),
        Err(FrameFault::Empty)
    );
    let mut zero = frame(vec![vec![1]]);
    zero.from_seq = 0;
    assert!(matches!(
        Frame::decode_strict(&zero.encode()),
        Err(FrameFault::Numbers { .. })
    ));
    zero.from_seq = u64::MAX;
    assert!(matches!(
        Frame::decode_strict(&zero.encode()),
        Err(FrameFault::Numbers { .. })
    ));
    let long = frame(vec![vec![0; MAX_EVENT_BYTES + 1]]);
    assert_eq!(
        Frame::decode_strict(&long.encode()),
        Err(FrameFault::TooLarge)
    );
    assert!(matches!(
        Frame::decode_strict(b""),
        Err(FrameFault::Unreadable(_))
    ));
    // A list that claims four thousand million events and has none.
    let mut claims = frame(vec![]).encode();
    claims.pop();
    claims.extend([0x9a, 0xff, 0xff, 0xff, 0xff]);
    assert!(matches!(
        Frame::decode_strict(&claims),
        Err(FrameFault::Unreadable(_))
    ));
}

#[test]
fn a_newer_frame_is_called_newer() {
    let mut newer = frame(vec![vec![1]]).encode();
    newer[1] = 2;
    assert_eq!(Frame::decode_strict(&newer), Err(FrameFault::TooNew(2)));
    newer[1] = 0;
    assert!(matches!(
        Frame::decode_strict(&newer),
        Err(FrameFault::Unreadable(_))
    ));
}
