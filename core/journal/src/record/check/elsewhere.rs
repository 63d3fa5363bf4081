//! What a measurer signs on one phone for another, followed in both journals.

use super::{ChainCheck, is_key, not_signed};
use crate::record::chain::{Hash, sign_off_bytes};
use crate::record::fault::RecordFault;
use crate::record::statement::Statement;

impl ChainCheck {
    /// A signature that came from the signer's own phone: under the statement last put up, by
    /// the key that the event gives. Whose that is, only the office's notices say.
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
        let open = self.open.get(&visit);
        let open = open.ok_or_else(|| fault("no statement of that visit was put up"))?;
        if open.head != *head {
            return Err(fault("it is not over the statement last put up"));
        }
        is_key(seq, key, person)?;
        let bytes = sign_off_bytes(head, &open.bytes);
        self.holds(seq, person, alg, key, &bytes, signature)
    }

    /// What was signed here for another phone: by the key on record here.
    pub(super) fn signed_for_other(
        &self,
        seq: u64,
        person: &str,
        alg: u8,
        head: &Hash,
        statement: &[u8],
        signature: &[u8; 64],
    ) -> Result<(), RecordFault> {
        Statement::decode_strict(statement).map_err(|fault| fault.at(seq))?;
        let key = self.key_of(seq, person)?;
        let bytes = sign_off_bytes(head, statement);
        self.holds(seq, person, alg, &key, &bytes, signature)
    }
}
