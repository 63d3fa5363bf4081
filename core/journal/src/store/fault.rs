//! What can go wrong with the file, told apart by what a person can do about it.

use rusqlite::{Error, ErrorCode, ffi};

/// Something wrong with the journal's file. After each of these everything that
/// was answered before is still there.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreFault {
    /// No room left: free some space and do the act again.
    #[error("the disk is full ({reason})")]
    DiskFull {
        /// What the system said.
        reason: String,
    },
    /// The file or its folder cannot be written to.
    #[error("the journal cannot be written ({reason})")]
    ReadOnly {
        /// What the system said.
        reason: String,
    },
    /// Another process holds the file: close the other one.
    #[error("the journal is held by another process ({reason})")]
    Busy {
        /// What the system said.
        reason: String,
    },
    /// Made by a newer version: update this one.
    #[error("the journal has format {found}, this version knows {known}")]
    TooNew {
        /// The file's.
        found: i64,
        /// Ours.
        known: i64,
    },
    /// The device's key does not open with this secret. What was measured can still be
    /// read: [`super::read_without_secret`].
    #[error("the journal was made with another device secret")]
    WrongDeviceSecret {},
    /// Damage found while in use: open the journal again, which sets the file
    /// aside and salvages what can be read.
    #[error("the journal is damaged ({reason})")]
    Damaged {
        /// What was found.
        reason: String,
    },
    /// An earlier write ended in doubt (the system failed to say that it is on the
    /// disk). Nothing answered is lost: open the journal again and see whether that
    /// one act is there, whole, or not.
    #[error("the journal has to be opened again ({reason})")]
    MustReopen {
        /// What was in doubt.
        reason: String,
    },
    /// SQLite older than the first version without a known loss of commits.
    #[error("SQLite {found} is older than 3.51.3, which lost commits")]
    OldSqlite {
        /// Its version.
        found: String,
    },
    /// What was to be written does not hold (a signature that is not theirs, a text
    /// under another hash); nothing of it was written.
    #[error("refused: {reason}")]
    Refused {
        /// What does not hold.
        reason: String,
    },
    /// Anything else.
    #[error("{reason}")]
    Other {
        /// What the system said.
        reason: String,
    },
}

impl StoreFault {
    pub(crate) fn damaged(reason: impl Into<String>) -> Self {
        StoreFault::Damaged {
            reason: reason.into(),
        }
    }

    pub(super) fn refused(reason: impl Into<String>) -> Self {
        StoreFault::Refused {
            reason: reason.into(),
        }
    }

    /// Whether it leaves open what is on the disk.
    pub(super) fn leaves_doubt(&self) -> bool {
        !matches!(
            self,
            StoreFault::DiskFull { .. }
                | StoreFault::ReadOnly { .. }
                | StoreFault::Busy { .. }
                | StoreFault::Refused { .. }
                | StoreFault::MustReopen { .. }
        )
    }
}

/// Reading failed, as against writing: the medium or the file is damaged.
fn is_read_failure(extended: i32) -> bool {
    [
        ffi::SQLITE_IOERR_READ,
        ffi::SQLITE_IOERR_SHORT_READ,
        ffi::SQLITE_IOERR_DATA,
        ffi::SQLITE_IOERR_CORRUPTFS,
    ]
    .contains(&extended)
}

impl From<Error> for StoreFault {
    fn from(error: Error) -> Self {
        let reason = error.to_string();
        match &error {
            // A column of another type or length than was ever written.
            Error::InvalidColumnType(..)
            | Error::FromSqlConversionFailure(..)
            | Error::IntegralValueOutOfRange(..) => return StoreFault::Damaged { reason },
            Error::SqliteFailure(code, _) if is_read_failure(code.extended_code) => {
                return StoreFault::Damaged { reason };
            }
            _ => {}
        }
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => StoreFault::DiskFull { reason },
            Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied | ErrorCode::CannotOpen) => {
                StoreFault::ReadOnly { reason }
            }
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
                StoreFault::Busy { reason }
            }
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => {
                StoreFault::Damaged { reason }
            }
            _ => StoreFault::Other { reason },
        }
    }
}

impl From<std::io::Error> for StoreFault {
    fn from(error: std::io::Error) -> Self {
        use std::io::ErrorKind;
        let reason = error.to_string();
        match error.kind() {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => StoreFault::DiskFull { reason },
            ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
                StoreFault::ReadOnly { reason }
            }
            _ => StoreFault::Other { reason },
        }
    }
}
