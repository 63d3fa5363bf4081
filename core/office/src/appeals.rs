//! Objections and appeals about a measure, step by step: raised in the handler's words,
//! the category meanwhile, uninvolved measurers, outcome and reasons. Steps are only ever
//! added, and the measure itself stays as it was signed.

use standsquare_journal::record::fact::Statement;

use crate::accounts::Worker;
use crate::db::{self, DbFault, Row, Sql};
use crate::decide::{LONGEST_REASON, SHORTEST_REASON};
use crate::state::OfficeState;

/// Longest category or list of measurers' numbers, characters.
const LONGEST_LINE: usize = 200;

/// What a step is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Step {
    /// The handler objected, at the table or later.
    Objection {
        /// In their words.
        words: String,
    },
    /// An appeal was lodged.
    Appeal {
        /// In the handler's words.
        words: String,
        /// The category that the dog competes in meanwhile; may be empty.
        interim: String,
        /// Numbers of the uninvolved measurers who are to measure again; may be empty.
        measurers: String,
    },
    /// The league decided.
    Decided {
        /// How.
        outcome: Decided,
        /// Why.
        reason: String,
    },
}

/// How an appeal ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decided {
    /// The handler is right.
    Upheld,
    /// The measure stands.
    Dismissed,
    /// The handler took it back.
    Withdrawn,
}

impl Decided {
    /// All of them, in the order of the form.
    pub const ALL: [Decided; 3] = [Decided::Upheld, Decided::Dismissed, Decided::Withdrawn];

    /// The word that is kept.
    pub fn word(self) -> &'static str {
        match self {
            Decided::Upheld => "upheld",
            Decided::Dismissed => "dismissed",
            Decided::Withdrawn => "withdrawn",
        }
    }

    /// The outcome of a word.
    pub fn read(word: &str) -> Option<Decided> {
        Decided::ALL.into_iter().find(|d| d.word() == word)
    }
}

/// A step on record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Noted {
    /// 1 for the first one of its measure.
    pub nth: i64,
    /// When it was noted, by the office's clock, Unix milliseconds.
    pub noted_ms: i64,
    /// By whose account.
    pub account: String,
    /// Their name.
    pub name: String,
    /// The day it happened, days since 1970-01-01.
    pub day: i32,
    /// What.
    pub step: Step,
}

/// Why a step is not noted.
#[derive(Debug, thiserror::Error)]
pub enum AppealFault {
    /// Words or reasons are missing or too long.
    #[error(
        "an objection, an appeal and an outcome need words of {SHORTEST_REASON} to \
         {LONGEST_REASON} characters"
    )]
    Words,
    /// A category or a list of measurers is too long.
    #[error("a category and a list of measurers have at most {LONGEST_LINE} characters")]
    Line,
    /// There is no such measure, or it was stated anew meanwhile.
    #[error("there is no such measure any more: look at the session again")]
    NotThere,
    /// Somebody else noted a step first.
    #[error("something was noted since this page was shown: look at it again")]
    Changed,
    /// A measurer of the measure itself is to judge it.
    #[error("{0} signed the measure: name measurers who had no part in it")]
    Involved(String),
    /// There is nothing to decide.
    #[error("no objection or appeal is open: note one first")]
    NothingOpen,
    /// This person may not.
    #[error("only a secretary notes objections and appeals")]
    NotAllowed,
    /// The database failed.
    #[error(transparent)]
    Db(#[from] DbFault),
}

/// Whether the newest step leaves something to decide.
pub fn is_open(steps: &[Noted]) -> bool {
    steps
        .last()
        .is_some_and(|s| !matches!(s.step, Step::Decided { .. }))
}

impl OfficeState {
    /// Notes a step about the measure whose statement has this head. `nth` is the number
    /// that it will have, `day` the day it happened.
    ///
    /// # Errors
    /// [`AppealFault`]; nothing is noted then.
    pub fn note_appeal(
        &self,
        subject: [u8; 32],
        nth: i64,
        day: i32,
        step: &Step,
        by: &Worker,
        now_ms: i64,
    ) -> Result<(), AppealFault> {
        if !by.role.may_decide() {
            return Err(AppealFault::NotAllowed);
        }
        let (words, interim, measurers, outcome, reason) = columns(step);
        let said = if reason.is_empty() { words } else { reason };
        if !(SHORTEST_REASON..=LONGEST_REASON).contains(&said.chars().count()) {
            return Err(AppealFault::Words);
        }
        if interim.chars().count() > LONGEST_LINE || measurers.chars().count() > LONGEST_LINE {
            return Err(AppealFault::Line);
        }
        db::write(self.engine(), |sql| {
            let named = [self.body(), subject.into()];
            let Some(row) = sql.one(
                "SELECT statement FROM visits WHERE body = $1 AND head = $2",
                &named,
            )?
            else {
                return Ok(Err(AppealFault::NotThere));
            };
            let statement = Statement::decode_strict(&row.bytes(0)?)
                .map_err(|e| DbFault::Unexpected(format!("a statement on record: {e}")))?;
            let numbers = measurers.split([',', ';', ' ']).map(str::trim);
            if let Some(involved) = numbers.filter(|n| !n.is_empty()).find(|n| {
                statement
                    .measurers
                    .iter()
                    .any(|m| m.eq_ignore_ascii_case(n))
            }) {
                return Ok(Err(AppealFault::Involved(involved.to_owned())));
            }
            let before = steps(self, sql, subject)?;
            if nth != before.len() as i64 + 1 {
                return Ok(Err(AppealFault::Changed));
            }
            if matches!(step, Step::Decided { .. }) && !is_open(&before) {
                return Ok(Err(AppealFault::NothingOpen));
            }
            let added = sql.execute(
                "INSERT INTO appeals
                 (body, subject, nth, noted_ms, account, name, kind, raised_day, words, interim,
                  measurers, outcome, reason)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)
                 ON CONFLICT (body, subject, nth) DO NOTHING",
                &[
                    self.body(),
                    subject.into(),
                    nth.into(),
                    now_ms.into(),
                    by.account.as_str().into(),
                    by.name.as_str().into(),
                    kind(step).into(),
                    i64::from(day).into(),
                    words.into(),
                    interim.into(),
                    measurers.into(),
                    outcome.into(),
                    reason.into(),
                ],
            )?;
            Ok(if added == 0 {
                Err(AppealFault::Changed)
            } else {
                Ok(())
            })
        })?
    }

    /// The steps about a measure, oldest first.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn appeals(&self, subject: [u8; 32]) -> Result<Vec<Noted>, DbFault> {
        db::read(self.engine(), |sql| steps(self, sql, subject))
    }

    /// Measures with an objection or appeal that is not decided: the head, the dog's name
    /// and since when (days since 1970-01-01), the oldest first.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn open_appeals(&self, limit: i64) -> Result<Vec<([u8; 32], String, i32)>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT a.subject, v.dog, a.raised_day FROM appeals a
                 JOIN visits v ON v.body = a.body AND v.head = a.subject
                 WHERE a.body = $1 AND a.kind <> 'decided' AND NOT EXISTS
                   (SELECT 1 FROM appeals b WHERE b.body = a.body AND b.subject = a.subject
                    AND b.nth > a.nth)
                 ORDER BY a.raised_day, a.subject LIMIT $2",
                &[self.body(), limit.into()],
            )?;
            rows.iter()
                .map(|row| Ok((row.array(0)?, row.text(1)?, day_of(row, 2)?)))
                .collect()
        })
    }
}

fn day_of(row: &Row, column: usize) -> Result<i32, DbFault> {
    i32::try_from(row.int(column)?).map_err(|_| DbFault::Unexpected("a day".into()))
}

fn kind(step: &Step) -> &'static str {
    match step {
        Step::Objection { .. } => "objection",
        Step::Appeal { .. } => "appeal",
        Step::Decided { .. } => "decided",
    }
}

/// Words, interim category, measurers, outcome, reason.
fn columns(step: &Step) -> (&str, &str, &str, &str, &str) {
    match step {
        Step::Objection { words } => (words.trim(), "", "", "", ""),
        Step::Appeal {
            words,
            interim,
            measurers,
        } => (words.trim(), interim.trim(), measurers.trim(), "", ""),
        Step::Decided { outcome, reason } => ("", "", "", outcome.word(), reason.trim()),
    }
}

/// The steps about a measure, oldest first.
pub(crate) fn steps(
    office: &OfficeState,
    sql: &mut dyn Sql,
    subject: [u8; 32],
) -> Result<Vec<Noted>, DbFault> {
    let rows = sql.query(
        "SELECT nth, noted_ms, account, name, raised_day, kind, words, interim, measurers,
                outcome, reason
         FROM appeals WHERE body = $1 AND subject = $2 ORDER BY nth",
        &[office.body(), subject.into()],
    )?;
    rows.iter().map(noted).collect()
}

fn noted(row: &Row) -> Result<Noted, DbFault> {
    let unknown = |what: &str| DbFault::Unexpected(format!("the {what} of an appeal"));
    let step = match row.text(5)?.as_str() {
        "objection" => Step::Objection {
            words: row.text(6)?,
        },
        "appeal" => Step::Appeal {
            words: row.text(6)?,
            interim: row.text(7)?,
            measurers: row.text(8)?,
        },
        "decided" => Step::Decided {
            outcome: Decided::read(&row.text(9)?).ok_or_else(|| unknown("outcome"))?,
            reason: row.text(10)?,
        },
        _ => return Err(unknown("kind")),
    };
    Ok(Noted {
        nth: row.int(0)?,
        noted_ms: row.int(1)?,
        account: row.text(2)?,
        name: row.text(3)?,
        day: day_of(row, 4)?,
        step,
    })
}
