//! The phone's brain: act in, view out.
//!
//! [`Phone::apply`] takes one [`Act`] with its [`Stamp`] (time and randomness are
//! arguments), decides what facts it leads to, writes them in one transaction,
//! and answers with the [`View`] to show and the effects to carry out. It does
//! no other I/O. The layers, each reading only those before it:
//!
//! 1. `state`: what the journal's facts come to (it only remembers);
//! 2. `judging`: the questions put to `standsquare-measuring` about that state;
//! 3. `decide`: what an act leads to, or why it is refused;
//! 4. `show`: the view; `files`: `session.json` and `return.csv`.

#[cfg(feature = "uniffi")]
uniffi::setup_scaffolding!();

pub mod act;
mod asking;
mod battery;
mod beside;
mod calendar;
mod copies;
mod days;
mod decide;
mod fault;
mod figures;
mod files;
mod flying;
mod judging;
mod looking;
mod map;
mod news;
mod past;
mod phone;
mod qr;
mod questions;
mod random;
mod reader;
mod recording;
mod roster;
mod sending;
mod show;
pub mod state;
pub mod view;

pub use act::{Act, Stamp};
pub use fault::PhoneFault;
pub use phone::{JOURNAL_FILE, Phone, SOFTWARE};
pub use recording::{RecordedStep, Recording, RecordingFault};
pub use view::{Answer, View};
