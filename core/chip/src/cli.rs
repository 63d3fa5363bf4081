//! What `cargo xtask chip read` prints.
