//! What the pages show, read from the tables.

use standsquare_journal::record::fact::Statement;

use crate::db::{self, DbFault, Row, Value};
use crate::ingest::State;
use crate::state::OfficeState;

/// A session as one device wrote it.
#[derive(Clone, Debug)]
pub struct SessionLine {
    /// The session's id.
    pub session: [u8; 16],
    /// The device's public key.
    pub device_key: [u8; 32],
    /// The journal it is in.
    pub journal: [u8; 16],
    /// The league's id, as the phone wrote it.
    pub league: String,
    /// Days since 1970-01-01.
    pub day: i32,
    /// Minutes east of UTC.
    pub offset_min: i32,
    /// Where.
    pub venue: String,
    /// When it was closed, by the phone's clock; `None` while it goes on.
    pub closed_ms: Option<i64>,
    /// Dogs on record.
    pub dogs: i64,
}

/// A signature under a statement; it was verified when it came in.
#[derive(Clone, Debug)]
pub struct SignedLine {
    /// Id in the roster.
    pub person: String,
    /// Measurer's number.
    pub number: String,
    /// When, by the phone's clock, Unix milliseconds.
    pub signed_ms: i64,
}

/// A dog on record.
#[derive(Clone, Debug)]
pub struct VisitLine {
    /// Device that wrote it.
    pub device_key: [u8; 32],
    /// The journal it is in.
    pub journal: [u8; 16],
    /// When it was stated, by the phone's clock, Unix milliseconds.
    pub stated_ms: i64,
    /// What was stated.
    pub statement: Statement,
    /// Who signed, in order.
    pub signed: Vec<SignedLine>,
}

/// A frame that a person has to look at.
#[derive(Clone, Debug)]
pub struct SetAsideLine {
    /// The frame's id.
    pub id: [u8; 32],
    /// The device that sealed it.
    pub device_key: [u8; 32],
    /// Its first and last event.
    pub events: (i64, i64),
    /// A fixed word: why.
    pub reason: String,
    /// When it came, by the office's clock, Unix milliseconds.
    pub received_ms: i64,
}

const SESSION_COLUMNS: usize = 8;

fn session_line(row: &Row) -> Result<SessionLine, DbFault> {
    let small = |n: i64| i32::try_from(n).unwrap_or(0);
    Ok(SessionLine {
        session: row.array(0)?,
        device_key: row.array(1)?,
        journal: row.array(2)?,
        league: row.text(3)?,
        day: small(row.int(4)?),
        offset_min: small(row.int(5)?),
        venue: row.text(6)?,
        closed_ms: row.maybe_int(7)?,
        dogs: row.int(SESSION_COLUMNS)?,
    })
}

impl OfficeState {
    fn body(&self) -> Value {
        self.roster().league.id.as_str().into()
    }

    /// Sessions, newest day first, at most `limit`.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn sessions(&self, limit: i64) -> Result<Vec<SessionLine>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT s.session, s.device_key, s.journal, s.league, s.day, s.offset_min,
                        s.venue, s.closed_ms,
                        (SELECT COUNT(*) FROM visits v
                         WHERE v.body = s.body AND v.session = s.session
                           AND v.device_key = s.device_key AND v.journal = s.journal)
                 FROM sessions s WHERE s.body = $1
                 ORDER BY s.day DESC, s.begun_ms DESC, s.session LIMIT $2",
                &[self.body(), limit.into()],
            )?;
            rows.iter().map(session_line).collect()
        })
    }

    /// One session, as each device wrote it, and its dogs in the order of the day.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn session(
        &self,
        session: [u8; 16],
    ) -> Result<(Vec<SessionLine>, Vec<VisitLine>), DbFault> {
        db::read(self.engine(), |sql| {
            let named = [self.body(), session.into()];
            let rows = sql.query(
                "SELECT s.session, s.device_key, s.journal, s.league, s.day, s.offset_min,
                        s.venue, s.closed_ms,
                        (SELECT COUNT(*) FROM visits v
                         WHERE v.body = s.body AND v.session = s.session
                           AND v.device_key = s.device_key AND v.journal = s.journal)
                 FROM sessions s WHERE s.body = $1 AND s.session = $2
                 ORDER BY s.begun_ms, s.device_key, s.journal",
                &named,
            )?;
            let lines = rows
                .iter()
                .map(session_line)
                .collect::<Result<Vec<_>, _>>()?;
            let rows = sql.query(
                "SELECT device_key, journal, stated_ms, statement, visit FROM visits
                 WHERE body = $1 AND session = $2 ORDER BY device_key, journal, visit",
                &named,
            )?;
            let mut visits = Vec::new();
            for row in &rows {
                let statement = Statement::decode_strict(&row.bytes(3)?)
                    .map_err(|e| DbFault::Unexpected(format!("a statement on record: {e}")))?;
                let of_visit = sql.query(
                    "SELECT person, number, signed_ms FROM signatures
                     WHERE body = $1 AND session = $2 AND device_key = $3 AND journal = $4
                       AND visit = $5
                     ORDER BY seq",
                    &[
                        self.body(),
                        session.into(),
                        row.0[0].clone(),
                        row.0[1].clone(),
                        row.0[4].clone(),
                    ],
                )?;
                let signed = of_visit
                    .iter()
                    .map(|row| {
                        Ok(SignedLine {
                            person: row.text(0)?,
                            number: row.text(1)?,
                            signed_ms: row.int(2)?,
                        })
                    })
                    .collect::<Result<_, DbFault>>()?;
                visits.push(VisitLine {
                    device_key: row.array(0)?,
                    journal: row.array(1)?,
                    stated_ms: row.int(2)?,
                    statement,
                    signed,
                });
            }
            Ok((lines, visits))
        })
    }

    /// Frames that were set aside, newest first.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn set_aside(&self, limit: i64) -> Result<Vec<SetAsideLine>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT id, device_key, from_seq, to_seq, reason, received_ms FROM frames
                 WHERE body = $1 AND state = $2 ORDER BY received_ms DESC, id LIMIT $3",
                &[self.body(), (State::SetAside as i64).into(), limit.into()],
            )?;
            rows.iter()
                .map(|row| {
                    Ok(SetAsideLine {
                        id: row.array(0)?,
                        device_key: row.array(1)?,
                        events: (row.int(2)?, row.int(3)?),
                        reason: row.text(4)?,
                        received_ms: row.int(5)?,
                    })
                })
                .collect()
        })
    }

    /// Frames that are kept until earlier ones come.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn waiting(&self) -> Result<i64, DbFault> {
        db::read(self.engine(), |sql| {
            sql.one(
                "SELECT COUNT(*) FROM frames WHERE body = $1 AND state = $2",
                &[self.body(), (State::Waiting as i64).into()],
            )?
            .map_or(Ok(0), |row| row.int(0))
        })
    }
}
