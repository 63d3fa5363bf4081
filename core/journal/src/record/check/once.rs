//! What a session that is signed once adds to following a journal: keys opened, statements
//! confirmed, and the list at the close.

use super::{ChainCheck, Open, not_signed};
use crate::record::chain::{Hash, statement_hash};
use crate::record::fault::RecordFault;
use crate::record::list::List;

impl ChainCheck {
    pub(super) fn begin_session(&mut self, session: [u8; 16]) {
        self.session = Some(session);
        self.open.clear();
        self.corrections.clear();
        self.list = None;
        self.unlocked.clear();
        self.confirmed.clear();
    }

    /// A statement in place of any earlier one of the visit: whoever confirmed that one has
    /// not confirmed this one.
    pub(super) fn put_up(&mut self, visit: u32, head: Hash, bytes: Vec<u8>) {
        self.open.insert(visit, Open { head, bytes });
        self.confirmed.remove(&visit);
    }

    pub(super) fn confirm(&mut self, visit: u32, person: String) {
        self.confirmed.entry(visit).or_default().insert(person);
    }

    /// The key that was opened, over the journal as it stands.
    pub(super) fn unlocked_by(
        &self,
        seq: u64,
        person: &str,
        head: &Hash,
    ) -> Result<[u8; 32], RecordFault> {
        if *head != self.head {
            let reason = "it is over another journal than the events before it";
            return Err(not_signed(seq, person, reason));
        }
        self.key_of(seq, person)
    }

    pub(super) fn confirmed_by(
        &self,
        seq: u64,
        visit: u32,
        person: &str,
        head: &Hash,
    ) -> Result<(), RecordFault> {
        let reason = match self.open.get(&visit) {
            None => "no statement of that visit was put up",
            Some(open) if open.head != *head => "it is not over the statement last put up",
            Some(_) if !self.in_the_middle && !self.unlocked.contains(person) => {
                "they confirm without having opened their key"
            }
            Some(_) => return self.key_of(seq, person).map(drop),
        };
        Err(not_signed(seq, person, reason))
    }

    /// A list names statements as they stand, and only those that its signers confirmed.
    pub(super) fn listed(&self, seq: u64, bytes: &[u8]) -> Result<(), RecordFault> {
        let list = List::decode_strict(bytes).map_err(|fault| fault.at(seq))?;
        let fault = |reason: String| RecordFault::Statement { seq, reason };
        if self.session.is_some_and(|session| session != *list.session) {
            return Err(fault("the list is of another session".into()));
        }
        for dog in &list.dogs {
            let open = self.open.get(&dog.visit);
            if open.is_none_or(|open| statement_hash(&open.bytes) != *dog.statement) {
                return Err(fault(format!(
                    "the list names another statement of dog {} than the last one put up",
                    dog.visit
                )));
            }
            let confirmed = self.confirmed.get(&dog.visit);
            let not = |person: &&String| !confirmed.is_some_and(|c| c.contains(*person));
            if let Some(person) = dog.by.iter().find(not)
                && !self.in_the_middle
            {
                return Err(fault(format!(
                    "the list says that {person} confirmed dog {}, and they did not",
                    dog.visit
                )));
            }
        }
        Ok(())
    }
}

/// Whether this person signs a dog with the list.
pub(super) fn names(list: &[u8], person: &str) -> bool {
    List::decode_strict(list).is_ok_and(|list| list.of(person).next().is_some())
}
