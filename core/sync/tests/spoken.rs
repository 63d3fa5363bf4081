//! Words beside the frames: read back as written, never taken for a frame, hostile bytes refused.

use standsquare_sync::{
    Frame, Limits, MOST_SPOKEN_BYTES, Spoken, SpokenFault, frames_of, post_body,
};

fn said(words: &str) -> Spoken {
    Spoken {
        device_key: [1; 32],
        journal: [2; 16],
        id: [3; 16],
        salt: [4; 32],
        words: words.to_owned(),
    }
}

#[test]
fn what_is_written_is_read_back_and_is_no_frame() {
    for words in ["", "The dog was tense.", "Füße – „so“"] {
        let bytes = said(words).encode();
        assert!(Spoken::is_one(&bytes));
        assert_eq!(Spoken::decode_strict(&bytes), Ok(said(words)));
        assert!(Frame::decode_strict(&bytes).is_err());
    }
    let frame = Frame {
        device_key: [1; 32],
        journal: [2; 16],
        from_seq: 1,
        events: vec![vec![1]],
    };
    assert!(!Spoken::is_one(&frame.encode()));
}

#[test]
fn they_travel_in_a_post_among_frames_however_it_is_packed() {
    let posted = vec![vec![0x85, 1, 2], said("He stood on three legs.").encode()];
    let plain = post_body(&posted);
    assert_eq!(
        frames_of(&plain, Limits::default(), None),
        Ok(posted.clone())
    );
    #[cfg(feature = "zstd")]
    {
        let packed = standsquare_sync::compressed_body(&posted);
        assert_eq!(frames_of(&packed, Limits::default(), None), Ok(posted));
    }
}

#[test]
fn hostile_bytes_are_refused() {
    let good = said("no").encode();
    for cut in 0..good.len() - 2 {
        assert!(Spoken::decode_strict(&good[..cut]).is_err(), "{cut}");
    }
    let mut newer = good.clone();
    newer[4] = 2;
    assert_eq!(Spoken::decode_strict(&newer), Err(SpokenFault::TooNew(2)));
    newer[4] = 0;
    assert_eq!(Spoken::decode_strict(&newer), Err(SpokenFault::Unreadable));
    let mut not_text = good;
    not_text.push(0xff);
    assert_eq!(
        Spoken::decode_strict(&not_text),
        Err(SpokenFault::Unreadable)
    );
    let long = said(&"x".repeat(MOST_SPOKEN_BYTES + 1)).encode();
    assert_eq!(Spoken::decode_strict(&long), Err(SpokenFault::TooLong));
}
