//! One frame: where it belongs, and one transaction for all that follows from it.

use standsquare_journal::record::RecordFault;
use standsquare_sync::Frame;

use super::extend::{apply, open_statements, standing};
use super::verify::{Refusal, follow, sealed_by_device};
use crate::db::{self, DbFault, Sql, Value};
use crate::state::OfficeState;

/// Most frames of one journal that wait for an earlier one. Own choice, no source: a
/// busy day has about a hundred.
const MOST_WAITING: i64 = 1_024;

/// What became of a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(i64)]
pub enum State {
    /// In the record.
    Accepted = 1,
    /// Kept until the ones before it are there.
    Waiting = 2,
    /// Kept out of the record: a person has to look.
    SetAside = 3,
}

type Taken = Result<(), Refusal>;

/// A frame on its way in.
pub(super) struct Incoming<'a> {
    pub office: &'a OfficeState,
    pub id: [u8; 32],
    pub bytes: &'a [u8],
    pub frame: Frame,
    pub now_ms: i64,
}

impl Incoming<'_> {
    /// The values that name its journal: `$1` to `$3` in every statement here.
    pub fn journal(&self) -> [Value; 3] {
        [
            self.office.body(),
            self.frame.device_key.into(),
            self.frame.journal.into(),
        ]
    }
}

impl OfficeState {
    /// Takes in one frame; `Err` inside is a refusal, outside a failed database.
    pub(super) fn take(&self, id: [u8; 32], bytes: &[u8], now_ms: i64) -> Result<Taken, DbFault> {
        let frame = match Frame::decode_strict(bytes) {
            Ok(frame) => frame,
            Err(fault) => return Ok(Err(fault.into())),
        };
        if let Err(refusal) = sealed_by_device(&frame) {
            return Ok(Err(refusal));
        }
        let incoming = Incoming {
            office: self,
            id,
            bytes,
            frame,
            now_ms,
        };
        db::write(self.engine(), |sql| place(sql, &incoming))
    }
}

fn place(sql: &mut dyn Sql, new: &Incoming<'_>) -> Result<Taken, DbFault> {
    hold_journal(sql, new)?;
    let known = sql.one(
        "SELECT state, reason FROM frames WHERE body = $1 AND id = $2",
        &[new.office.body(), new.id.into()],
    )?;
    if let Some(row) = known {
        return Ok(match row.int(0)? {
            n if n == State::SetAside as i64 => Err(Refusal::before(&row.text(1)?)),
            _ => Ok(()),
        });
    }
    let head = sql
        .one(
            "SELECT head_seq FROM journals WHERE body = $1 AND device_key = $2 AND journal = $3",
            &new.journal(),
        )?
        .map_or(Ok(0), |row| row.int(0))? as u64;
    if new.frame.from_seq > head + 1 {
        let [body, device_key, journal] = new.journal();
        let waiting = sql
            .one(
                "SELECT COUNT(*) FROM frames
                 WHERE body = $1 AND device_key = $2 AND journal = $3 AND state = $4",
                &[body, device_key, journal, (State::Waiting as i64).into()],
            )?
            .map_or(Ok(0), |row| row.int(0))?;
        if waiting >= MOST_WAITING {
            return Ok(Err(Refusal::TooManyWaiting));
        }
        keep(sql, new, State::Waiting, "")?;
        return Ok(Ok(()));
    }
    if new.frame.from_seq <= head {
        keep(sql, new, State::SetAside, Refusal::Fork.slug())?;
        return Ok(Err(Refusal::Fork));
    }
    if let Err(refusal) = extend(sql, new)? {
        keep(sql, new, State::SetAside, refusal.slug())?;
        return Ok(Err(refusal));
    }
    keep(sql, new, State::Accepted, "")?;
    join_waiting(sql, new)?;
    Ok(Ok(()))
}

/// Makes sure that the journal has its row, and holds it until the commit: two posts
/// of one device follow one another, whatever the engine.
fn hold_journal(sql: &mut dyn Sql, new: &Incoming<'_>) -> Result<(), DbFault> {
    let [body, device_key, journal] = new.journal();
    let genesis = super::verify::Standing::new().head;
    sql.execute(
        "INSERT INTO journals (body, device_key, journal, head_seq, head_hash, league, session)
         VALUES ($1, $2, $3, 0, $4, '', NULL)
         ON CONFLICT (body, device_key, journal) DO UPDATE SET head_seq = journals.head_seq",
        &[body, device_key, journal, genesis.into()],
    )?;
    Ok(())
}

fn keep(sql: &mut dyn Sql, new: &Incoming<'_>, state: State, reason: &str) -> Result<(), DbFault> {
    let [body, device_key, journal] = new.journal();
    sql.execute(
        "INSERT INTO frames
         (body, id, device_key, journal, from_seq, to_seq, state, reason, received_ms, bytes)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
        &[
            body,
            new.id.into(),
            device_key,
            journal,
            new.frame.from_seq.into(),
            new.frame.to_seq().into(),
            (state as i64).into(),
            reason.into(),
            new.now_ms.into(),
            new.bytes.into(),
        ],
    )?;
    Ok(())
}

/// Follows the frame from where its journal stands and writes what it adds.
fn extend(sql: &mut dyn Sql, new: &Incoming<'_>) -> Result<Taken, DbFault> {
    let standing = standing(sql, new)?;
    let mut followed = follow(&standing, &new.frame, &[]);
    if let Err(Refusal::Record(RecordFault::SignOff { .. })) = followed {
        // Rare: the statement came in an earlier frame.
        let open = open_statements(sql, new, standing.session)?;
        if !open.is_empty() {
            followed = follow(&standing, &new.frame, &open);
        }
    }
    match followed {
        Err(refusal) => Ok(Err(refusal)),
        Ok((after, changes)) => apply(sql, new, &after, &changes).map(Ok),
    }
}

/// Frames that waited for this one follow, as far as they go.
fn join_waiting(sql: &mut dyn Sql, new: &Incoming<'_>) -> Result<(), DbFault> {
    let mut next = new.frame.to_seq() + 1;
    loop {
        let [body, device_key, journal] = new.journal();
        let waiting = State::Waiting as i64;
        // What waits for a number that is taken by now tells another history.
        let rows = sql.query(
            "SELECT id, bytes, received_ms FROM frames
             WHERE body = $1 AND device_key = $2 AND journal = $3 AND state = $4
               AND from_seq <= $5
             ORDER BY from_seq, received_ms, id",
            &[body, device_key, journal, waiting.into(), next.into()],
        )?;
        let before = next;
        for row in rows {
            let bytes = row.bytes(1)?;
            let frame = Frame::decode_strict(&bytes)
                .map_err(|e| DbFault::Unexpected(format!("a frame that was kept: {e}")))?;
            let waited = Incoming {
                office: new.office,
                id: row.array(0)?,
                bytes: &bytes,
                frame,
                now_ms: row.int(2)?,
            };
            let taken = if waited.frame.from_seq == next {
                extend(sql, &waited)?
            } else {
                Err(Refusal::Fork)
            };
            let (state, reason) = match &taken {
                Ok(()) => (State::Accepted, ""),
                Err(refusal) => (State::SetAside, refusal.slug()),
            };
            sql.execute(
                "UPDATE frames SET state = $1, reason = $2 WHERE body = $3 AND id = $4",
                &[
                    (state as i64).into(),
                    reason.into(),
                    new.office.body(),
                    waited.id.into(),
                ],
            )?;
            if taken.is_ok() {
                next = waited.frame.to_seq() + 1;
            }
        }
        if next == before {
            return Ok(());
        }
    }
}
