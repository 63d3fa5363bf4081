//! What to send to the office next and what its answer means, without doing any
//! I/O: the wire format that phone and office share.

pub mod roster;
