//! What is there of a stretch that rivals bring together.

use standsquare_sync::{Limits, Numbers, Receipt};

use super::take::State;
use crate::db::{self, DbFault};
use crate::state::OfficeState;

/// A journal and the first and last number of the stretch in it.
pub(crate) type Stretch = (([u8; 32], [u8; 16]), Numbers);

impl OfficeState {
    /// The signed receipt of this stretch, once all of it is in the record, whoever brought it;
    /// nothing before that.
    ///
    /// # Errors
    /// [`DbFault`].
    pub(crate) fn receipt_of_stretch(
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
