//! A text as a QR code (ISO/IEC 18004): the modules as data, so that every phone and every
//! sheet draws the same.

use qrcodegen::{QrCode, QrCodeEcc, QrSegment, Version};

use crate::view::QrMatrix;

/// The largest code that a phone's camera reads off glass or paper without care: version 15,
/// 77 modules a side. Issue 6's limit, no source.
const LARGEST: u8 = 15;

/// The code of `text` with as much of it repeatable as fits: a quarter of it may be spoilt
/// (level Q), else a seventh (M). `None` if it does not fit at all.
pub fn matrix(text: &str) -> Option<QrMatrix> {
    let segments = QrSegment::make_segments(text);
    let made = [QrCodeEcc::Quartile, QrCodeEcc::Medium]
        .into_iter()
        .find_map(|level| {
            QrCode::encode_segments_advanced(
                &segments,
                level,
                Version::MIN,
                Version::new(LARGEST),
                None,
                true,
            )
            .ok()
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
