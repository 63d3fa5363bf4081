//! Where the phones differ and may, each with its reason. One that is no difference any more is
//! a fault too, so that the lists only get shorter by themselves.

/// Fields of the view that one phone shows and the other need not: name and reason.
pub const FIELDS: &[(&str, &str)] = &[(
    "clause",
    "iOS says under each reason which clause of the pack it comes from; Android's screen is full \
     at 360×640 dp, and the statement that is signed names the pack on both",
)];

/// Acts that one phone cannot send yet: phone, act, reason.
pub const ACTS: &[(&str, &str, &str)] = &[(
    "Android",
    "LoadRoster",
    "android/app opens no roster's file yet; the preview does",
)];

/// Words that one phone does not say: phone, key, reason.
pub const KEYS: &[(&str, &str, &str)] = &[(
    "iOS",
    "ui.more",
    "Android has a button for what lies below; SwiftUI tells a view too late how much that is",
)];
