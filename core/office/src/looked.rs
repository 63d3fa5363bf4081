//! Who looked at what: every look at a dog, a measure or a session by somebody signed in
//! is noted, and a secretary can read the notes.

use crate::accounts::Worker;
use crate::db::{self, DbFault};
use crate::state::OfficeState;

/// A look.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Look {
    /// When, by the office's clock, Unix milliseconds.
    pub at_ms: i64,
    /// Whose account.
    pub account: String,
    /// At what kind of thing: `dog`, `measure`, `session`, `search`, `dossier`.
    pub what: String,
    /// At which: a chip, a head, a session's id, or what was searched for.
    pub which: String,
}

impl OfficeState {
    /// Notes a look, before what is looked at is shown.
    ///
    /// # Errors
    /// [`DbFault`]; then nothing may be shown.
    pub fn note_look(
        &self,
        who: &Worker,
        what: &str,
        which: &str,
        now_ms: i64,
    ) -> Result<(), DbFault> {
        db::write(self.engine(), |sql| {
            let row = sql.one(
                "SELECT COUNT(*) FROM looked WHERE body = $1 AND at_ms = $2",
                &[self.body(), now_ms.into()],
            )?;
            let nth = row.map_or(Ok(0), |row| row.int(0))? + 1;
            sql.put(
                "INSERT INTO looked (body, at_ms, nth, account, what, which)
                 VALUES ($1, $2, $3, $4, $5, $6)",
                &[
                    self.body(),
                    now_ms.into(),
                    nth.into(),
                    who.account.as_str().into(),
                    what.into(),
                    which.into(),
                ],
            )
        })
    }

    /// The newest looks, at most `limit`.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn looks(&self, limit: i64) -> Result<Vec<Look>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT at_ms, account, what, which FROM looked WHERE body = $1
                 ORDER BY at_ms DESC, nth DESC LIMIT $2",
                &[self.body(), limit.into()],
            )?;
            rows.iter()
                .map(|row| {
                    Ok(Look {
                        at_ms: row.int(0)?,
                        account: row.text(1)?,
                        what: row.text(2)?,
                        which: row.text(3)?,
                    })
                })
                .collect()
        })
    }
}
