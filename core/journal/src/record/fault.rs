//! What can be wrong with a record, in words that name the event.

/// Something in a record that is not as it must be.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RecordFault {
    /// The bytes are no event, or not in the one form that is allowed.
    #[error("event {seq} is not in deterministic CBOR of a known form: {reason}")]
    Form {
        /// Its number; 0 where it is not known.
        seq: u64,
        /// What the decoder says.
        reason: String,
    },
    /// Written by a newer version.
    #[error("event {seq} has format {version}, which this version cannot read")]
    TooNew {
        /// Its number.
        seq: u64,
        /// Its format.
        version: u8,
    },
    /// The first event does not say whose journal this is, or a later one says it again.
    #[error("event {seq}: a journal begins with its device's key, once")]
    Beginning {
        /// Its number.
        seq: u64,
    },
    /// A seal or sign-off names another head than the chain has there.
    #[error("event {seq} signs another record than this one")]
    Head {
        /// Its number.
        seq: u64,
    },
    /// A signature does not hold.
    #[error("the signature in event {seq} does not hold ({who})")]
    Signature {
        /// Its number; 0 where it is not known.
        seq: u64,
        /// Whose it claims to be.
        who: String,
    },
    /// A signature by somebody whose key is not in the journal.
    #[error("event {seq} is signed by '{who}', whose key is not in this journal")]
    UnknownSigner {
        /// Its number.
        seq: u64,
        /// Who.
        who: String,
    },
    /// An algorithm that this version does not know.
    #[error("algorithm {alg} is not known")]
    Algorithm {
        /// Its id.
        alg: u8,
    },
}

impl RecordFault {
    /// The same fault at this event.
    pub(crate) fn at(self, seq: u64) -> Self {
        match self {
            RecordFault::Form { reason, .. } => RecordFault::Form { seq, reason },
            RecordFault::TooNew { version, .. } => RecordFault::TooNew { seq, version },
            RecordFault::Signature { who, .. } => RecordFault::Signature { seq, who },
            other => other,
        }
    }
}
