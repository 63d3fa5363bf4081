//! What a screen is told when the record cannot be read or written. The rich
//! reasons stay inside; each of these has one thing that a person can do.

use standsquare_journal::store::StoreFault;

/// What went wrong with the record itself. Acts that the rules refuse are no
/// faults: they come back as a view with a notice.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Error))]
pub enum PhoneFault {
    /// The disk is full: free some space; everything answered so far is kept.
    #[error("the disk is full: {reason}")]
    DiskFull {
        /// For the log.
        reason: String,
    },
    /// The folder or file cannot be written to.
    #[error("the record cannot be written: {reason}")]
    ReadOnly {
        /// For the log.
        reason: String,
    },
    /// Another process holds it: close the other one.
    #[error("the record is in use elsewhere: {reason}")]
    InUse {
        /// For the log.
        reason: String,
    },
    /// It was written by a newer app: update this one.
    #[error("the record is newer than this app: {reason}")]
    TooNew {
        /// For the log.
        reason: String,
    },
    /// This phone's secret is not the one it was made with.
    #[error("the record belongs to another phone: {reason}")]
    OtherPhone {
        /// For the log.
        reason: String,
    },
    /// Damage that could not be set aside by itself.
    #[error("the record is damaged: {reason}")]
    Damaged {
        /// For the log.
        reason: String,
    },
    /// Something that no screen can act on: start the app again and report it.
    #[error("internal: {reason}")]
    Internal {
        /// For the log.
        reason: String,
    },
}

impl From<StoreFault> for PhoneFault {
    fn from(fault: StoreFault) -> Self {
        let reason = fault.to_string();
        match fault {
            StoreFault::DiskFull { .. } => PhoneFault::DiskFull { reason },
            StoreFault::ReadOnly { .. } => PhoneFault::ReadOnly { reason },
            StoreFault::Busy { .. } => PhoneFault::InUse { reason },
            StoreFault::TooNew { .. } => PhoneFault::TooNew { reason },
            StoreFault::WrongDeviceSecret { .. } => PhoneFault::OtherPhone { reason },
            StoreFault::Damaged { .. } => PhoneFault::Damaged { reason },
            _ => PhoneFault::Internal { reason },
        }
    }
}
