//! Taking frames in: each is verified, then committed with everything that follows
//! from it, then acknowledged.
//!
//! - A frame whose seal its device did not sign is refused and leaves nothing behind.
//! - One that comes before its predecessors is kept and acknowledged; it joins the
//!   record when they are there.
//! - One that tells another history of a journal than the one on record (a fork), or
//!   that is sealed but holds what does not verify, is set aside with its bytes, shown
//!   on the office's page, and named to the phone as refused. Nothing else changes.

mod batch;
mod change;
mod prove;
mod stretch;
mod take;
mod verify;
mod write;

use standsquare_journal::record::chain;
use standsquare_sync::{BodyFault, Frame, Limits, Receipt, Spoken, frame_id, frames_of};
use std::collections::BTreeSet;

use crate::db::DbFault;
use crate::objections::WordsFault;
use crate::state::OfficeState;
use take::{Posted, check_all, on_record, take_all, taken_before};

pub use stretch::{Arriving, Part};
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
    /// receipt. `now_ms` is the office's clock, Unix milliseconds. What the receipt
    /// calls held is committed durably before it is signed.
    ///
    /// # Errors
    /// [`IngestFault`]; then nothing may be taken as acknowledged.
    pub fn ingest(&self, body: &[u8], now_ms: i64) -> Result<Vec<u8>, IngestFault> {
        let frames = frames_of(body, Limits::default(), Some(chain))?;
        let (held, refused) = self.take_frames(&frames, now_ms)?;
        Ok(Receipt::sign(self.key(), now_ms, &held, &refused))
    }

    /// Takes in a file that was carried by hand, a post's worth at a time; how many frames
    /// are held, and which are refused. `told` hears after each part how many are done, of
    /// how many. Taking a file in again is the same as taking it in once.
    ///
    /// # Errors
    /// [`IngestFault`]; frames that were told as done are held or refused all the same.
    pub fn import(
        &self,
        file: &[u8],
        now_ms: i64,
        told: &mut dyn FnMut(usize, usize),
    ) -> Result<(usize, Vec<Named>), IngestFault> {
        let frames = frames_of(file, Limits::carried(), Some(chain))?;
        let (mut done, mut held, mut refused) = (0, 0, Vec::new());
        for part in frames.chunks(Limits::default().frames) {
            let (here, not) = self.take_frames(part, now_ms)?;
            held += here.len();
            refused.extend(not);
            done += part.len();
            told(done, frames.len());
        }
        Ok((held, refused))
    }

    /// Takes frames in; the ids of those that are held, and of those that are refused
    /// with the reason. One that the database would not take is in neither list.
    ///
    /// # Errors
    /// [`DbFault`], if the database takes nothing.
    pub fn take_frames(
        &self,
        frames: &[Vec<u8>],
        now_ms: i64,
    ) -> Result<(Vec<[u8; 32]>, Vec<Named>), DbFault> {
        let mut seen = BTreeSet::new();
        let mut posted = Vec::new();
        let (words, frames): (Vec<_>, Vec<_>) = frames.iter().partition(|b| Spoken::is_one(b));
        for bytes in frames {
            let id = frame_id(bytes);
            if seen.insert(id) {
                let frame = Frame::decode_strict(bytes).map_err(Refusal::from);
                posted.push(Posted { id, bytes, frame });
            }
        }
        let (known, keys) = on_record(self, &posted)?;
        let (mut held, mut refused) = (Vec::new(), Vec::new());
        // What rivals bring again need not be checked again: only what was committed is seen.
        posted.retain(|p| match known.get(&p.id).map(taken_before) {
            None => true,
            Some(Ok(())) => {
                held.push(p.id);
                false
            }
            Some(Err(refusal)) => {
                refused.push(refuse(p.id, &refusal));
                false
            }
        });
        let mut incoming = Vec::new();
        for (id, checked) in check_all(self, posted, &keys, now_ms) {
            match checked {
                Ok(new) => incoming.push(new),
                Err(refusal) => refused.push(refuse(id, &refusal)),
            }
        }
        let mut note = |id: [u8; 32], taken: Result<(), Refusal>| match taken {
            Ok(()) => held.push(id),
            Err(refusal) => refused.push(refuse(id, &refusal)),
        };
        match take_all(self, &incoming) {
            Ok(taken) => incoming
                .iter()
                .zip(taken)
                .for_each(|(new, taken)| note(new.id, taken)),
            // One of them may be the trouble: as many as can be are taken alone.
            Err(fault) if incoming.len() > 1 => {
                tracing::error!("frames are tried one by one: {fault}");
                let mut first = Some(fault);
                for new in &incoming {
                    match take_all(self, std::slice::from_ref(new)) {
                        Ok(taken) => {
                            first = None;
                            taken.into_iter().for_each(|taken| note(new.id, taken));
                        }
                        // The database's own trouble meets the next one just as well.
                        Err(fault @ DbFault::Engine(_)) => {
                            tracing::error!("{fault}");
                            break;
                        }
                        Err(fault) => tracing::error!(frame = hex::encode(new.id), "{fault}"),
                    }
                }
                if let Some(fault) = first {
                    return Err(fault);
                }
            }
            Err(fault) => return Err(fault),
        }
        // After the frames: what the words are about may have come with them.
        for bytes in words {
            match self.take_words(bytes, now_ms) {
                Ok(Some(named)) => held.push(named),
                // Not known yet: the phone brings them again.
                Ok(None) => {}
                Err(WordsFault::Refused(id, reason)) => {
                    tracing::warn!(words = hex::encode(id), reason, "words refused");
                    refused.push((id, reason.to_owned()));
                }
                Err(WordsFault::Db(fault)) => tracing::error!("words: {fault}"),
            }
        }
        self.counts().held.count(held.len());
        self.counts().refused.count(refused.len());
        tracing::info!(
            held = held.len(),
            refused = refused.len(),
            "frames taken in"
        );
        Ok((held, refused))
    }
}

/// A frame's id and the word for why it is refused.
pub type Named = ([u8; 32], String);

fn refuse(id: [u8; 32], refusal: &Refusal) -> Named {
    let reason = refusal.slug();
    tracing::warn!(frame = hex::encode(id), reason, "frame refused: {refusal}");
    (id, reason.to_owned())
}
