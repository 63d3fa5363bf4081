//! What the pages show, read from the tables.

use standsquare_journal::record::Hash;
use standsquare_journal::record::fact::Statement;

use crate::db::{self, DbFault, Row, Sql, Value};
use crate::ingest::State;
use crate::opened::How;
use crate::points::{Point, read_points};
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
    /// Dogs with something to decide.
    pub open: i64,
    /// Bites and falls between two dogs.
    pub between: i64,
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
    /// Number of the event in its journal.
    pub seq: i64,
    /// How the key was opened, where that was asked for.
    pub how: Option<How>,
}

/// A dog's measure on record.
#[derive(Clone, Debug)]
pub struct VisitLine {
    /// Its session.
    pub session: [u8; 16],
    /// Device that wrote it.
    pub device_key: [u8; 32],
    /// The journal it is in.
    pub journal: [u8; 16],
    /// Head of the statement: names it in addresses and decisions.
    pub head: Hash,
    /// When it was stated, by the phone's clock, Unix milliseconds.
    pub stated_ms: i64,
    /// The session's minutes east of UTC.
    pub offset_min: i32,
    /// The session's venue.
    pub venue: String,
    /// What was stated.
    pub statement: Statement,
    /// Who signed, in order.
    pub signed: Vec<SignedLine>,
    /// What there is to look at.
    pub points: Vec<Point>,
    /// Weight of the heaviest point that is not decided yet; 0 for none.
    pub weight: i64,
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

/// Sessions, with how many dogs they have and how many of those are undecided.
macro_rules! sessions_sql {
    ($rest:literal) => {
        concat!(
            "SELECT s.session, s.device_key, s.journal, s.league, s.day, s.offset_min, s.venue,
                    s.closed_ms,
                    (SELECT COUNT(*) FROM visits v
                     WHERE v.body = s.body AND v.year = s.year AND v.session = s.session
                       AND v.device_key = s.device_key AND v.journal = s.journal),
                    (SELECT COUNT(*) FROM visits v
                     WHERE v.body = s.body AND v.year = s.year AND v.session = s.session
                       AND v.device_key = s.device_key AND v.journal = s.journal
                       AND v.weight > 0),
                    (SELECT COUNT(*) FROM incidents i
                     WHERE i.body = s.body AND i.session = s.session
                       AND i.device_key = s.device_key AND i.journal = s.journal
                       AND i.visit = 0)
             FROM sessions s WHERE s.body = $1 ",
            $rest
        )
    };
}

/// Measures with what is needed of their sessions.
macro_rules! visits_sql {
    ($rest:literal) => {
        concat!(
            "SELECT v.session, v.device_key, v.journal, v.head, v.stated_ms, v.statement,
                    v.points, v.weight, s.offset_min, s.venue, v.visit, v.year
             FROM visits v JOIN sessions s
               ON s.body = v.body AND s.year = v.year AND s.session = v.session
              AND s.device_key = v.device_key AND s.journal = v.journal
             WHERE v.body = $1 ",
            $rest
        )
    };
}

fn small(n: i64) -> i32 {
    i32::try_from(n).unwrap_or(0)
}

fn session_line(row: &Row) -> Result<SessionLine, DbFault> {
    Ok(SessionLine {
        session: row.array(0)?,
        device_key: row.array(1)?,
        journal: row.array(2)?,
        league: row.text(3)?,
        day: small(row.int(4)?),
        offset_min: small(row.int(5)?),
        venue: row.text(6)?,
        closed_ms: row.maybe_int(7)?,
        dogs: row.int(8)?,
        open: row.int(9)?,
        between: row.int(10)?,
    })
}

fn set_aside_line(row: &Row) -> Result<SetAsideLine, DbFault> {
    Ok(SetAsideLine {
        id: row.array(0)?,
        device_key: row.array(1)?,
        events: (row.int(2)?, row.int(3)?),
        reason: row.text(4)?,
        received_ms: row.int(5)?,
    })
}

impl OfficeState {
    /// The league's id, which leads every key.
    pub(crate) fn body(&self) -> Value {
        self.roster().league.id.as_str().into()
    }

    /// Sessions, newest day first, at most `limit`.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn sessions(&self, limit: i64) -> Result<Vec<SessionLine>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                sessions_sql!(
                    "ORDER BY s.day DESC, s.begun_ms DESC, s.session, s.device_key, s.journal
                 LIMIT $2"
                ),
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
                sessions_sql!("AND s.session = $2 ORDER BY s.begun_ms, s.device_key, s.journal"),
                &named,
            )?;
            let lines = rows.iter().map(session_line).collect::<Result<_, _>>()?;
            let rows = sql.query(
                visits_sql!("AND v.session = $2 ORDER BY v.device_key, v.journal, v.visit"),
                &named,
            )?;
            let mut visits = self.visit_lines(sql, &rows)?;
            self.say_how(sql, &mut visits)?;
            Ok((lines, visits))
        })
    }

    /// Every measure of a chip, oldest first.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn dog(&self, chip: &str) -> Result<Vec<VisitLine>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                visits_sql!("AND v.chip = $2 ORDER BY v.day, v.stated_ms, v.device_key, v.visit"),
                &[self.body(), chip.into()],
            )?;
            self.visit_lines(sql, &rows)
        })
    }

    /// The measure whose statement has this head.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn measure(&self, head: Hash) -> Result<Option<VisitLine>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(visits_sql!("AND v.head = $2"), &[self.body(), head.into()])?;
            let mut visits = self.visit_lines(sql, &rows)?;
            self.say_how(sql, &mut visits)?;
            Ok(visits.into_iter().next())
        })
    }

    /// Measures with something to decide, the weightiest first.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn undecided(&self, limit: i64) -> Result<Vec<VisitLine>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                visits_sql!(
                    "AND v.weight > 0
                     ORDER BY v.weight DESC, v.day, v.stated_ms, v.head LIMIT $2"
                ),
                &[self.body(), limit.into()],
            )?;
            self.visit_lines(sql, &rows)
        })
    }

    fn visit_lines(&self, sql: &mut dyn Sql, rows: &[Row]) -> Result<Vec<VisitLine>, DbFault> {
        let mut visits = Vec::new();
        for row in rows {
            let statement = Statement::decode_strict(&row.bytes(5)?)
                .map_err(|e| DbFault::Unexpected(format!("a statement on record: {e}")))?;
            let signatures = sql.query(
                "SELECT person, number, signed_ms, seq FROM signatures
                 WHERE body = $1 AND year = $2 AND session = $3 AND device_key = $4
                   AND journal = $5 AND visit = $6
                 ORDER BY seq",
                &[
                    self.body(),
                    row.int(11)?.into(),
                    row.array::<16>(0)?.into(),
                    row.array::<32>(1)?.into(),
                    row.array::<16>(2)?.into(),
                    row.int(10)?.into(),
                ],
            )?;
            let signed = signatures
                .iter()
                .map(|row| {
                    Ok(SignedLine {
                        person: row.text(0)?,
                        number: row.text(1)?,
                        signed_ms: row.int(2)?,
                        seq: row.int(3)?,
                        how: None,
                    })
                })
                .collect::<Result<_, DbFault>>()?;
            visits.push(VisitLine {
                session: row.array(0)?,
                device_key: row.array(1)?,
                journal: row.array(2)?,
                head: row.array(3)?,
                stated_ms: row.int(4)?,
                offset_min: small(row.int(8)?),
                venue: row.text(9)?,
                statement,
                signed,
                points: read_points(&row.text(6)?)?,
                weight: row.int(7)?,
            });
        }
        Ok(visits)
    }

    /// Frames that were set aside and nobody has decided about, newest first.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn set_aside(&self, limit: i64) -> Result<Vec<SetAsideLine>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT f.id, f.device_key, f.from_seq, f.to_seq, f.reason, f.received_ms
                 FROM frames f
                 WHERE f.body = $1 AND f.state = 3 AND f.state <> 1 AND NOT EXISTS
                   (SELECT 1 FROM decisions d WHERE d.body = f.body AND d.subject = f.id)
                 ORDER BY f.received_ms DESC, f.id LIMIT $2",
                &[self.body(), limit.into()],
            )?;
            rows.iter().map(set_aside_line).collect()
        })
    }

    /// One frame that was set aside.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn set_aside_frame(&self, id: [u8; 32]) -> Result<Option<SetAsideLine>, DbFault> {
        db::read(self.engine(), |sql| {
            sql.one(
                "SELECT id, device_key, from_seq, to_seq, reason, received_ms
                 FROM frames WHERE body = $1 AND state = 3 AND id = $2",
                &[self.body(), id.into()],
            )?
            .as_ref()
            .map(set_aside_line)
            .transpose()
        })
    }

    /// What became of a frame; `None` if it is not here.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn frame_state(&self, id: [u8; 32]) -> Result<Option<State>, DbFault> {
        db::read(self.engine(), |sql| {
            let row = sql.one(
                "SELECT state FROM frames WHERE body = $1 AND id = $2",
                &[self.body(), id.into()],
            )?;
            row.map(|row| match row.int(0)? {
                1 => Ok(State::Accepted),
                2 => Ok(State::Waiting),
                3 => Ok(State::SetAside),
                n => Err(DbFault::Unexpected(format!("a frame's state {n}"))),
            })
            .transpose()
        })
    }

    /// Frames that are kept until earlier ones come.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn waiting(&self) -> Result<i64, DbFault> {
        db::read(self.engine(), |sql| {
            sql.one(
                "SELECT COUNT(*) FROM frames WHERE body = $1 AND state = 2 AND state <> 1",
                &[self.body()],
            )?
            .map_or(Ok(0), |row| row.int(0))
        })
    }
}
