//! The rules as they were last accepted, so that a last good version outlives a restart.

use std::collections::BTreeMap;

use rusqlite::{Connection, params};

use super::failure::Trouble;

/// The sources by the rules' names.
pub(super) fn kept(connection: &Connection) -> Result<BTreeMap<String, String>, Trouble> {
    let mut statement = connection.prepare("SELECT name, source FROM rule")?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Keeps these rules and no others.
pub(super) fn keep(connection: &Connection, rules: &BTreeMap<String, String>) -> Result<(), Trouble> {
    let before = kept(connection)?;
    for name in before.keys().filter(|name| !rules.contains_key(*name)) {
        connection.execute("DELETE FROM rule WHERE name = ?1", [name])?;
    }
    for (name, source) in rules.iter().filter(|(name, source)| before.get(*name) != Some(*source)) {
        connection.execute(
            "INSERT INTO rule (name, source) VALUES (?1, ?2) \
             ON CONFLICT (name) DO UPDATE SET source = excluded.source",
            params![name, source],
        )?;
    }
    Ok(())
}
