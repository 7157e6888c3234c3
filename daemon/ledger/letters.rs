//! The letters: each with its finished bytes and a Message-ID that is its own from the first try on.

use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::{Connection, OptionalExtension, Row, params};

use super::failure::Trouble;
use super::words::{day, moment, word, written_moment, written_word};

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

impl LetterWords {
    /// Everything in plain text.
    pub fn whole(&self) -> &str {
        self.full_list.as_deref().unwrap_or(&self.text)
    }
}

/// What a letter is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
pub enum LetterKind {
    /// The day's letter, which tells of everything.
    #[serde(rename = "morning")]
    Morning,
    /// What newly must not leave the yard; never the day's letter, nor in place of it.
    #[serde(rename = "at once")]
    AtOnce,
}

impl LetterKind {
    /// Its word in a Message-ID.
    pub(super) fn in_message_id(self) -> &'static str {
        match self {
            LetterKind::Morning => "digest",
            LetterKind::AtOnce => "at-once",
        }
    }
}

/// Which letter of its day it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edition {
    /// The day that the letter is of.
    pub day: Date,
    /// What it is for.
    pub kind: LetterKind,
    /// 1 for the day's first letter of this kind, one more for each that says something else.
    pub number: u32,
    /// Its Message-ID with the angle brackets, as the header has it; made once and never again.
    pub message_id: String,
}

impl Edition {
    /// The Message-ID of one of the letter's mails: the first has the letter's own, so that the copy in the folder is
    /// that mail, and each other one a name beside it.
    pub fn message_id_of(&self, mail: u32) -> String {
        match self.message_id.rsplit_once('@') {
            Some((name, domain)) if mail > 1 => format!("{name}.part{mail}@{domain}"),
            _ => self.message_id.clone(),
        }
    }
}

/// A finished letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutboxLetter {
    /// Which letter of its day it is.
    pub edition: Edition,
    /// What it says.
    pub words: LetterWords,
    /// The message as it stands in the folder, byte for byte, however often it is written.
    pub eml: Vec<u8>,
    /// The moment it was composed, to the second.
    pub made: Timestamp,
    /// How far its copy for the folder has come; that of a letter that is handed to the ledger waits.
    pub state: LetterState,
    /// When it reached somebody: its copy stood in the folder, where it has no receivers, or a server took it for at
    /// least one of them. `None` until then; a letter that is handed to the ledger has not.
    pub accepted: Option<Timestamp>,
}

/// How far a letter's copy for the folder has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LetterState {
    /// Kept, and to be put there.
    Waiting,
    /// It stands there.
    Delivered,
    /// Never put there, and not to be any more: a later letter tells all that it told.
    Superseded,
}

const COLUMNS: &str =
    "day, kind, edition, message_id, made, subject, text, html, full_list, eml, state, accepted";

/// The edition that a letter with these words is or would be: the day's last one of its kind if that says the same,
/// else one more than it.
pub(super) fn edition_of(
    connection: &Connection,
    day: Date,
    kind: LetterKind,
    words: &LetterWords,
    sender: &str,
) -> Result<Edition, Trouble> {
    let last = last_of(connection, day, kind)?;
    let number = match last {
        Some(letter) if letter.words == *words => return Ok(letter.edition),
        Some(letter) => letter.edition.number.saturating_add(1),
        None => 1,
    };
    let store: String = connection.query_row("SELECT id FROM store", [], |row| row.get(0))?;
    let name = kind.in_message_id();
    let message_id = format!("<{name}.{day}.{number}.{store}@{}>", domain_of(sender));
    Ok(Edition { day, kind, number, message_id })
}

/// The domain of a sender's address, where a Message-ID can carry it; else one that nobody can own (RFC 2606).
pub fn domain_of(sender: &str) -> &str {
    let domain = sender.trim().trim_end_matches('>').rsplit_once('@').map_or("", |(_, domain)| domain);
    let plain = |letter: char| letter.is_ascii_alphanumeric() || letter == '-';
    let sound = domain.split('.').all(|label| !label.is_empty() && label.chars().all(plain));
    if sound { domain } else { "tickover.invalid" }
}

/// The last edition of a day's letter of a kind.
pub(super) fn last_of(
    connection: &Connection,
    day: Date,
    kind: LetterKind,
) -> Result<Option<OutboxLetter>, Trouble> {
    let sql =
        format!("SELECT {COLUMNS} FROM letter WHERE day = ?1 AND kind = ?2 ORDER BY edition DESC LIMIT 1");
    let key = params![day.to_string(), written_word(&kind)];
    let row = connection.prepare(&sql)?.query_row(key, |row| Ok(read(row))).optional()?;
    row.transpose()
}

/// The first edition of a day's letter of a kind that has reached somebody.
pub(super) fn first_accepted(
    connection: &Connection,
    day: Date,
    kind: LetterKind,
) -> Result<Option<OutboxLetter>, Trouble> {
    let sql = format!(
        "SELECT {COLUMNS} FROM letter WHERE day = ?1 AND kind = ?2 AND accepted IS NOT NULL ORDER BY edition LIMIT 1"
    );
    let key = params![day.to_string(), written_word(&kind)];
    let row = connection.prepare(&sql)?.query_row(key, |row| Ok(read(row))).optional()?;
    row.transpose()
}

/// The last day before another one whose morning letter was accepted.
pub(super) fn last_told_before(connection: &Connection, today: Date) -> Result<Option<Date>, Trouble> {
    let told: Option<String> = connection.query_row(
        "SELECT max(day) FROM letter WHERE day < ?1 AND kind = 'morning' AND accepted IS NOT NULL",
        [today.to_string()],
        |row| row.get(0),
    )?;
    told.as_deref().map(day).transpose()
}

/// The last morning letter of an earlier day that was accepted.
pub(super) fn last_before(connection: &Connection, today: Date) -> Result<Option<OutboxLetter>, Trouble> {
    let sql = format!(
        "SELECT {COLUMNS} FROM letter WHERE day < ?1 AND kind = 'morning' AND accepted IS NOT NULL \
         ORDER BY day DESC, edition DESC LIMIT 1"
    );
    let row = connection.prepare(&sql)?.query_row([today.to_string()], |row| Ok(read(row))).optional()?;
    row.transpose()
}

/// The letters whose copy waits to be put into the folder, oldest first.
pub(super) fn waiting_copies(connection: &Connection) -> Result<Vec<OutboxLetter>, Trouble> {
    let sql = format!("SELECT {COLUMNS} FROM letter WHERE state = 'waiting' ORDER BY day, id");
    let mut statement = connection.prepare(&sql)?;
    let mut rows = statement.query([])?;
    let mut letters = Vec::new();
    while let Some(row) = rows.next()? {
        letters.push(read(row)?);
    }
    Ok(letters)
}

fn read(row: &Row<'_>) -> Result<OutboxLetter, Trouble> {
    let accepted: Option<String> = row.get("accepted")?;
    Ok(OutboxLetter {
        edition: Edition {
            day: day(&row.get::<_, String>("day")?)?,
            kind: word(&row.get::<_, String>("kind")?)?,
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
        made: moment(&row.get::<_, String>("made")?)?,
        state: word(&row.get::<_, String>("state")?)?,
        accepted: accepted.as_deref().map(moment).transpose()?,
    })
}

/// What became of a letter that was to be kept.
pub(super) enum Kept {
    /// It is kept under this number.
    Now(i64),
    /// The day's last one says the same, and stays as it was, with its mails.
    Before(i64),
}

/// Keeps a letter, unless the day's last one of its kind says the same already; the day's older morning letters whose
/// copies still wait give way to it. One of an earlier day goes on waiting: what it told as new may be told by no later one.
pub(super) fn keep(connection: &Connection, letter: &OutboxLetter) -> Result<Kept, Trouble> {
    let OutboxLetter { edition: Edition { day, kind, number, .. }, words, .. } = letter;
    let last = last_of(connection, *day, *kind)?;
    if let Some(last) = last.as_ref().filter(|last| last.words == *words) {
        return Ok(Kept::Before(id_of(connection, &last.edition)?));
    }
    if *number != last.map_or(0, |last| last.edition.number) + 1 {
        return Err(Trouble::Overtaken);
    }
    let id = insert(connection, letter)?;
    if *kind == LetterKind::Morning {
        connection.execute(
            "UPDATE letter SET state = 'superseded' \
             WHERE state = 'waiting' AND day = ?1 AND kind = 'morning' AND edition < ?2",
            params![day.to_string(), number],
        )?;
    }
    Ok(Kept::Now(id))
}

/// Writes a letter whose copy waits, and gives its number.
pub(super) fn insert(connection: &Connection, letter: &OutboxLetter) -> Result<i64, Trouble> {
    let OutboxLetter { edition: Edition { day, kind, number, message_id }, words, eml, made, .. } = letter;
    connection.execute(
        "INSERT INTO letter (day, kind, edition, message_id, made, subject, text, html, full_list, eml, state) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, 'waiting')",
        params![
            day.to_string(),
            written_word(kind),
            number,
            message_id,
            written_moment(*made),
            words.subject,
            words.text,
            words.html,
            words.full_list,
            eml,
        ],
    )?;
    Ok(connection.last_insert_rowid())
}

/// Notes that a letter's copy stands in the folder.
pub(super) fn delivered(connection: &Connection, letter: i64) -> Result<(), Trouble> {
    connection.execute("UPDATE letter SET state = 'delivered' WHERE id = ?1", [letter])?;
    Ok(())
}

/// The number of a kept letter.
pub(super) fn id_of(connection: &Connection, edition: &Edition) -> Result<i64, Trouble> {
    let sql = "SELECT id FROM letter WHERE message_id = ?1";
    Ok(connection.query_row(sql, [&edition.message_id], |row| row.get(0))?)
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

/// Whether there is a letter of a day, kind and edition.
pub(super) fn has(
    connection: &Connection,
    day: Date,
    kind: LetterKind,
    number: u32,
) -> Result<bool, Trouble> {
    let sql = "SELECT EXISTS (SELECT 1 FROM letter WHERE day = ?1 AND kind = ?2 AND edition = ?3)";
    Ok(connection.query_row(sql, params![day.to_string(), written_word(&kind), number], |row| row.get(0))?)
}

/// Puts a letter back that was told without this ledger; one whose edition or Message-ID is known already stays as it is.
///
/// What the ledger knows to have been open or settled by then is told with it, if it was accepted.
pub(super) fn put_back(connection: &Connection, letter: &OutboxLetter) -> Result<(), Trouble> {
    let OutboxLetter {
        edition: Edition { day, kind, number, message_id }, words, eml, made, accepted, ..
    } = letter;
    let put = connection.execute(
        "INSERT OR IGNORE INTO letter \
         (day, kind, edition, message_id, made, subject, text, html, full_list, eml, state, accepted) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, 'delivered', ?11)",
        params![
            day.to_string(),
            written_word(kind),
            number,
            message_id,
            written_moment(*made),
            words.subject,
            words.text,
            words.html,
            words.full_list,
            eml,
            accepted.map(written_moment),
        ],
    )?;
    let has_told = put > 0 && *kind == LetterKind::Morning && accepted.is_some();
    if has_told { has_told_by(connection, *day) } else { Ok(()) }
}

/// Notes that a morning letter of a day, of which no more is known, has told what was open or settled by then.
pub(super) fn has_told_by(connection: &Connection, day: Date) -> Result<(), Trouble> {
    let day = day.to_string();
    connection.execute("UPDATE finding SET told = ?1 WHERE told IS NULL AND since <= ?1", [&day])?;
    connection.execute(
        "UPDATE finding SET told_settled = ?1 \
         WHERE told_settled IS NULL AND state = 'settled' AND as_of <= ?1",
        [&day],
    )?;
    Ok(())
}
