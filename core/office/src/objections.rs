//! Handlers' objections made at the table. That there was one is in the phone's record; the
//! words are personal data and come beside it, held against the commitment in the record. They
//! go again when the rules have kept them long enough.

use chrono::NaiveDate;

use standsquare_journal::record::subject_commitment;
use standsquare_sync::{Spoken, frame_id};

use crate::appeals;
use crate::db::{self, DbFault};
use crate::points::{read_points, still_open};
use crate::read::VisitLine;
use crate::state::OfficeState;

/// An objection.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Objection {
    /// When, by the phone's clock, Unix milliseconds.
    pub at_ms: i64,
    /// The handler's words; `None` until they come, empty where there were none.
    pub words: Option<String>,
    /// When they were erased, by the office's clock, Unix milliseconds.
    pub erased_ms: Option<i64>,
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
                   AND words IS NULL AND erased_ms IS NULL",
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
                "SELECT at_ms, words, erased_ms FROM objections
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
                        erased_ms: row.maybe_int(2)?,
                    })
                })
                .collect()
        })
    }

    /// Erases the words, and their salts, of objections whose time is over: the rules in force
    /// on their session's day kept a handler's data until before `today`, the objection was
    /// decided, and no appeal about the measure is open. How many. What was decided, and that
    /// there was an objection, stays.
    ///
    /// # Errors
    /// [`DbFault`]; nothing is erased then.
    pub fn erase_words(&self, today: NaiveDate, now_ms: i64) -> Result<usize, DbFault> {
        let rules = self.rules()?;
        let erased = db::write(self.engine(), |sql| {
            let kept = sql.query(
                "SELECT o.session, o.device_key, o.journal, o.seq, s.day, v.points,
                        (SELECT d.covers FROM decisions d
                         WHERE d.body = v.body AND d.subject = v.head
                         ORDER BY d.nth DESC LIMIT 1),
                        v.head
                 FROM objections o
                 JOIN sessions s ON s.body = o.body AND s.session = o.session
                  AND s.device_key = o.device_key AND s.journal = o.journal
                 JOIN visits v ON v.body = s.body AND v.year = s.year AND v.session = s.session
                  AND v.device_key = s.device_key AND v.journal = s.journal
                  AND v.visit = o.visit
                 WHERE o.body = $1 AND o.words IS NOT NULL",
                &[self.body()],
            )?;
            let mut erased = 0;
            for row in &kept {
                // A phone's clock may say anything: a day that is none is never over.
                let day = i32::try_from(row.int(4)?).ok();
                let over = day.is_some_and(|day| {
                    let keep = rules.on(day).keep_personal();
                    let end = NaiveDate::from_epoch_days(day).and_then(|from| keep.after(from));
                    end.is_some_and(|end| end < today)
                });
                let points = read_points(&row.text(5)?)?;
                let open = still_open(&points, row.maybe_text(6)?)?.any(|p| p.kind == "objection");
                if !over || open || appeals::is_open(&appeals::steps(self, sql, row.array(7)?)?) {
                    continue;
                }
                sql.put(
                    "UPDATE objections SET salt = NULL, words = NULL, erased_ms = $6
                     WHERE body = $1 AND session = $2 AND device_key = $3 AND journal = $4
                       AND seq = $5",
                    &[
                        self.body(),
                        row.array::<16>(0)?.into(),
                        row.array::<32>(1)?.into(),
                        row.array::<16>(2)?.into(),
                        row.int(3)?.into(),
                        now_ms.into(),
                    ],
                )?;
                erased += 1;
            }
            Ok(erased)
        })?;
        if erased > 0 {
            self.engine().sweep()?;
        }
        Ok(erased)
    }
}
