//! Records read by way of plain values: CBOR is read once into values that know nothing of
//! records, and a record's table says which fields it takes from them, in order.
//!
//! A reader of its own for each kind of record would know the same, at ten times the code: it
//! carries everything that can go wrong behind each field. Here a field that is not what it
//! should be is only noted, and what was read then counts for nothing (decision record 16).
//!
//! There are three kinds of table: [`record!`], [`tagged!`] and [`indexed!`]. Each makes
//! [`Take`] and [`minicbor::Decode`] for its type; writing is minicbor's own. More forms are
//! read than are written, of numbers for example: who must have the one form writes what was
//! read again and compares.

mod tables;
mod take;
mod value;

#[doc(hidden)] // what the tables name, whatever their crate calls it
pub use minicbor;
pub use take::{Fields, Take, decode};
pub use value::Value;
