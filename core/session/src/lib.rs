//! The phone's brain: act in, view out.

#[cfg(feature = "uniffi")]
uniffi::setup_scaffolding!();

pub mod act;
pub mod view;
