//! Bites and falls at a session, as phones wrote them: between two dogs, or about the dog at
//! the table.

use standsquare_journal::record::Event;
use standsquare_journal::record::fact::{Fact, Harm, Whom};

use crate::db::{self, DbFault, Row, Sql};
use crate::opened::events_of;
use crate::state::OfficeState;

/// Something that happened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Incident {
    /// The phone that wrote it.
    pub device_key: [u8; 32],
    /// The journal it is in.
    pub journal: [u8; 16],
    /// When, by the phone's clock, Unix milliseconds.
    pub at_ms: i64,
    /// The visit of the dog at the table; 0: between two dogs.
    pub visit: i64,
    /// `bite` or `fall`.
    pub what: String,
    /// `measurer`, `handler`, `dog` or `other`.
    pub whom: String,
    /// In words, if there are any.
    pub words: String,
}

/// What happened, as it is kept and as it stands in files.
pub(crate) fn harm(what: Harm) -> &'static str {
    match what {
        Harm::Bite => "bite",
        Harm::Fall => "fall",
    }
}

/// To whom.
pub(crate) fn whom(whom: Whom) -> &'static str {
    match whom {
        Whom::Measurer => "measurer",
        Whom::Handler => "handler",
        Whom::Dog => "dog",
        Whom::Other => "other",
    }
}

/// Keeps one, once.
pub(crate) const KEEP: &str = "INSERT INTO incidents
     (body, session, device_key, journal, seq, at_ms, visit, what, whom, words)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
     ON CONFLICT (body, session, device_key, journal, seq) DO NOTHING";

impl OfficeState {
    /// What happened at a session, each phone's in the order of the day.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn incidents(&self, session: [u8; 16]) -> Result<Vec<Incident>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT device_key, journal, at_ms, visit, what, whom, words FROM incidents
                 WHERE body = $1 AND session = $2 ORDER BY device_key, journal, seq",
                &[self.body(), session.into()],
            )?;
            rows.iter()
                .map(|row| {
                    Ok(Incident {
                        device_key: row.array(0)?,
                        journal: row.array(1)?,
                        at_ms: row.int(2)?,
                        visit: row.int(3)?,
                        what: row.text(4)?,
                        whom: row.text(5)?,
                        words: row.text(6)?,
                    })
                })
                .collect()
        })
    }
}

/// Frames that are read at a time.
const AT_ONCE: i64 = 256;

/// Writes the rows of bites and falls that came in before offices kept any: the frames hold them.
/// What has its row keeps it.
pub(crate) fn read_again(office: &OfficeState, sql: &mut dyn Sql) -> Result<(), DbFault> {
    let journals = sql.query(
        "SELECT device_key, journal FROM journals WHERE body = $1",
        &[office.body()],
    )?;
    for journal in &journals {
        let mut session = None;
        let mut after = 0;
        loop {
            let rows = sql.query(
                "SELECT from_seq, bytes FROM frames
                 WHERE body = $1 AND device_key = $2 AND journal = $3 AND state = 1
                   AND from_seq > $4
                 ORDER BY from_seq LIMIT $5",
                &[
                    office.body(),
                    journal.array::<32>(0)?.into(),
                    journal.array::<16>(1)?.into(),
                    after.into(),
                    AT_ONCE.into(),
                ],
            )?;
            let Some(last) = rows.last() else { break };
            after = last.int(0)?;
            for row in &rows {
                let (first, events) = events_of(&row.bytes(1)?);
                for (nth, event) in events.into_iter().enumerate() {
                    let seq = first.saturating_add(nth as i64);
                    again(office, sql, journal, &mut session, seq, event)?;
                }
            }
        }
    }
    Ok(())
}

/// One event, as it was followed when it came in.
fn again(
    office: &OfficeState,
    sql: &mut dyn Sql,
    journal: &Row,
    session: &mut Option<[u8; 16]>,
    seq: i64,
    event: Event,
) -> Result<(), DbFault> {
    match event.fact {
        Fact::SessionBegun { session: id, .. } | Fact::SessionTakenUp { session: id, .. } => {
            *session = Some(*id);
        }
        Fact::SessionLeft {} => *session = None,
        Fact::Incident {
            visit,
            what,
            whom: to,
            words,
        } => {
            if let Some(session) = *session {
                sql.put(
                    KEEP,
                    &[
                        office.body(),
                        session.into(),
                        journal.array::<32>(0)?.into(),
                        journal.array::<16>(1)?.into(),
                        seq.into(),
                        event.at_ms.into(),
                        i64::from(visit).into(),
                        harm(what).into(),
                        whom(to).into(),
                        words.as_str().into(),
                    ],
                )?;
            }
        }
        _ => {}
    }
    Ok(())
}
