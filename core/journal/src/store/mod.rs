//! The SQLite file that keeps a journal on the device: durable, whole or not at all,
//! damage found and set aside.

mod copies;
mod events;
mod fault;
mod files;
mod header;
mod hooks;
mod item;
mod journal;
mod kept;
mod people;
mod reading;
mod rest;
mod salvage;
mod schema;
mod seals;
mod subjects;
mod wal;
mod whole;
mod writing;

pub use crate::record::subject_commitment;
pub use copies::{Copies, CopyFault, Taken};
pub use fault::StoreFault;
pub use item::{Head, Item, Stored};
pub use journal::{Journal, Opening};
pub use people::{KeyFault, WrappedKey, make_person_key};
#[cfg(feature = "slip")]
pub(crate) use reading::Snapshot;
pub use reading::read_without_secret;
pub use salvage::SalvageReport;
pub use subjects::{Opener, Salted};
#[cfg(feature = "slip")]
pub(crate) use whole::{Tally, each_event, each_text, sound, text};
