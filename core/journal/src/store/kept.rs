//! What was worked out of the events, kept so that opening need not work it out again.
//!
//! One row: bytes that mean nothing to the journal, the number and hash of the event up to
//! which they hold, and the chain as it stood there. It is never the record: whatever is
//! wrong with it, it is thrown away and worked out of the events again, with the same
//! result.

use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};
use sha2::{Digest, Sha256};

use super::seals::{derive, row_sum};
use super::{Journal, StoreFault, whole};
use crate::record::{ChainCheck, Hash};

/// The row, with the chain as it stood there.
#[derive(Clone)]
pub(super) struct Kept {
    edition: String,
    pub(super) chain: ChainCheck,
    bytes: Vec<u8>,
}

impl Kept {
    fn at(&self) -> (u64, Hash) {
        (self.chain.seq(), self.chain.head())
    }

    /// Over the whole row, with a key that only this phone's secret gives: a row changed
    /// by damage or by hand counts for nothing.
    fn sum(&self, chain: &[u8], device_secret: &[u8; 32]) -> Hash {
        let row = row_sum("kept", &[self.edition.as_bytes(), chain, &self.bytes]);
        let hex: String = row.iter().map(|b| format!("{b:02x}")).collect();
        *derive(&format!("kept/{hex}"), &[], device_secret)
    }
}

/// The row, if there is one and it belongs to the events in the file.
pub(super) fn read(db: &Connection, device_secret: &[u8; 32]) -> Result<Option<Kept>, StoreFault> {
    type Row = (String, Vec<u8>, Vec<u8>, Vec<u8>);
    // A row that cannot be read at all is as good as none.
    let row: Option<Row> = db
        .prepare_cached("SELECT edition, chain, bytes, sum FROM kept")?
        .query_row([], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?)))
        .optional()
        .unwrap_or_default();
    let Some((edition, saved, bytes, sum)) = row else {
        return Ok(None);
    };
    let Some(chain) = ChainCheck::restore(&saved) else {
        return Ok(None);
    };
    let kept = Kept {
        edition,
        chain,
        bytes,
    };
    let (seq, hash) = kept.at();
    let fits = sum == kept.sum(&saved, device_secret) && whole::hash_of(db, seq)? == Some(hash);
    Ok(fits.then_some(kept))
}

impl Journal {
    /// What was kept under this name of how it was worked out, and the number of the
    /// event up to which it holds.
    pub fn kept(&self, edition: &str) -> Option<(u64, &[u8])> {
        let kept = self.kept.as_ref()?;
        (kept.edition == edition).then_some((kept.chain.seq(), kept.bytes.as_slice()))
    }

    /// Keeps what was worked out of all events up to number `seq`, in place of what was
    /// kept before. `edition` names how it was worked out. Only speed depends on it.
    ///
    /// # Errors
    /// See [`StoreFault`]. After a failure what was kept before is kept on.
    pub fn keep(&mut self, seq: u64, edition: &str, bytes: Vec<u8>) -> Result<(), StoreFault> {
        self.in_no_doubt()?;
        if seq == 0 || seq > self.head().seq {
            return Err(StoreFault::refused("nothing was recorded up to there"));
        }
        let chain = match &self.kept {
            // The end is where the chain stands anyway.
            _ if seq == self.chain.seq() => self.chain.clone(),
            Some(kept) if kept.chain.seq() <= seq => {
                whole::follow_to(&self.db, kept.chain.clone(), seq)?
            }
            _ => whole::follow_to(&self.db, ChainCheck::new(), seq)?,
        };
        let kept = Kept {
            edition: edition.to_owned(),
            chain,
            bytes,
        };
        let result = self.write_kept(&kept);
        match &result {
            Ok(()) => self.kept = Some(kept),
            Err(fault) => self.step_back(fault),
        }
        result
    }

    fn write_kept(&mut self, kept: &Kept) -> Result<(), StoreFault> {
        let saved = kept.chain.save();
        let sum = kept.sum(&saved, &self.device_secret);
        let tx = self
            .db
            .transaction_with_behavior(TransactionBehavior::Immediate)?;
        tx.prepare_cached("INSERT OR REPLACE INTO kept VALUES (1, ?, ?, ?, ?)")?
            .execute(params![kept.edition, saved, kept.bytes, sum])?;
        Ok(tx.commit()?)
    }

    /// Throws away what is kept: it is worked out of the events again.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn forget_kept(&mut self) -> Result<(), StoreFault> {
        self.in_no_doubt()?;
        self.kept = None;
        let result = self.db.execute("DELETE FROM kept", []);
        match result.map_err(StoreFault::from) {
            Ok(_) => Ok(()),
            Err(fault) => {
                self.step_back(&fault);
                Err(fault)
            }
        }
    }

    /// A sum over what is kept, for tests that compare.
    #[doc(hidden)]
    pub fn kept_for_test(&self) -> Option<(u64, Hash)> {
        let kept = self.kept.as_ref()?;
        let mut sum = Sha256::new();
        sum.update(kept.chain.save());
        sum.update(&kept.bytes);
        Some((kept.chain.seq(), sum.finalize().into()))
    }
}
