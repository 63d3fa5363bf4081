//! The record's own form: facts, events, the hash chain, seals and sign-offs.
//! Pure: no file, clock or random source. The office reads with the same code.

mod canonical;
mod chain;
mod check;
#[cfg(feature = "slip")]
mod code;
pub mod correction;
#[cfg(feature = "slip")]
pub mod dogs;
#[cfg(feature = "slip")]
pub mod elsewhere;
mod event;
pub mod fact;
mod fault;
#[cfg(feature = "slip")]
pub mod kept;
pub mod list;
#[cfg(feature = "slip")]
pub mod notice;
#[cfg(feature = "slip")]
pub mod pair;
#[cfg(feature = "slip")]
pub mod pieces;
mod proved;
pub mod run;
#[cfg(feature = "slip")]
pub mod slip;
pub mod statement;

pub use chain::{
    Hash, chain, correction_bytes, genesis, list_bytes, practice_bytes, seal_bytes, sign_off_bytes,
    statement_hash, subject_commitment, unlock_bytes, verify_signature,
};
pub use check::ChainCheck;
#[cfg(feature = "slip")]
pub use code::CodeFault;
pub use event::{Event, FORMAT};
pub use fault::RecordFault;
pub use proved::Proved;
