//! The journal's checks, in one program so that they link once.
#![cfg(feature = "store")]

mod common;
mod copies;
mod damage;
mod dogs;
mod elsewhere;
mod every;
mod flips;
mod format;
mod kept;
mod notice;
mod once;
mod oracle;
mod pair;
mod record;
mod rfc;
mod slip;
mod store;
