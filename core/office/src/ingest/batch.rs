//! What one transaction knows while it takes frames in, so that nothing is read or
//! written twice: where journals stand, and whose points have to be looked at again.

use std::collections::{BTreeMap, BTreeSet};

use super::change::{Change, SessionKey};
use super::take::{Incoming, JournalKey, Known, State};
use super::verify::{OpenStatement, Standing};
use super::write::{self, RowIs, VisitKey};
use crate::db::{DbFault, Sql};
use crate::points::refresh_many;
use crate::state::OfficeState;

/// One transaction's knowledge.
pub(super) struct Batch<'a> {
    office: &'a OfficeState,
    standings: BTreeMap<JournalKey, Standing>,
    /// Journals whose row has to be written.
    moved: BTreeSet<JournalKey>,
    /// Measures stated in this transaction, with their chips.
    stated: BTreeMap<(JournalKey, VisitKey), String>,
    /// Of those, the ones that were not on record before, with whoever signed them since.
    new: BTreeMap<(JournalKey, VisitKey), BTreeSet<String>>,
    chips: BTreeSet<String>,
    /// How many frames of a journal wait for earlier ones, or did.
    waiting: BTreeMap<JournalKey, i64>,
    /// Frames that the office has already, of those that are taken in.
    known: Known,
    /// The highest number of a measure that each session had on record.
    highest: BTreeMap<(JournalKey, SessionKey), Option<i64>>,
}

impl<'a> Batch<'a> {
    /// Nothing yet but which of the frames the office has.
    pub fn new(office: &'a OfficeState, known: Known) -> Self {
        Batch {
            office,
            standings: BTreeMap::new(),
            moved: BTreeSet::new(),
            stated: BTreeMap::new(),
            new: BTreeMap::new(),
            chips: BTreeSet::new(),
            waiting: BTreeMap::new(),
            known,
            highest: BTreeMap::new(),
        }
    }

    /// What the office has made of the frame already; nothing if it is new.
    pub fn known(&self, id: &[u8; 32]) -> Option<&(i64, String)> {
        self.known.get(id)
    }

    /// A frame that waited was put in its place.
    pub fn placed(&mut self, id: [u8; 32], state: State, reason: &str) {
        if let Some(known) = self.known.get_mut(&id) {
            *known = (state as i64, reason.to_owned());
        }
    }

    /// The chip of a measure that was on record before this transaction.
    fn chip_before(
        &mut self,
        sql: &mut dyn Sql,
        new: &Incoming<'_>,
        session: SessionKey,
        visit: u32,
    ) -> Result<Option<String>, DbFault> {
        let key = ((new.frame.device_key, new.frame.journal), session);
        let highest = match self.highest.get(&key) {
            Some(known) => *known,
            None => {
                let asked = write::highest_visit(sql, new, session)?;
                *self.highest.entry(key).or_insert(asked)
            }
        };
        // Measures are numbered as they come: a number beyond all others is new.
        match highest {
            Some(highest) if i64::from(visit) <= highest => {
                write::chip_of(sql, new, session, visit)
            }
            _ => Ok(None),
        }
    }

    /// Where the frame's journal stands.
    pub fn standing(
        &mut self,
        sql: &mut dyn Sql,
        new: &Incoming<'_>,
    ) -> Result<&Standing, DbFault> {
        let key = (new.frame.device_key, new.frame.journal);
        if let std::collections::btree_map::Entry::Vacant(place) = self.standings.entry(key) {
            place.insert(write::standing(sql, new)?);
        }
        self.standings
            .get(&key)
            .ok_or_else(|| DbFault::Unexpected("a journal that was just read".into()))
    }

    /// How many frames of the journal wait; asked once. Those that joined meanwhile still
    /// count, so that this is never too few.
    pub fn waiting(&mut self, sql: &mut dyn Sql, new: &Incoming<'_>) -> Result<i64, DbFault> {
        let key = (new.frame.device_key, new.frame.journal);
        if let Some(known) = self.waiting.get(&key) {
            return Ok(*known);
        }
        // The index is over what is not in the record: SQLite uses it only if told so.
        let row = sql.one(
            "SELECT COUNT(*) FROM frames
             WHERE body = $1 AND device_key = $2 AND journal = $3 AND state = 2 AND state <> 1",
            &new.journal(),
        )?;
        let waiting = row.map_or(Ok(0), |row| row.int(0))?;
        self.waiting.insert(key, waiting);
        Ok(waiting)
    }

    /// One more frame of the journal waits.
    pub fn one_more_waits(&mut self, new: &Incoming<'_>) {
        let key = (new.frame.device_key, new.frame.journal);
        *self.waiting.entry(key).or_default() += 1;
    }

    /// Statements of the session under way that not everybody has signed yet.
    pub fn open_statements(
        &mut self,
        sql: &mut dyn Sql,
        new: &Incoming<'_>,
        session: Option<SessionKey>,
    ) -> Result<Vec<OpenStatement>, DbFault> {
        match session {
            Some(session) => write::open_statements(sql, new, session),
            None => Ok(Vec::new()),
        }
    }

    /// Writes what a verified frame adds.
    pub fn apply(
        &mut self,
        sql: &mut dyn Sql,
        new: &Incoming<'_>,
        after: Standing,
        changes: &[Change],
    ) -> Result<(), DbFault> {
        let key = (new.frame.device_key, new.frame.journal);
        for change in changes {
            let row = self.touch(sql, new, key, change)?;
            write::change(sql, new, change, row)?;
        }
        self.standings.insert(key, after);
        self.moved.insert(key);
        Ok(())
    }

    /// Notes the chips whose points the change may touch; whether its row can be there already.
    fn touch(
        &mut self,
        sql: &mut dyn Sql,
        new: &Incoming<'_>,
        key: JournalKey,
        change: &Change,
    ) -> Result<RowIs, DbFault> {
        let mut row = RowIs::MaybeThere;
        match change {
            Change::Stated {
                session, statement, ..
            } => {
                let visit = VisitKey {
                    session: session.id,
                    visit: statement.visit,
                };
                // An earlier statement of the visit may have named another chip, and its
                // sign-offs are not this one's.
                let stated = self.stated.insert((key, visit), statement.chip.clone());
                let before = match stated {
                    Some(chip) => Some(chip),
                    None => self.chip_before(sql, new, *session, statement.visit)?,
                };
                if let Some(chip) = before {
                    write::drop_signatures(sql, new, *session, statement.visit)?;
                    self.chips.insert(chip);
                    self.new.remove(&(key, visit));
                } else {
                    self.new.insert((key, visit), BTreeSet::new());
                    row = RowIs::New;
                }
                self.chips.insert(statement.chip.clone());
            }
            Change::Signed {
                session,
                visit,
                person,
                ..
            } => {
                let named = VisitKey {
                    session: session.id,
                    visit: *visit,
                };
                if let Some(signed) = self.new.get_mut(&(key, named)) {
                    row = match signed.insert(person.clone()) {
                        true => RowIs::New,
                        false => RowIs::MaybeThere,
                    };
                }
                if !self.stated.contains_key(&(key, named)) {
                    self.chips
                        .extend(write::chip_of(sql, new, *session, *visit)?);
                }
            }
            // Of a dog that is on record already; else its statement comes yet.
            Change::Incident { session, visit, .. } if *visit > 0 => {
                self.chips
                    .extend(write::chip_of(sql, new, *session, *visit)?);
            }
            Change::Objected { session, visit, .. } => {
                self.chips
                    .extend(write::chip_of(sql, new, *session, *visit)?);
            }
            Change::Closed { session, .. } => {
                self.chips
                    .extend(write::unsigned_chips(sql, new, *session)?);
            }
            _ => {}
        }
        Ok(row)
    }

    /// Writes what was put off to the end.
    pub fn finish(self, sql: &mut dyn Sql) -> Result<(), DbFault> {
        for key in &self.moved {
            if let Some(standing) = self.standings.get(key) {
                write::keep_standing(sql, self.office, key, standing)?;
            }
        }
        let chips: Vec<&str> = self.chips.iter().map(String::as_str).collect();
        refresh_many(self.office, sql, &chips)
    }
}
