//! The phones as they are.

use std::path::Path;

use standsquare_parity::{Sources, acts, faults, screens};

#[test]
fn both_phones_show_and_do_the_same() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let sources = Sources::read(&root).expect("the sources");
    // Something is read at all.
    assert!(screens::names(&sources).expect("screens").len() >= 19);
    assert!(acts::names(&sources).expect("acts").len() >= 40);
    let faults = faults(&sources).expect("readable");
    assert!(
        faults.is_empty(),
        "{} differences:\n{}",
        faults.len(),
        faults.join("\n")
    );
}
