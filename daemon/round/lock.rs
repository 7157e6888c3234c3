//! Locks that the system itself lets go of when their holder ends, however it ends.

use std::fs::{self, File, TryLockError};
use std::io;
use std::path::Path;
use std::thread;
use std::time::Duration;

use super::YardFolder;
use crate::problem::{Place, Problem};

/// How often a round looks whether another one is done, and how long between two looks: a minute in all, where an
/// ordinary round takes seconds.
const LOOKS_MAX: u32 = 300;
const LOOK_EVERY: Duration = Duration::from_millis(200);

/// A lock that is held for as long as this value lives.
#[derive(Debug)]
pub struct Lock {
    _file: File,
}

impl Lock {
    /// Takes the lock of a file, which is made where it is missing; `None` when another process holds it.
    ///
    /// # Errors
    /// What the system says when the file cannot be made or knows no locks.
    pub fn try_hold(path: &Path) -> io::Result<Option<Lock>> {
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)?;
        }
        let file = File::options().create(true).truncate(false).read(true).write(true).open(path)?;
        match file.try_lock() {
            Ok(()) => Ok(Some(Lock { _file: file })),
            Err(TryLockError::WouldBlock) => Ok(None),
            Err(TryLockError::Error(cause)) => Err(cause),
        }
    }

    /// Whether a process holds the lock of a file. Nothing is made or changed.
    pub fn is_held(path: &Path) -> bool {
        File::open(path).is_ok_and(|file| matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock)))
    }
}

/// The turn at a yard folder: whoever makes a round or sends letters holds it, and others wait for it.
///
/// # Errors
/// Another round has held it for a minute.
pub(super) fn turn(folder: &YardFolder) -> Result<Option<Lock>, Problem> {
    turn_within(folder, LOOKS_MAX)
}

fn turn_within(folder: &YardFolder, looks: u32) -> Result<Option<Lock>, Problem> {
    for look in 1..=looks {
        match Lock::try_hold(&folder.round_lock()) {
            Ok(Some(lock)) => return Ok(Some(lock)),
            // A disk that cannot be written, or knows no locks: the ledger says the first, and its own transactions
            // keep two rounds apart on the second.
            Err(_) => return Ok(None),
            Ok(None) if look < looks => thread::sleep(LOOK_EVERY),
            Ok(None) => {}
        }
    }
    Err(Problem::error(
        Place::file("kept/round.lock"),
        "another round is at work in this yard folder",
        "Wait until it is done, then run it again.",
    ))
}

#[cfg(test)]
mod tests {
    use super::{Lock, YardFolder, turn_within};

    #[test]
    fn a_second_round_waits_and_then_says_why_it_did_not_run() {
        let yard = tempfile::tempdir().unwrap();
        let folder = YardFolder::at(yard.path());
        let first = turn_within(&folder, 1).unwrap();
        assert!(first.is_some());
        let refused = turn_within(&folder, 2).unwrap_err();
        assert_eq!(refused.what, "another round is at work in this yard folder");
        drop(first);
        assert!(turn_within(&folder, 1).unwrap().is_some());
    }

    #[test]
    fn a_lock_is_held_once_and_let_go_with_its_value() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("kept").join("running.lock");
        assert!(!Lock::is_held(&path));
        let held = Lock::try_hold(&path).unwrap();
        assert!(held.is_some());
        assert!(Lock::is_held(&path));
        assert!(Lock::try_hold(&path).unwrap().is_none());
        drop(held);
        assert!(!Lock::is_held(&path));
        assert!(Lock::try_hold(&path).unwrap().is_some());
    }
}
