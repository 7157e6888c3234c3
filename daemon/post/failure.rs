//! What can keep a letter from being built or delivered.

use std::io;
use std::path::PathBuf;

/// A letter that was not delivered, and what to do; each reads on after `failed to`.
#[derive(Debug, thiserror::Error)]
pub enum PostFailure {
    /// An address of the settings is none.
    #[error(
        "use `{given}` as {whose} address: {why}; write it as desk@shop.example or Name <desk@shop.example>"
    )]
    Address {
        /// Whose it is: `the sender's`, `a receiver's`.
        whose: &'static str,
        /// The address as given, made safe.
        given: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// There is nobody to send to.
    #[error("address the letter: there is no receiver; give at least one in the settings")]
    NoReceiver,
    /// The message's lasting name has not the form that mail asks for (RFC 5322, 3.6.4).
    #[error("name the letter `{given}`: a message id has the form <name@domain>, in plain letters")]
    MessageId {
        /// The name as given, made safe.
        given: String,
    },
    /// The letter's moment is not one.
    #[error("date the letter: {seconds} seconds after 1970 is no moment that a mail can carry")]
    Moment {
        /// The moment as given.
        seconds: i64,
    },
    /// The mail could not be put together.
    #[error("put the mail together: {source}")]
    Mail {
        /// What the mail library says.
        source: lettre::error::Error,
    },
    /// A file could not be written.
    #[error("write `{}`: {}", path.display(), reason(source))]
    Folder {
        /// The file or folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// An old copy could not be removed.
    #[error("remove the old letter `{}`: {}", path.display(), reason(source))]
    Forget {
        /// The copy.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

impl PostFailure {
    /// What is wrong and what to do, as a phrase and a sentence, for where it is known what failed.
    pub fn parts(&self) -> (String, String) {
        let words = match self {
            PostFailure::Folder { source, .. } | PostFailure::Forget { source, .. } => reason(source),
            other => other.to_string(),
        };
        let (what, help) = words.split_once("; ").unwrap_or((&words, "see that its disk is sound"));
        // What the system calls it is of no use beside our own words.
        let help = help.split_once(" (").map_or(help, |(help, _)| help);
        let mut letters = help.chars();
        let first = letters.next().map(char::to_uppercase).into_iter().flatten().collect::<String>();
        (what.to_owned(), format!("{first}{}.", letters.as_str()))
    }
}

/// What the system's answer means for the person at the shop's PC, and what to do.
fn reason(source: &io::Error) -> String {
    let (what, help) = match source.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
            ("the disk is full", "free some room; the next round writes the letter again")
        }
        io::ErrorKind::ReadOnlyFilesystem => {
            ("the disk can only be read", "make it writable, or move the yard folder to another disk")
        }
        io::ErrorKind::PermissionDenied => (
            "it may not be written to",
            "allow the user that runs Tickover to write there, and close the file elsewhere",
        ),
        io::ErrorKind::NotADirectory | io::ErrorKind::AlreadyExists | io::ErrorKind::IsADirectory => {
            ("something of that name is in the way", "move it elsewhere")
        }
        io::ErrorKind::NotFound => ("its folder is gone", "make the folder again, or reconnect its disk"),
        _ => return format!("{source}; check the disk that it is on"),
    };
    format!("{what}; {help} ({source})")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failed_write_says_what_where_and_what_to_do() {
        let cases = [
            (
                io::ErrorKind::StorageFull,
                "write `digests/2026-03-02.eml`: the disk is full; free some room; the next round writes the letter \
                 again (no storage space)",
            ),
            (
                io::ErrorKind::ReadOnlyFilesystem,
                "write `digests/2026-03-02.eml`: the disk can only be read; make it writable, or move the yard \
                 folder to another disk (read-only filesystem or storage medium)",
            ),
            (
                io::ErrorKind::NotFound,
                "write `digests/2026-03-02.eml`: its folder is gone; make the folder again, or reconnect its disk \
                 (entity not found)",
            ),
            (
                io::ErrorKind::TimedOut,
                "write `digests/2026-03-02.eml`: timed out; check the disk that it is on",
            ),
        ];
        for (kind, expected) in cases {
            let failure =
                PostFailure::Folder { path: PathBuf::from("digests/2026-03-02.eml"), source: kind.into() };
            assert_eq!(failure.to_string(), expected);
        }
    }
}
