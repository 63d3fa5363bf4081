//! The statements by which a verified frame gets into the tables.

use sha2::{Digest, Sha256};

use super::change::{Change, SessionKey};
use super::take::Incoming;
use super::verify::{OpenStatement, Standing};
use crate::db::{DbFault, Sql, Value};
use crate::incidents;
use crate::state::OfficeState;

/// What names a measure within its journal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct VisitKey {
    pub session: [u8; 16],
    pub visit: u32,
}

/// Whether the row that a change writes can be there already. To look for it costs PostgreSQL
/// three times as much as the insert.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum RowIs {
    /// Not there, as this transaction has seen.
    New,
    /// It may be.
    MaybeThere,
}

/// Where the frame's journal stands.
pub(super) fn standing(sql: &mut dyn Sql, new: &Incoming<'_>) -> Result<Standing, DbFault> {
    let mut standing = Standing::new();
    let Some(row) = sql.one(
        "SELECT head_seq, head_hash, league, session, session_year FROM journals
         WHERE body = $1 AND device_key = $2 AND journal = $3",
        &new.journal(),
    )?
    else {
        return Ok(standing);
    };
    standing.head_seq = row.int(0)? as u64;
    standing.head = row.array(1)?;
    standing.league = row.text(2)?;
    let year = row.int(4)?;
    standing.session = row.maybe_array(3)?.map(|id| SessionKey { id, year });
    let people = sql.query(
        "SELECT person, number, key FROM people
         WHERE body = $1 AND device_key = $2 AND journal = $3",
        &new.journal(),
    )?;
    for row in people {
        standing
            .people
            .insert(row.text(0)?, (row.text(1)?, row.maybe_array(2)?));
    }
    Ok(standing)
}

/// Writes where a journal stands.
pub(super) fn keep_standing(
    sql: &mut dyn Sql,
    office: &OfficeState,
    (device_key, journal): &([u8; 32], [u8; 16]),
    standing: &Standing,
) -> Result<(), DbFault> {
    sql.put(
        "INSERT INTO journals
         (body, device_key, journal, head_seq, head_hash, league, session, session_year)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
         ON CONFLICT (body, device_key, journal) DO UPDATE SET
         head_seq = excluded.head_seq, head_hash = excluded.head_hash,
         league = excluded.league, session = excluded.session,
         session_year = excluded.session_year",
        &[
            office.body(),
            (*device_key).into(),
            (*journal).into(),
            standing.head_seq.into(),
            standing.head.into(),
            standing.league.as_str().into(),
            standing.session.map(|s| s.id).into(),
            standing.session.map_or(0, |s| s.year).into(),
        ],
    )?;
    Ok(())
}

/// The values that name a session as one journal has it: `$1` to `$5`.
fn session_key(new: &Incoming<'_>, session: SessionKey) -> Vec<Value> {
    let [body, device_key, journal] = new.journal();
    vec![
        body,
        session.year.into(),
        session.id.into(),
        device_key,
        journal,
    ]
}

fn with(mut key: Vec<Value>, more: impl IntoIterator<Item = Value>) -> Vec<Value> {
    key.extend(more);
    key
}

/// Statements of the session that not everybody has signed yet.
pub(super) fn open_statements(
    sql: &mut dyn Sql,
    new: &Incoming<'_>,
    session: SessionKey,
) -> Result<Vec<OpenStatement>, DbFault> {
    let rows = sql.query(
        "SELECT v.visit, v.head, v.statement FROM visits v
         WHERE v.body = $1 AND v.year = $2 AND v.session = $3 AND v.device_key = $4
           AND v.journal = $5
           AND v.measurers > (SELECT COUNT(*) FROM signatures s
                WHERE s.body = v.body AND s.year = v.year AND s.session = v.session
                  AND s.device_key = v.device_key AND s.journal = v.journal
                  AND s.visit = v.visit)",
        &session_key(new, session),
    )?;
    rows.iter()
        .map(|row| {
            let visit = u32::try_from(row.int(0)?)
                .map_err(|_| DbFault::Unexpected("a visit's number".into()))?;
            Ok((visit, row.array(1)?, row.bytes(2)?))
        })
        .collect()
}

/// Whether the journal has begun this session, as far as it is on record.
pub(super) fn has_session(
    sql: &mut dyn Sql,
    new: &Incoming<'_>,
    session: SessionKey,
) -> Result<bool, DbFault> {
    let row = sql.one(
        "SELECT day FROM sessions
         WHERE body = $1 AND year = $2 AND session = $3 AND device_key = $4 AND journal = $5",
        &session_key(new, session),
    )?;
    Ok(row.is_some())
}

/// The highest number of a measure that the session has on record.
pub(super) fn highest_visit(
    sql: &mut dyn Sql,
    new: &Incoming<'_>,
    session: SessionKey,
) -> Result<Option<i64>, DbFault> {
    sql.one(
        "SELECT MAX(visit) FROM visits
         WHERE body = $1 AND year = $2 AND session = $3 AND device_key = $4 AND journal = $5",
        &session_key(new, session),
    )?
    .map_or(Ok(None), |row| row.maybe_int(0))
}

/// The chip of a measure on record.
pub(super) fn chip_of(
    sql: &mut dyn Sql,
    new: &Incoming<'_>,
    session: SessionKey,
    visit: u32,
) -> Result<Option<String>, DbFault> {
    sql.one(
        "SELECT chip FROM visits
         WHERE body = $1 AND year = $2 AND session = $3 AND device_key = $4 AND journal = $5
           AND visit = $6",
        &with(session_key(new, session), [i64::from(visit).into()]),
    )?
    .map(|row| row.text(0))
    .transpose()
}

/// Takes the sign-offs of an earlier statement out of the tables; they stay in the frames.
pub(super) fn drop_signatures(
    sql: &mut dyn Sql,
    new: &Incoming<'_>,
    session: SessionKey,
    visit: u32,
) -> Result<(), DbFault> {
    sql.put(
        "DELETE FROM signatures
         WHERE body = $1 AND year = $2 AND session = $3 AND device_key = $4 AND journal = $5
           AND visit = $6",
        &with(session_key(new, session), [i64::from(visit).into()]),
    )?;
    Ok(())
}

/// Chips of the session's measures that not everybody has signed.
pub(super) fn unsigned_chips(
    sql: &mut dyn Sql,
    new: &Incoming<'_>,
    session: SessionKey,
) -> Result<Vec<String>, DbFault> {
    let rows = sql.query(
        "SELECT v.chip FROM visits v
         WHERE v.body = $1 AND v.year = $2 AND v.session = $3 AND v.device_key = $4
           AND v.journal = $5
           AND v.measurers > (SELECT COUNT(*) FROM signatures s
                WHERE s.body = v.body AND s.year = v.year AND s.session = v.session
                  AND s.device_key = v.device_key AND s.journal = v.journal
                  AND s.visit = v.visit)",
        &session_key(new, session),
    )?;
    rows.iter().map(|row| row.text(0)).collect()
}

macro_rules! insert_visit {
    ($if_there:literal) => {
        concat!(
            "INSERT INTO visits
             (body, year, session, device_key, journal, visit, head, stated_ms, day, dog, chip,
              measurers, statement, points, weight, dog_key)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, '[]', 0, $14)",
            $if_there
        )
    };
}

macro_rules! insert_signature {
    ($if_there:literal) => {
        concat!(
            "INSERT INTO signatures
             (body, year, session, device_key, journal, visit, person, number, seq, signed_ms,
              signature)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
            $if_there
        )
    };
}

/// Writes one change.
pub(super) fn change(
    sql: &mut dyn Sql,
    new: &Incoming<'_>,
    change: &Change,
    row: RowIs,
) -> Result<(), DbFault> {
    match change {
        Change::Person {
            person,
            number,
            key,
        } => {
            let [body, device_key, journal] = new.journal();
            sql.put(
                "INSERT INTO people (body, device_key, journal, person, number, key)
                 VALUES ($1, $2, $3, $4, $5, $6)
                 ON CONFLICT (body, device_key, journal, person)
                 DO UPDATE SET number = excluded.number, key = excluded.key",
                &[
                    body,
                    device_key,
                    journal,
                    person.as_str().into(),
                    number.as_str().into(),
                    (*key).into(),
                ],
            )?;
        }
        Change::Session {
            session,
            league,
            day,
            offset_min,
            at_ms,
        } => {
            sql.put(
                "INSERT INTO sessions
                 (body, year, session, device_key, journal, league, day, offset_min, venue,
                  begun_ms)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, '', $9)
                 ON CONFLICT (body, year, session, device_key, journal) DO NOTHING",
                &with(
                    session_key(new, *session),
                    [
                        league.as_str().into(),
                        i64::from(*day).into(),
                        i64::from(*offset_min).into(),
                        (*at_ms).into(),
                    ],
                ),
            )?;
        }
        Change::Venue { session, name } => {
            sql.put(
                "UPDATE sessions SET venue = $6
                 WHERE body = $1 AND year = $2 AND session = $3 AND device_key = $4
                   AND journal = $5",
                &with(session_key(new, *session), [name.as_str().into()]),
            )?;
        }
        Change::Closed {
            session,
            at_ms,
            not_seen,
        } => {
            sql.put(
                "UPDATE sessions SET closed_ms = $6, not_seen = $7
                 WHERE body = $1 AND year = $2 AND session = $3 AND device_key = $4
                   AND journal = $5",
                &with(
                    session_key(new, *session),
                    [(*at_ms).into(), (*not_seen).into()],
                ),
            )?;
        }
        Change::Incident {
            session,
            seq,
            at_ms,
            visit,
            what,
            whom,
            words,
        } => {
            let [body, device_key, journal] = new.journal();
            sql.put(
                incidents::KEEP,
                &[
                    body,
                    session.id.into(),
                    device_key,
                    journal,
                    (*seq).into(),
                    (*at_ms).into(),
                    i64::from(*visit).into(),
                    incidents::harm(*what).into(),
                    incidents::whom(*whom).into(),
                    words.as_str().into(),
                ],
            )?;
        }
        Change::Objected {
            session,
            seq,
            at_ms,
            visit,
            words: (id, commitment),
        } => {
            let [body, device_key, journal] = new.journal();
            sql.put(
                "INSERT INTO objections
                 (body, session, device_key, journal, seq, at_ms, visit, words_id, commitment)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
                 ON CONFLICT (body, session, device_key, journal, seq) DO NOTHING",
                &[
                    body,
                    session.id.into(),
                    device_key,
                    journal,
                    (*seq).into(),
                    (*at_ms).into(),
                    i64::from(*visit).into(),
                    (*id).into(),
                    (*commitment).into(),
                ],
            )?;
        }
        Change::Stated {
            session,
            head,
            at_ms,
            bytes,
            statement,
        } => {
            sql.put(
                match row {
                    RowIs::New => insert_visit!(""),
                    RowIs::MaybeThere => insert_visit!(
                        " ON CONFLICT (body, year, session, device_key, journal, visit)
                         DO UPDATE SET
                         head = excluded.head, stated_ms = excluded.stated_ms,
                         day = excluded.day, dog = excluded.dog, chip = excluded.chip,
                         measurers = excluded.measurers, statement = excluded.statement,
                         points = '[]', weight = 0, dog_key = excluded.dog_key"
                    ),
                },
                &with(
                    session_key(new, *session),
                    [
                        i64::from(statement.visit).into(),
                        (*head).into(),
                        (*at_ms).into(),
                        i64::from(statement.day).into(),
                        statement.dog.as_str().into(),
                        statement.chip.as_str().into(),
                        (statement.measurers.len() as i64).into(),
                        bytes.as_slice().into(),
                        statement.dog.to_lowercase().into(),
                    ],
                ),
            )?;
        }
        // Nothing of the session changes by it.
        Change::TakenUp { .. } => {}
        Change::Practice {
            trainer,
            bytes,
            record,
            at_ms,
            signature,
        } => {
            let [body, ..] = new.journal();
            let id: [u8; 32] = Sha256::digest(bytes).into();
            sql.put(
                "INSERT INTO practice
                 (body, trainee, id, trainer, day, signed_ms, record, signature)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
                 ON CONFLICT (body, trainee, id) DO NOTHING",
                &[
                    body,
                    record.trainee.as_str().into(),
                    id.into(),
                    trainer.as_str().into(),
                    record.on.to_string().as_str().into(),
                    (*at_ms).into(),
                    bytes.as_slice().into(),
                    (*signature).into(),
                ],
            )?;
        }
        Change::Signed {
            session,
            visit,
            person,
            number,
            seq,
            at_ms,
            signature,
            elsewhere,
        } => {
            sql.put(
                match row {
                    RowIs::New => insert_signature!(""),
                    RowIs::MaybeThere => insert_signature!(
                        " ON CONFLICT (body, year, session, device_key, journal, visit, person)
                         DO NOTHING"
                    ),
                },
                &with(
                    session_key(new, *session),
                    [
                        i64::from(*visit).into(),
                        person.as_str().into(),
                        number.as_str().into(),
                        (*seq).into(),
                        (*at_ms).into(),
                        (*signature).into(),
                    ],
                ),
            )?;
            if let Some(key) = elsewhere {
                let [body, device_key, journal] = new.journal();
                sql.put(
                    "INSERT INTO signed_elsewhere
                     (body, session, device_key, journal, visit, seq, person, key)
                     VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
                    &[
                        body,
                        session.id.into(),
                        device_key,
                        journal,
                        i64::from(*visit).into(),
                        (*seq).into(),
                        person.as_str().into(),
                        (*key).into(),
                    ],
                )?;
            }
        }
    }
    Ok(())
}
