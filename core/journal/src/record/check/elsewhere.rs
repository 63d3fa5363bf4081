//! What a measurer signs on one phone for another, followed in both journals.

use super::{ChainCheck, Open, is_key, not_signed, once};
use crate::record::chain::Hash;
use crate::record::elsewhere::{Shown, signed_bytes};
use crate::record::fault::RecordFault;

impl ChainCheck {
    /// A signature that came from the signer's own phone: under what was last put up, by the
    /// key that the event gives. Whose that is, only the office's notices say.
    #[allow(clippy::too_many_arguments)] // the fields of the event
    pub(super) fn signed_elsewhere(
        &self,
        seq: u64,
        visit: u32,
        person: &str,
        alg: u8,
        head: &Hash,
        signature: &[u8; 64],
        key: &[u8; 32],
    ) -> Result<(), RecordFault> {
        let fault = |reason| not_signed(seq, person, reason);
        let open = self.under(visit, person, head);
        let open = open.ok_or_else(|| fault("nothing of that visit was put up for them"))?;
        if open.head != *head {
            return Err(fault("it is not over the statement last put up"));
        }
        is_key(seq, key, person)?;
        let bytes = signed_bytes(head, &open.bytes);
        self.holds(seq, person, alg, key, &bytes, signature)
    }

    /// What a signature under this head is under: the list, which is of no visit; the visit's
    /// correction; else its statement.
    fn under(&self, visit: u32, person: &str, head: &Hash) -> Option<&Open> {
        if visit == 0 {
            let list = self.list.as_ref();
            return list.filter(|open| once::names(&open.bytes, person));
        }
        match self.is_correction(visit, head) {
            true => self.corrections.get(&visit),
            false => self.open.get(&visit),
        }
    }

    /// Whether a signature for this visit under this head is one under its correction, and
    /// none under its statement.
    pub fn is_correction(&self, visit: u32, head: &Hash) -> bool {
        let correction = self.corrections.get(&visit);
        correction.is_some_and(|open| open.head == *head)
    }

    /// What was signed here for another phone: by the key on record here.
    pub(super) fn signed_for_other(
        &self,
        seq: u64,
        person: &str,
        alg: u8,
        head: &Hash,
        shown: &[u8],
        signature: &[u8; 64],
    ) -> Result<(), RecordFault> {
        let read = Shown::decode_strict(shown).map_err(|fault| fault.at(seq))?;
        if !read.is_for(person) {
            return Err(not_signed(seq, person, "the list does not name them"));
        }
        let key = self.key_of(seq, person)?;
        let bytes = signed_bytes(head, shown);
        self.holds(seq, person, alg, &key, &bytes, signature)
    }
}
