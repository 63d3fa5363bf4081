//! Bites and falls at a session, as phones wrote them: between two dogs, or about the dog at
//! the table.

use standsquare_journal::record::fact::{Harm, Whom};

use crate::db::{self, DbFault};
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
