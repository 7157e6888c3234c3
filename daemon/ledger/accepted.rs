//! The rules as they were last accepted, so that a last good version outlives a restart.

use std::collections::BTreeMap;

use jiff::civil::Date;
use rusqlite::{Connection, params};

use super::failure::Trouble;
use super::words::day;

/// The sources by the rules' names. One that is gone is still among them for the rest of the day on which that was
/// first seen, so that a second round of the day says the same of it.
pub(super) fn kept(connection: &Connection, today: Date) -> Result<BTreeMap<String, String>, Trouble> {
    let mut statement =
        connection.prepare("SELECT name, source FROM rule WHERE gone IS NULL OR gone = ?1")?;
    let rows = statement.query_map([today.to_string()], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Since which day each of the rules is in force as it was last accepted, by name; without those of which nobody knows.
pub(super) fn since(connection: &Connection) -> Result<BTreeMap<String, Date>, Trouble> {
    let mut statement =
        connection.prepare("SELECT name, since FROM rule WHERE gone IS NULL AND since IS NOT NULL")?;
    let mut rows = statement.query([])?;
    let mut since = BTreeMap::new();
    while let Some(row) = rows.next()? {
        since.insert(row.get(0)?, day(&row.get::<_, String>(1)?)?);
    }
    Ok(since)
}

/// Keeps these rules; what is not among them is gone from today on.
pub(super) fn keep(
    connection: &Connection,
    rules: &BTreeMap<String, String>,
    today: Date,
) -> Result<(), Trouble> {
    let before = kept(connection, today)?;
    for name in before.keys().filter(|name| !rules.contains_key(*name)) {
        connection.execute(
            "UPDATE rule SET gone = ?2 WHERE name = ?1 AND gone IS NULL",
            params![name, today.to_string()],
        )?;
    }
    connection.execute("DELETE FROM rule WHERE gone < ?1", [today.to_string()])?;
    for (name, source) in rules {
        connection.execute(
            "INSERT INTO rule (name, source, since) VALUES (?1, ?2, ?3) \
             ON CONFLICT (name) DO UPDATE SET source = excluded.source, gone = NULL, \
             since = CASE WHEN source = excluded.source AND gone IS NULL THEN since ELSE excluded.since END",
            params![name, source, today.to_string()],
        )?;
    }
    Ok(())
}
