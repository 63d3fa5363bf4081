//! The record's own form: facts, events, the hash chain, seals and sign-offs.
//! Pure: no file, clock or random source. The office reads with the same code.

pub mod fact;
