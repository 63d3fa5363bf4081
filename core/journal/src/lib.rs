//! The append-only record: event format, hash chain, signatures, and the SQLite
//! store that keeps it (feature `store`; the office reads records without it).

#[cfg(all(feature = "store", feature = "slip"))]
pub mod cli;
pub mod map;
pub mod record;
#[cfg(feature = "store")]
pub mod store;
