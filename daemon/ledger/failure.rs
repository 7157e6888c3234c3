//! Why the ledger could not be opened, read or written, each with what to do about it.

use std::path::{Path, PathBuf};

use rusqlite::{Error, ErrorCode, ffi};

/// What keeps the ledger from its work. The round goes on without it and says so; no message holds a kept value.
#[derive(Debug, thiserror::Error)]
pub enum LedgerFailure {
    /// Another run holds it.
    #[error(
        "the ledger {} is in use by another run; wait until that one is done, or end it, and run again",
        .path.display()
    )]
    Locked {
        /// The ledger's file.
        path: PathBuf,
    },
    /// It can be read but not written.
    #[error(
        "the ledger {} can be read but not written; let the account that runs Tickover write the file and its folder",
        .path.display()
    )]
    ReadOnly {
        /// The ledger's file.
        path: PathBuf,
    },
    /// The disk has no room left.
    #[error(
        "the disk of the ledger {} is full, and nothing of this run was kept; free some space and run again",
        .path.display()
    )]
    DiskFull {
        /// The ledger's file.
        path: PathBuf,
    },
    /// It is not what was once written, or never was a ledger.
    #[error(
        "the ledger {} cannot be used: {what}; the next round that keeps sets it aside and goes on from its newest copy \
         (`tickover morning` makes one now)",
        .path.display()
    )]
    Damaged {
        /// The ledger's file.
        path: PathBuf,
        /// What is wrong with it, as a phrase.
        what: &'static str,
    },
    /// It is damaged, and could not be set aside.
    #[error(
        "the ledger {} cannot be used ({what}), and could not be set aside: {why}; let the account that runs Tickover write \
         its folder, so that the next run can do so and go on from its newest copy",
        .path.display()
    )]
    NotSetAside {
        /// The ledger's file.
        path: PathBuf,
        /// What is wrong with it, as a phrase.
        what: &'static str,
        /// What the system said.
        why: String,
    },
    /// Its copy could not be made.
    #[error(
        "no copy of the ledger could be made at {}: {why}; see that its disk has room for another ledger, and that the \
         account that runs Tickover may write there",
        .path.display()
    )]
    NotCopied {
        /// The copy that there should be.
        path: PathBuf,
        /// What kept it from being made, as a phrase.
        why: String,
    },
    /// No room could be set aside for the day when the disk is full.
    #[error(
        "the disk of the ledger {} is nearly full: no room could be set aside ({why}); free some space before the letters \
         have none",
        .path.display()
    )]
    NoSpareRoom {
        /// The ledger's file.
        path: PathBuf,
        /// What the system said.
        why: String,
    },
    /// The file that is to take up that room could not be made.
    #[error(
        "no room could be set aside for the day when the disk is full: {} could not be made ({why}); take away what stands \
         there, or let the account that runs Tickover write its folder",
        .path.display()
    )]
    SpareNotMade {
        /// The file that there should be.
        path: PathBuf,
        /// What is in the way, or what the system said.
        why: String,
    },
    /// It was lost, and its copy could not be put in its place.
    #[error(
        "the ledger {} is lost, and its newest copy could not be put in its place: {why}; see that the disk has room \
         for it, and run again",
        .path.display()
    )]
    NotRestored {
        /// The ledger's file.
        path: PathBuf,
        /// What the system said.
        why: String,
    },
    /// A newer version of the program wrote it.
    #[error(
        "the ledger {} was written by a newer Tickover (layout {found}, and this one knows up to {known}); install the \
         newer one again",
        .path.display()
    )]
    Newer {
        /// The ledger's file.
        path: PathBuf,
        /// The layout that it has.
        found: i64,
        /// The newest layout that this program knows.
        known: i64,
    },
    /// There is no getting at the file.
    #[error(
        "the ledger {} cannot be opened; see that its folder is there, that it is a file and not a folder, and that \
         the account that runs Tickover may write both",
        .path.display()
    )]
    Unreachable {
        /// The ledger's file.
        path: PathBuf,
    },
    /// Another run kept a letter of this day since this one asked for its edition.
    #[error("another run has written to the ledger {} meanwhile; run again", .path.display())]
    Overtaken {
        /// The ledger's file.
        path: PathBuf,
    },
    /// The disk or the store failed in a way that has no name here.
    #[error("the ledger {} failed: {source}; see that its disk is sound, and run again", .path.display())]
    Failed {
        /// The ledger's file.
        path: PathBuf,
        /// What the store said.
        source: Error,
    },
}

/// What went wrong inside the ledger, before it is said of which file.
#[derive(Debug)]
pub(super) enum Trouble {
    /// The store refused.
    Store(Error),
    /// Something kept is not what this program writes.
    Damaged(&'static str),
    /// A newer program wrote it.
    Newer {
        /// The layout that it has.
        found: i64,
        /// The newest layout that this program knows.
        known: i64,
    },
    /// It can be read but not written.
    ReadOnly,
    /// The letter's edition is taken.
    Overtaken,
    /// The copy that must come before a change could not be made.
    NotCopied {
        /// The copy that there should be.
        copy: PathBuf,
        /// What kept it from being made, as a phrase.
        why: String,
    },
}

impl From<Error> for Trouble {
    fn from(error: Error) -> Trouble {
        Trouble::Store(error)
    }
}

impl Trouble {
    /// The trouble as a failure of one file.
    pub(super) fn of(self, path: &Path) -> LedgerFailure {
        let path = path.to_owned();
        let source = match self {
            Trouble::Damaged(what) => return LedgerFailure::Damaged { path, what },
            Trouble::Newer { found, known } => return LedgerFailure::Newer { path, found, known },
            Trouble::ReadOnly => return LedgerFailure::ReadOnly { path },
            Trouble::Overtaken => return LedgerFailure::Overtaken { path },
            Trouble::NotCopied { copy, why } => return LedgerFailure::NotCopied { path: copy, why },
            Trouble::Store(source) => source,
        };
        match &source {
            // The index of the write-ahead log is made as a file of its own, and fails by another name.
            Error::SqliteFailure(error, _) if error.extended_code == ffi::SQLITE_IOERR_SHMSIZE => {
                LedgerFailure::DiskFull { path }
            }
            Error::SqliteFailure(error, _) => match error.code {
                ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => LedgerFailure::Locked { path },
                ErrorCode::ReadOnly => LedgerFailure::ReadOnly { path },
                ErrorCode::DiskFull => LedgerFailure::DiskFull { path },
                ErrorCode::CannotOpen | ErrorCode::PermissionDenied => LedgerFailure::Unreachable { path },
                ErrorCode::NotADatabase => LedgerFailure::Damaged { path, what: "it is not a ledger" },
                ErrorCode::DatabaseCorrupt => {
                    LedgerFailure::Damaged { path, what: "parts of it are missing or overwritten" }
                }
                // SQLITE_ERROR: the header or the tables are not what SQLite or our statements know. On a sound ledger
                // none of these ever is, and what only a write meets sets nothing aside (`Ledger::open_mended`).
                ErrorCode::Unknown => LedgerFailure::Damaged { path, what: "its tables are not a ledger's" },
                _ => LedgerFailure::Failed { path, source },
            },
            Error::SqlInputError { .. } | Error::InvalidColumnName(_) => {
                LedgerFailure::Damaged { path, what: "its tables are not a ledger's" }
            }
            Error::QueryReturnedNoRows
            | Error::InvalidColumnType(..)
            | Error::FromSqlConversionFailure(..)
            | Error::IntegralValueOutOfRange(..) => {
                LedgerFailure::Damaged { path, what: "a kept value is not what belongs there" }
            }
            _ => LedgerFailure::Failed { path, source },
        }
    }
}
