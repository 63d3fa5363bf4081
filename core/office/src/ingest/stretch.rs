//! A post while it arrives, and what is there of a stretch that rivals bring together
//! (decision 21). Nothing here waits: whoever reads the connections does.

use std::collections::BTreeSet;

use standsquare_journal::record::chain;
use standsquare_sync::{Frame, Limits, Numbers, Receipt, begun, frame_id};

use super::take::State;
use crate::db::{self, DbFault};
use crate::state::OfficeState;

/// A journal and the first and last number of the stretch in it.
type Stretch = (([u8; 32], [u8; 16]), Numbers);

/// What is known of a post before its end.
#[derive(Default)]
pub struct Arriving {
    /// Frames of it that were taken in.
    taken: usize,
    /// What it is about, once the office holds some frame of it and as long as it refused none.
    stretch: Option<Stretch>,
    /// It is answered when it is all there, as ever.
    not_early: bool,
}

/// Frames of a post that have come whole, and what the post says that it is of.
pub struct Part {
    numbers: Numbers,
    frames: Vec<Vec<u8>>,
}

impl Arriving {
    /// A post that is answered only when it is all there.
    pub fn not_early() -> Arriving {
        Arriving {
            not_early: true,
            ..Arriving::default()
        }
    }

    /// What `got`, the body as far as it is here, holds whole beyond what was asked for before.
    /// [`Arriving::take`] is to be called with it.
    pub fn part(&mut self, got: &[u8]) -> Option<Part> {
        if self.not_early {
            return None;
        }
        let (numbers, frames) = begun(got, Limits::default(), chain)?;
        let frames: Vec<_> = frames.into_iter().skip(self.taken).collect();
        self.taken += frames.len();
        (!frames.is_empty()).then_some(Part { numbers, frames })
    }

    /// Takes a part in, and tells whether it is held: rivals that are under way may be whole
    /// by it, and are to be asked for their receipts.
    pub fn take(&mut self, office: &OfficeState, part: &Part, now_ms: i64) -> bool {
        let first = part.frames.first().map(|first| Frame::decode_strict(first));
        let ids: BTreeSet<_> = part.frames.iter().map(|bytes| frame_id(bytes)).collect();
        let all = |held: &[_]| held.iter().copied().collect::<BTreeSet<_>>() == ids;
        match (first, office.take_frames(&part.frames, now_ms)) {
            // Whose journal it is was proved by the seals.
            (Some(Ok(frame)), Ok((held, _))) if all(&held) => {
                self.stretch = Some(((frame.device_key, frame.journal), part.numbers));
                true
            }
            _ => {
                *self = Arriving::not_early();
                false
            }
        }
    }

    /// Whether it may be answered before its end.
    pub fn may_be_early(&self) -> bool {
        self.stretch.is_some()
    }

    /// The signed receipt of all that the post is about, once all of that is in the record,
    /// whoever brought it; nothing before that.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn receipt(&self, office: &OfficeState, now_ms: i64) -> Result<Option<Vec<u8>>, DbFault> {
        match self.stretch {
            Some(stretch) => office.receipt_of_stretch(stretch, now_ms),
            None => Ok(None),
        }
    }
}

impl OfficeState {
    fn receipt_of_stretch(
        &self,
        ((device_key, journal), (from, to)): Stretch,
        now_ms: i64,
    ) -> Result<Option<Vec<u8>>, DbFault> {
        let most = Limits::default().frames;
        let held = db::read(self.engine(), |sql| {
            let [body, device_key, journal] = [self.body(), device_key.into(), journal.into()];
            let head = sql.one(
                "SELECT head_seq FROM journals
                 WHERE body = $1 AND device_key = $2 AND journal = $3",
                &[body.clone(), device_key.clone(), journal.clone()],
            )?;
            match head.map_or(Ok(0), |row| row.int(0))? {
                head if u64::try_from(head).is_ok_and(|head| head >= to) => {}
                _ => return Ok(Vec::new()),
            }
            let rows = sql.query(
                "SELECT id, state FROM frames
                 WHERE body = $1 AND device_key = $2 AND journal = $3
                   AND from_seq >= $4 AND from_seq <= $5 LIMIT $6",
                &[
                    body,
                    device_key,
                    journal,
                    from.into(),
                    to.into(),
                    (most as u64 + 1).into(),
                ],
            )?;
            let mut held: Vec<[u8; 32]> = Vec::new();
            for row in rows {
                if row.int(1)? == State::Accepted as i64 {
                    held.push(row.array(0)?);
                } else {
                    // Another history of the same stretch: that is told frame by frame.
                    return Ok(Vec::new());
                }
            }
            Ok(held)
        })?;
        let all = (1..=most).contains(&held.len());
        Ok(all.then(|| Receipt::sign(self.key(), now_ms, &held, &[])))
    }
}
