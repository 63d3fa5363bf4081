//! Keeping the points in the tables: worked out again for every measure of a chip
//! whenever one of them, or a decision about one, comes in.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use chrono::NaiveDate;
use standsquare_journal::record::fact::{Harm, Statement};
use standsquare_sync::roster::EarlierMeasure;

use super::keys::Signer;
use super::{Measure, Point, points_of};
use crate::db::{self, DbFault, Row, Sql, Value};
use crate::decide::Verdict;
use crate::incidents;
use crate::keys::{self, Said};
use crate::state::OfficeState;

/// Edition of the rules for points, and of what is read from the frames for them. When it grows,
/// everything is worked out again at the next start.
pub const EDITION: i64 = 3;

/// From this edition on, every bite and fall has its row.
const WITH_INCIDENTS: i64 = 3;

/// The measures of the chips that are named from the second parameter on.
macro_rules! measures_of {
    ($chips:literal) => {
        concat!(
            "SELECT v.session, v.device_key, v.journal, v.stated_ms, v.statement,
                (SELECT COUNT(*) FROM signatures g
                 WHERE g.body = v.body AND g.year = v.year AND g.session = v.session
                   AND g.device_key = v.device_key AND g.journal = v.journal
                   AND g.visit = v.visit),
                s.closed_ms, v.points, v.weight, v.head,
                (SELECT d.verdict FROM decisions d
                 WHERE d.body = v.body AND d.subject = v.head ORDER BY d.nth DESC LIMIT 1),
                (SELECT d.covers FROM decisions d
                 WHERE d.body = v.body AND d.subject = v.head ORDER BY d.nth DESC LIMIT 1),
                v.year, v.visit,
                (SELECT MAX(k.nth) FROM key_notices k WHERE k.body = v.body),
                (SELECT MIN(i.what) FROM incidents i
                 WHERE i.body = v.body AND i.session = v.session
                   AND i.device_key = v.device_key AND i.journal = v.journal
                   AND i.visit = v.visit),
                (SELECT MAX(i.what) FROM incidents i
                 WHERE i.body = v.body AND i.session = v.session
                   AND i.device_key = v.device_key AND i.journal = v.journal
                   AND i.visit = v.visit),
                v.chip,
                (SELECT COUNT(*) FROM objections o
                 WHERE o.body = v.body AND o.session = v.session
                   AND o.device_key = v.device_key AND o.journal = v.journal
                   AND o.visit = v.visit),
                (SELECT MAX(p.nth) FROM packs p WHERE p.body = v.body),
                (SELECT MAX(e.seq) FROM signed_elsewhere e
                 WHERE e.body = v.body AND e.session = v.session
                   AND e.device_key = v.device_key AND e.journal = v.journal
                   AND e.visit = v.visit)
         FROM visits v JOIN sessions s
           ON s.body = v.body AND s.year = v.year AND s.session = v.session
          AND s.device_key = v.device_key AND s.journal = v.journal
         WHERE v.body = $1 AND v.chip ",
            $chips
        )
    };
}

/// Works out the points of every measure of this chip.
pub(crate) fn refresh(office: &OfficeState, sql: &mut dyn Sql, chip: &str) -> Result<(), DbFault> {
    let rows = sql.query(measures_of!("= $2"), &[office.body(), chip.into()])?;
    refresh_rows(office, sql, chip, &rows.iter().collect::<Vec<_>>())
}

/// The same of many chips, each once, in few questions.
pub(crate) fn refresh_many(
    office: &OfficeState,
    sql: &mut dyn Sql,
    chips: &[&str],
) -> Result<(), DbFault> {
    static MANY: LazyLock<String> = LazyLock::new(|| {
        let begin = measures_of!("IN ");
        format!("{begin} ({})", db::places(2))
    });
    let keys: Vec<_> = chips.iter().map(|chip| Value::from(*chip)).collect();
    let common = [office.body()];
    let rows = sql.query_many(measures_of!("= $2"), MANY.as_str(), &common, &keys)?;
    let mut of: BTreeMap<String, Vec<&Row>> = BTreeMap::new();
    for row in &rows {
        of.entry(row.text(17)?).or_default().push(row);
    }
    for (chip, rows) in of {
        refresh_rows(office, sql, &chip, &rows)?;
    }
    Ok(())
}

fn refresh_rows(
    office: &OfficeState,
    sql: &mut dyn Sql,
    chip: &str,
    rows: &[&Row],
) -> Result<(), DbFault> {
    let mut measures = rows
        .iter()
        .map(|row| measure(row))
        .collect::<Result<Vec<_>, _>>()?;
    let published = rows.first().map_or(Ok(None), |row| row.maybe_int(19))?;
    let rules = office.rules_up_to(sql, published.unwrap_or(0))?;
    // Few offices have said anything of any key: they are not asked more.
    let said = match rows.first().map_or(Ok(None), |row| row.maybe_int(14))? {
        Some(_) => keys::said(office, sql)?,
        None => Said::default(),
    };
    for (row, measure) in rows.iter().zip(&mut measures) {
        if !said.is_empty() || row.maybe_int(20)?.is_some() {
            measure.signers = signers(office, sql, row, &said)?;
        }
    }
    // Dogs without a number have no history in common.
    let points = if chip.is_empty() {
        measures
            .iter()
            .flat_map(|m| points_of(std::slice::from_ref(m), &[], &rules, &said))
            .collect()
    } else {
        points_of(&measures, &known(office, chip), &rules, &said)
    };
    for (row, points) in rows.iter().zip(points) {
        keep(office, sql, row, &points)?;
    }
    Ok(())
}

fn measure(row: &Row) -> Result<Measure, DbFault> {
    let statement = Statement::decode_strict(&row.bytes(4)?)
        .map_err(|e| DbFault::Unexpected(format!("a statement on record: {e}")))?;
    let verdict = row.maybe_text(10)?;
    Ok(Measure {
        session: row.array(0)?,
        journal: (row.array(1)?, row.array(2)?),
        stated_ms: row.int(3)?,
        statement,
        signed: usize::try_from(row.int(5)?).unwrap_or(0),
        closed: row.maybe_int(6)?.is_some(),
        void: verdict
            .as_deref()
            .and_then(Verdict::read)
            .is_some_and(Verdict::voids),
        signers: Vec::new(),
        happened: happened(row)?,
        objections: row.int(18)?,
    })
}

/// Of two words, the first and the last are all there are.
fn happened(row: &Row) -> Result<Vec<&'static str>, DbFault> {
    let found = [row.maybe_text(15)?, row.maybe_text(16)?];
    let words = [incidents::harm(Harm::Bite), incidents::harm(Harm::Fall)];
    let there = |word: &&str| found.iter().flatten().any(|f| f == word);
    Ok(words.into_iter().filter(there).collect())
}

/// Who signed a measure, with which key, and when that came in.
fn signers(
    office: &OfficeState,
    sql: &mut dyn Sql,
    row: &Row,
    said: &Said,
) -> Result<Vec<Signer>, DbFault> {
    let (session, device, journal) = (
        row.array::<16>(0)?,
        row.array::<32>(1)?,
        row.array::<16>(2)?,
    );
    let signed = sql.query(
        "SELECT g.person, g.number, g.signed_ms, g.seq, g.signature,
                (SELECT p.key FROM people p
                 WHERE p.body = g.body AND p.device_key = g.device_key
                   AND p.journal = g.journal AND p.person = g.person),
                (SELECT e.key FROM signed_elsewhere e
                 WHERE e.body = g.body AND e.session = g.session
                   AND e.device_key = g.device_key AND e.journal = g.journal
                   AND e.visit = g.visit AND e.seq = g.seq)
         FROM signatures g
         WHERE g.body = $1 AND g.year = $2 AND g.session = $3 AND g.device_key = $4
           AND g.journal = $5 AND g.visit = $6
         ORDER BY g.seq",
        &[
            office.body(),
            row.int(12)?.into(),
            session.into(),
            device.into(),
            journal.into(),
            row.int(13)?.into(),
        ],
    )?;
    let (head, statement) = (row.array(9)?, row.bytes(4)?);
    let mut signers = Vec::new();
    for line in signed {
        let person = line.text(0)?;
        let elsewhere = line.maybe_array(6)?;
        let key = match elsewhere {
            Some(_) => elsewhere,
            None => said.key_used(
                &person,
                line.maybe_array(5)?,
                &head,
                &statement,
                &line.array(4)?,
            ),
        };
        let received_ms = match key.is_some_and(|key| said.revoked.contains_key(&key)) {
            true => received(office, sql, device, journal, line.int(3)?)?,
            false => None,
        };
        signers.push(Signer {
            person,
            number: line.text(1)?,
            key,
            elsewhere: elsewhere.is_some(),
            signed_ms: line.int(2)?,
            received_ms,
        });
    }
    Ok(signers)
}

/// When the frame with this event came in.
fn received(
    office: &OfficeState,
    sql: &mut dyn Sql,
    device: [u8; 32],
    journal: [u8; 16],
    seq: i64,
) -> Result<Option<i64>, DbFault> {
    sql.one(
        "SELECT MIN(received_ms) FROM frames
         WHERE body = $1 AND device_key = $2 AND journal = $3 AND from_seq <= $4
           AND to_seq >= $4 AND state = 1",
        &[office.body(), device.into(), journal.into(), seq.into()],
    )?
    .map_or(Ok(None), |row| row.maybe_int(0))
}

fn keep(
    office: &OfficeState,
    sql: &mut dyn Sql,
    row: &Row,
    points: &[Point],
) -> Result<(), DbFault> {
    let open = still_open(points, row.maybe_text(11)?)?;
    let weight = open.map(Point::weight).max().unwrap_or(0);
    let text = write_points(points);
    if text == row.text(7)? && weight == row.int(8)? {
        return Ok(());
    }
    sql.put(
        "UPDATE visits SET points = $1, weight = $2 WHERE body = $3 AND head = $4",
        &[
            text.into(),
            weight.into(),
            office.body(),
            row.bytes(9)?.as_slice().into(),
        ],
    )?;
    Ok(())
}

/// Which of these points the newest decision does not cover, as it was kept.
pub(crate) fn still_open(
    points: &[Point],
    covers: Option<String>,
) -> Result<impl Iterator<Item = &Point>, DbFault> {
    let covered = covers.map_or(Ok(Vec::new()), |covers| read_points(&covers))?;
    Ok(points.iter().filter(move |p| !covered.contains(p)))
}

/// Points as they are kept.
pub(crate) fn write_points(points: &[Point]) -> String {
    // A list of strings always has a JSON text.
    serde_json::to_string(points).unwrap_or_default()
}

/// Points as they were kept.
pub(crate) fn read_points(text: &str) -> Result<Vec<Point>, DbFault> {
    serde_json::from_str(text).map_err(|e| DbFault::Unexpected(format!("points on record: {e}")))
}

/// Earlier measures that the roster knows of this chip.
fn known(office: &OfficeState, chip: &str) -> Vec<(i32, EarlierMeasure)> {
    let dogs = office.roster().dogs.iter().filter(|d| d.chip == chip);
    dogs.flat_map(|d| &d.earlier)
        .filter_map(|m| {
            let date = m.day.parse::<NaiveDate>().ok()?;
            Some((date.to_epoch_days(), m.clone()))
        })
        .collect()
}

/// Works everything out again if the rules have changed since it was last done.
pub(crate) fn refresh_all(office: &OfficeState, sql: &mut dyn Sql) -> Result<(), DbFault> {
    let done = sql
        .one(
            "SELECT edition FROM derived WHERE body = $1",
            &[office.body()],
        )?
        .map_or(Ok(0), |row| row.int(0))?;
    if done >= EDITION {
        return Ok(());
    }
    if done < WITH_INCIDENTS {
        incidents::read_again(office, sql)?;
    }
    let mut after = Value::from("");
    refresh(office, sql, "")?;
    loop {
        let next = sql.one(
            "SELECT MIN(chip) FROM visits WHERE body = $1 AND chip > $2",
            &[office.body(), after],
        )?;
        let Some(chip) = next.map_or(Ok(None), |row| row.maybe_text(0))? else {
            break;
        };
        refresh(office, sql, &chip)?;
        after = chip.into();
    }
    sql.execute(
        "INSERT INTO derived (body, edition) VALUES ($1, $2)
         ON CONFLICT (body) DO UPDATE SET edition = excluded.edition",
        &[office.body(), EDITION.into()],
    )?;
    Ok(())
}
