//! The shelf: the last whole copy of every file that was read, for the day when the file itself is not to be had.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use jiff::Timestamp;
use jiff::civil::Date;

use super::Whole;
use crate::post;

/// The most copies that are kept; a shop has a dozen files.
const COPIES_MAX: usize = 2_000;

/// The most bytes that all copies may take, so that the shelf cannot fill the disk: a shop's exports take some
/// megabytes.
const BYTES_MAX: u64 = 1024 * 1024 * 1024;

/// The longest name of a copy in bytes: most file systems end at 255, and a few are needed beside it.
const NAME_BYTES_MAX: usize = 230;

/// Begins the name of the small file that says since when a copy's original is gone. No copy's own name does: in those
/// a `%` is followed by two figures.
const GONE: &str = "%gone-";

/// The longest small file that is read: it holds one day.
const GONE_BYTES_MAX: u64 = 64;

/// Begins the name of the copy of the last export before a file changed its shape. No copy's own name does.
const BEFORE: &str = "%was-";

/// Begins the name of the small file that says what has changed since then.
const CHANGES: &str = "%changes-";

/// The longest of these that is read: some hundred changes, or some thousand names of machines.
pub const CHANGES_BYTES_MAX: usize = 1024 * 1024;

/// The copies in one folder, each under its file's name.
#[derive(Debug)]
pub struct Shelf {
    folder: PathBuf,
    /// Whether it may be written to.
    keeps: bool,
    /// The length of each copy, by the name of its original.
    copies: BTreeMap<String, u64>,
    /// Whether it is there, and no look into it is allowed.
    is_shut: bool,
    bytes_max: u64,
}

impl Shelf {
    /// The shelf in a folder, which need not be there yet. One that does not keep is only read from.
    pub fn at(folder: impl Into<PathBuf>, keeps: bool) -> Shelf {
        Shelf::with_room(folder.into(), keeps, BYTES_MAX)
    }

    /// The same with the most bytes that it may hold.
    pub(super) fn with_room(folder: PathBuf, keeps: bool, bytes_max: u64) -> Shelf {
        let read = fs::read_dir(&folder);
        let is_shut = read.as_ref().is_err_and(|cause| cause.kind() != io::ErrorKind::NotFound);
        let entries = read.into_iter().flatten().take(2 * COPIES_MAX).filter_map(Result::ok);
        let copies = entries
            .filter_map(|entry| {
                let original = original_of(entry.file_name().to_str()?)?;
                Some((original, entry.metadata().ok().filter(fs::Metadata::is_file)?.len()))
            })
            .collect();
        Shelf { folder, keeps, copies, is_shut, bytes_max }
    }

    /// The names of the files that have a copy, sorted.
    pub fn names(&self) -> Vec<String> {
        self.copies.keys().cloned().collect()
    }

    /// Whether there is a copy of a file.
    pub fn holds(&self, name: &str) -> bool {
        self.copies.contains_key(name)
    }

    /// Whether there is a copy of a file, or may well be.
    pub fn may_hold(&self, name: &str) -> bool {
        self.is_shut || self.holds(name)
    }

    /// The copy of a file, with the moment at which the file itself was last changed; `None` where there is none that
    /// can be read.
    pub fn copy_of(&self, name: &str) -> Option<Whole> {
        self.copies.get(name)?;
        read_with_moment(&self.place_of(name)?)
    }

    /// Keeps a copy of what was read, and forgets that the file was ever gone. The same bytes are not written twice.
    ///
    /// # Errors
    /// What keeps the copy from being made; the one before stays.
    pub fn put(&mut self, name: &str, whole: &Whole) -> io::Result<()> {
        if !self.keeps {
            return Ok(());
        }
        let path = self.place_of(name).ok_or(io::ErrorKind::InvalidFilename)?;
        self.forget_that_it_is_gone(name)?;
        if self.copies.get(name) == Some(&(whole.bytes.len() as u64))
            && let Some(copy) = self.copy_of(name)
            && copy.bytes == whole.bytes
        {
            return if copy.modified == whole.modified {
                Ok(())
            } else {
                set_modified(&path, whole.modified)
            };
        }
        self.make_sure_of_room(name, whole)?;
        fs::create_dir_all(&self.folder)?;
        post::write_whole(&path, &whole.bytes)?;
        self.copies.insert(name.to_owned(), whole.bytes.len() as u64);
        set_modified(&path, whole.modified)
    }

    /// The day on which a file was first found gone: `today`, unless an earlier round found that already.
    pub fn gone_since(&self, name: &str, today: Date) -> Date {
        let Some(path) = self.gone_note_of(name) else { return today };
        if let Some(since) = day_in(&path) {
            return since.min(today);
        }
        if self.keeps {
            // Without the note the file is found gone anew tomorrow, and its copy counts for longer.
            let _ = post::write_whole(&path, today.to_string().as_bytes());
        }
        today
    }

    /// Takes a copy down, as far as the shelf may be written to.
    ///
    /// # Errors
    /// What the system says.
    pub fn take_down(&mut self, name: &str) -> io::Result<()> {
        let Some(path) = self.place_of(name).filter(|_| self.keeps) else { return Ok(()) };
        // The copy goes first: a note of a file that has no copy means nothing.
        remove(&path)?;
        self.copies.remove(name);
        self.forget_the_export_before(name)?;
        self.note_changes(name, "")?;
        self.forget_that_it_is_gone(name)
    }

    /// The export of a file before it changed its shape; `None` where it has not.
    pub fn export_before(&self, name: &str) -> Option<Whole> {
        read_with_moment(&self.beside(BEFORE, name)?)
    }

    /// Keeps the export before a file changed its shape.
    ///
    /// # Errors
    /// What keeps it from being made.
    pub fn keep_the_export_before(&self, name: &str, before: &Whole) -> io::Result<()> {
        let Some(path) = self.beside(BEFORE, name).filter(|_| self.keeps) else { return Ok(()) };
        self.make_sure_of_room(name, before)?;
        fs::create_dir_all(&self.folder)?;
        post::write_whole(&path, &before.bytes)?;
        set_modified(&path, before.modified)
    }

    /// Takes it down once there is nothing more to compare with it.
    ///
    /// # Errors
    /// What the system says.
    pub fn forget_the_export_before(&self, name: &str) -> io::Result<()> {
        self.beside(BEFORE, name).filter(|_| self.keeps).map_or(Ok(()), |path| remove(&path))
    }

    /// What was noted of a file's changes; empty where nothing was.
    pub fn noted_changes(&self, name: &str) -> String {
        let Some(path) = self.beside(CHANGES, name) else { return String::new() };
        let is_short = fs::metadata(&path).is_ok_and(|note| note.len() <= CHANGES_BYTES_MAX as u64);
        if is_short { fs::read_to_string(&path).unwrap_or_default() } else { String::new() }
    }

    /// Notes what has changed of a file, in the place of what was noted before; nothing takes the note down.
    ///
    /// # Errors
    /// What the system says.
    pub fn note_changes(&self, name: &str, changes: &str) -> io::Result<()> {
        let Some(path) = self.beside(CHANGES, name).filter(|_| self.keeps) else { return Ok(()) };
        if changes.is_empty() {
            return remove(&path);
        }
        if self.noted_changes(name) == changes {
            return Ok(());
        }
        fs::create_dir_all(&self.folder)?;
        post::write_whole(&path, changes.as_bytes())
    }

    /// The place of what lies beside a file's copy.
    fn beside(&self, beginning: &str, name: &str) -> Option<PathBuf> {
        Some(self.folder.join(format!("{beginning}{}", escaped(name)?)))
    }

    /// Forgets that a file was ever gone; keeping its copy does so, too.
    ///
    /// # Errors
    /// What the system says.
    pub fn forget_that_it_is_gone(&self, name: &str) -> io::Result<()> {
        if !self.keeps {
            return Ok(());
        }
        self.gone_note_of(name).map_or(Ok(()), |note| remove(&note))
    }

    fn make_sure_of_room(&self, name: &str, whole: &Whole) -> io::Result<()> {
        let others: u64 =
            self.copies.iter().filter(|(other, _)| *other != name).map(|(_, length)| length).sum();
        let is_new = !self.copies.contains_key(name);
        if (is_new && self.copies.len() >= COPIES_MAX) || others + whole.bytes.len() as u64 > self.bytes_max {
            return Err(io::Error::other("there are more or larger sheets than copies are kept of"));
        }
        Ok(())
    }

    /// Where a file's copy lies; `None` where its name is too long for one.
    fn place_of(&self, name: &str) -> Option<PathBuf> {
        Some(self.folder.join(escaped(name)?))
    }

    fn gone_note_of(&self, name: &str) -> Option<PathBuf> {
        self.beside(GONE, name)
    }
}

/// A file's name as that of its copy: one level, nothing that a file system takes amiss, and no dot in front, by which
/// files under way are known. `None` where it gets too long.
pub(super) fn escaped(name: &str) -> Option<String> {
    let mut escaped = String::new();
    for (index, letter) in name.char_indices() {
        let is_harmless = match letter {
            '.' => index > 0 && index + 1 < name.len(),
            ' ' => index + 1 < name.len(),
            letter => !letter.is_control() && !"%/\\:*?\"<>|".contains(letter),
        };
        if is_harmless {
            escaped.push(letter);
        } else {
            let mut bytes = [0; 4];
            for byte in letter.encode_utf8(&mut bytes).bytes() {
                escaped.push_str(&format!("%{byte:02x}"));
            }
        }
    }
    (escaped.len() <= NAME_BYTES_MAX).then_some(escaped)
}

/// The name of the file that a copy is of; `None` for what is no copy.
pub(super) fn original_of(escaped: &str) -> Option<String> {
    if escaped.starts_with('.') {
        return None;
    }
    let mut bytes = Vec::new();
    let mut rest = escaped.as_bytes();
    while let Some((byte, after)) = rest.split_first() {
        if *byte == b'%' {
            let figures = std::str::from_utf8(after.get(..2)?).ok()?;
            bytes.push(u8::from_str_radix(figures, 16).ok()?);
            rest = &after[2..];
        } else {
            bytes.push(*byte);
            rest = after;
        }
    }
    String::from_utf8(bytes).ok()
}

/// A copy, with the moment at which its original was last changed.
fn read_with_moment(path: &Path) -> Option<Whole> {
    let modified = Timestamp::try_from(fs::metadata(path).ok()?.modified().ok()?).ok()?;
    Some(Whole { bytes: fs::read(path).ok()?, modified })
}

/// The day that a note holds.
fn day_in(note: &Path) -> Option<Date> {
    let length = fs::metadata(note).ok()?.len();
    let text = if length <= GONE_BYTES_MAX { fs::read_to_string(note).ok()? } else { return None };
    text.trim().parse().ok()
}

fn set_modified(path: &Path, modified: Timestamp) -> io::Result<()> {
    File::options()
        .write(true)
        .open(path)?
        .set_modified(SystemTime::try_from(modified).map_err(io::Error::other)?)
}

/// Removes a file that may not be there.
fn remove(path: &Path) -> io::Result<()> {
    match fs::remove_file(path) {
        Err(failure) if failure.kind() != io::ErrorKind::NotFound => Err(failure),
        _ => Ok(()),
    }
}
