//! A stretch: the same frames come out wherever it begins, and the beginning of it is of use.
#![cfg(feature = "zstd")]

mod journal;

use journal::{chain, journal, shapes};
use proptest::prelude::*;
use standsquare_sync::{Limits, begun, frames_of, lean_body, stretch_body};

proptest! {
    #[test]
    fn the_same_frames_come_out_wherever_it_begins(
        shape in shapes(), from in 1u64..1_000_000, turn in 0usize..40, cut in 0usize..5_000,
    ) {
        let frames = journal(&shape, from);
        let body = stretch_body(&frames, turn, chain);
        let mut turned = frames.clone();
        if body != lean_body(&frames, chain) {
            turned.rotate_left(turn % frames.len());
        }
        let read = frames_of(&body, Limits::default(), Some(chain));
        prop_assert_eq!(read.as_ref(), Ok(&turned));
        // Whatever has come is the beginning of it, and never part of a frame.
        let cut = cut.min(body.len());
        if let Some((numbers, some)) = begun(&body[..cut], Limits::default(), chain) {
            prop_assert_eq!(&some[..], &turned[..some.len()]);
            prop_assert_eq!(numbers.0, from);
        }
    }

    #[test]
    fn any_bytes_are_frames_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let packed = zstd::bulk::compress(&bytes, 1).expect("packed");
        for rest in [bytes, packed] {
            let body = [b"SSQF\x01\x03".as_slice(), &[0; 16], &rest].concat();
            let whole = frames_of(&body, Limits::default(), Some(chain));
            let some = begun(&body, Limits::default(), chain).map(|(_, some)| some);
            if let Ok(whole) = whole {
                prop_assert_eq!(some, Some(whole));
            }
        }
    }
}

#[test]
fn half_of_the_bytes_bring_about_half_of_the_frames() {
    let shape: Vec<_> = (0..60u8)
        .map(|n| {
            (0..6)
                .map(|m| (m % 3, vec![n ^ 0x5b, m, n, 0x77, m ^ n, 0x57, n, m]))
                .collect()
        })
        .collect();
    let frames = journal(&shape, 1);
    let last = frames.len() as u64 * 7;
    for turn in [0, 15, 30, 59] {
        let body = stretch_body(&frames, turn, chain);
        let (numbers, some) =
            begun(&body[..body.len() / 2], Limits::default(), chain).expect("a stretch");
        assert_eq!(numbers, (1, last));
        assert!((15..=40).contains(&some.len()), "{} of 60", some.len());
        assert_eq!(some[0], frames[turn]);
    }
}

#[test]
fn what_is_no_stretch_goes_as_it_did() {
    let shape = vec![vec![(0, vec![1, 2, 3])]; 12];
    let frames = journal(&shape, 1);
    // Few.
    assert_eq!(
        stretch_body(&frames[..7], 3, chain),
        lean_body(&frames[..7], chain)
    );
    // One missing in the middle.
    let mut gap = frames.clone();
    gap.remove(5);
    assert_eq!(stretch_body(&gap, 3, chain), lean_body(&gap, chain));
    // Another journal's among them.
    let mut mixed = frames;
    mixed.push(journal(&shape, 500).remove(0));
    assert_eq!(stretch_body(&mixed, 3, chain), lean_body(&mixed, chain));
    assert!(begun(&lean_body(&gap, chain), Limits::default(), chain).is_none());
}
