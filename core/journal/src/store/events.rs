//! Reading events back, each held to the chain.

use super::whole::{self, Row, each_event};
use super::{Journal, StoreFault, Stored};
use crate::record::{Event, chain, genesis};

fn stored((seq, hash, bytes): Row) -> Result<Stored, StoreFault> {
    let event: Event =
        minicbor::decode(&bytes).map_err(|e| StoreFault::damaged(format!("event {seq}: {e}")))?;
    Ok(Stored {
        seq,
        at_ms: event.at_ms,
        hash,
        bytes,
        fact: event.fact,
    })
}

impl Journal {
    /// Every event from this number on, in order. What is read is held to the chain.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn events_from(&self, seq: u64) -> Result<Vec<Stored>, StoreFault> {
        self.events_between(seq, self.tally.head.seq)
    }

    /// The events with these numbers, both included, as far as there are such; held to
    /// the chain.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn events_between(&self, from: u64, to: u64) -> Result<Vec<Stored>, StoreFault> {
        let head = self.tally.head;
        let (mut next, to) = (from.max(1), to.min(head.seq));
        if next > to {
            return Ok(Vec::new());
        }
        let room = usize::try_from(to - next + 1).unwrap_or_default();
        let mut out = Vec::with_capacity(room.min(1 << 20));
        let mut before = None;
        // The one before the first is read too, for its hash.
        each_event(&self.db, next - 1, to, |(seq, hash, bytes)| {
            if seq + 1 == next && before.is_none() {
                before = Some(hash);
                return Ok(());
            }
            let prev = before.unwrap_or_else(genesis);
            if seq != next || chain(&prev, &bytes) != hash {
                return Err(whole::altered(next));
            }
            out.push(stored((seq, hash, bytes))?);
            before = Some(hash);
            next += 1;
            Ok(())
        })?;
        if next != to + 1 || to == head.seq && before != Some(head.hash) {
            return Err(StoreFault::damaged("its last events are missing"));
        }
        Ok(out)
    }

    /// The events that opening has read already, each held to the chain: those behind what
    /// was kept, of a large file. They are given once.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn take_read(&mut self) -> Result<Vec<Stored>, StoreFault> {
        let read = std::mem::take(&mut self.read);
        read.into_iter().map(stored).collect()
    }

    /// Every event, in order.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn events(&self) -> Result<Vec<Stored>, StoreFault> {
        self.events_from(1)
    }
}
