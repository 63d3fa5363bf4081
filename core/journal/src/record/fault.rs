//! What can be wrong with a record.

/// What is wrong with a record, and at which event. `seq` is the event's number
/// from 1, or 0 where the reader was given one event alone and cannot know it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum RecordFault {
    /// Bytes that do not read, or not in the one canonical form.
    #[error("{}: {reason}", at(*seq))]
    Form {
        /// The event.
        seq: u64,
        /// In words.
        reason: String,
    },
    /// Written by a newer version of this software.
    #[error("{}: its format is {version}, newer than this software reads", at(*seq))]
    TooNew {
        /// The event.
        seq: u64,
        /// Its version.
        version: u64,
    },
    /// The journal does not begin as one, or begins again in the middle.
    #[error("{}: {reason}", at(*seq))]
    Beginning {
        /// The event.
        seq: u64,
        /// In words.
        reason: &'static str,
    },
    /// A hash or signature of an algorithm that is not known here.
    #[error("{}: algorithm {alg} for {what} is not known here", at(*seq))]
    Algorithm {
        /// The event.
        seq: u64,
        /// The algorithm's id.
        alg: u8,
        /// For what.
        what: &'static str,
    },
    /// A public key that is none.
    #[error("{}: the public key of {whose} is not a key", at(*seq))]
    Key {
        /// The event.
        seq: u64,
        /// Whose: a person's id, or `the device`.
        whose: String,
    },
    /// The event is not the one that its hash on file was made of.
    #[error("{}: it does not follow from the events before it (its hash is another one)", at(*seq))]
    Chain {
        /// The event.
        seq: u64,
    },
    /// A seal over something else than the journal up to there, or not signed by
    /// the device.
    #[error("{}: {reason}", at(*seq))]
    Seal {
        /// The event.
        seq: u64,
        /// In words.
        reason: &'static str,
    },
    /// A sign-off that does not hold.
    #[error("{}: the sign-off of {person} does not hold: {reason}", at(*seq))]
    SignOff {
        /// The event.
        seq: u64,
        /// Who: id in the roster.
        person: String,
        /// In words.
        reason: &'static str,
    },
    /// A statement that does not belong where it stands.
    #[error("{}: {reason}", at(*seq))]
    Statement {
        /// The event.
        seq: u64,
        /// In words.
        reason: String,
    },
    /// A signature, checked alone, is not by this key over these bytes.
    #[error("the signature is not by this key over these bytes")]
    Signature,
}

fn at(seq: u64) -> String {
    match seq {
        0 => "an event".into(),
        seq => format!("event {seq}"),
    }
}

impl RecordFault {
    pub(super) fn form(reason: impl Into<String>) -> Self {
        RecordFault::Form {
            seq: 0,
            reason: reason.into(),
        }
    }

    /// The same fault, of the event with this number.
    #[must_use]
    pub fn at(mut self, number: u64) -> Self {
        match &mut self {
            RecordFault::Form { seq, .. }
            | RecordFault::TooNew { seq, .. }
            | RecordFault::Beginning { seq, .. }
            | RecordFault::Algorithm { seq, .. }
            | RecordFault::Key { seq, .. }
            | RecordFault::Chain { seq }
            | RecordFault::Seal { seq, .. }
            | RecordFault::SignOff { seq, .. }
            | RecordFault::Statement { seq, .. } => *seq = number,
            RecordFault::Signature => {}
        }
        self
    }

    /// The event's number from 1, where it is known.
    pub fn seq(&self) -> Option<u64> {
        let seq = match self {
            RecordFault::Form { seq, .. }
            | RecordFault::TooNew { seq, .. }
            | RecordFault::Beginning { seq, .. }
            | RecordFault::Algorithm { seq, .. }
            | RecordFault::Key { seq, .. }
            | RecordFault::Chain { seq }
            | RecordFault::Seal { seq, .. }
            | RecordFault::SignOff { seq, .. }
            | RecordFault::Statement { seq, .. } => *seq,
            RecordFault::Signature => 0,
        };
        (seq > 0).then_some(seq)
    }
}
