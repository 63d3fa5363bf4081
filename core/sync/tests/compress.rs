//! Compressed posts: the same frames come out, and no bomb goes off.
#![cfg(feature = "zstd")]

use std::io::Read;

use proptest::prelude::*;
use standsquare_sync::{BodyFault, Limits, compressed_body, frames_of, post_body};

proptest! {
    #[test]
    fn what_is_packed_is_unpacked(
        frames in prop::collection::vec(prop::collection::vec(0u8..6, 0..400), 1..20),
    ) {
        let body = compressed_body(&frames);
        prop_assert!(body.len() <= post_body(&frames).len());
        prop_assert_eq!(frames_of(&body, Limits::default(), None), Ok(frames));
    }

    #[test]
    fn any_bytes_are_frames_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let body = [b"SSQF\x01\x01".as_slice(), &bytes].concat();
        let _ = frames_of(&body, Limits::default(), None);
    }
}

#[test]
fn a_bomb_is_cut_off_at_the_limit() {
    let limits = Limits {
        frames: 64,
        frame_bytes: 1 << 20,
        body_bytes: 1 << 20,
    };
    // 256 MiB of zeros: a bomb.
    let packed = zstd::stream::encode_all(std::io::repeat(0).take(1 << 28), 3).expect("packed");
    assert!(packed.len() < 50_000, "{}", packed.len());
    let body = [b"SSQF\x01\x01".as_slice(), &packed].concat();
    assert_eq!(
        frames_of(&body, limits, None),
        Err(BodyFault::TooLarge(1 << 20))
    );
}

#[test]
fn a_window_beyond_what_everybody_grants_is_refused() {
    let mut encoder = zstd::stream::Encoder::new(Vec::new(), 3).expect("an encoder");
    encoder.window_log(27).expect("a large window");
    std::io::copy(&mut std::io::repeat(0).take(1 << 24), &mut encoder).expect("packed");
    let packed = encoder.finish().expect("packed");
    let body = [b"SSQF\x01\x01".as_slice(), &packed].concat();
    assert_eq!(
        frames_of(&body, Limits::default(), None),
        Err(BodyFault::Damaged)
    );
}

#[test]
fn cut_short_it_is_refused() {
    let body = compressed_body(&[vec![7; 300], vec![8; 300]]);
    assert_eq!(body[5], 1, "it is compressed");
    for end in 6..body.len() {
        assert!(
            frames_of(&body[..end], Limits::default(), None).is_err(),
            "cut at {end}"
        );
    }
}
