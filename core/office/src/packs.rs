//! Rule packs: looked at, tried with cases, and published from a day on.

use standsquare_measuring::RulePack;
use standsquare_measuring::cli::{Said, rules_check, rules_try};

use crate::accounts::Worker;
use crate::db::{self, DbFault, Row, Sql};
use crate::state::OfficeState;

/// Longest pack, and longest list of cases, bytes. Own choice, no source: the demo league's
/// pack has under ten thousand.
pub const LONGEST: usize = 256 * 1024;

/// What a pack is called in what is said of it.
const NAME: &str = "pack";

/// The day of a moment by the office's clock (UTC), days since 1970-01-01.
pub(crate) fn day_of(at_ms: i64) -> i32 {
    i32::try_from(at_ms.div_euclid(86_400_000)).unwrap_or(i32::MAX)
}

/// A pack that was published.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Published {
    /// 1 for the first.
    pub nth: i64,
    /// In force from then on, days since 1970-01-01.
    pub from_day: i32,
    /// Its text.
    pub text: String,
    /// When, by the office's clock, Unix milliseconds.
    pub published_ms: i64,
    /// Whose account.
    pub account: String,
    /// Their name.
    pub name: String,
}

/// Why a pack is not published.
#[derive(Debug, thiserror::Error)]
pub enum PublishFault {
    /// It is refused; what is wrong, line by line.
    #[error("this is not a pack that can be measured by: {0}")]
    Pack(String),
    /// A hoop of the roster has no place in it: phones would refuse the roster.
    #[error(
        "hoop {hoop} of the roster is for gauge '{gauge}', which this pack does not have; \
         name the gauge as before, or take the hoop out of the roster first"
    )]
    Hoop {
        /// The hoop's number.
        hoop: String,
        /// The gauge.
        gauge: String,
    },
    /// It would change what was measured already.
    #[error(
        "a pack is published from tomorrow on at the earliest: today's sessions have begun by the present one"
    )]
    TooEarly,
    /// Somebody else published meanwhile.
    #[error("somebody published another pack meanwhile; look at it and try again")]
    Meanwhile,
    /// Only a secretary publishes.
    #[error("only a secretary publishes rules")]
    NotAllowed,
    /// The database failed.
    #[error(transparent)]
    Db(#[from] DbFault),
}

/// What a look at a pack says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Looked {
    /// What `cargo xtask rules check` says of it.
    pub check: Said,
    /// What `cargo xtask rules try` says of the cases; none without cases or with faults.
    pub tried: Option<Said>,
    /// Lines that differ from the pack in force: what stands before each (`-`, `+` or a
    /// blank) and the line.
    pub changes: Vec<(char, String)>,
}

impl OfficeState {
    /// Every pack that was published, the newest first.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn packs(&self) -> Result<Vec<Published>, DbFault> {
        db::read(self.engine(), |sql| packs(self, sql))
    }

    /// The text of the pack that is in force on this day: the newest of those published
    /// from that day or before, else the roster's own.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn pack_on(&self, day: i32) -> Result<String, DbFault> {
        db::read(self.engine(), |sql| self.pack_in_force(sql, day))
    }

    /// The same, within a transaction.
    pub(crate) fn pack_in_force(&self, sql: &mut dyn Sql, day: i32) -> Result<String, DbFault> {
        let published = packs(self, sql)?;
        let in_force = published.into_iter().filter(|p| p.from_day <= day);
        let newest = in_force.max_by_key(|p| (p.from_day, p.nth));
        Ok(newest.map_or_else(|| self.roster().pack.clone(), |p| p.text))
    }

    /// Looks at a pack without recording anything: is it one, what differs from the one in
    /// force on `day`, and how are the cases judged by it. `cases` may be empty.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn look_at_pack(&self, text: &str, cases: &str, day: i32) -> Result<Looked, DbFault> {
        let check = rules_check(NAME, text);
        let tried =
            (check.status == 0 && !cases.trim().is_empty()).then(|| rules_try(NAME, text, cases));
        let present = self.pack_on(day)?;
        Ok(Looked {
            check,
            tried,
            changes: changes(&present, text),
        })
    }

    /// Publishes a pack from `from_day` on. `nth` is one more than the number of packs
    /// that were seen, `today` the office's day.
    ///
    /// # Errors
    /// [`PublishFault`]; then nothing is recorded.
    pub fn publish_pack(
        &self,
        text: &str,
        from_day: i32,
        nth: i64,
        worker: &Worker,
        today: i32,
        now_ms: i64,
    ) -> Result<(), PublishFault> {
        if !worker.role.may_decide() {
            return Err(PublishFault::NotAllowed);
        }
        let pack =
            RulePack::parse(text).map_err(|_| PublishFault::Pack(rules_check(NAME, text).text))?;
        for hoop in &self.roster().hoops {
            if !pack.gauges().iter().any(|g| g.id.as_str() == hoop.gauge) {
                return Err(PublishFault::Hoop {
                    hoop: hoop.serial.clone(),
                    gauge: hoop.gauge.clone(),
                });
            }
        }
        if from_day <= today {
            return Err(PublishFault::TooEarly);
        }
        let mut meanwhile = false;
        db::write(self.engine(), |sql| {
            let there = packs(self, sql)?;
            meanwhile = there.first().map_or(0, |p| p.nth) + 1 != nth;
            if meanwhile {
                return Ok(());
            }
            sql.put(
                "INSERT INTO packs (body, nth, from_day, text, published_ms, account, name)
                 VALUES ($1, $2, $3, $4, $5, $6, $7)",
                &[
                    self.body(),
                    nth.into(),
                    i64::from(from_day).into(),
                    text.into(),
                    now_ms.into(),
                    worker.account.as_str().into(),
                    worker.name.as_str().into(),
                ],
            )
        })?;
        match meanwhile {
            true => Err(PublishFault::Meanwhile),
            false => Ok(()),
        }
    }
}

/// Every published pack, the newest first.
pub(crate) fn packs(office: &OfficeState, sql: &mut dyn Sql) -> Result<Vec<Published>, DbFault> {
    let rows = sql.query(
        "SELECT nth, from_day, text, published_ms, account, name
         FROM packs WHERE body = $1 ORDER BY nth DESC",
        &[office.body()],
    )?;
    rows.iter().map(published).collect()
}

fn published(row: &Row) -> Result<Published, DbFault> {
    Ok(Published {
        nth: row.int(0)?,
        from_day: i32::try_from(row.int(1)?)
            .map_err(|_| DbFault::Unexpected("the day of a pack".into()))?,
        text: row.text(2)?,
        published_ms: row.int(3)?,
        account: row.text(4)?,
        name: row.text(5)?,
    })
}

/// Lines that differ, each change with two lines around it.
fn changes(before: &str, after: &str) -> Vec<(char, String)> {
    let diff = similar::TextDiff::from_lines(before, after);
    let mut out = Vec::new();
    for group in diff.grouped_ops(2) {
        for op in group {
            for change in diff.iter_changes(&op) {
                let mark = match change.tag() {
                    similar::ChangeTag::Delete => '-',
                    similar::ChangeTag::Insert => '+',
                    similar::ChangeTag::Equal => ' ',
                };
                out.push((mark, change.value().trim_end().to_owned()));
            }
        }
    }
    out
}
