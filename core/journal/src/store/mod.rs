//! The SQLite file that keeps a journal on the device.

mod fault;
mod journal;
mod salvage;
mod schema;
mod secrets;

pub use fault::StoreFault;
pub use journal::{Head, Item, Journal, Opening, Stored};
pub use salvage::SalvageReport;
pub use secrets::{KeyFault, WrappedKey, make_person_key, subject_commitment};
