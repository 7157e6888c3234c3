//! Opening the ledger's file: to keep, to read only, or none at all.

use std::path::Path;
use std::time::Duration;

use rusqlite::backup::Backup;
use rusqlite::{Connection, Error, ErrorCode, OpenFlags, TransactionBehavior};

use super::failure::Trouble;
use super::{copies, layout};

/// How long a run waits for another one that holds the ledger: a round's writing takes far less.
pub(super) const PATIENCE: Duration = Duration::from_secs(5);

/// A connection that reads and writes.
pub(super) fn to_keep(path: &Path, patience: Duration) -> Result<Connection, Trouble> {
    if let Some(folder) = path.parent() {
        // Whatever is wrong with the folder shows when the file is opened, and is said then.
        let _ = std::fs::create_dir_all(folder);
    }
    let flags =
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut connection = Connection::open_with_flags(path, flags)?;
    // SQLite opens to read what it may not write, and would say so only at the first write.
    if connection.is_readonly("main")? {
        return Err(Trouble::ReadOnly);
    }
    guard(&connection, patience)?;
    let found = known_layout(&connection)?;
    // FULL: a round that was kept outlives a power cut (sqlite.org/pragma.html#pragma_synchronous).
    connection.pragma_update_and_check(None, "journal_mode", "wal", |_| Ok(()))?;
    connection.pragma_update(None, "synchronous", "full")?;
    // What is removed because it is personal must not go on standing in the file's free pages.
    connection.pragma_update_and_check(None, "secure_delete", true, |_| Ok(()))?;
    if found < layout::NEWEST {
        if found > 0 {
            copies::make_before_layout(&connection, path, layout::NEWEST)?;
        }
        layout::bring_up(&mut connection)?;
    } else {
        // A run that could not keep its round should know before it composes a letter.
        connection.transaction_with_behavior(TransactionBehavior::Immediate)?.rollback()?;
    }
    Ok(connection)
}

/// A connection that only reads; to an empty store where there is no ledger yet.
pub(super) fn to_read(path: &Path, patience: Duration) -> Result<Connection, Trouble> {
    if !path.exists() {
        return in_memory();
    }
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let (connection, found) = match looked_into(Connection::open_with_flags(path, flags), patience) {
        Err(Trouble::Store(Error::SqliteFailure(error, _)))
            if matches!(error.code, ErrorCode::CannotOpen | ErrorCode::ReadOnly)
                && path.is_file()
                && !has_unmerged_writes(path) =>
        {
            // On a read-only disk not even the file that readers share can be made. Nobody else writes there.
            let flags = OpenFlags::SQLITE_OPEN_READ_ONLY
                | OpenFlags::SQLITE_OPEN_URI
                | OpenFlags::SQLITE_OPEN_NO_MUTEX;
            looked_into(Connection::open_with_flags(unchanging(path), flags), patience)
        }
        looked => looked,
    }?;
    match found {
        0 => in_memory(),
        layout::NEWEST => Ok(connection),
        _ => brought_up_in_memory(&connection),
    }
}

/// A connection to an empty store that ends with it.
pub(super) fn in_memory() -> Result<Connection, Trouble> {
    let mut connection = Connection::open_in_memory()?;
    layout::bring_up(&mut connection)?;
    Ok(connection)
}

/// What an older ledger would be in today's layout; the file itself stays as it is.
fn brought_up_in_memory(older: &Connection) -> Result<Connection, Trouble> {
    /// How many pages are copied before another run may write again, 40 MB, which take a moment. The copy begins anew
    /// when one does.
    const PAGES: i32 = 10_000;
    let mut connection = Connection::open_in_memory()?;
    Backup::new(older, &mut connection)?.run_to_completion(PAGES, Duration::ZERO, None)?;
    layout::bring_up(&mut connection)?;
    connection.pragma_update(None, "query_only", true)?;
    Ok(connection)
}

fn looked_into(
    opened: rusqlite::Result<Connection>,
    patience: Duration,
) -> Result<(Connection, i64), Trouble> {
    let connection = opened?;
    guard(&connection, patience)?;
    connection.pragma_update(None, "query_only", true)?;
    let found = known_layout(&connection)?;
    Ok((connection, found))
}

/// Sets what holds for every connection to a file: it may have been made by anybody.
fn guard(connection: &Connection, patience: Duration) -> Result<(), Trouble> {
    connection.busy_timeout(patience)?;
    connection.pragma_update(None, "trusted_schema", false)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    Ok(())
}

/// The file's layout, once it is known to be a sound ledger that this program can read.
fn known_layout(connection: &Connection) -> Result<i64, Trouble> {
    let found = layout::found(connection)?;
    if found > layout::NEWEST {
        return Err(Trouble::Newer { found, known: layout::NEWEST });
    }
    layout::sound(connection)?;
    if found == layout::NEWEST {
        layout::complete(connection)?;
    }
    Ok(found)
}

/// Whether the last rounds still stand in the file beside the ledger that is merged into it at the end.
fn has_unmerged_writes(path: &Path) -> bool {
    let mut beside = path.as_os_str().to_owned();
    beside.push("-wal");
    std::fs::metadata(beside).is_ok_and(|file| file.len() > 0)
}

/// The path as an address that tells SQLite that nobody changes the file (sqlite.org/uri.html).
fn unchanging(path: &Path) -> String {
    let mut address = String::from("file:");
    if cfg!(windows) {
        address.push_str("///");
    }
    for byte in path.as_os_str().as_encoded_bytes() {
        match byte {
            b'\\' if cfg!(windows) => address.push('/'),
            b'/' | b'.' | b'-' | b'_' | b':' | b'0'..=b'9' | b'a'..=b'z' | b'A'..=b'Z' => {
                address.push(char::from(*byte));
            }
            other => address.push_str(&format!("%{other:02X}")),
        }
    }
    address + "?immutable=1"
}
