//! What can go wrong with the file, told apart by what a person can do about it.

use rusqlite::ErrorCode;

/// Something wrong with the journal's file. After each of these everything that
/// was answered before is still there.
#[derive(Debug, thiserror::Error)]
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
    /// The device's key does not open with this secret.
    #[error("the journal was made with another device secret")]
    WrongDeviceSecret {},
    /// Damage found while in use: open the journal again, which sets the file
    /// aside and salvages what can be read.
    #[error("the journal is damaged ({reason})")]
    Damaged {
        /// What was found.
        reason: String,
    },
    /// SQLite older than the first version without a known loss of commits.
    #[error("SQLite {found} is older than 3.51.3, which lost commits")]
    OldSqlite {
        /// Its version.
        found: String,
    },
    /// Anything else.
    #[error("{reason}")]
    Other {
        /// What the system said.
        reason: String,
    },
}

impl From<rusqlite::Error> for StoreFault {
    fn from(error: rusqlite::Error) -> Self {
        let reason = error.to_string();
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

pub(super) fn damaged(reason: impl Into<String>) -> StoreFault {
    StoreFault::Damaged {
        reason: reason.into(),
    }
}
