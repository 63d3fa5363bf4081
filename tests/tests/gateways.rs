//! What the phones' gateways have to keep to is a number in core; each says it in its own language.

use standsquare_sync::{Timers, WRITE_AT_ONCE};

#[test]
fn what_gateways_keep_to_is_what_core_says() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/..");
    let at_once = WRITE_AT_ONCE.to_string();
    // One more for the office's log.
    let connections = (Timers::default().live + 1).to_string();
    for (file, before, said) in [
        (
            "android/device/src/main/kotlin/standsquare/device/OfficeLink.kt",
            "const val AT_ONCE = ",
            &at_once,
        ),
        (
            "ios/Device/OfficeLink.swift",
            "static let mostAtOnce = ",
            &connections,
        ),
    ] {
        let text = std::fs::read_to_string(format!("{root}/{file}")).expect("the gateway");
        let (_, after) = text.split_once(before).expect("it says the number");
        let number: String = after
            .chars()
            .take_while(|c| c.is_ascii_digit() || *c == '_')
            .filter(char::is_ascii_digit)
            .collect();
        assert_eq!(&number, said, "{file}");
    }
}
