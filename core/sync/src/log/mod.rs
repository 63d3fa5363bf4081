//! The office's signed log: a Merkle tree (RFC 9162 §2.1) over the frames in its
//! record, so that an office cannot change or drop one unseen either. A phone keeps
//! the newest checkpoint, asks for proofs, and believes nothing that does not follow.

mod ask;
mod bundle;
mod checkpoint;

pub use ask::{ASK_LIMIT, Ask, AskFault};
pub use bundle::{Bundle, InLog, LogFault};
pub use checkpoint::{Checkpoint, NoteFault, open_note, sign_note};

/// The name under which an office of this body signs its checkpoints.
pub fn origin(body: &str) -> String {
    // A note's key name has neither spaces nor '+' (C2SP signed-note).
    let plain = |c: char| {
        if c.is_ascii_alphanumeric() || "-_.".contains(c) {
            c
        } else {
            '_'
        }
    };
    let name: String = body.chars().map(plain).collect();
    format!("standsquare/{name}")
}
