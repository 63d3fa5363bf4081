//! All checks of this crate from outside, in one program: it links once.

mod bad_packs;
mod cli;
mod dates_oracles;
mod docs;
mod edges;
mod edges_table;
mod fuzz;
mod larkmere;
mod procedures;
mod properties;
mod published;
mod record_book;
mod secretary;
mod support;
mod verdicts;
