//! Lean posts: the very same frames come out, whatever they are made of.
#![cfg(feature = "zstd")]

mod journal;

use journal::{chain, journal, shapes};
use proptest::prelude::*;
use standsquare_sync::{BodyFault, Frame, Limits, compressed_body, frames_of, lean_body};

proptest! {
    #[test]
    fn what_is_thinned_is_filled(shape in shapes(), from in 1u64..1_000_000, cut in 0usize..12) {
        let mut frames = journal(&shape, from);
        // One that is missing in the middle ends a run.
        if cut < frames.len() && frames.len() > 1 {
            frames.remove(cut);
        }
        let body = lean_body(&frames, chain);
        prop_assert!(body.len() <= compressed_body(&frames).len());
        prop_assert_eq!(frames_of(&body, Limits::default(), Some(chain)), Ok(frames));
    }

    #[test]
    fn any_frames_come_out_the_same(
        frames in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..90), 1..5),
    ) {
        let body = lean_body(&frames, chain);
        prop_assert_eq!(frames_of(&body, Limits::default(), Some(chain)), Ok(frames));
    }

    #[test]
    fn any_bytes_are_frames_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let packed = zstd::bulk::compress(&bytes, 1).expect("packed");
        let body = [b"SSQF\x01\x02".as_slice(), &packed].concat();
        let _ = frames_of(&body, Limits::default(), Some(chain));
    }

    #[test]
    fn a_damaged_one_is_refused_or_other_frames(shape in shapes(), at in 0usize..400, bit in 0u8..8) {
        let frames = journal(&shape, 1);
        let body = lean_body(&frames, chain);
        prop_assume!(body[5] == 2);
        let mut thin = zstd::bulk::decompress(&body[6..], 1 << 20).expect("unpacked");
        let at = at % thin.len();
        thin[at] ^= 1 << bit;
        let packed = zstd::bulk::compress(&thin, 1).expect("packed");
        let body = [b"SSQF\x01\x02".as_slice(), &packed].concat();
        // Frames of another content have other ids: nobody takes them for these.
        if let Ok(out) = frames_of(&body, Limits::default(), Some(chain)) {
            prop_assert!(out.len() <= Limits::default().frames);
        }
    }
}

/// Two frames of a routine length, whose second holds heads.
fn two() -> Vec<Vec<u8>> {
    let event = (0, vec![0x11; 40]);
    journal(&[vec![event.clone(); 6], vec![event; 6]], 1)
}

#[test]
fn heads_of_the_second_frame_are_not_sent() {
    let frames = two();
    let body = lean_body(&frames, chain);
    assert_eq!(body[5], 2, "it is a lean one");
    let thin = zstd::bulk::decompress(&body[6..], 1 << 20).expect("unpacked");
    let second = Frame::decode_strict(&frames[1]).expect("a frame");
    for event in &second.events {
        let head = event
            .windows(34)
            .find_map(|w| w.strip_prefix(&[0x58, 0x20]))
            .expect("a head");
        assert!(!thin.windows(32).any(|w| w == head));
    }
}

#[test]
fn an_office_that_does_not_know_it_says_so() {
    let body = lean_body(&two(), chain);
    assert_eq!(
        frames_of(&body, Limits::default(), None),
        Err(BodyFault::Encoding(2))
    );
}

#[test]
fn limits_hold_for_what_comes_out() {
    let frames = two();
    let body = lean_body(&frames, chain);
    let with = |frames, frame_bytes, body_bytes| Limits {
        frames,
        frame_bytes,
        body_bytes,
    };
    let refused = |limits| frames_of(&body, limits, Some(chain)).expect_err("too much");
    assert_eq!(refused(with(1, 1 << 20, 1 << 20)), BodyFault::TooMany(1));
    let longest = frames[0].len();
    assert_eq!(
        refused(with(64, longest - 1, 1 << 20)),
        BodyFault::FrameTooLarge {
            index: 1,
            bytes: longest,
            limit: longest - 1,
        }
    );
    // Enough for what is packed, not for what comes out of it: many holes, each 32 bytes.
    let holes = [
        &[0x82, 0x40, 0x99, 0x80, 0x00][..],
        &[0x82, 0x00, 0x40].repeat(0x8000),
    ]
    .concat();
    let seal = [&[0x58, 36, 0x58, 0x20][..], &[9; 32], &[0x41, 0]].concat();
    let first = [&[0x81, 0x82][..], &seal, &[0x80]].concat();
    let thin = [
        &[0x81, 0x84, 0x58, 32][..],
        &[1; 32],
        &[0x50],
        &[2; 16],
        &[1, 0x82],
        &first,
        &[0x81],
        &holes,
    ]
    .concat();
    let packed = zstd::bulk::compress(&thin, 1).expect("packed");
    assert!(packed.len() < 400);
    let bomb = [b"SSQF\x01\x02".as_slice(), &packed].concat();
    assert_eq!(
        frames_of(&bomb, Limits::default(), Some(chain)),
        Err(BodyFault::Damaged),
        "an event of a megabyte is none"
    );
}
