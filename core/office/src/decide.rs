//! Decisions: what the league decides about a measure or a frame set aside, by whom,
//! when and why. They are only ever added.

use crate::accounts::Worker;
use crate::db::{self, DbFault, Sql};
use crate::points::{Point, read_points, refresh, write_points};
use crate::state::OfficeState;

/// Shortest reason, characters. Own choice, no source: long enough that a single
/// letter is not taken for one.
pub const SHORTEST_REASON: usize = 3;
/// Longest reason, characters.
pub const LONGEST_REASON: usize = 2_000;

/// What is decided.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The measure counts as it stands.
    Stands,
    /// It does not count, and the dog is to be measured again.
    Again,
    /// It does not count.
    Void,
    /// Seen; there is nothing to decide.
    Noted,
}

impl Verdict {
    /// Every verdict, in the order of the form.
    pub const ALL: [Verdict; 4] = [
        Verdict::Stands,
        Verdict::Again,
        Verdict::Void,
        Verdict::Noted,
    ];

    /// The word that is kept.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Stands => "stands",
            Verdict::Again => "again",
            Verdict::Void => "void",
            Verdict::Noted => "noted",
        }
    }

    /// The verdict of a word.
    pub fn read(word: &str) -> Option<Verdict> {
        Verdict::ALL.into_iter().find(|v| v.word() == word)
    }

    /// Whether the measure does not count then.
    pub fn voids(self) -> bool {
        matches!(self, Verdict::Again | Verdict::Void)
    }
}

/// A decision on record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decision {
    /// 1 for the first one of its subject.
    pub nth: i64,
    /// When, by the office's clock, Unix milliseconds.
    pub decided_ms: i64,
    /// Whose account.
    pub account: String,
    /// Their name.
    pub name: String,
    /// What.
    pub verdict: Verdict,
    /// Why, in their words.
    pub reason: String,
    /// The points that it decides.
    pub covers: Vec<Point>,
}

/// Why a decision is not recorded.
#[derive(Debug, thiserror::Error)]
pub enum DecisionFault {
    /// The reason is missing or too long.
    #[error("a decision needs a reason of {SHORTEST_REASON} to {LONGEST_REASON} characters")]
    Reason,
    /// There is no such measure or frame, or the measure was stated anew meanwhile.
    #[error("there is no such measure any more: look at the session again")]
    NotThere,
    /// Somebody else decided first, or new points came: look before deciding.
    #[error("something changed since this page was shown: look at it again, then decide")]
    Changed,
    /// This person may not decide.
    #[error("only a secretary decides")]
    NotAllowed,
    /// The database failed.
    #[error(transparent)]
    Db(#[from] DbFault),
}

impl OfficeState {
    /// Records a decision about a statement (`subject` is its head) or about a frame
    /// that was set aside (its id). `seen` are the points that were on the page, and
    /// `nth` the number that this decision will have: both must still be so.
    ///
    /// # Errors
    /// [`DecisionFault`]; nothing is recorded then.
    #[allow(clippy::too_many_arguments)] // one form, one call
    pub fn decide(
        &self,
        subject: [u8; 32],
        nth: i64,
        seen: &[Point],
        verdict: Verdict,
        reason: &str,
        by: &Worker,
        now_ms: i64,
    ) -> Result<(), DecisionFault> {
        if !by.role.may_decide() {
            return Err(DecisionFault::NotAllowed);
        }
        let reason = reason.trim();
        if !(SHORTEST_REASON..=LONGEST_REASON).contains(&reason.chars().count()) {
            return Err(DecisionFault::Reason);
        }
        db::write(self.engine(), |sql| {
            let chip = match subject_points(self, sql, subject)? {
                None => return Ok(Err(DecisionFault::NotThere)),
                Some((points, _)) if points != seen => return Ok(Err(DecisionFault::Changed)),
                Some((_, chip)) => chip,
            };
            let before = sql
                .one(
                    "SELECT COUNT(*) FROM decisions WHERE body = $1 AND subject = $2",
                    &[self.body(), subject.into()],
                )?
                .map_or(Ok(0), |row| row.int(0))?;
            if nth != before + 1 {
                return Ok(Err(DecisionFault::Changed));
            }
            let added = sql.execute(
                "INSERT INTO decisions
                 (body, subject, nth, decided_ms, account, name, verdict, reason, covers)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
                 ON CONFLICT (body, subject, nth) DO NOTHING",
                &[
                    self.body(),
                    subject.into(),
                    nth.into(),
                    now_ms.into(),
                    by.account.as_str().into(),
                    by.name.as_str().into(),
                    verdict.word().into(),
                    reason.into(),
                    write_points(seen).into(),
                ],
            )?;
            if added == 0 {
                return Ok(Err(DecisionFault::Changed));
            }
            if let Some(chip) = chip {
                refresh(self, sql, &chip)?;
            }
            Ok(Ok(()))
        })?
    }

    /// The decisions about a subject, oldest first.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn decisions(&self, subject: [u8; 32]) -> Result<Vec<Decision>, DbFault> {
        db::read(self.engine(), |sql| decisions(self, sql, subject))
    }
}

/// The points of a subject, and the chip of the measure if it is one.
type Subject = (Vec<Point>, Option<String>);

fn subject_points(
    office: &OfficeState,
    sql: &mut dyn Sql,
    subject: [u8; 32],
) -> Result<Option<Subject>, DbFault> {
    let named = [office.body(), subject.into()];
    let visit = sql.one(
        "SELECT points, chip FROM visits WHERE body = $1 AND head = $2",
        &named,
    )?;
    if let Some(row) = visit {
        return Ok(Some((read_points(&row.text(0)?)?, Some(row.text(1)?))));
    }
    let frame = sql.one(
        "SELECT reason FROM frames WHERE body = $1 AND id = $2 AND state = 3",
        &named,
    )?;
    frame
        .map(|row| Ok((vec![Point::of(&row.text(0)?)], None)))
        .transpose()
}

pub(crate) fn decisions(
    office: &OfficeState,
    sql: &mut dyn Sql,
    subject: [u8; 32],
) -> Result<Vec<Decision>, DbFault> {
    let rows = sql.query(
        "SELECT nth, decided_ms, account, name, verdict, reason, covers FROM decisions
         WHERE body = $1 AND subject = $2 ORDER BY nth",
        &[office.body(), subject.into()],
    )?;
    rows.iter()
        .map(|row| {
            let word = row.text(4)?;
            Ok(Decision {
                nth: row.int(0)?,
                decided_ms: row.int(1)?,
                account: row.text(2)?,
                name: row.text(3)?,
                verdict: Verdict::read(&word)
                    .ok_or_else(|| DbFault::Unexpected(format!("the verdict '{word}'")))?,
                reason: row.text(5)?,
                covers: read_points(&row.text(6)?)?,
            })
        })
        .collect()
}
