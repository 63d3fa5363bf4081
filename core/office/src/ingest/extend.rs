//! Where a journal stands in the tables, and writing what a frame adds.

use std::collections::BTreeSet;

use super::take::Incoming;
use super::verify::{Change, OpenStatement, Standing};
use crate::db::{DbFault, Row, Sql, Value};
use crate::points::refresh;

/// Where the frame's journal stands.
pub(super) fn standing(sql: &mut dyn Sql, new: &Incoming<'_>) -> Result<Standing, DbFault> {
    let mut standing = Standing::new();
    let Some(row) = sql.one(
        "SELECT head_seq, head_hash, league, session FROM journals
         WHERE body = $1 AND device_key = $2 AND journal = $3",
        &new.journal(),
    )?
    else {
        return Ok(standing);
    };
    standing.head_seq = row.int(0)? as u64;
    standing.head = row.array(1)?;
    standing.league = row.text(2)?;
    standing.session = row.maybe_array(3)?;
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

/// Statements of the session under way that not everybody has signed yet.
pub(super) fn open_statements(
    sql: &mut dyn Sql,
    new: &Incoming<'_>,
    session: Option<[u8; 16]>,
) -> Result<Vec<OpenStatement>, DbFault> {
    let [body, device_key, journal] = new.journal();
    let rows = sql.query(
        "SELECT v.visit, v.head, v.statement FROM visits v
         WHERE v.body = $1 AND v.device_key = $2 AND v.journal = $3 AND v.session = $4
           AND v.measurers > (SELECT COUNT(*) FROM signatures s
                WHERE s.body = v.body AND s.session = v.session
                  AND s.device_key = v.device_key AND s.journal = v.journal
                  AND s.visit = v.visit)",
        &[body, device_key, journal, session.into()],
    )?;
    rows.iter()
        .map(|row| {
            let visit = u32::try_from(row.int(0)?)
                .map_err(|_| DbFault::Unexpected("a visit's number".into()))?;
            Ok((visit, row.array(1)?, row.bytes(2)?))
        })
        .collect()
}

/// Writes what a verified frame adds, and the journal's new head.
pub(super) fn apply(
    sql: &mut dyn Sql,
    new: &Incoming<'_>,
    after: &Standing,
    changes: &[Change],
) -> Result<(), DbFault> {
    let mut chips = BTreeSet::new();
    for change in changes {
        chips.extend(chips_of(sql, new, change)?);
        change_one(sql, new, change)?;
    }
    for chip in chips {
        refresh(new.office, sql, &chip)?;
    }
    let [body, device_key, journal] = new.journal();
    sql.execute(
        "UPDATE journals SET head_seq = $4, head_hash = $5, league = $6, session = $7
         WHERE body = $1 AND device_key = $2 AND journal = $3",
        &[
            body,
            device_key,
            journal,
            after.head_seq.into(),
            after.head.into(),
            after.league.as_str().into(),
            after.session.into(),
        ],
    )?;
    Ok(())
}

/// Chips whose points the change may touch.
fn chips_of(
    sql: &mut dyn Sql,
    new: &Incoming<'_>,
    change: &Change,
) -> Result<Vec<String>, DbFault> {
    let [body, device_key, journal] = new.journal();
    let rows = match change {
        Change::Stated { statement, .. } => {
            // An earlier statement of the visit may have named another chip.
            let visit = i64::from(statement.visit).into();
            let rows = sql.query(
                "SELECT chip FROM visits
                 WHERE body = $1 AND device_key = $2 AND journal = $3 AND session = $4
                   AND visit = $5",
                &[
                    body,
                    device_key,
                    journal,
                    (*statement.session).into(),
                    visit,
                ],
            )?;
            let mut chips = texts(&rows)?;
            chips.push(statement.chip.clone());
            return Ok(chips);
        }
        Change::Signed { session, visit, .. } => sql.query(
            "SELECT chip FROM visits
             WHERE body = $1 AND device_key = $2 AND journal = $3 AND session = $4
               AND visit = $5",
            &[
                body,
                device_key,
                journal,
                (*session).into(),
                i64::from(*visit).into(),
            ],
        )?,
        Change::Closed { session, .. } => sql.query(
            "SELECT v.chip FROM visits v
             WHERE v.body = $1 AND v.device_key = $2 AND v.journal = $3 AND v.session = $4
               AND v.measurers > (SELECT COUNT(*) FROM signatures s
                    WHERE s.body = v.body AND s.session = v.session
                      AND s.device_key = v.device_key AND s.journal = v.journal
                      AND s.visit = v.visit)",
            &[body, device_key, journal, (*session).into()],
        )?,
        _ => Vec::new(),
    };
    texts(&rows)
}

fn texts(rows: &[Row]) -> Result<Vec<String>, DbFault> {
    rows.iter().map(|row| row.text(0)).collect()
}

fn change_one(sql: &mut dyn Sql, new: &Incoming<'_>, change: &Change) -> Result<(), DbFault> {
    let with = |more: Vec<Value>| [new.journal().to_vec(), more].concat();
    match change {
        Change::Person {
            person,
            number,
            key,
        } => {
            sql.execute(
                "INSERT INTO people (body, device_key, journal, person, number, key)
                 VALUES ($1, $2, $3, $4, $5, $6)
                 ON CONFLICT (body, device_key, journal, person)
                 DO UPDATE SET number = excluded.number, key = excluded.key",
                &with(vec![
                    person.as_str().into(),
                    number.as_str().into(),
                    (*key).into(),
                ]),
            )?;
        }
        Change::Session {
            session,
            league,
            day,
            offset_min,
            at_ms,
        } => {
            sql.execute(
                "INSERT INTO sessions
                 (body, device_key, journal, session, league, day, offset_min, venue, begun_ms)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, '', $8)
                 ON CONFLICT (body, session, device_key, journal) DO NOTHING",
                &with(vec![
                    (*session).into(),
                    league.as_str().into(),
                    i64::from(*day).into(),
                    i64::from(*offset_min).into(),
                    (*at_ms).into(),
                ]),
            )?;
        }
        Change::Venue { session, name } => {
            sql.execute(
                "UPDATE sessions SET venue = $5
                 WHERE body = $1 AND device_key = $2 AND journal = $3 AND session = $4",
                &with(vec![(*session).into(), name.as_str().into()]),
            )?;
        }
        Change::Closed {
            session,
            at_ms,
            not_seen,
        } => {
            sql.execute(
                "UPDATE sessions SET closed_ms = $5, not_seen = $6
                 WHERE body = $1 AND device_key = $2 AND journal = $3 AND session = $4",
                &with(vec![(*session).into(), (*at_ms).into(), (*not_seen).into()]),
            )?;
        }
        Change::Stated {
            head,
            at_ms,
            bytes,
            statement,
        } => {
            let visit: Value = i64::from(statement.visit).into();
            // A new statement needs new sign-offs; the old ones stay in the frames.
            sql.execute(
                "DELETE FROM signatures
                 WHERE body = $1 AND device_key = $2 AND journal = $3 AND session = $4
                   AND visit = $5",
                &with(vec![(*statement.session).into(), visit.clone()]),
            )?;
            sql.execute(
                "INSERT INTO visits
                 (body, device_key, journal, session, visit, head, stated_ms, day, dog, chip,
                  measure, measurers, demo, statement)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)
                 ON CONFLICT (body, session, device_key, journal, visit) DO UPDATE SET
                 head = excluded.head, stated_ms = excluded.stated_ms, day = excluded.day,
                 dog = excluded.dog, chip = excluded.chip, measure = excluded.measure,
                 measurers = excluded.measurers,
                 demo = excluded.demo, statement = excluded.statement",
                &with(vec![
                    (*statement.session).into(),
                    visit,
                    (*head).into(),
                    (*at_ms).into(),
                    i64::from(statement.day).into(),
                    statement.dog.as_str().into(),
                    statement.chip.as_str().into(),
                    i64::from(statement.measure).into(),
                    (statement.measurers.len() as i64).into(),
                    statement.demo.into(),
                    bytes.as_slice().into(),
                ]),
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
        } => {
            sql.execute(
                "INSERT INTO signatures
                 (body, device_key, journal, session, visit, person, number, seq, signed_ms,
                  signature)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
                 ON CONFLICT (body, session, device_key, journal, visit, person) DO NOTHING",
                &with(vec![
                    (*session).into(),
                    i64::from(*visit).into(),
                    person.as_str().into(),
                    number.as_str().into(),
                    (*seq).into(),
                    (*at_ms).into(),
                    (*signature).into(),
                ]),
            )?;
        }
    }
    Ok(())
}
