//! A text as a QR code (ISO/IEC 18004): the modules as data, so that every phone and every
//! sheet draws the same.

use qrcodegen::{QrCode, QrCodeEcc, QrSegment, Version};

use standsquare_journal::record::pieces;

use crate::view::QrMatrix;

/// The largest code that a phone's camera reads off glass or paper without care: version 15,
/// 77 modules a side. Issue 6's limit, no source.
const LARGEST: u8 = 15;

/// The largest of the codes that are shown on a phone's glass for another phone's camera, in
/// the sun and in turn: version 10, 57 modules a side, so that on a narrow phone a module is
/// 0.7 mm wide. Own choice, no source.
const LARGEST_IN_TURN: u8 = 10;

/// Characters of a text that version 10 takes at level M (ISO/IEC 18004, table 7:
/// alphanumeric).
const LONGEST_IN_TURN: usize = 311;

/// Bytes in a piece whose text is then just short enough.
const PIECE_IN_TURN: usize = 176;

/// The codes of `text`, which is a name and base45, to be shown in turn. `None` if it is too
/// long even for that.
pub fn in_turn(text: &str) -> Option<Vec<QrMatrix>> {
    all_of(&pieces::texts(text, LONGEST_IN_TURN, PIECE_IN_TURN).ok()?)
}

/// The codes of bytes that are no text, to be shown in turn.
pub fn bytes_in_turn(bytes: &[u8]) -> Option<Vec<QrMatrix>> {
    all_of(&pieces::pieces_of(bytes, PIECE_IN_TURN).ok()?)
}

fn all_of(texts: &[String]) -> Option<Vec<QrMatrix>> {
    let largest = Version::new(LARGEST_IN_TURN);
    let one = |text: &String| made(text, &[QrCodeEcc::Medium], largest);
    texts.iter().map(one).collect()
}

/// The code of `text` with as much of it repeatable as fits: a quarter of it may be spoilt
/// (level Q), else a seventh (M). `None` if it does not fit at all.
pub fn matrix(text: &str) -> Option<QrMatrix> {
    let levels = [QrCodeEcc::Quartile, QrCodeEcc::Medium];
    made(text, &levels, Version::new(LARGEST))
}

fn made(text: &str, levels: &[QrCodeEcc], largest: Version) -> Option<QrMatrix> {
    let segments = QrSegment::make_segments(text);
    let made = levels.iter().find_map(|level| {
        QrCode::encode_segments_advanced(&segments, *level, Version::MIN, largest, None, true).ok()
    })?;
    let side = made.size();
    let modules = (0..side)
        .flat_map(|y| (0..side).map(move |x| (x, y)))
        .map(|(x, y)| u8::from(made.get_module(x, y)))
        .collect();
    Some(QrMatrix {
        side: side as u32,
        modules,
    })
}
