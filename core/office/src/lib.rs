//! The service that takes returns in: it verifies what phones send, keeps it, answers
//! with signed receipts, and shows sessions and dogs on plain pages.
//!
//! [`OfficeState::ingest`] works without any network; [`web::router`] puts it and the
//! pages behind HTTP.

pub mod accounts;
pub mod appeals;
pub mod backup;
pub mod beside;
mod counts;
pub mod db;
pub mod decide;
pub mod demo;
pub mod dossier;
pub mod editions;
pub mod enrolling;
pub mod hoops;
pub mod incidents;
mod ingest;
pub mod key;
pub mod keys;
mod log;
pub mod looked;
pub mod objections;
pub mod opened;
pub mod over_time;
pub mod packs;
mod pages;
mod pdf;
pub mod points;
pub mod practice;
pub mod read;
pub mod rules;
pub mod search;
mod state;
pub mod trainer;
pub mod web;
mod years;

pub use ingest::{Arriving, IngestFault, Part, Refusal, State as FrameState};
pub use state::{OfficeState, OpenFault};
