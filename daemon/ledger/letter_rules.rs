//! Which rules were in force for each letter, and in which words, so that an old letter can be explained.

use std::collections::BTreeMap;

use jiff::civil::Date;
use rusqlite::{Connection, OptionalExtension, params};

use super::failure::Trouble;
use super::words::UNREADABLE;

/// Notes the texts of the rules that a letter rests on. A text is kept once, however many letters rest on it.
pub(super) fn keep(
    connection: &Connection,
    letter: i64,
    rules: &BTreeMap<String, String>,
) -> Result<(), Trouble> {
    let mut keep_text =
        connection.prepare("INSERT INTO rule_text (hash, source) VALUES (?1, ?2) ON CONFLICT DO NOTHING")?;
    let mut note = connection.prepare(
        "INSERT INTO in_force (letter, rule, text) SELECT ?1, ?2, id FROM rule_text WHERE hash = ?3",
    )?;
    for (rule, source) in rules {
        let hash = hash(source);
        keep_text.execute([&hash, source])?;
        note.execute(params![letter, rule, hash])?;
    }
    Ok(())
}

fn hash(source: &str) -> String {
    blake3::hash(source.as_bytes()).to_hex().to_string()
}

/// The texts of the rules that the last accepted morning letter before a day rests on, by name; `None` where there is
/// no such letter, or nobody noted them.
pub(super) fn last_told_before(
    connection: &Connection,
    today: Date,
) -> Result<Option<BTreeMap<String, String>>, Trouble> {
    let letter: Option<i64> = connection
        .query_row(
            "SELECT id FROM letter WHERE day < ?1 AND kind = 'morning' AND accepted IS NOT NULL \
             ORDER BY day DESC, edition DESC LIMIT 1",
            [today.to_string()],
            |row| row.get(0),
        )
        .optional()?;
    let Some(letter) = letter else { return Ok(None) };
    let texts = of_letter(connection, letter)?;
    Ok((!texts.is_empty()).then_some(texts))
}

fn of_letter(connection: &Connection, letter: i64) -> Result<BTreeMap<String, String>, Trouble> {
    let mut statement = connection.prepare(
        "SELECT rule, source FROM in_force JOIN rule_text ON rule_text.id = in_force.text WHERE letter = ?1",
    )?;
    let rows = statement.query_map([letter], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Forgets the rules of letters of before a day, and the texts that no other letter rests on.
pub(super) fn forget(connection: &Connection, since: &str) -> Result<(), Trouble> {
    connection
        .execute("DELETE FROM in_force WHERE letter IN (SELECT id FROM letter WHERE day < ?1)", [since])?;
    connection.execute("DELETE FROM rule_text WHERE id NOT IN (SELECT text FROM in_force)", [])?;
    Ok(())
}

/// Whether every text is still the one that it is known as, and every letter's rules have theirs.
pub(super) fn readable(connection: &Connection) -> Result<(), Trouble> {
    let mut statement = connection.prepare("SELECT hash, source FROM rule_text")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        if row.get::<_, String>(0)? != hash(&row.get::<_, String>(1)?) {
            return Err(UNREADABLE);
        }
    }
    let sql = "SELECT EXISTS (SELECT 1 FROM in_force WHERE text NOT IN (SELECT id FROM rule_text))";
    let is_torn: bool = connection.query_row(sql, [], |row| row.get(0))?;
    if is_torn { Err(UNREADABLE) } else { Ok(()) }
}
