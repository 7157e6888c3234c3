//! A letter in a folder: each file whole or not there at all, whatever happens meanwhile.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::PostFailure;
use crate::digest::{Letter, full_list_name};

/// The most letters of one day that are looked for; a run every minute would not write more.
const EDITIONS_MAX: u32 = 2_000;

/// What a letter's files in the folder are called.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct CopyName {
    /// The letter's day.
    pub day: Date,
    /// Whether it tells what could not wait, and is not the day's morning letter.
    pub at_once: bool,
    /// 1 for the first letter of its kind that day, one more for each later one.
    pub edition: u32,
}

impl CopyName {
    /// The files' name without their endings: `2026-03-02`, `2026-03-02-2`, `2026-03-02-at-once`.
    pub(super) fn stem(self) -> String {
        let kind = if self.at_once { "-at-once" } else { "" };
        let number = if self.edition <= 1 { String::new() } else { format!("-{}", self.edition) };
        format!("{}{kind}{number}", self.day)
    }
}

/// Writes a day's letter as `2026-03-02.txt`, `.html` and `.eml`, with `2026-03-02-full.txt` where it left something
/// out, and gives their paths in the order written. A later edition of the day stands beside the first, as
/// `2026-03-02-2.txt` and so on, but for the full list, of which the day has one. The folder is made where it is missing.
pub fn deliver_to_folder(
    folder: &Path,
    name: CopyName,
    letter: &Letter,
    eml: &[u8],
) -> Result<Vec<PathBuf>, PostFailure> {
    fs::create_dir_all(folder).map_err(|source| PostFailure::Folder { path: folder.to_owned(), source })?;
    let (stem, day) = (name.stem(), name.day);
    let full_list = letter.full_list.as_ref().map(|list| (full_list_name(day), list.as_bytes()));
    let files = full_list.into_iter().chain([
        (format!("{stem}.txt"), letter.text.as_bytes()),
        (format!("{stem}.html"), letter.html.as_bytes()),
        (format!("{stem}.eml"), eml),
    ]);
    let mut written = Vec::new();
    for (name, bytes) in files {
        let path = folder.join(&name);
        if let Err(source) = write_whole(&path, bytes) {
            return Err(PostFailure::Folder { path, source });
        }
        written.push(path);
    }
    if letter.full_list.is_none() && !name.at_once {
        let path = folder.join(full_list_name(day));
        match fs::remove_file(&path) {
            Err(source) if source.kind() != io::ErrorKind::NotFound => {
                return Err(PostFailure::Folder { path, source });
            }
            _ => {}
        }
    }
    keep_names(folder).map_err(|source| PostFailure::Folder { path: folder.to_owned(), source })?;
    Ok(written)
}

/// Whether the folder takes copies: it is there, or can be made, and has room for a letter.
///
/// # Errors
/// What is in the way.
pub fn takes_copies(folder: &Path) -> Result<(), PostFailure> {
    /// The room that is tried, in bytes: a letter's three files take less.
    const ROOM: usize = 200_000;
    let path = folder.join(".room.part");
    let tried = fs::create_dir_all(folder).and_then(|()| fs::write(&path, vec![b' '; ROOM]));
    // It may never have come about; that it stays would harm nobody.
    let _ = fs::remove_file(&path);
    tried.map_err(|source| PostFailure::Folder { path: folder.to_owned(), source })
}

/// The first name of a kind of letter of a day of which no file is there yet, for a letter that nothing has numbered.
pub fn free_name(folder: &Path, day: Date, at_once: bool) -> CopyName {
    let name = |edition| CopyName { day, at_once, edition };
    (1..EDITIONS_MAX)
        .map(name)
        .find(|name| !stands_there(folder, *name))
        .unwrap_or_else(|| name(EDITIONS_MAX))
}

/// Whether a letter of that name stands in the folder, or a part of one.
pub fn stands_there(folder: &Path, name: CopyName) -> bool {
    let stem = name.stem();
    ["txt", "html", "eml"].iter().any(|ending| folder.join(format!("{stem}.{ending}")).exists())
}

/// Writes a file whole or not at all: to a name beside first, and under its own once the disk has it.
///
/// # Errors
/// What the system says; nothing half-written stays.
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let beside = path.with_file_name(format!(".{name}.part"));
    write_beside(&beside, path, bytes).inspect_err(|_| {
        // What is left of it must not fill a full disk further; that it stays would harm nobody.
        let _ = fs::remove_file(&beside);
    })
}

/// Writes to a name beside, waits until the disk has it, then gives it its own name.
fn write_beside(beside: &Path, path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::create(beside)?;
    file.write_all(bytes)?;
    file.sync_all()?;
    drop(file);
    fs::rename(beside, path)
}

/// Waits until the disk has the folder's names, too.
#[cfg(unix)]
fn keep_names(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

/// Other systems do not open folders, and keep their names themselves.
#[cfg(not(unix))]
fn keep_names(_folder: &Path) -> io::Result<()> {
    Ok(())
}
