//! Smoke: one frame of the two best-known profiles.
use standsquare_chip::*;

#[test]
fn thirty_bytes_with_a_line_feed_inside() {
    let raw = hex::decode("0239363642313030303030374533303031303030303030303030300af503").unwrap();
    let mut framer = Framer::new(Profile::builtin("stx-etx-wl30").unwrap());
    let mut frames = Vec::new();
    for b in &raw {
        frames.extend(framer.feed(&[*b], 5));
    }
    let [Frame::Read(read)] = &frames[..] else {
        panic!("{frames:?}")
    };
    assert_eq!(read.number.to_string(), "999000000112233");
    assert_eq!(read.checksum, Checksum::Verified);
    assert_eq!(read.raw, raw);
}

#[test]
fn a_line() {
    let mut framer = Framer::new(Profile::builtin("line-15").unwrap());
    assert!(framer.feed(b"\x80\x01999000000112233", 5).is_empty());
    let frames = framer.feed(b"\r\n", 6);
    assert_eq!(frames.len(), 1);
    let mut log = ReadLog::new();
    let Identity::NeedsSecondRead { number } = log.take(frames[0].clone()) else {
        panic!()
    };
    assert_eq!(number.to_string(), "999000000112233");
    let again = framer.feed(b"999 000 000 112 233\r\n", 2_006);
    assert!(matches!(
        log.take(again[0].clone()),
        Identity::Known {
            ground: Ground::SecondRead,
            ..
        }
    ));
}
