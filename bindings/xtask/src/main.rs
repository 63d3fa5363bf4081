//! The project's own commands: `cargo xtask …`.
fn main() {}
