//! Taking frames in: each is verified, then committed with everything that follows
//! from it, then acknowledged.
//!
//! - A frame whose seal its device did not sign is refused and leaves nothing behind.
//! - One that comes before its predecessors is kept and acknowledged; it joins the
//!   record when they are there.
//! - One that tells another history of a journal than the one on record (a fork), or
//!   that is sealed but holds what does not verify, is set aside with its bytes, shown
//!   on the office's page, and named to the phone as refused. Nothing else changes.

mod extend;
mod take;
mod verify;

use standsquare_sync::{BodyFault, Limits, Receipt, frame_id, frames_of};
use std::collections::BTreeSet;

use crate::db::DbFault;
use crate::state::OfficeState;

pub use take::State;
pub use verify::Refusal;

/// Why a post gets no receipt.
#[derive(Debug, thiserror::Error)]
pub enum IngestFault {
    /// The body is not one; nothing of it was taken in.
    #[error(transparent)]
    Body(#[from] BodyFault),
    /// The database failed. Frames before the one that failed may be held: sending
    /// everything again is right and harmless.
    #[error(transparent)]
    Db(#[from] DbFault),
}

impl OfficeState {
    /// Takes in the body of a `POST /v1/frames` and gives back the bytes of the signed
    /// receipt. `now_ms` is the office's clock, Unix milliseconds. Each frame is
    /// committed durably before the next one is looked at.
    ///
    /// # Errors
    /// [`IngestFault`]; then nothing may be taken as acknowledged.
    pub fn ingest(&self, body: &[u8], now_ms: i64) -> Result<Vec<u8>, IngestFault> {
        let frames = frames_of(body, Limits::default())?;
        let mut seen = BTreeSet::new();
        let mut held = Vec::new();
        let mut refused = Vec::new();
        for bytes in &frames {
            let id = frame_id(bytes);
            if !seen.insert(id) {
                continue;
            }
            match self.take(id, bytes, now_ms)? {
                Ok(()) => held.push(id),
                Err(refusal) => {
                    tracing::warn!(
                        frame = hex::encode(id),
                        reason = refusal.slug(),
                        "frame refused: {refusal}"
                    );
                    refused.push((id, refusal.slug().to_owned()));
                }
            }
        }
        tracing::info!(
            held = held.len(),
            refused = refused.len(),
            "frames taken in"
        );
        Ok(Receipt::sign(self.key(), now_ms, &held, &refused))
    }
}
