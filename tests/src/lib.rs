//! Checks that cross parts. The library holds what they share: [`Table`], a phone
//! with the world around it, driven the way a screen drives it.

pub mod demo;
mod table;

pub use table::Table;
