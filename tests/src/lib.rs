//! Checks that cross parts. The library holds what they share: [`Table`], a phone
//! with the world around it, driven the way a screen drives it.

pub mod copies;
pub mod demo;
pub mod elsewhere;
pub mod enrolled;
pub mod filled;
pub mod keys;
pub mod looking;
pub mod once;
pub mod owner;
pub mod practising;
pub mod readers;
pub mod refused;
mod table;
pub mod tables;

pub use table::{Table, lasting};
