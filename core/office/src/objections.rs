//! Handlers' objections made at the table. That there was one is in the phone's record; the
//! words are personal data and come beside it, held against the commitment in the record.

use standsquare_journal::record::subject_commitment;
use standsquare_sync::{Spoken, frame_id};

use crate::db::{self, DbFault};
use crate::read::VisitLine;
use crate::state::OfficeState;

/// An objection.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Objection {
    /// When, by the phone's clock, Unix milliseconds.
    pub at_ms: i64,
    /// The handler's words; `None` until they come, empty where there were none.
    pub words: Option<String>,
}

/// Why words are not taken.
pub(crate) enum WordsFault {
    /// They never will be: what names them to the phone, and the word for why.
    Refused([u8; 32], &'static str),
    /// The database failed.
    Db(DbFault),
}

impl From<DbFault> for WordsFault {
    fn from(fault: DbFault) -> Self {
        WordsFault::Db(fault)
    }
}

impl OfficeState {
    /// Takes words in, durably; what names them in the receipt, or `None` while their
    /// objection is not on record. Taking them again changes nothing.
    pub(crate) fn take_words(
        &self,
        bytes: &[u8],
        now_ms: i64,
    ) -> Result<Option<[u8; 32]>, WordsFault> {
        let spoken = Spoken::decode_strict(bytes)
            .map_err(|_| WordsFault::Refused(frame_id(bytes), "unreadable_words"))?;
        let named = subject_commitment(spoken.words.as_bytes(), &spoken.salt);
        let known = db::write(self.engine(), |sql| {
            let key = [
                self.body(),
                spoken.device_key.into(),
                spoken.journal.into(),
                spoken.id.into(),
            ];
            let row = sql.one(
                "SELECT commitment FROM objections
                 WHERE body = $1 AND device_key = $2 AND journal = $3 AND words_id = $4",
                &key,
            )?;
            let Some(commitment) = row.map(|row| row.array::<32>(0)).transpose()? else {
                return Ok(None);
            };
            if commitment != named {
                return Ok(Some(false));
            }
            let [body, device_key, journal, id] = key;
            sql.put(
                "UPDATE objections SET salt = $5, words = $6, words_ms = $7
                 WHERE body = $1 AND device_key = $2 AND journal = $3 AND words_id = $4
                   AND words IS NULL",
                &[
                    body,
                    device_key,
                    journal,
                    id,
                    spoken.salt.into(),
                    spoken.words.as_str().into(),
                    now_ms.into(),
                ],
            )?;
            Ok(Some(true))
        })?;
        match known {
            None => Ok(None),
            Some(true) => Ok(Some(named)),
            Some(false) => Err(WordsFault::Refused(named, "other_words")),
        }
    }

    /// What handlers objected to a measure at the table, in order.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn objections(&self, visit: &VisitLine) -> Result<Vec<Objection>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT at_ms, words FROM objections
                 WHERE body = $1 AND session = $2 AND device_key = $3 AND journal = $4
                   AND visit = $5
                 ORDER BY seq",
                &[
                    self.body(),
                    visit.session.into(),
                    visit.device_key.into(),
                    visit.journal.into(),
                    i64::from(visit.statement.visit).into(),
                ],
            )?;
            rows.iter()
                .map(|row| {
                    Ok(Objection {
                        at_ms: row.int(0)?,
                        words: row.maybe_text(1)?,
                    })
                })
                .collect()
        })
    }
}
