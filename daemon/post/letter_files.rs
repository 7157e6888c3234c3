//! The letters whose copies lie in the folder: read again for a ledger that lost them, and removed when they are old.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::{CopyName, PostFailure};
use crate::units::Days;

/// How far back letters are read again: no ledger's copy is older, and the day's own letter is what matters most.
const READ_BACK_DAYS: i64 = 31;

/// The most that is read of a copy; ours are far smaller.
const COPY_BYTES_MAX: u64 = 8 * 1024 * 1024;

/// The most entries of the folder that are looked at: 400 days of letters are some thousand files, and a folder full of
/// something else must not stall a round.
const ENTRIES_MAX: usize = 100_000;

/// A letter as its copies in the folder have it; what is missing of them is empty.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FolderLetter {
    /// Its Message-ID with the angle brackets; `None` where the mail is missing or has none.
    pub message_id: Option<String>,
    /// The subject as the mail has it.
    pub subject: String,
    /// The plain text.
    pub text: String,
    /// The HTML.
    pub html: String,
    /// The mail.
    pub eml: Vec<u8>,
}

/// A file of the folder that is named as ours are.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Name {
    day: Date,
    at_once: bool,
    /// `None` for the day's full list.
    edition: Option<u32>,
    ending: &'static str,
}

impl Name {
    /// `2026-03-02.txt`, `2026-03-02-2.eml`, `2026-03-02-at-once.html`, `2026-03-02-full.txt`; `None` for any other.
    fn of(file: &str) -> Option<Name> {
        let (stem, ending) = file.split_once('.')?;
        let ending = ["txt", "html", "eml"].into_iter().find(|known| *known == ending)?;
        let (day, rest) = stem.split_at_checked("2026-03-02".len())?;
        let day = day.parse().ok()?;
        if rest == "-full" {
            return (ending == "txt").then_some(Name { day, at_once: false, edition: None, ending });
        }
        let at_once = rest.starts_with("-at-once");
        let number = rest.strip_prefix("-at-once").unwrap_or(rest);
        let edition = match number {
            "" => 1,
            number => number.strip_prefix('-')?.parse().ok().filter(|number| *number > 1)?,
        };
        Some(Name { day, at_once, edition: Some(edition), ending })
    }
}

/// Our files in the folder, in the order of their names; none where there is no folder. One beyond the first
/// [`ENTRIES_MAX`] entries is neither read back nor removed.
fn ours(folder: &Path) -> BTreeMap<Name, PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return BTreeMap::new() };
    let paths = entries.take(ENTRIES_MAX).filter_map(|entry| entry.ok().map(|entry| entry.path()));
    paths.filter_map(|path| Some((Name::of(path.file_name()?.to_str()?)?, path))).collect()
}

/// The names of the last month's letters whose copies lie in the folder, oldest first.
pub fn letters_in_folder(folder: &Path, today: Date) -> BTreeSet<CopyName> {
    let names = ours(folder).into_keys().filter_map(|name| {
        let Name { day, at_once, edition, .. } = name;
        edition.map(|edition| CopyName { day, at_once, edition })
    });
    let lately =
        |name: &CopyName| name.day <= today && Days::between(name.day, today) <= Days(READ_BACK_DAYS);
    names.filter(lately).collect()
}

/// How large the mail of the last letter is whose copy lies in the folder; `None` where there is none of the last month.
pub fn last_mail_bytes(folder: &Path, today: Date) -> Option<u64> {
    let name = letters_in_folder(folder, today).pop_last()?;
    fs::metadata(folder.join(format!("{}.eml", name.stem()))).ok().map(|found| found.len())
}

/// A letter as the folder has it. What cannot be read is missing: that there was the letter is what counts.
pub fn letter_in_folder(folder: &Path, name: CopyName) -> FolderLetter {
    let file = |ending: &str| bytes_of(&folder.join(format!("{}.{ending}", name.stem()))).unwrap_or_default();
    let text = |ending: &str| String::from_utf8_lossy(&file(ending)).into_owned();
    let eml = file("eml");
    FolderLetter {
        message_id: header(&eml, "Message-ID"),
        subject: header(&eml, "Subject").unwrap_or_default(),
        text: text("txt"),
        html: text("html"),
        eml,
    }
}

fn bytes_of(path: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    fs::File::open(path)?.take(COPY_BYTES_MAX).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The value of a mail's header, on one line (RFC 5322, 2.2.3).
fn header(mail: &[u8], name: &str) -> Option<String> {
    let text = String::from_utf8_lossy(mail);
    let mut lines = text.lines().take_while(|line| !line.is_empty());
    let first = lines.by_ref().find_map(|line| {
        let (found, value) = line.split_once(':')?;
        found.eq_ignore_ascii_case(name).then(|| value.trim().to_owned())
    })?;
    let folded = lines.take_while(|line| line.starts_with([' ', '\t']));
    Some(folded.fold(first, |value, line| format!("{value} {}", line.trim())).trim().to_owned())
}

/// Removes the copies of letters of before a day, by their names; everything else in the folder stays.
///
/// # Errors
/// The first copy that could not be removed; the others are.
pub fn forget_letters_before(folder: &Path, day: Date) -> Result<(), PostFailure> {
    let mut failure = Ok(());
    for (_, path) in ours(folder).into_iter().filter(|(name, _)| name.day < day) {
        if let Err(source) = fs::remove_file(&path) {
            failure = failure.and(Err(PostFailure::Forget { path, source }));
        }
    }
    failure
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn folder_of(files: &[(&str, &str)]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in files {
            fs::write(folder.path().join(name), text).unwrap();
        }
        folder
    }

    #[test]
    fn a_letter_is_read_back_as_its_copies_have_it() {
        let mail = "From: a@shop.example\r\nMESSAGE-id: <digest.2026-03-02.1.ab@shop.example>\r\nSubject: Keep one\r\n in the \
                    yard\r\n\r\nSubject: not this\r\n";
        let folder = folder_of(&[
            ("2026-03-02.txt", "text"),
            ("2026-03-02.html", "<p>"),
            ("2026-03-02.eml", mail),
            ("2026-03-02-full.txt", "all"),
            ("2026-03-02-2.txt", "second"),
            ("2026-03-02-at-once.txt", "at once"),
            ("2026-01-02.txt", "too long ago"),
            ("2026-03-04.txt", "not yet"),
            ("2026-03-02-1.txt", "not ours"),
            ("2026-03-02-old.txt", "not ours"),
            ("2026-03-02.txt.bak", "not ours"),
            ("2026-02-30.txt", "no day"),
        ]);
        let name = |at_once, edition| CopyName { day: date(2026, 3, 2), at_once, edition };
        let found = letters_in_folder(folder.path(), date(2026, 3, 3));
        assert_eq!(found, BTreeSet::from([name(false, 1), name(false, 2), name(true, 1)]));
        assert_eq!(letters_in_folder(&folder.path().join("none"), date(2026, 3, 3)), BTreeSet::new());
        let first = FolderLetter {
            message_id: Some("<digest.2026-03-02.1.ab@shop.example>".to_owned()),
            subject: "Keep one in the yard".to_owned(),
            text: "text".to_owned(),
            html: "<p>".to_owned(),
            eml: mail.as_bytes().to_vec(),
        };
        assert_eq!(letter_in_folder(folder.path(), name(false, 1)), first);
        let bare = FolderLetter { text: "at once".to_owned(), ..FolderLetter::default() };
        assert_eq!(letter_in_folder(folder.path(), name(true, 1)), bare);
    }

    #[test]
    fn old_letters_are_removed_by_their_names_and_nothing_else() {
        let folder = folder_of(&[
            ("2026-03-01.txt", ""),
            ("2026-03-01-2.eml", ""),
            ("2026-03-01-full.txt", ""),
            ("2026-03-01-at-once.html", ""),
            ("2026-03-02.txt", ""),
            ("2026-03-01.xlsx", ""),
            ("2026-03-01 copy.txt", ""),
            ("notes.txt", ""),
        ]);
        forget_letters_before(folder.path(), date(2026, 3, 2)).unwrap();
        let mut left: Vec<_> =
            fs::read_dir(folder.path()).unwrap().map(|file| file.unwrap().file_name()).collect();
        left.sort();
        assert_eq!(left, ["2026-03-01 copy.txt", "2026-03-01.xlsx", "2026-03-02.txt", "notes.txt"]);
    }
}
