//! No layer imports upwards ([`order`]), and what is to be free of I/O is ([`pure`]).
//!
//! The rules are those of the design's section 4 and of the decision records.

pub mod order;
pub mod pure;
