//! A ledger that cannot be used is set aside and never thrown away; its newest sound copy takes its place.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::copies::{self, Copy, NotRestored};
use super::failure::LedgerFailure;
use super::{Ledger, findings, letter_rules, letters, records, spare};
use crate::units::shown_day;

/// So many that were set aside stay; more would fill the disk of a PC whose disk is failing.
const SET_ASIDE_MAX: usize = 5;

/// What a note beside a ledger that was set aside may be long; ours are far shorter.
const NOTE_BYTES_MAX: u64 = 4096;

/// What befell a ledger, and what was done about it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Mishap {
    /// The day on which it came to light.
    pub day: Date,
    /// `what happened; what to do`.
    pub words: String,
}

impl Ledger {
    /// Opens the ledger to keep in, as [`Ledger::open`] does; one that is damaged or lost is set aside first, and its
    /// newest sound copy put in its place, or a new one begun. Then it is said what befell it.
    ///
    /// `was_used` says that there must be one, since letters were told before.
    ///
    /// Only damage is mended: a ledger that another run holds, that may not be written or that a newer program wrote
    /// stays where it is.
    pub fn open_mended(
        path: &Path,
        today: Date,
        was_used: bool,
    ) -> Result<(Ledger, Option<Mishap>), LedgerFailure> {
        let failure = match lost(path, today, was_used) {
            Some(failure) => failure,
            None => match opened_with_spare(path, today) {
                Ok(ledger) => return Ok((ledger, None)),
                Err(failure) => failure,
            },
        };
        let LedgerFailure::Damaged { what, .. } = failure else { return Err(failure) };
        let aside = set_aside(path, today).map_err(|cause| LedgerFailure::NotSetAside {
            path: path.to_owned(),
            what,
            why: cause.to_string(),
        })?;
        if aside.named("sqlite3").exists() {
            // A run that is killed before it has put a copy in its place leaves word of it.
            aside.write_down(&format!(
                "the ledger could not be used ({what}); see that the PC's disk is sound"
            ));
        }
        let (ledger, copy) = begun_from_copy(path, today)?;
        let mishap = Mishap { day: today, words: words(what, &aside, copy.as_ref()) };
        aside.write_down(&mishap.words);
        let before = set_aside_before(path);
        before.iter().take(before.len().saturating_sub(SET_ASIDE_MAX)).for_each(Aside::remove);
        Ok((ledger, Some(mishap)))
    }
}

/// What befell a ledger on earlier days, oldest first, as far as it is remembered beside what was set aside.
pub fn mishaps(ledger: &Path) -> Vec<Mishap> {
    let mut found: Vec<Mishap> =
        set_aside_before(ledger).into_iter().filter_map(|aside| aside.note()).collect();
    found.sort();
    found
}

/// What is wrong with a ledger that SQLite would begin anew without a word; `None` for one that is there, and where as
/// far as is known there never was one.
fn lost(path: &Path, today: Date, was_used: bool) -> Option<LedgerFailure> {
    let is_empty = match fs::metadata(path) {
        Ok(file) if file.is_dir() => {
            return Some(LedgerFailure::Damaged {
                path: path.to_owned(),
                what: "a folder stands in its place",
            });
        }
        Ok(file) if file.len() > 0 => return None,
        Ok(_) => true,
        Err(error) if error.kind() == io::ErrorKind::NotFound => false,
        Err(_) => return None,
    };
    let has_log = fs::metadata(beside(path, "-wal")).is_ok_and(|log| log.len() > 0);
    let has_copies = !copies::found(path, today).is_empty();
    let what = match is_empty {
        true if has_log => "it is empty, and only its log is left",
        true if has_copies => "it is empty, and only its copies are left",
        true if was_used => "it is empty",
        false if has_log => "it is gone, and only its log is left",
        false if has_copies => "it is gone, and only its copies are left",
        false if was_used => "it is gone",
        _ => return None,
    };
    Some(LedgerFailure::Damaged { path: path.to_owned(), what })
}

/// Opens a ledger; where the disk has no room even for that, with the room that was set aside for such a day.
fn opened_with_spare(path: &Path, today: Date) -> Result<Ledger, LedgerFailure> {
    match opened_and_read(path, today) {
        Err(LedgerFailure::DiskFull { .. }) if spare::give_up(path) => opened_and_read(path, today),
        opened => opened,
    }
}

/// Opens a ledger and makes sure that all of it can be read; once a day also that its indexes say what its tables say.
fn opened_and_read(path: &Path, today: Date) -> Result<Ledger, LedgerFailure> {
    let ledger = Ledger::open(path)?;
    if !copies::is_made(path, today) {
        super::layout::sound_throughout(&ledger.connection).map_err(|trouble| trouble.of(path))?;
    }
    records::readable(&ledger.connection)
        .and_then(|()| findings::readable(&ledger.connection))
        .and_then(|()| letters::readable(&ledger.connection))
        .and_then(|()| letter_rules::readable(&ledger.connection))
        .map_err(|trouble| trouble.of(path))?;
    ledger.accepted_rules(today)?;
    ledger.rules_since()?;
    ledger.mail_troubles(today)?;
    Ok(ledger)
}

/// A ledger from the newest copy that is sound, with that copy; else a new one.
fn begun_from_copy(path: &Path, today: Date) -> Result<(Ledger, Option<Copy>), LedgerFailure> {
    for copy in copies::found(path, today) {
        match copies::restore(&copy, path) {
            Ok(()) => {}
            Err(NotRestored::Unsound) => continue,
            // A new ledger now would hide the copy from the next run, which may have room for it.
            Err(NotRestored::Unwritten(cause)) => {
                return Err(LedgerFailure::NotRestored { path: path.to_owned(), why: cause.to_string() });
            }
        }
        match opened_and_read(path, today) {
            Ok(ledger) => return Ok((ledger, Some(copy))),
            Err(LedgerFailure::Damaged { .. }) => remove(path),
            Err(failure) => return Err(failure),
        }
    }
    Ok((Ledger::open(path)?, None))
}

/// Removes what a copy that turned out to be damaged left in the ledger's place; the copy itself stays.
fn remove(path: &Path) {
    for file in files_of(path) {
        // What cannot be removed is in the way of the next copy, and said then.
        let _ = fs::remove_file(file);
    }
}

/// The ledger's file and those that SQLite keeps beside it.
fn files_of(path: &Path) -> impl Iterator<Item = PathBuf> {
    ["", "-wal", "-shm", "-journal"].into_iter().map(|ending| beside(path, ending))
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

/// A ledger that was set aside: `ledger-2026-03-05.sqlite3`, or `-2` and so on for the next of a day.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Aside {
    day: Date,
    number: u32,
    folder: PathBuf,
}

impl Aside {
    fn of(path: &Path) -> Option<Aside> {
        let (stem, _) = path.file_name()?.to_str()?.strip_prefix("ledger-")?.split_once('.')?;
        let (day, rest) = stem.split_at_checked("2026-03-05".len())?;
        let number = if rest.is_empty() { 1 } else { rest.strip_prefix('-')?.parse().ok()? };
        Some(Aside { day: day.parse().ok()?, number, folder: path.parent()?.to_owned() })
    }

    fn named(&self, ending: &str) -> PathBuf {
        let number = if self.number == 1 { String::new() } else { format!("-{}", self.number) };
        self.folder.join(format!("ledger-{}{number}.{ending}", self.day))
    }

    fn note(&self) -> Option<Mishap> {
        let path = self.named("txt");
        let is_ours = fs::metadata(&path).is_ok_and(|file| file.len() <= NOTE_BYTES_MAX);
        let words = is_ours.then(|| fs::read_to_string(path).ok()).flatten()?;
        Some(Mishap { day: self.day, words: words.trim_end().to_owned() })
    }

    fn write_down(&self, words: &str) {
        // Where it cannot be written the round that found it alone says it.
        let _ = fs::write(self.named("txt"), words);
    }

    fn remove(&self) {
        let file = self.named("sqlite3");
        for path in files_of(&file).chain([self.named("txt")]) {
            // One more than should stay harms nobody. A folder that stood in the ledger's place holds the owner's own.
            let _ = fs::remove_file(path);
        }
    }
}

fn folder_of(ledger: &Path) -> PathBuf {
    ledger.with_file_name("set-aside")
}

/// What was set aside before, oldest first, among the first [`copies::ENTRIES_MAX`] entries of the folder; what lies
/// beyond stays there and is not quoted.
fn set_aside_before(ledger: &Path) -> Vec<Aside> {
    let Ok(entries) = fs::read_dir(folder_of(ledger)) else { return Vec::new() };
    let entries = entries.take(copies::ENTRIES_MAX);
    let mut found: Vec<Aside> = entries.filter_map(|entry| Aside::of(&entry.ok()?.path())).collect();
    found.sort();
    found.dedup();
    found
}

/// Sets a ledger aside with the files beside it, also one of which nothing is left, so that it is remembered.
fn set_aside(path: &Path, today: Date) -> io::Result<Aside> {
    let folder = folder_of(path);
    fs::create_dir_all(&folder)?;
    let before = set_aside_before(path);
    let of_today = before.iter().filter(|aside| aside.day == today).map(|aside| aside.number);
    let aside = Aside { day: today, number: of_today.max().unwrap_or(0) + 1, folder };
    for (from, to) in files_of(path).zip(files_of(&aside.named("sqlite3"))) {
        match fs::rename(from, to) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
    }
    Ok(aside)
}

/// Removes what was set aside before a day.
pub(super) fn forget_before(ledger: &Path, day: Date) {
    set_aside_before(ledger).iter().filter(|aside| aside.day < day).for_each(Aside::remove);
}

/// `what happened; what to do`.
fn words(what: &str, aside: &Aside, copy: Option<&Copy>) -> String {
    let file = aside.named("sqlite3");
    let aside = match file.file_name() {
        Some(name) if file.exists() => {
            format!("it was set aside as kept/set-aside/{}, and ", name.to_string_lossy())
        }
        _ => String::new(),
    };
    let (instead, missing) = match copy.map(|copy| shown_day(copy.day)) {
        Some(day) => (
            format!("its copy of {day} was put in its place"),
            format!("what only exports since {day} said may be missing, and what was found since"),
        ),
        None => (
            "as there was no sound copy, a new one was begun".to_owned(),
            "what only exports before today said is missing, and what was open".to_owned(),
        ),
    };
    format!(
        "the ledger could not be used ({what}): {aside}{instead}; {missing} may be told as new once more. See that the \
         PC's disk is sound"
    )
}
