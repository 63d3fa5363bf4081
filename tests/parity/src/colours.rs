//! Both phones have the same colours, in both looks.

use crate::sources::Sources;
use crate::text::code;

/// Every colour after `before`, as six hexadecimal digits, in the order written.
fn colours(source: &str, before: &str) -> Vec<String> {
    code(source)
        .split(before)
        .skip(1)
        .map(|rest| {
            rest.chars()
                .take(6)
                .collect::<String>()
                .to_ascii_uppercase()
        })
        .filter(|digits| digits.len() == 6 && digits.chars().all(|c| c.is_ascii_hexdigit()))
        .collect()
}

/// The colours in which the two lists differ.
pub fn faults(sources: &Sources) -> Vec<String> {
    let list = |files: &crate::sources::Files, name: &str, before: &str| {
        let file = files.iter().find(|(path, _)| path.ends_with(name));
        file.map(|(_, text)| colours(text, before))
            .unwrap_or_default()
    };
    let android = list(&sources.kotlin_screens, "look/Palette.kt", "Color(0xFF");
    let ios = list(&sources.swift_model, "Screens/Palette.swift", "0x");
    if android.is_empty() || android.len() != ios.len() {
        let (a, i) = (android.len(), ios.len());
        return vec![format!(
            "{a} colours in android's Palette.kt, {i} in iOS's Palette.swift"
        )];
    }
    android
        .iter()
        .zip(&ios)
        .enumerate()
        .filter(|(_, (a, i))| a != i)
        .map(|(n, (a, i))| format!("colour {} is {a} on Android, {i} on iOS", n + 1))
        .collect()
}
