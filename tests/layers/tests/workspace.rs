//! The rules held against the workspace as it is.

use std::path::Path;

use cargo_metadata::MetadataCommand;
use standsquare_layers::{order, pure};

#[test]
fn no_crate_depends_on_one_above_it() {
    let metadata = MetadataCommand::new()
        .no_deps()
        .exec()
        .expect("cargo metadata");
    let (crates, edges) = order::read(&metadata);
    assert!(
        !edges.is_empty(),
        "no crate of the project depends on another: nothing was checked"
    );
    let faults = order::faults(&crates, &edges);
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn what_is_to_be_pure_is() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    for pure in pure::PURE {
        let faults = pure::faults(&root, pure).expect("the sources");
        assert!(faults.is_empty(), "{}", faults.join("\n"));
    }
}
