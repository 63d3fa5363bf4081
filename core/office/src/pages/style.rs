//! The one style sheet.

/// High contrast (every pair at least 7:1), no web font, no picture.
pub const STYLE: &str = include_str!("style.css");
