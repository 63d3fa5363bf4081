//! A run: a piece of one phone's journal that ends with a seal, as another phone keeps it.
//!
//! The bytes are those of the frames that the office takes (`core/sync/docs/frame.cddl`):
//! whoever finds the second phone can send them on. The device signed the head at its end,
//! so that nothing in it can be changed on the way or later but that last seal's own time and
//! reason, which the next one covers.

use minicbor::Encode;
use minicbor::bytes::{ByteArray, ByteVec};
use standsquare_plain::record;

use super::canonical;
use super::fault::RecordFault;
use super::{ChainCheck, Event};
use crate::record::fact::Fact;

/// The form that is written and read.
const FORM: u32 = 1;

#[derive(Encode)]
struct Wire {
    #[n(0)]
    form: u32,
    #[n(1)]
    device_key: ByteArray<32>,
    #[n(2)]
    journal: ByteArray<16>,
    #[n(3)]
    from_seq: u64,
    #[n(4)]
    events: Vec<ByteVec>,
}

record!(Wire {
    form,
    device_key,
    journal,
    from_seq,
    events
});

/// A piece of one phone's journal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// The device's public key.
    pub device_key: [u8; 32],
    /// The journal's random id.
    pub journal: [u8; 16],
    /// Number of the first event in it, from 1.
    pub from_seq: u64,
    /// The events' own bytes.
    pub events: Vec<Vec<u8>>,
}

/// Why a run is not taken.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum RunFault {
    /// Not a run, or not in its one form.
    #[error("this is no part of a journal: {0}")]
    Unreadable(String),
    /// Events between what is held and this are missing.
    #[error("events {held} to {from} are missing: ask the other phone for all after {}", held - 1)]
    Gap {
        /// The first one missing.
        held: u64,
        /// The last one missing.
        from: u64,
    },
    /// It tells another history than what is held of the same journal.
    #[error("event {seq} is another one than was copied before")]
    Fork {
        /// The first event that differs.
        seq: u64,
    },
    /// It does not end with the device's seal: its end could be another one unseen.
    #[error("it does not end with a seal of the phone")]
    NotSealed,
    /// It is of another journal than the one it is put to.
    #[error("it is of another journal")]
    OtherJournal,
    /// An event in it does not hold.
    #[error(transparent)]
    Record(#[from] RecordFault),
}

impl Run {
    /// Its bytes: deterministic CBOR.
    pub fn encode(&self) -> Vec<u8> {
        canonical::encode(&Wire {
            form: FORM,
            device_key: self.device_key.into(),
            journal: self.journal.into(),
            from_seq: self.from_seq,
            events: self.events.iter().cloned().map(Into::into).collect(),
        })
    }

    /// Reads a run from exactly these bytes.
    ///
    /// # Errors
    /// [`RunFault::Unreadable`].
    pub fn decode_strict(bytes: &[u8]) -> Result<Run, RunFault> {
        let wire: Wire = canonical::decode(bytes, "a run")
            .map_err(|fault| RunFault::Unreadable(fault.to_string()))?;
        if wire.form != FORM || wire.from_seq == 0 || wire.events.is_empty() {
            return Err(RunFault::Unreadable("its numbers are not possible".into()));
        }
        Ok(Run {
            device_key: *wire.device_key,
            journal: *wire.journal,
            from_seq: wire.from_seq,
            events: wire.events.into_iter().map(Into::into).collect(),
        })
    }

    /// Number of the event behind its last one.
    fn end(&self) -> u64 {
        self.from_seq.saturating_add(self.events.len() as u64)
    }
}

/// Another phone's journal as far as it was copied: every event followed from the first
/// one on, up to a seal.
#[derive(Clone, Debug)]
pub struct Copied {
    journal: [u8; 16],
    device_key: [u8; 32],
    check: ChainCheck,
    events: Vec<Vec<u8>>,
}

impl Copied {
    /// A copy that begins with this run, which must begin with the journal's first event.
    ///
    /// # Errors
    /// [`RunFault`]
    pub fn begin(run: &Run) -> Result<Copied, RunFault> {
        let mut copied = Copied {
            journal: run.journal,
            device_key: run.device_key,
            check: ChainCheck::new(),
            events: Vec::new(),
        };
        copied.take(run)?;
        Ok(copied)
    }

    /// Goes on with another run; how many events are new. What is held already must be the
    /// same in it. After a fault the copy is as it was.
    ///
    /// # Errors
    /// [`RunFault`]
    pub fn take(&mut self, run: &Run) -> Result<u64, RunFault> {
        if (run.journal, run.device_key) != (self.journal, self.device_key) {
            return Err(RunFault::OtherJournal);
        }
        let next = self.held() + 1;
        if run.from_seq > next {
            return Err(RunFault::Gap {
                held: next,
                from: run.from_seq - 1,
            });
        }
        let known = (next - run.from_seq).min(run.events.len() as u64) as usize;
        let from = run.from_seq as usize - 1;
        let held = &self.events[from..from + known];
        if let Some(n) = held.iter().zip(&run.events).position(|(a, b)| a != b) {
            return Err(RunFault::Fork {
                seq: run.from_seq + n as u64,
            });
        }
        let mut check = self.check.clone();
        for bytes in &run.events[known..] {
            let event = check.feed(bytes)?;
            self.is_theirs(&event)?;
        }
        if check.sealed_up_to() != check.seq() {
            return Err(RunFault::NotSealed);
        }
        let new = run.events.len() - known;
        self.events.extend_from_slice(&run.events[known..]);
        self.check = check;
        debug_assert!(new == 0 || run.end() == self.held() + 1);
        Ok(new as u64)
    }

    /// The first event names the journal that the run says it is of.
    fn is_theirs(&self, event: &Event) -> Result<(), RunFault> {
        match &event.fact {
            Fact::JournalBegun {
                device_key,
                journal,
                ..
            } if (**device_key, **journal) != (self.device_key, self.journal) => {
                Err(RunFault::OtherJournal)
            }
            _ => Ok(()),
        }
    }

    /// The journal's random id.
    pub fn journal(&self) -> [u8; 16] {
        self.journal
    }

    /// Number of the last event held.
    pub fn held(&self) -> u64 {
        self.events.len() as u64
    }

    /// The events' own bytes, from the first on.
    pub fn events(&self) -> &[Vec<u8>] {
        &self.events
    }

    /// Everything held as one run.
    pub fn run(&self) -> Run {
        Run {
            device_key: self.device_key,
            journal: self.journal,
            from_seq: 1,
            events: self.events.clone(),
        }
    }
}
