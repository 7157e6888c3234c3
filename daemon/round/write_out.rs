//! Everything that is kept, written out as files that any spreadsheet program opens.

use std::fs;
use std::path::{Path, PathBuf};

use crate::ledger::{self, Ledger};
use crate::problem::{Place, Problem};

use super::keeping::as_problem;
use super::{YardFolder, cannot_write, no_yard, put};

/// Writes everything that a yard's ledger keeps into a folder, and gives the files with the count of their rows.
///
/// # Errors
/// No yard folder, no ledger that can be read, or a folder that holds something else or cannot be written.
pub fn write_out(yard: &YardFolder, folder: &Path) -> Result<Vec<(PathBuf, usize)>, Problem> {
    if !yard.is_laid_out() {
        return Err(no_yard(yard));
    }
    refuse_other_folders(folder)?;
    let ledger = Ledger::open_read_only(&yard.ledger());
    let tables = ledger.and_then(|ledger| ledger.export()).map_err(|failure| as_problem(&failure))?;
    fs::create_dir_all(folder).map_err(|cause| cannot_write(folder, &cause))?;
    let mut written = Vec::new();
    for table in tables {
        let path = folder.join(table.file);
        put(&path, &table.bytes)?;
        written.push((path, table.rows));
    }
    let (page, text) = ledger::EXPORT_PAGE;
    put(&folder.join(page), text.as_bytes())?;
    Ok(written)
}

/// Only an empty folder, a new one or an earlier export is written to.
fn refuse_other_folders(folder: &Path) -> Result<(), Problem> {
    let ours = |name: &std::ffi::OsStr| ledger::export_files().any(|file| name == file);
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(cannot_write(folder, &error)),
    };
    // One entry more than an export has files is one that is not an export's.
    let entries_most = ledger::export_files().count() + 1;
    let mut names = entries.take(entries_most).map(|entry| entry.map(|entry| entry.file_name()));
    if names.all(|name| name.is_ok_and(|name| ours(&name))) {
        return Ok(());
    }
    Err(Problem::error(
        Place::file(folder.to_string_lossy()),
        "this folder holds something else than an earlier export",
        "Name an empty or new folder: tickover export DIR.",
    ))
}
