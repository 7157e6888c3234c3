//! Copies of the ledger: one a day for a fortnight and one before each change of its layout, each whole and checked.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use rusqlite::{Connection, Error, ErrorCode, OpenFlags};

use super::failure::{LedgerFailure, Trouble};
use super::layout;
use crate::units::Days;

/// How long a copy is kept: a fortnight shows a slip that nobody noticed at once.
const COPY_DAYS: i64 = 14;

/// So many stay however old they are: after a long absence the old ones are all there is.
const COPIES_MIN: usize = 3;

/// The most copies that stay, also when a clock that was set wrong has dated some in years to come: a fortnight's
/// twice, and some.
const COPIES_MAX: usize = 31;

/// The most entries of a folder that are looked at: ours hold some hundred at most, and a folder full of something else
/// must not stall a round.
pub(super) const ENTRIES_MAX: usize = 100_000;

/// One copy in `kept/copies/`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Copy {
    pub(super) path: PathBuf,
    /// The day of the last round that it holds.
    pub(super) day: Date,
    /// The layout that came after it, for one that was made before a change of layout.
    before_layout: Option<i64>,
}

impl Copy {
    /// `ledger-2026-03-02.sqlite3` or `ledger-2026-03-02-before-layout-2.sqlite3`; `None` for any other name.
    fn of(path: PathBuf) -> Option<Copy> {
        let name = path.file_name()?.to_str()?.strip_prefix("ledger-")?.strip_suffix(".sqlite3")?;
        let (day, rest) = name.split_at_checked("2026-03-02".len())?;
        let before_layout = match rest {
            "" => None,
            rest => Some(rest.strip_prefix("-before-layout-")?.parse().ok()?),
        };
        Some(Copy { day: day.parse().ok()?, path, before_layout })
    }
}

/// Where a ledger's copies lie.
fn folder_of(ledger: &Path) -> PathBuf {
    ledger.with_file_name("copies")
}

/// The copies of a ledger, in the order in which they are to be tried: newest first, and what a clock that was set
/// wrong has dated in days to come last. A copy beyond the first [`ENTRIES_MAX`] entries is neither used nor removed.
pub(super) fn found(ledger: &Path, today: Date) -> Vec<Copy> {
    let Ok(entries) = fs::read_dir(folder_of(ledger)) else { return Vec::new() };
    let paths = entries.take(ENTRIES_MAX).filter_map(|entry| entry.ok().map(|entry| entry.path()));
    let mut copies: Vec<Copy> = paths.filter_map(Copy::of).collect();
    copies.sort_by_key(|copy| {
        std::cmp::Reverse((copy.day <= today, copy.day, copy.before_layout.is_none(), copy.before_layout))
    });
    copies
}

/// On how many of the fourteen days before a day a copy was made.
pub(super) fn days_before(ledger: &Path, today: Date) -> usize {
    let lately = |day: &Date| *day < today && Days::between(*day, today) <= Days(COPY_DAYS);
    found(ledger, today).iter().map(|copy| copy.day).filter(lately).collect::<BTreeSet<_>>().len()
}

/// Whether the copy of a day is there.
pub(super) fn is_made(ledger: &Path, day: Date) -> bool {
    nightly(ledger, day).is_file()
}

fn nightly(ledger: &Path, day: Date) -> PathBuf {
    folder_of(ledger).join(format!("ledger-{day}.sqlite3"))
}

/// Makes the copy of a day, and removes those that have had their time.
pub(super) fn make_nightly(connection: &Connection, ledger: &Path, today: Date) -> Result<(), LedgerFailure> {
    let copy = nightly(ledger, today);
    make(connection, &copy).map_err(|why| LedgerFailure::NotCopied { path: copy, why })?;
    for copy in had_their_time(&found(ledger, today), today) {
        // One that stays is tried again tomorrow, and harms nobody meanwhile.
        let _ = fs::remove_file(&copy.path);
    }
    Ok(())
}

/// The copies that need not stay, of those found in their order.
fn had_their_time(copies: &[Copy], today: Date) -> Vec<&Copy> {
    let is_old = |copy: &Copy| Days::between(copy.day, today) > Days(COPY_DAYS);
    let rest = copies.iter().enumerate().skip(COPIES_MIN);
    rest.filter(|(place, copy)| *place >= COPIES_MAX || is_old(copy)).map(|(_, copy)| copy).collect()
}

/// Copies a ledger before its layout changes, under the day of its last round; one that no round was kept in needs no
/// copy.
pub(super) fn make_before_layout(connection: &Connection, ledger: &Path, layout: i64) -> Result<(), Trouble> {
    let Some(day) = last_round(connection)? else { return Ok(()) };
    let copy = folder_of(ledger).join(format!("ledger-{day}-before-layout-{layout}.sqlite3"));
    make(connection, &copy).map_err(|why| Trouble::NotCopied { copy, why })
}

/// The day of the last round that a ledger holds, whatever its layout; `None` when it holds none.
pub(super) fn last_round(connection: &Connection) -> Result<Option<Date>, Trouble> {
    let last: Option<String> = connection.query_row(
        "SELECT max(day) FROM (SELECT max(last_seen) AS day FROM record \
         UNION ALL SELECT max(as_of) FROM finding UNION ALL SELECT max(day) FROM letter)",
        [],
        |row| row.get(0),
    )?;
    last.as_deref().map(super::words::day).transpose()
}

/// The first day before today with a letter and no copy as new as that; whatever is done today, it is the same all day.
pub(super) fn uncopied_since(
    connection: &Connection,
    ledger: &Path,
    today: Date,
) -> Result<Option<Date>, Trouble> {
    let newest = found(ledger, today).iter().map(|copy| copy.day).filter(|day| *day < today).max();
    let newest = newest.map_or_else(String::new, |day| day.to_string());
    let sql = "SELECT min(day) FROM letter WHERE day < ?1 AND day > ?2";
    let first: Option<String> = connection.query_row(sql, [today.to_string(), newest], |row| row.get(0))?;
    first.as_deref().map(super::words::day).transpose()
}

/// Writes a copy to a name beside, and gives it its own once it is whole, sound and on the disk; else says why not.
fn make(connection: &Connection, copy: &Path) -> Result<(), String> {
    let folder = copy.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder).map_err(|cause| cause.to_string())?;
    remove_parts(folder);
    let part = folder.join(PART);
    let made = vacuum_into(connection, &part)
        .and_then(|()| check(&part))
        .map_err(|trouble| why(&trouble))
        .and_then(|()| settle(&part, copy).map_err(|cause| cause.to_string()));
    made.inspect_err(|_| remove_parts(folder))
}

/// The name of a copy while it is being made.
const PART: &str = ".ledger.sqlite3.part";

/// Removes what a copy that was never finished left behind; with it goes what SQLite had put beside.
pub(super) fn remove_parts(folder: &Path) {
    for beside in ["", "-journal", "-wal", "-shm"] {
        // Where it cannot be removed the copy fails next, and says why.
        let _ = fs::remove_file(folder.join(format!("{PART}{beside}")));
    }
}

/// A whole copy of what was committed, rebuilt page by page (sqlite.org/lang_vacuum.html#vacuuminto).
fn vacuum_into(connection: &Connection, part: &Path) -> Result<(), Trouble> {
    // A path that is no Unicode cannot be handed to SQLite as a text.
    let name = part.to_str().ok_or(Trouble::Damaged("its path is not written in Unicode"))?;
    connection.execute("VACUUM INTO ?1", [name])?;
    Ok(())
}

/// Whether a file is a sound ledger of a layout that this program knows.
fn check(copy: &Path) -> Result<(), Trouble> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(copy, flags)?;
    match layout::found(&connection)? {
        0 => Err(Trouble::Damaged("it is empty")),
        found if found > layout::NEWEST => Err(Trouble::Newer { found, known: layout::NEWEST }),
        _ => layout::sound_throughout(&connection),
    }
}

/// Waits until the disk has the file, then gives it its own name.
fn settle(part: &Path, path: &Path) -> io::Result<()> {
    File::options().write(true).open(part)?.sync_all()?;
    fs::rename(part, path)
}

/// Why a copy could not take the place of a ledger.
pub(super) enum NotRestored {
    /// It is damaged itself, or a newer program's.
    Unsound,
    /// The disk would not take it; it may at another time.
    Unwritten(io::Error),
}

/// Puts a copy in the place of a ledger that is no more, whole or not at all.
///
/// Its letters' identifiers must not be those of letters that the lost ledger sent since, so it gets a mark of its own.
pub(super) fn restore(copy: &Copy, ledger: &Path) -> Result<(), NotRestored> {
    let folder = ledger.parent().unwrap_or(Path::new("."));
    remove_parts(folder);
    let part = folder.join(PART);
    let restored = fs::copy(&copy.path, &part).map_err(NotRestored::Unwritten).and_then(|_| {
        check(&part).and_then(|()| mark_anew(&part)).map_err(|trouble| match trouble {
            Trouble::Store(Error::SqliteFailure(error, _)) if error.code == ErrorCode::DiskFull => {
                NotRestored::Unwritten(io::ErrorKind::StorageFull.into())
            }
            _ => NotRestored::Unsound,
        })?;
        settle(&part, ledger).map_err(NotRestored::Unwritten)
    });
    remove_parts(folder);
    restored
}

fn mark_anew(part: &Path) -> Result<(), Trouble> {
    let connection = Connection::open(part)?;
    connection.execute("UPDATE store SET id = lower(hex(randomblob(6)))", [])?;
    connection.close().map_err(|(_, error)| Trouble::Store(error))
}

/// Why a copy could not be made, as a phrase that holds no kept value.
fn why(trouble: &Trouble) -> String {
    match trouble {
        Trouble::Store(Error::SqliteFailure(error, _)) => match error.code {
            ErrorCode::DiskFull => "the disk is full".to_owned(),
            ErrorCode::CannotOpen | ErrorCode::PermissionDenied | ErrorCode::ReadOnly => {
                "the folder cannot be written".to_owned()
            }
            ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => "another run is at work".to_owned(),
            ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase => {
                "parts of the ledger are missing or overwritten".to_owned()
            }
            _ => format!("the disk or the store failed ({error})"),
        },
        Trouble::Damaged(what) => (*what).to_owned(),
        _ => "the store failed".to_owned(),
    }
}
