//! What to send to the office next and what its answer means, without doing any
//! I/O: the wire format that phone and office share.
//!
//! A phone's journal is cut into [`Frame`]s, one from each seal to the next. Frames
//! go to the office many to one [`post_body`]; the office answers with a signed
//! [`Receipt`] over the ids it holds. Nothing is negotiated before sending, and
//! sending a frame twice is the same as sending it once.

pub mod beside;
#[cfg(feature = "zstd")]
mod compress;
pub mod edition;
pub mod enrol;
mod frame;
pub mod json;
#[cfg(feature = "zstd")]
mod lean;
pub mod log;
mod outbox;
pub mod packets;
mod post;
mod receipt;
pub mod roster;
mod signed;
mod spoken;
#[cfg(feature = "zstd")]
mod stretch;
mod whereabouts;

#[cfg(feature = "zstd")]
pub use compress::{compressed_body, lean_body};
pub use edition::Edition;
pub use enrol::{EnrolAsk, EnrolCode, Enrolment, RosterAsk};
pub use frame::{FRAME_FORMAT, Frame, FrameFault, MAX_EVENT_BYTES, MAX_EVENTS, frame_id};
pub use outbox::{Attempt, Command, Outbox, Pack, Timers, WRITE_AT_ONCE, next_post};
pub use post::{BodyFault, Chain, Limits, POST_MAGIC, POST_VERSION, frames_of, post_body};
pub use receipt::{RECEIPT_FORMAT, Receipt, ReceiptFault};
pub use signed::SignedFault;
pub use spoken::{MOST_SPOKEN_BYTES, SPOKEN_MAGIC, SPOKEN_VERSION, Spoken, SpokenFault};
#[cfg(feature = "zstd")]
pub use stretch::{Numbers, begun, stretch_body};
pub use whereabouts::{Whereabouts, may_forget, whereabouts};
