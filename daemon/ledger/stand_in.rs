//! The ledger's stand-in: a store of its own that keeps letters and their mails while the ledger cannot be used, and is
//! emptied into it as soon as it can.

use std::path::Path;

use jiff::civil::Date;
use rusqlite::{Connection, Transaction, TransactionBehavior, params};

use super::failure::Trouble;
use super::words::{day, word};
use super::{Edition, Ledger, LedgerFailure, LetterKind, Posting, domain_of, letters, mails, told};
use crate::findings::Lives;

/// What ends the name of a letter that the ledger did not keep itself, in its Message-ID.
const UNKEPT: &str = ".unkept";
/// What stands before that for a letter that nothing keeps, as long as it has not gone out.
const UNSENT: &str = "unsent";

/// A letter of an earlier day that the ledger did not keep itself, and that reached nobody.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnkeptLetter {
    /// The day that it is of.
    pub day: Date,
    /// What it is for.
    pub kind: LetterKind,
}

impl Edition {
    /// The edition of a letter that the ledger does not number; `store` tells the stores that keep such letters apart, and
    /// is empty for a letter that nothing keeps.
    pub fn unkept(day: Date, kind: LetterKind, number: u32, store: &str, sender: &str) -> Edition {
        let name = kind.in_message_id();
        let dot = if store.is_empty() { "" } else { "." };
        let message_id = format!("<{name}.{day}.{number}{dot}{store}{UNKEPT}@{}>", domain_of(sender));
        Edition { day, kind, number, message_id }
    }

    /// The name of a copy of a letter that nothing keeps, as long as the letter itself has not gone out: by that it is
    /// known that it is still to be sent.
    pub fn unsent(day: Date, kind: LetterKind, number: u32, sender: &str) -> Edition {
        Edition::unkept(day, kind, number, UNSENT, sender)
    }
}

/// Whether a Message-ID is that of [`Edition::unsent`].
pub fn is_unsent(message_id: &str) -> bool {
    let name = message_id.rsplit_once('@').and_then(|(name, _)| name.strip_suffix(UNKEPT));
    name.and_then(|name| name.strip_suffix(UNSENT)).is_some_and(|name| name.ends_with('.'))
}

impl Ledger {
    /// What tells this store from others.
    pub fn store(&self) -> Result<String, LedgerFailure> {
        let store = self.connection.query_row("SELECT id FROM store", [], |row| row.get(0));
        store.map_err(|error| Trouble::from(error).of(&self.path))
    }

    /// Keeps a letter with its mails and nothing else of its round, whatever letters of its day are kept.
    pub fn keep_letter(&mut self, posting: &Posting<'_>, lives: &Lives) -> Result<(), LedgerFailure> {
        keep(&mut self.connection, posting, lives).map_err(|trouble| trouble.of(&self.path))
    }

    /// Takes in the letters of a stand-in, with what became of their mails, and removes it. What was taken in before
    /// stays as it is.
    pub fn take_in(&mut self, stand_in: &Path) -> Result<(), LedgerFailure> {
        // Brings one that an older version wrote up to today's layout.
        drop(Ledger::open(stand_in)?);
        let attach = "ATTACH DATABASE ?1 AS stand_in";
        let of_stand_in = |error: rusqlite::Error| Trouble::from(error).of(stand_in);
        self.connection.execute(attach, [stand_in.to_string_lossy()]).map_err(of_stand_in)?;
        let taken = take_all(&mut self.connection).map_err(|trouble| trouble.of(&self.path));
        // Only once the ledger has them: a stand-in that cannot be removed must not send them once more.
        let emptied = taken.and_then(|()| {
            self.connection.execute("DELETE FROM stand_in.letter", []).map(|_| ()).map_err(of_stand_in)
        });
        self.connection.execute("DETACH DATABASE stand_in", []).map_err(of_stand_in)?;
        emptied?;
        for ending in ["", "-wal", "-shm"] {
            let mut path = stand_in.as_os_str().to_owned();
            path.push(ending);
            // One that stays is empty.
            let _ = std::fs::remove_file(path);
        }
        Ok(())
    }

    /// The letters of earlier days that this ledger did not keep itself and that reached nobody, from the last accepted
    /// one on. Whatever becomes of today's letter, they are the same all day.
    pub fn unkept_letters(&self, today: Date) -> Result<Vec<UnkeptLetter>, LedgerFailure> {
        unkept(&self.connection, today).map_err(|trouble| trouble.of(&self.path))
    }
}

fn keep(connection: &mut Connection, posting: &Posting<'_>, lives: &Lives) -> Result<(), Trouble> {
    let Posting { letter, mails, tells } = posting;
    let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let id = letters::insert(&change, letter)?;
    mails::keep(&change, id, letter.made, mails)?;
    told::will_tell(&change, id, *tells, lives)?;
    change.commit()?;
    Ok(())
}

/// A letter of the stand-in.
struct StoodIn {
    id: i64,
    day: String,
    kind: String,
    edition: u32,
    message_id: String,
    accepted: bool,
}

fn take_all(connection: &mut Connection) -> Result<(), Trouble> {
    let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let sql =
        "SELECT id, day, kind, edition, message_id, accepted IS NOT NULL FROM stand_in.letter ORDER BY id";
    let letters = change
        .prepare(sql)?
        .query_map([], |row| {
            Ok(StoodIn {
                id: row.get(0)?,
                day: row.get(1)?,
                kind: row.get(2)?,
                edition: row.get(3)?,
                message_id: row.get(4)?,
                accepted: row.get(5)?,
            })
        })?
        .collect::<Result<Vec<_>, _>>()?;
    for letter in &letters {
        take(&change, letter)?;
    }
    change.commit()?;
    Ok(())
}

/// Takes one letter in. A number that is given already, which nobody could see while the ledger was not to be read,
/// becomes the next free one.
fn take(change: &Transaction<'_>, letter: &StoodIn) -> Result<(), Trouble> {
    let known = "SELECT EXISTS (SELECT 1 FROM main.letter WHERE message_id = ?1)";
    if change.query_row(known, [&letter.message_id], |row| row.get(0))? {
        return Ok(());
    }
    let number: u32 = change.query_row(
        "SELECT CASE WHEN EXISTS (SELECT 1 FROM main.letter WHERE day = ?1 AND kind = ?2 AND edition = ?3) \
         THEN (SELECT max(edition) + 1 FROM main.letter WHERE day = ?1 AND kind = ?2) ELSE ?3 END",
        params![letter.day, letter.kind, letter.edition],
        |row| row.get(0),
    )?;
    change.execute(
        "INSERT INTO main.letter \
         (day, kind, edition, message_id, made, subject, text, html, full_list, eml, state, accepted) \
         SELECT day, kind, ?2, message_id, made, subject, text, html, full_list, eml, state, accepted \
         FROM stand_in.letter WHERE id = ?1",
        params![letter.id, number],
    )?;
    let id = change.last_insert_rowid();
    for sql in [
        "INSERT INTO main.mail (letter, number, message_id, sections, eml) \
         SELECT ?2, number, message_id, sections, eml FROM stand_in.mail WHERE letter = ?1",
        "INSERT INTO main.receiver (mail, address, state, tries, doubts, next_try, words, changed) \
         SELECT own.id, address, state, tries, doubts, next_try, words, changed \
         FROM stand_in.receiver JOIN stand_in.mail AS theirs ON theirs.id = receiver.mail \
         JOIN main.mail AS own ON own.message_id = theirs.message_id \
         WHERE theirs.letter = ?1 AND own.letter = ?2",
        "INSERT INTO main.telling (letter, rule, machine, key, as_settled) \
         SELECT ?2, rule, machine, key, as_settled FROM stand_in.telling WHERE letter = ?1",
    ] {
        change.execute(sql, params![letter.id, id])?;
    }
    if letter.accepted && word::<LetterKind>(&letter.kind)? == LetterKind::Morning {
        letters::has_told_by(change, day(&letter.day)?)?;
    }
    Ok(())
}

fn unkept(connection: &Connection, today: Date) -> Result<Vec<UnkeptLetter>, Trouble> {
    let since = letters::last_told_before(connection, today)?.unwrap_or(Date::MIN);
    let mut statement = connection.prepare(
        "SELECT day, kind FROM letter \
         WHERE message_id LIKE '%' || ?3 || '@%' AND accepted IS NULL AND day >= ?1 AND day < ?2 ORDER BY id",
    )?;
    let mut rows = statement.query(params![since.to_string(), today.to_string(), UNKEPT])?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        found.push(UnkeptLetter {
            day: day(&row.get::<_, String>(0)?)?,
            kind: word(&row.get::<_, String>(1)?)?,
        });
    }
    Ok(found)
}
