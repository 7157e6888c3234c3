//! The yard folder: where everything lies that an owner touches, and how a new one is laid out.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::problem::{Place, Problem};
use crate::{post, rules, yard};

/// The one folder that holds everything an owner touches.
#[derive(Debug, Clone)]
pub struct YardFolder {
    root: PathBuf,
}

impl YardFolder {
    /// The yard folder at a path; nothing is looked at yet.
    pub fn at(root: impl Into<PathBuf>) -> YardFolder {
        YardFolder { root: root.into() }
    }

    /// The folder itself.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// `tickover.toml`.
    pub fn settings(&self) -> PathBuf {
        self.root.join("tickover.toml")
    }

    /// The rule files.
    pub fn rules(&self) -> PathBuf {
        self.root.join("rules")
    }

    /// The handbook's three sheets.
    pub fn handbook(&self) -> PathBuf {
        self.root.join("handbook")
    }

    /// Where exports are dropped, unless the settings name other folders.
    pub fn sheets(&self) -> PathBuf {
        self.root.join("sheets")
    }

    /// The copies of every letter.
    pub fn digests(&self) -> PathBuf {
        self.root.join("digests")
    }

    /// What Tickover keeps for itself; nobody edits here.
    pub fn kept(&self) -> PathBuf {
        self.root.join("kept")
    }

    /// Where something that stands in the place of the folder kept is put: nobody's morning is to hang on it.
    fn aside_of_kept(&self) -> PathBuf {
        self.root.join("kept-was-no-folder")
    }

    /// Puts aside what stands in the place of the folder kept and is none, so that one can be made.
    pub fn make_way_for_kept(&self) {
        let stands_there = self.kept().symlink_metadata().is_ok();
        if stands_there && !self.kept().is_dir() && self.aside_of_kept().symlink_metadata().is_err() {
            // Where that fails whoever needs the folder says why it cannot be made.
            let _ = fs::rename(self.kept(), self.aside_of_kept());
        }
    }

    /// What was put aside like that, as the letter says it for as long as it lies there.
    pub(super) fn in_the_way_of_kept(&self) -> Option<Problem> {
        self.aside_of_kept().symlink_metadata().ok().map(|_| {
            Problem::error(
                Place::file("kept"),
                "something stood there that is no folder; it was put beside as kept-was-no-folder",
                "If the true folder kept is to be had, end Tickover and put it back; then take kept-was-no-folder away.",
            )
        })
    }

    /// The ledger.
    pub fn ledger(&self) -> PathBuf {
        self.kept().join("ledger.sqlite3")
    }

    /// What stands in for the ledger's outbox while the ledger cannot be used.
    pub(super) fn stand_in(&self) -> PathBuf {
        self.kept().join("stand-in.sqlite3")
    }

    /// A copy of the last settings without a fault.
    pub(super) fn last_settings(&self) -> PathBuf {
        self.kept().join("tickover.toml")
    }

    /// The lock that the long run holds for its life, so that a yard folder has one.
    pub fn running_lock(&self) -> PathBuf {
        self.kept().join("running.lock")
    }

    /// The lock that whoever makes a round holds meanwhile.
    pub(super) fn round_lock(&self) -> PathBuf {
        self.kept().join("round.lock")
    }

    /// How the long run stands.
    pub fn status(&self) -> PathBuf {
        self.kept().join("status.json")
    }

    /// The logs of the long run.
    pub fn logs(&self) -> PathBuf {
        self.kept().join("log")
    }

    /// The shelf: the last whole copy of every export.
    pub fn shelf(&self) -> PathBuf {
        self.root.join("kept").join("exports")
    }

    /// Whether this looks like a yard folder at all: it has settings or a folder of sheets.
    pub fn is_laid_out(&self) -> bool {
        self.settings().is_file() || self.sheets().is_dir()
    }

    /// Lays out what is missing of a yard folder: its folders, the shipped rules, the shipped handbook. Nothing that
    /// is there already is touched: from the first day on it is the owner's.
    ///
    /// # Errors
    /// What could not be made, as a problem with the path and what to do.
    pub fn lay_out(&self) -> Result<(), Problem> {
        let has_rules = self.rules().is_dir();
        for folder in [self.sheets(), self.rules(), self.handbook(), self.digests(), self.kept()] {
            fs::create_dir_all(&folder).map_err(|cause| cannot_write(&folder, &cause))?;
        }
        // A rule that the owner took out stays out.
        for (file, source) in rules::SHIPPED.iter().filter(|_| !has_rules) {
            put_if_missing(&self.rules().join(file), source.as_bytes())?;
        }
        for (file, text) in yard::SHIPPED_HANDBOOK {
            put_if_missing(&self.handbook().join(file), text.as_bytes())?;
        }
        Ok(())
    }
}

/// Writes a file where there is none, and says whether it did.
pub(crate) fn put_if_missing(path: &Path, content: &[u8]) -> Result<bool, Problem> {
    if path.exists() {
        return Ok(false);
    }
    put(path, content).map(|()| true)
}

/// Writes a file whole or not at all.
pub(crate) fn put(path: &Path, content: &[u8]) -> Result<(), Problem> {
    post::write_whole(path, content).map_err(|cause| cannot_write(path, &cause))
}

/// What to do about a file or folder that could not be written.
pub(crate) fn cannot_write(path: &Path, cause: &io::Error) -> Problem {
    let help = match cause.kind() {
        io::ErrorKind::StorageFull => "Make room on the disk, then run it again.",
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            "Give the account that runs Tickover the right to write there."
        }
        _ => "Check that the path is right and that the disk is there.",
    };
    Problem::error(Place::file(path.to_string_lossy()), format!("could not be written: {cause}"), help)
}
