//! A text as a QR code (ISO/IEC 18004), drawn as SVG.

use maud::{Markup, html};
use qrcodegen::{QrCode, QrCodeEcc, QrSegment, Version};
use std::fmt::Write;

/// The largest code that a phone's camera reads off a screen without care (issue 6's limit,
/// no source).
const LARGEST: u8 = 15;
/// Modules left free around the code, as the standard asks.
const QUIET: i32 = 4;

/// The code of `text`, called `title`; `None` if it does not fit.
pub(super) fn qr(id: &str, title: &str, text: &str) -> Option<Markup> {
    let segments = QrSegment::make_segments(text);
    let code = QrCode::encode_segments_advanced(
        &segments,
        QrCodeEcc::Medium,
        Version::MIN,
        Version::new(LARGEST),
        None,
        true,
    )
    .ok()?;
    let side = code.size();
    let mut path = String::new();
    for y in 0..side {
        for x in (0..side).filter(|x| code.get_module(*x, y)) {
            // Writing to memory cannot fail.
            let _ = write!(path, "M{},{}h1v1h-1z", x + QUIET, y + QUIET);
        }
    }
    let whole = side + 2 * QUIET;
    Some(html! {
        svg.qr xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (whole) " " (whole) } role="img"
            aria-labelledby=(id) shape-rendering="crispEdges" {
            title id=(id) { (title) }
            rect width=(whole) height=(whole) fill="#fff" {}
            path d=(path) fill="#000" {}
        }
    })
}
