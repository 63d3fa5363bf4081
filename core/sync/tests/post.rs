//! Bodies: many frames to one post, with limits.

use proptest::prelude::*;
use standsquare_sync::{BodyFault, Limits, frames_of, next_post, post_body};
use std::collections::BTreeSet;

const SMALL: Limits = Limits {
    frames: 3,
    frame_bytes: 10,
    body_bytes: 40,
};

#[test]
fn the_bytes_are_these() {
    let body = post_body(&[b"ab".to_vec(), b"c".to_vec()]);
    assert_eq!(body, b"SSQF\x01\x00\x00\x00\x00\x02ab\x00\x00\x00\x01c");
}

proptest! {
    #[test]
    fn what_is_packed_is_unpacked(
        frames in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..50), 1..20),
    ) {
        prop_assert_eq!(frames_of(&post_body(&frames), Limits::default(), None), Ok(frames));
    }

    #[test]
    fn any_bytes_are_a_body_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..60)) {
        let body = [b"SSQF\x01\x00".as_slice(), &bytes].concat();
        if let Ok(frames) = frames_of(&body, Limits::default(), None) {
            prop_assert_eq!(post_body(&frames), body);
        }
    }

    #[test]
    fn a_body_that_is_cut_is_never_taken_for_the_whole(cut in 0usize..30) {
        let frames = vec![b"first".to_vec(), b"second".to_vec()];
        let body = post_body(&frames);
        let cut = cut % body.len();
        match frames_of(&body[..cut], Limits::default(), None) {
            // Cut exactly between two frames it is a shorter batch, which is harmless.
            Ok(some) => prop_assert_eq!(some, &frames[..1]),
            Err(fault) => prop_assert!(matches!(
                fault, BodyFault::CutShort(_) | BodyFault::NotABatch | BodyFault::Empty
            )),
        }
    }
}

#[test]
fn limits_hold() {
    let of = |sizes: &[usize]| {
        let frames: Vec<_> = sizes.iter().map(|n| vec![0; *n]).collect();
        frames_of(&post_body(&frames), SMALL, None)
    };
    assert!(of(&[10, 0, 1]).is_ok());
    assert_eq!(of(&[]), Err(BodyFault::Empty));
    assert_eq!(of(&[1, 1, 1, 1]), Err(BodyFault::TooMany(3)));
    assert_eq!(
        of(&[1, 11]),
        Err(BodyFault::FrameTooLarge {
            index: 2,
            bytes: 11,
            limit: 10
        })
    );
    assert_eq!(of(&[10, 10, 10]), Err(BodyFault::TooLarge(40)));
    // Claims four thousand million bytes and has two.
    let claims = b"SSQF\x01\x00\xff\xff\xff\xffab";
    assert!(matches!(
        frames_of(claims, SMALL, None),
        Err(BodyFault::FrameTooLarge { .. })
    ));
}

#[test]
fn what_is_not_a_body_says_so() {
    let body = post_body(&[b"a".to_vec()]);
    let with = |at: usize, to: u8| {
        let mut body = body.clone();
        body[at] = to;
        frames_of(&body, SMALL, None)
    };
    assert_eq!(with(0, b'x'), Err(BodyFault::NotABatch));
    assert_eq!(with(4, 0), Err(BodyFault::NotABatch));
    assert_eq!(with(4, 9), Err(BodyFault::TooNew(9)));
    assert_eq!(with(5, 9), Err(BodyFault::Encoding(9)));
    assert_eq!(frames_of(b"", SMALL, None), Err(BodyFault::NotABatch));
}

fn numbered(count: usize, bytes: usize) -> Vec<([u8; 32], Vec<u8>)> {
    (0..count)
        .map(|n| ([n as u8; 32], vec![n as u8; bytes]))
        .collect()
}

#[test]
fn the_next_post_is_the_oldest_that_is_not_acknowledged() {
    let frames = numbered(70, 3);
    let none = BTreeSet::new();
    let first = next_post(&frames, &none).expect("something to send");
    let first = frames_of(&first, Limits::default(), None).expect("a body");
    assert_eq!(first.len(), 64);
    assert_eq!(first[0], frames[0].1);
    let acknowledged = (0..64).map(|n| [n as u8; 32]).collect();
    let second = next_post(&frames, &acknowledged).expect("six are left");
    assert_eq!(
        frames_of(&second, Limits::default(), None)
            .expect("a body")
            .len(),
        6
    );
    assert_eq!(
        next_post(&frames, &(0..70).map(|n| [n as u8; 32]).collect()),
        None
    );
    assert_eq!(next_post(&[], &none), None);
}

#[test]
fn many_large_frames_still_make_a_body_that_the_office_takes() {
    let frames = numbered(10, 900_000);
    let body = next_post(&frames, &BTreeSet::new()).expect("something to send");
    assert_eq!(
        frames_of(&body, Limits::default(), None)
            .expect("within the limits")
            .len(),
        4
    );
}

#[test]
fn a_frame_that_is_too_long_holds_nothing_up() {
    let mut frames = numbered(2, 3);
    frames.insert(0, ([99; 32], vec![0; Limits::default().frame_bytes + 1]));
    let body = next_post(&frames, &BTreeSet::new()).expect("something to send");
    assert_eq!(
        frames_of(&body, Limits::default(), None)
            .expect("a body")
            .len(),
        2
    );
}
