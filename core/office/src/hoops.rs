//! Checks of hoops: noted by the trainer or the secretary, judged by the rules' tolerance, and what a
//! hoop that failed leaves in doubt. A check is only ever added.

use chrono::NaiveDate;
use standsquare_journal::record::fact::Statement;
use standsquare_measuring::gauge::hoop::{HoopCheck, UsedIn};
use standsquare_sync::roster::Hoop;

use crate::accounts::Worker;
use crate::db::{self, DbFault};
use crate::state::OfficeState;

/// Longest name of an instrument with its certificate, characters.
const LONGEST_INSTRUMENT: usize = 200;

/// A check on record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotedCheck {
    /// 1 for the first one of its hoop.
    pub nth: i64,
    /// When it was noted, by the office's clock, Unix milliseconds.
    pub noted_ms: i64,
    /// Who noted it: their name then.
    pub name: String,
    /// The check.
    pub check: HoopCheck,
}

/// A measure in which a hoop was placed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placed {
    /// The head of the statement.
    pub head: [u8; 32],
    /// Call name.
    pub dog: String,
    /// The chip's number.
    pub chip: String,
}

/// Why a check is not noted.
#[derive(Debug, thiserror::Error)]
pub enum CheckFault {
    /// The roster has no such hoop.
    #[error("the roster has no such hoop")]
    Unknown,
    /// A height that no check of this hoop can give.
    #[error(
        "{0} is more than 5 cm from what the rules name: write the three inside heights in \
         millimetres, such as 350.4"
    )]
    FarOff(standsquare_measuring::Length),
    /// No instrument is named, or at too great a length.
    #[error(
        "name the instrument and its certificate, in at most {LONGEST_INSTRUMENT} characters: \
         without it a check proves nothing"
    )]
    Instrument,
    /// A day to come.
    #[error("the day of a check cannot be to come")]
    ToCome,
    /// Somebody else noted one first.
    #[error("a check was noted since this page was shown: look at it again")]
    Changed,
    /// This person may not.
    #[error("only the trainer and the secretary note checks of hoops")]
    NotAllowed,
    /// The database failed.
    #[error(transparent)]
    Db(#[from] DbFault),
}

impl OfficeState {
    /// A hoop of the roster by its id.
    pub fn hoop(&self, id: &str) -> Option<&Hoop> {
        self.roster().hoops.iter().find(|h| h.id == id)
    }

    /// Notes a check of the hoop with this id as its `nth`.
    ///
    /// # Errors
    /// [`CheckFault`]; nothing is noted then.
    pub fn note_hoop_check(
        &self,
        hoop: &str,
        nth: i64,
        check: &HoopCheck,
        by: &Worker,
        today: NaiveDate,
        now_ms: i64,
    ) -> Result<(), CheckFault> {
        if !by.role.may_train() {
            return Err(CheckFault::NotAllowed);
        }
        let known = self.hoop(hoop).ok_or(CheckFault::Unknown)?;
        if known.gauge != check.gauge.as_str() {
            return Err(CheckFault::Unknown);
        }
        let rules = self.rules()?;
        let pack = rules.on(check.on.to_epoch_days());
        let nominal = pack.gauge(&check.gauge).and_then(|g| g.height);
        let nominal = nominal.ok_or(CheckFault::Unknown)?;
        // A hoop so far off was mistyped: no hoop comes that far from its stamp and is still used.
        let far = check.heights.iter().find(|h| {
            let off = h.apart(nominal);
            off.micrometres() > 50_000
        });
        if let Some(far) = far {
            return Err(CheckFault::FarOff(*far));
        }
        let named = check.instrument.trim().chars().count();
        if !(1..=LONGEST_INSTRUMENT).contains(&named) {
            return Err(CheckFault::Instrument);
        }
        if check.on > today {
            return Err(CheckFault::ToCome);
        }
        let text = serde_json::to_string(check)
            .map_err(|e| DbFault::Unexpected(format!("a check: {e}")))?;
        db::write(self.engine(), |sql| {
            let before = sql.one(
                "SELECT COUNT(*) FROM hoop_checks WHERE body = $1 AND hoop = $2",
                &[self.body(), hoop.into()],
            )?;
            if before.map_or(Ok(0), |row| row.int(0))? + 1 != nth {
                return Ok(Err(CheckFault::Changed));
            }
            let added = sql.execute(
                "INSERT INTO hoop_checks (body, hoop, nth, noted_ms, account, name, checked)
                 VALUES ($1, $2, $3, $4, $5, $6, $7)
                 ON CONFLICT (body, hoop, nth) DO NOTHING",
                &[
                    self.body(),
                    hoop.into(),
                    nth.into(),
                    now_ms.into(),
                    by.account.as_str().into(),
                    by.name.as_str().into(),
                    text.as_str().into(),
                ],
            )?;
            Ok(if added == 0 {
                Err(CheckFault::Changed)
            } else {
                Ok(())
            })
        })?
    }

    /// A hoop's checks, in the order noted.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn hoop_checks(&self, hoop: &str) -> Result<Vec<NotedCheck>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT nth, noted_ms, name, checked FROM hoop_checks
                 WHERE body = $1 AND hoop = $2 ORDER BY nth",
                &[self.body(), hoop.into()],
            )?;
            rows.iter()
                .map(|row| {
                    let check = serde_json::from_str(&row.text(3)?)
                        .map_err(|e| DbFault::Unexpected(format!("a check on record: {e}")))?;
                    Ok(NotedCheck {
                        nth: row.int(0)?,
                        noted_ms: row.int(1)?,
                        name: row.text(2)?,
                        check,
                    })
                })
                .collect()
        })
    }

    /// Every measure in which a hoop was placed, oldest first, signed or not: what it said of the
    /// dog is read from what is known of the height.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn hoop_uses(&self, hoop: &Hoop) -> Result<Vec<UsedIn<Placed>>, DbFault> {
        let rules = self.rules()?;
        let gauge = standsquare_measuring::GaugeId::from(hoop.gauge.as_str());
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT statement, head FROM visits WHERE body = $1 ORDER BY day, stated_ms, head",
                &[self.body()],
            )?;
            let mut all = Vec::new();
            for row in rows {
                let s = Statement::decode_strict(&row.bytes(0)?)
                    .map_err(|e| DbFault::Unexpected(format!("a statement on record: {e}")))?;
                if !s
                    .placings
                    .iter()
                    .any(|p| p.hoop == hoop.id && p.seen.counts())
                {
                    continue;
                }
                let height = rules.on(s.day).gauge(&gauge).and_then(|g| g.height);
                let nominal = height.map(|h| h.micrometres());
                let within = match nominal {
                    Some(_) if s.within_um == nominal => Some(true),
                    Some(_) if s.over_um == nominal => Some(false),
                    _ => None,
                };
                let Some(on) = NaiveDate::from_epoch_days(s.day) else {
                    continue;
                };
                all.push(UsedIn {
                    on,
                    measure: Placed {
                        head: row.array(1)?,
                        dog: s.dog,
                        chip: s.chip,
                    },
                    within,
                });
            }
            Ok(all)
        })
    }
}
