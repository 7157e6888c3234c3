//! The outbox: each day's letter with its finished bytes and a Message-ID that is its own from the first try on.

use jiff::civil::Date;
use rusqlite::{Connection, OptionalExtension, Row, params};

use super::failure::Trouble;
use super::words::{day, word, written_word};

/// What a letter says: by this it is known whether a second round of a day has anything new to tell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LetterWords {
    /// The subject line.
    pub subject: String,
    /// The plain text.
    pub text: String,
    /// The HTML.
    pub html: String,
    /// Everything in plain text, where the letter left something out.
    pub full_list: Option<String>,
}

/// Which letter of its day it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edition {
    /// The day that the letter is of.
    pub day: Date,
    /// 1 for the day's first letter, one more for each that says something else.
    pub number: u32,
    /// Its Message-ID with the angle brackets, as the header has it; made once and never again.
    pub message_id: String,
}

/// A finished letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutboxLetter {
    /// Which letter of its day it is.
    pub edition: Edition,
    /// What it says.
    pub words: LetterWords,
    /// The message as it goes out, byte for byte, however often it is tried.
    pub eml: Vec<u8>,
    /// How far it has come; a letter that is handed to the ledger waits.
    pub state: LetterState,
}

/// How far a letter has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LetterState {
    /// Kept, and to be delivered.
    Waiting,
    /// Delivered.
    Delivered,
    /// Never delivered, and not to be any more: a later letter tells all that it told.
    Superseded,
}

const COLUMNS: &str = "day, edition, message_id, subject, text, html, full_list, eml, state";

/// The edition that a letter with these words is or would be: the day's last one if that says the same, else one
/// more than it.
pub(super) fn edition_of(
    connection: &Connection,
    day: Date,
    words: &LetterWords,
    sender: &str,
) -> Result<Edition, Trouble> {
    let last = last_of(connection, day)?;
    let number = match last {
        Some(letter) if letter.words == *words => return Ok(letter.edition),
        Some(letter) => letter.edition.number.saturating_add(1),
        None => 1,
    };
    let store: String = connection.query_row("SELECT id FROM store", [], |row| row.get(0))?;
    let message_id = format!("<digest.{day}.{number}.{store}@{}>", domain_of(sender));
    Ok(Edition { day, number, message_id })
}

/// The domain of a sender's address, where a Message-ID can carry it; else one that nobody can own (RFC 2606).
pub fn domain_of(sender: &str) -> &str {
    let domain = sender.trim().trim_end_matches('>').rsplit_once('@').map_or("", |(_, domain)| domain);
    let plain = |letter: char| letter.is_ascii_alphanumeric() || letter == '-';
    let sound = domain.split('.').all(|label| !label.is_empty() && label.chars().all(plain));
    if sound { domain } else { "tickover.invalid" }
}

/// The last edition of a day's letter.
pub(super) fn last_of(connection: &Connection, day: Date) -> Result<Option<OutboxLetter>, Trouble> {
    let sql = format!("SELECT {COLUMNS} FROM letter WHERE day = ?1 ORDER BY edition DESC LIMIT 1");
    let row = connection.prepare(&sql)?.query_row([day.to_string()], |row| Ok(read(row))).optional()?;
    row.transpose()
}

/// The last day before another one whose letter was delivered.
pub(super) fn last_told_before(connection: &Connection, today: Date) -> Result<Option<Date>, Trouble> {
    let told: Option<String> = connection.query_row(
        "SELECT max(day) FROM letter WHERE day < ?1 AND state = ?2",
        params![today.to_string(), written_word(&LetterState::Delivered)],
        |row| row.get(0),
    )?;
    told.as_deref().map(day).transpose()
}

/// The letters that wait to be delivered, oldest first.
pub(super) fn waiting(connection: &Connection) -> Result<Vec<OutboxLetter>, Trouble> {
    let sql = format!("SELECT {COLUMNS} FROM letter WHERE state = 'waiting' ORDER BY day, edition");
    let mut statement = connection.prepare(&sql)?;
    let mut rows = statement.query([])?;
    let mut letters = Vec::new();
    while let Some(row) = rows.next()? {
        letters.push(read(row)?);
    }
    Ok(letters)
}

fn read(row: &Row<'_>) -> Result<OutboxLetter, Trouble> {
    Ok(OutboxLetter {
        edition: Edition {
            day: day(&row.get::<_, String>("day")?)?,
            number: row.get("edition")?,
            message_id: row.get("message_id")?,
        },
        words: LetterWords {
            subject: row.get("subject")?,
            text: row.get("text")?,
            html: row.get("html")?,
            full_list: row.get("full_list")?,
        },
        eml: row.get("eml")?,
        state: word(&row.get::<_, String>("state")?)?,
    })
}

/// Keeps a letter, unless the day's last one says the same already; the day's older ones that still wait give way to it. One of an
/// earlier day goes on waiting: what it told as new is told by no later one.
pub(super) fn keep(connection: &Connection, letter: &OutboxLetter) -> Result<(), Trouble> {
    let OutboxLetter { edition: Edition { day, number, message_id }, words, eml, state: _ } = letter;
    let last = last_of(connection, *day)?;
    if last.as_ref().is_some_and(|last| last.words == *words) {
        return Ok(());
    }
    if *number != last.map_or(0, |last| last.edition.number) + 1 {
        return Err(Trouble::Overtaken);
    }
    connection.execute(
        "INSERT INTO letter (day, edition, message_id, subject, text, html, full_list, eml, state) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        params![
            day.to_string(),
            number,
            message_id,
            words.subject,
            words.text,
            words.html,
            words.full_list,
            eml,
            written_word(&LetterState::Waiting)
        ],
    )?;
    connection.execute(
        "UPDATE letter SET state = ?3 WHERE state = ?4 AND day = ?1 AND edition < ?2",
        params![
            day.to_string(),
            number,
            written_word(&LetterState::Superseded),
            written_word(&LetterState::Waiting)
        ],
    )?;
    Ok(())
}

/// Notes that a letter was delivered.
pub(super) fn delivered(connection: &Connection, edition: &Edition) -> Result<(), Trouble> {
    connection.execute(
        "UPDATE letter SET state = ?2 WHERE message_id = ?1",
        params![edition.message_id, written_word(&LetterState::Delivered)],
    )?;
    Ok(())
}

/// Whether every letter can be read.
pub(super) fn readable(connection: &Connection) -> Result<(), Trouble> {
    let mut statement = connection.prepare(&format!("SELECT {COLUMNS} FROM letter"))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        read(row)?;
    }
    Ok(())
}

/// Puts a letter back that a lost ledger had delivered; one whose edition or Message-ID is known already stays as it is.
pub(super) fn put_back(connection: &Connection, letter: &OutboxLetter) -> Result<(), Trouble> {
    let OutboxLetter { edition: Edition { day, number, message_id }, words, eml, state: _ } = letter;
    connection.execute(
        "INSERT OR IGNORE INTO letter (day, edition, message_id, subject, text, html, full_list, eml, state) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        params![
            day.to_string(),
            number,
            message_id,
            words.subject,
            words.text,
            words.html,
            words.full_list,
            eml,
            written_word(&LetterState::Delivered)
        ],
    )?;
    Ok(())
}
