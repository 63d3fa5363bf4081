//! An emulated chip reader, for tests and for the desktop preview.
//!
//! It is written against the published forms alone and shares no code with the
//! product's decoder, so that a mistake in one does not hide in the other. The
//! bytes are made by pure functions from a seed ([`encode`], [`noise`],
//! [`telegram`], [`script`]); [`server`] carries them over loopback sockets and
//! a pseudo-terminal; [`remote`] starts the binary and talks to it.
//!
//! Every number it sends is the caller's; the demo's begin with 999.

pub mod carrier;
pub mod encode;
pub mod link;
pub mod noise;
pub mod oracle;
pub mod remote;
pub mod script;
pub mod server;
pub mod telegram;
