//! Frames that have landed: where each belongs, and one durable transaction for them.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, LazyLock};

use standsquare_journal::record::{Proved, RecordFault};
use standsquare_sync::Frame;

use super::batch::Batch;
use super::change::Change;
use super::verify::{Refusal, follow, sealed_by_device};
use super::write;
use crate::db::{self, DbFault, Row, Sql, Value};
use crate::state::OfficeState;
use crate::years;

/// Most frames of one journal that wait for an earlier one. Own choice, no source: a
/// busy day has about a hundred.
const MOST_WAITING: i64 = 1_024;

/// Frames that are not worth a thread of their own. Own choice, no source: some eight
/// signatures, half a millisecond.
const FEWEST_APART: usize = 3;

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

pub(super) type Taken = Result<(), Refusal>;

/// A frame on its way in; its seal was checked.
pub(super) struct Incoming<'a> {
    pub office: &'a OfficeState,
    pub id: [u8; 32],
    pub bytes: &'a [u8],
    pub frame: Frame,
    /// Of its seal: the same for the same bytes, whenever they come.
    pub year: i64,
    pub now_ms: i64,
    /// Signatures in it that were checked.
    pub proved: Arc<Proved>,
}

/// What names a journal.
pub(super) type JournalKey = ([u8; 32], [u8; 16]);
/// People's keys as each journal has them on record.
pub(super) type Keys = BTreeMap<JournalKey, BTreeMap<String, [u8; 32]>>;

/// A frame as it was posted, read or not.
pub(super) struct Posted<'a> {
    pub id: [u8; 32],
    pub bytes: &'a [u8],
    pub frame: Result<Frame, Refusal>,
}

/// What is on record of these frames: those that the office has already, and people's keys of
/// all journals that the others are of.
pub(super) fn on_record(
    office: &OfficeState,
    posted: &[Posted<'_>],
) -> Result<(Known, Keys), DbFault> {
    let read: Vec<_> = posted
        .iter()
        .filter_map(|p| Some(Place::of(p.id, p.frame.as_ref().ok()?)))
        .collect();
    let mut keys: Keys = read.iter().map(|p| (p.journal, BTreeMap::new())).collect();
    let known = db::read(office.engine(), |sql| {
        let known = known_of(office, sql, &read)?;
        if known.len() == read.len() {
            return Ok(known);
        }
        for ((device_key, journal), people) in &mut keys {
            let rows = sql.query(
                "SELECT person, key FROM people
                 WHERE body = $1 AND device_key = $2 AND journal = $3 AND key IS NOT NULL",
                &[office.body(), (*device_key).into(), (*journal).into()],
            )?;
            for row in rows {
                people.insert(row.text(0)?, row.array(1)?);
            }
        }
        Ok(known)
    })?;
    Ok((known, keys))
}

/// Frames that the office has already: what it made of each, and why.
pub(super) type Known = BTreeMap<[u8; 32], (i64, String)>;

/// What a frame is called, and where in its journal it belongs.
pub(super) struct Place {
    id: [u8; 32],
    journal: JournalKey,
    from_seq: u64,
}

impl Place {
    fn of(id: [u8; 32], frame: &Frame) -> Self {
        Place {
            id,
            journal: (frame.device_key, frame.journal),
            from_seq: frame.from_seq,
        }
    }
}

/// Which of these frames the office has already, whatever became of them. A journal is asked
/// for the stretch that they are of: it is empty for what is new, however much the office holds.
pub(super) fn known_of(
    office: &OfficeState,
    sql: &mut dyn Sql,
    frames: &[Place],
) -> Result<Known, DbFault> {
    let mut of: BTreeMap<JournalKey, Vec<&Place>> = BTreeMap::new();
    for place in frames {
        of.entry(place.journal).or_default().push(place);
    }
    let mut known = Known::new();
    for ((device_key, journal), places) in of {
        let numbers = || places.iter().map(|p| p.from_seq);
        let (Some(from), Some(to)) = (numbers().min(), numbers().max()) else {
            continue;
        };
        let most = places.len() + 1;
        let rows = sql.query(
            "SELECT id, state, reason FROM frames
             WHERE body = $1 AND device_key = $2 AND journal = $3
               AND from_seq >= $4 AND from_seq <= $5 LIMIT $6",
            &[
                office.body(),
                device_key.into(),
                journal.into(),
                from.into(),
                to.into(),
                (most as u64).into(),
            ],
        )?;
        // More than was asked for is there: each is asked for by its name.
        let rows = match rows.len() == most {
            true => by_name(office, sql, &places)?,
            false => rows,
        };
        for row in rows {
            known.insert(row.array(0)?, (row.int(1)?, row.text(2)?));
        }
    }
    let asked: BTreeSet<_> = frames.iter().map(|p| p.id).collect();
    known.retain(|id, _| asked.contains(id));
    Ok(known)
}

fn by_name(
    office: &OfficeState,
    sql: &mut dyn Sql,
    places: &[&Place],
) -> Result<Vec<Row>, DbFault> {
    static MANY: LazyLock<String> = LazyLock::new(|| {
        let list = db::places(2);
        format!("SELECT id, state, reason FROM frames WHERE body = $1 AND id IN ({list})")
    });
    let keys: Vec<_> = places.iter().map(|p| Value::from(p.id)).collect();
    sql.query_many(
        "SELECT id, state, reason FROM frames WHERE body = $1 AND id = $2",
        MANY.as_str(),
        &[office.body()],
        &keys,
    )
}

/// What a phone is told of a frame that the office has.
pub(super) fn taken_before((state, reason): &(i64, String)) -> Taken {
    match *state {
        n if n == State::SetAside as i64 => Err(Refusal::before(reason)),
        _ => Ok(()),
    }
}

/// Frames with their signatures checked, on as many cores as there are; each with its id.
pub(super) fn check_all<'a>(
    office: &'a OfficeState,
    posted: Vec<Posted<'a>>,
    keys: &Keys,
    now_ms: i64,
) -> Vec<([u8; 32], Result<Incoming<'a>, Refusal>)> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let each = posted.len().div_ceil(cores).max(FEWEST_APART);
    let mut parts: Vec<Vec<Posted<'a>>> = Vec::new();
    for one in posted {
        match parts.last_mut() {
            Some(part) if part.len() < each => part.push(one),
            _ => parts.push(vec![one]),
        }
    }
    let check = |part: Vec<Posted<'a>>| -> Vec<_> {
        let checked = |p: Posted<'a>| (p.id, Incoming::new(office, p, keys, now_ms));
        part.into_iter().map(checked).collect()
    };
    std::thread::scope(|scope| {
        let last = parts.pop();
        let others: Vec<_> = parts
            .into_iter()
            .map(|part| scope.spawn(move || check(part)))
            .collect();
        let last = last.map(check);
        let mut out = Vec::new();
        for other in others {
            match other.join() {
                Ok(checked) => out.extend(checked),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        out.extend(last.into_iter().flatten());
        out
    })
}

impl<'a> Incoming<'a> {
    /// Checks that its device sealed the frame.
    fn new(
        office: &'a OfficeState,
        posted: Posted<'a>,
        keys: &Keys,
        now_ms: i64,
    ) -> Result<Self, Refusal> {
        let frame = posted.frame?;
        let mut proved = Proved::default();
        let none = BTreeMap::new();
        let keys = keys
            .get(&(frame.device_key, frame.journal))
            .unwrap_or(&none);
        let year = years::of_moment(sealed_by_device(&frame, keys, &mut proved)?);
        Ok(Incoming {
            office,
            id: posted.id,
            bytes: posted.bytes,
            frame,
            year,
            now_ms,
            proved: Arc::new(proved),
        })
    }

    /// The values that name its journal: `$1` to `$3` of a statement.
    pub fn journal(&self) -> [Value; 3] {
        [
            self.office.body(),
            self.frame.device_key.into(),
            self.frame.journal.into(),
        ]
    }

    /// The values that name it.
    fn named(&self) -> [Value; 3] {
        [self.office.body(), self.year.into(), self.id.into()]
    }
}

/// Takes the frames in, in order and in one durable transaction.
///
/// # Errors
/// [`DbFault`]; none of them is held because of this call then.
pub(super) fn take_all(
    office: &OfficeState,
    incoming: &[Incoming<'_>],
) -> Result<Vec<Taken>, DbFault> {
    if incoming.is_empty() {
        return Ok(Vec::new());
    }
    db::write(office.engine(), |sql| {
        let places = incoming.iter().map(|new| Place::of(new.id, &new.frame));
        let known = known_of(office, sql, &places.collect::<Vec<_>>())?;
        let mut batch = Batch::new(office, known);
        let mut taken = Vec::with_capacity(incoming.len());
        for new in incoming {
            taken.push(place(sql, &mut batch, new)?);
        }
        batch.finish(sql)?;
        Ok(taken)
    })
}

fn place(sql: &mut dyn Sql, batch: &mut Batch<'_>, new: &Incoming<'_>) -> Result<Taken, DbFault> {
    if let Some(known) = batch.known(&new.id) {
        return Ok(taken_before(known));
    }
    let head = batch.standing(sql, new)?.head_seq;
    if new.frame.from_seq > head + 1 {
        let waiting = batch.waiting(sql, new)?;
        if waiting >= MOST_WAITING {
            return Ok(Err(Refusal::TooManyWaiting));
        }
        keep(sql, new, State::Waiting, "")?;
        batch.one_more_waits(new);
        return Ok(Ok(()));
    }
    let taken = if new.frame.from_seq <= head {
        Err(Refusal::Fork)
    } else {
        extend(sql, batch, new)?
    };
    match &taken {
        // Another body's data have no business here, not even set aside.
        Err(Refusal::OtherBody(_)) => {}
        Err(refusal) => keep(sql, new, State::SetAside, refusal.slug())?,
        Ok(()) => {
            keep(sql, new, State::Accepted, "")?;
            if batch.waiting(sql, new)? > 0 {
                join_waiting(sql, batch, new)?;
            }
        }
    }
    Ok(taken)
}

fn keep(sql: &mut dyn Sql, new: &Incoming<'_>, state: State, reason: &str) -> Result<(), DbFault> {
    let [body, year, id] = new.named();
    sql.put(
        "INSERT INTO frames
         (body, year, id, device_key, journal, from_seq, to_seq, state, reason, received_ms,
          bytes)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
        &[
            body,
            year,
            id,
            new.frame.device_key.into(),
            new.frame.journal.into(),
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
fn extend(sql: &mut dyn Sql, batch: &mut Batch<'_>, new: &Incoming<'_>) -> Result<Taken, DbFault> {
    let standing = batch.standing(sql, new)?.clone();
    let league = &new.office.roster().league.id;
    let mut followed = follow(&standing, &new.frame, league, &[], &new.proved);
    let earlier = matches!(
        followed,
        Err(Refusal::Record(
            RecordFault::SignOff { .. } | RecordFault::Statement { .. }
        ))
    );
    if earlier {
        // Rare: a statement came in an earlier frame; or a list names those of a whole day.
        let open = batch.open_statements(sql, new, standing.session)?;
        if !open.is_empty() {
            followed = follow(&standing, &new.frame, league, &open, &new.proved);
        }
    }
    match followed {
        Err(refusal) => Ok(Err(refusal)),
        Ok((after, changes)) => match taken_up(sql, new, &changes)? {
            Some(refusal) => Ok(Err(refusal)),
            None => batch.apply(sql, new, after, &changes).map(Ok),
        },
    }
}

/// Why a session may not be taken up again: it is none of this journal's.
fn taken_up(
    sql: &mut dyn Sql,
    new: &Incoming<'_>,
    changes: &[Change],
) -> Result<Option<Refusal>, DbFault> {
    for change in changes {
        if let Change::TakenUp { session, seq } = change
            && !write::has_session(sql, new, *session)?
        {
            return Ok(Some(Refusal::Statement(*seq)));
        }
    }
    Ok(None)
}

/// Frames that waited for this one follow, as far as they go.
fn join_waiting(
    sql: &mut dyn Sql,
    batch: &mut Batch<'_>,
    new: &Incoming<'_>,
) -> Result<(), DbFault> {
    let mut next = new.frame.to_seq() + 1;
    loop {
        let [body, device_key, journal] = new.journal();
        // What waits for a number that is taken by now tells another history.
        let rows = sql.query(
            "SELECT id, bytes, received_ms, year FROM frames
             WHERE body = $1 AND device_key = $2 AND journal = $3 AND state = 2
               AND state <> 1 AND from_seq <= $4
             ORDER BY from_seq, received_ms, id",
            &[body, device_key, journal, next.into()],
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
                year: row.int(3)?,
                now_ms: row.int(2)?,
                proved: Arc::default(),
            };
            let taken = if waited.frame.from_seq == next {
                extend(sql, batch, &waited)?
            } else {
                Err(Refusal::Fork)
            };
            let (state, reason) = match &taken {
                Ok(()) => (State::Accepted, ""),
                Err(refusal) => (State::SetAside, refusal.slug()),
            };
            let [body, year, id] = waited.named();
            sql.put(
                "UPDATE frames SET state = $4, reason = $5
                 WHERE body = $1 AND year = $2 AND id = $3",
                &[body, year, id, (state as i64).into(), reason.into()],
            )?;
            batch.placed(waited.id, state, reason);
            if taken.is_ok() {
                next = waited.frame.to_seq() + 1;
            }
        }
        if next == before {
            return Ok(());
        }
    }
}
