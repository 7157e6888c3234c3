//! Locks that the system itself lets go of when their holder ends, however it ends.

use std::fs::{self, File, TryLockError};
use std::io;
use std::path::Path;

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

#[cfg(test)]
mod tests {
    use super::Lock;

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
