//! The outbox: each letter's mails with their finished bytes, and how each stands with each of its receivers.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::{Connection, OptionalExtension, Row, TransactionBehavior, params};

use super::failure::Trouble;
use super::next_try::{Standing, is_too_late};
use super::words::{day, moment, word, written_body, written_moment, written_word};
use super::{letters, told};
use crate::findings::Section;

/// The most characters of a server's words that are kept; it may say what it likes.
const WORDS_MAX: usize = 500;

/// A mail of a letter, as it is handed to the ledger with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutboxMail {
    /// 1 for the letter's first mail, one more for each other set of sections.
    pub number: u32,
    /// Its Message-ID with the angle brackets, as the header has it ([`super::Edition::message_id_of`]).
    pub message_id: String,
    /// The sections that it tells; `None` for the whole letter.
    pub sections: Option<Vec<Section>>,
    /// The message as it goes out, byte for byte, however often it is tried.
    pub eml: Vec<u8>,
    /// The addresses that it goes to.
    pub receivers: Vec<String>,
}

/// How a mail stands with one receiver.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum MailState {
    /// It is to be sent, for the first time or again.
    Waiting,
    /// It is being sent, or the program ended while it was.
    Sending,
    /// The server took it.
    Sent,
    /// The server refused this receiver, or the mail, for good.
    Refused,
    /// Nobody knows whether the server took it.
    #[serde(rename = "perhaps sent")]
    PerhapsSent,
    /// It was not taken, and is tried no more: a later letter was, or it is too old.
    #[serde(rename = "given up")]
    GivenUp,
}

/// What came of a try with one receiver, with the words of the server or of what kept us from it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum MailVerdict {
    /// The server took it.
    Sent,
    /// The server refused this receiver, or the mail, for good.
    Refused {
        /// What it said.
        words: String,
    },
    /// Not now: the server said so, or was not to be reached.
    Later {
        /// What it said, or what was wrong.
        words: String,
    },
    /// The connection broke after the mail had gone out and before the server had answered.
    PerhapsSent {
        /// What was wrong.
        words: String,
    },
}

/// A mail that is to be tried now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueMail {
    id: i64,
    /// The message as it goes out.
    pub eml: Vec<u8>,
    /// Those it is to be tried with now, by address; there may be others that it has reached.
    pub receivers: Vec<DueReceiver>,
}

/// A receiver that a mail is to be tried with now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueReceiver {
    /// The address.
    pub address: String,
    /// How often it was tried before.
    pub tries: u32,
}

/// That a letter of an earlier day did not, or perhaps did not, reach somebody.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MailTrouble {
    /// The receiver's address.
    pub address: String,
    /// What became of it.
    pub fate: MailFate,
    /// The day of the first letter that this befell since one was last accepted.
    pub since: Date,
    /// How many letters it befell since then.
    pub letters: u32,
    /// What the server, or whatever kept us from it, said last; empty where none was tried.
    pub words: String,
}

/// What became of a mail that did not plainly go out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MailFate {
    /// The server refused it for good.
    Refused,
    /// It has not gone out. Whether it still waits or was given up for the day's letter makes no difference to the
    /// receiver, and would make one between two runs of a day.
    NotSent,
    /// It has perhaps gone out.
    PerhapsSent,
}

/// Keeps the mails of a letter; each of their receivers waits for the first try.
pub(super) fn keep(
    connection: &Connection,
    letter: i64,
    made: Timestamp,
    mails: &[OutboxMail],
) -> Result<(), Trouble> {
    let mut keep = connection.prepare(
        "INSERT INTO mail (letter, number, message_id, sections, eml) VALUES (?1, ?2, ?3, ?4, ?5)",
    )?;
    let mut address_to = connection.prepare(
        "INSERT OR IGNORE INTO receiver (mail, address, state, tries, doubts, next_try, words, changed) \
         VALUES (?1, ?2, 'waiting', 0, 0, ?3, '', ?3)",
    )?;
    for OutboxMail { number, message_id, sections, eml, receivers } in mails {
        let sections = sections.as_ref().map(written_body);
        let mail = keep.insert(params![letter, number, message_id, sections, eml])?;
        for address in receivers {
            address_to.execute(params![mail, address, written_moment(made)])?;
        }
    }
    Ok(())
}

/// Whether a letter has mails.
pub(super) fn has_any(connection: &Connection, letter: i64) -> Result<bool, Trouble> {
    let sql = "SELECT EXISTS (SELECT 1 FROM mail WHERE letter = ?1)";
    Ok(connection.query_row(sql, [letter], |row| row.get(0))?)
}

/// Whether the last morning letter of the days before a day has mails.
pub(super) fn was_mailed_before(connection: &Connection, today: Date) -> Result<bool, Trouble> {
    let sql = "SELECT EXISTS (SELECT 1 FROM mail WHERE letter = (SELECT id FROM letter \
               WHERE kind = 'morning' AND day < ?1 ORDER BY day DESC, id DESC LIMIT 1))";
    Ok(connection.query_row(sql, [today.to_string()], |row| row.get(0))?)
}

/// Notes that a letter's copy stands in the folder, which is all it takes where the letter has no receivers.
pub(super) fn copy_delivered(
    connection: &mut Connection,
    edition: &letters::Edition,
    now: Timestamp,
) -> Result<(), Trouble> {
    let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let letter = letters::id_of(&change, edition)?;
    letters::delivered(&change, letter)?;
    let sql = "SELECT EXISTS (SELECT 1 FROM receiver JOIN mail ON mail.id = receiver.mail WHERE letter = ?1)";
    let has_receivers: bool = change.query_row(sql, [letter], |row| row.get(0))?;
    if !has_receivers {
        told::accept(&change, letter, now)?;
    }
    change.commit()?;
    Ok(())
}

/// A letter is superseded by a later morning letter that was accepted, and a morning letter by a later one of its
/// day: that tells all that it told. By the order in which they were kept, since a day may be one that a PC with the
/// wrong date made up.
const SUPERSEDED: &str = "EXISTS (SELECT 1 FROM letter AS later WHERE later.id > letter.id \
     AND later.kind = 'morning' AND (later.accepted IS NOT NULL OR (later.day = letter.day AND letter.kind = 'morning')))";

/// What is due: its moment has come, or it was set by a clock that was ahead.
const DUE: &str = "next_try IS NOT NULL AND (next_try <= ?1 OR changed > ?1)";

/// The mails that are due, those of the newest letter first, so that older ones give way to it; before that,
/// whatever is superseded or too old is given up.
pub(super) fn due(connection: &mut Connection, now: Timestamp) -> Result<Vec<DueMail>, Trouble> {
    let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    give_up(&change, now)?;
    change.commit()?;
    let mut statement = connection.prepare(&format!(
        "SELECT mail.id, mail.eml, address, tries \
         FROM receiver JOIN mail ON mail.id = receiver.mail JOIN letter ON letter.id = mail.letter \
         WHERE {DUE} ORDER BY letter.id DESC, mail.number, address"
    ))?;
    let mut rows = statement.query([written_moment(now)])?;
    let mut mails: Vec<DueMail> = Vec::new();
    while let Some(row) = rows.next()? {
        let receiver = DueReceiver { address: row.get(2)?, tries: row.get(3)? };
        let id = row.get(0)?;
        match mails.last_mut().filter(|mail| mail.id == id) {
            Some(mail) => mail.receivers.push(receiver),
            None => mails.push(DueMail { id, eml: row.get(1)?, receivers: vec![receiver] }),
        }
    }
    Ok(mails)
}

/// Has every mail that was not taken tried now. One that perhaps was keeps to its time: a second copy too soon helps
/// nobody.
pub(super) fn try_now(connection: &Connection, now: Timestamp) -> Result<(), Trouble> {
    let sql = "UPDATE receiver SET next_try = ?1 WHERE next_try > ?1 AND state = 'waiting'";
    connection.execute(sql, [written_moment(now)])?;
    Ok(())
}

/// The moment of the next try of any mail; `None` where none is to be tried.
pub(super) fn next_moment(connection: &Connection, now: Timestamp) -> Result<Option<Timestamp>, Trouble> {
    let next: Option<String> = connection.query_row(
        "SELECT min(CASE WHEN changed > ?1 THEN ?1 ELSE next_try END) FROM receiver WHERE next_try IS NOT NULL",
        [written_moment(now)],
        |row| row.get(0),
    )?;
    next.as_deref().map(moment).transpose()
}

/// Notes that a mail is being sent to its due receivers, and says whether it may be: not when another run has begun
/// it meanwhile, or a later letter was accepted.
pub(super) fn begin(connection: &mut Connection, mail: &DueMail, now: Timestamp) -> Result<bool, Trouble> {
    let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    give_up(&change, now)?;
    for DueReceiver { address, tries, .. } in &mail.receivers {
        let standing = standing(&change, mail.id, address)?;
        let may = |standing: &Standing| standing.tries == *tries && standing.next_try.is_some();
        let Some(standing) = standing.filter(may) else { return Ok(false) };
        note(&change, mail.id, address, standing.begun(now), now, None)?;
    }
    change.commit()?;
    Ok(true)
}

/// Notes what came of a try. What was not begun has no verdict; a second one for the same try changes nothing.
pub(super) fn note_verdicts(
    connection: &mut Connection,
    mail: &DueMail,
    verdicts: &[(String, MailVerdict)],
    now: Timestamp,
) -> Result<(), Trouble> {
    let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let (letter, made): (i64, String) = change.query_row(
        "SELECT letter.id, made FROM mail JOIN letter ON letter.id = mail.letter WHERE mail.id = ?1",
        [mail.id],
        |row| Ok((row.get(0)?, row.get(1)?)),
    )?;
    let made = moment(&made)?;
    for (address, verdict) in verdicts {
        let is_begun = |standing: &Standing| standing.state == MailState::Sending;
        let Some(standing) = standing(&change, mail.id, address)?.filter(is_begun) else { continue };
        let words = match verdict {
            MailVerdict::Sent => "",
            MailVerdict::Refused { words }
            | MailVerdict::Later { words }
            | MailVerdict::PerhapsSent { words } => words,
        };
        note(&change, mail.id, address, standing.after(verdict, made, now), now, Some(words))?;
        if matches!(verdict, MailVerdict::Sent | MailVerdict::PerhapsSent { .. }) {
            told::accept(&change, letter, now)?;
        }
    }
    change.commit()?;
    Ok(())
}

/// Gives up what is superseded or too old.
fn give_up(connection: &Connection, now: Timestamp) -> Result<(), Trouble> {
    let mut statement = connection.prepare(&format!(
        "SELECT mail, address, made, {SUPERSEDED} \
         FROM receiver JOIN mail ON mail.id = receiver.mail JOIN letter ON letter.id = mail.letter \
         WHERE next_try IS NOT NULL"
    ))?;
    let unsettled = statement
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?
        .collect::<Result<Vec<(i64, String, String, bool)>, _>>()?;
    for (mail, address, made, is_superseded) in unsettled {
        if !is_superseded && !is_too_late(moment(&made)?, now) {
            continue;
        }
        if let Some(standing) = standing(connection, mail, &address)? {
            note(connection, mail, &address, standing.given_up(), now, None)?;
        }
    }
    Ok(())
}

fn standing(connection: &Connection, mail: i64, address: &str) -> Result<Option<Standing>, Trouble> {
    let sql = "SELECT state, tries, doubts, next_try FROM receiver WHERE mail = ?1 AND address = ?2";
    let row = connection.prepare_cached(sql)?.query_row(params![mail, address], |row| Ok(read(row)));
    row.optional()?.transpose()
}

fn read(row: &Row<'_>) -> Result<Standing, Trouble> {
    let next_try: Option<String> = row.get("next_try")?;
    Ok(Standing {
        state: word(&row.get::<_, String>("state")?)?,
        tries: row.get("tries")?,
        doubts: row.get("doubts")?,
        next_try: next_try.as_deref().map(moment).transpose()?,
    })
}

/// Writes how a mail stands with a receiver, with new words where there are some.
fn note(
    connection: &Connection,
    mail: i64,
    address: &str,
    standing: Standing,
    now: Timestamp,
    words: Option<&str>,
) -> Result<(), Trouble> {
    let Standing { state, tries, doubts, next_try } = standing;
    let words = words.map(|words| words.chars().take(WORDS_MAX).collect::<String>());
    connection
        .prepare_cached(
            "UPDATE receiver SET state = ?3, tries = ?4, doubts = ?5, next_try = ?6, changed = ?7, \
             words = ifnull(?8, words) WHERE mail = ?1 AND address = ?2",
        )?
        .execute(params![
            mail,
            address,
            written_word(&state),
            tries,
            doubts,
            next_try.map(written_moment),
            written_moment(now),
            words
        ])?;
    Ok(())
}

/// What kept the letters of earlier days from their receivers, from the last accepted one on, by address.
///
/// Of a day's morning letters only the last edition counts, which told all that the earlier ones did.
pub(super) fn troubles(connection: &Connection, today: Date) -> Result<Vec<MailTrouble>, Trouble> {
    let since = letters::last_told_before(connection, today)?.unwrap_or(Date::MIN);
    let mut statement = connection.prepare(
        "SELECT address, receiver.state, words, day \
         FROM receiver JOIN mail ON mail.id = receiver.mail JOIN letter ON letter.id = mail.letter \
         WHERE day >= ?1 AND day < ?2 AND receiver.state <> 'sent' \
         AND NOT EXISTS (SELECT 1 FROM letter AS later WHERE later.day = letter.day \
         AND later.kind = 'morning' AND letter.kind = 'morning' AND later.edition > letter.edition) \
         ORDER BY letter.id, mail.number",
    )?;
    let mut rows = statement.query(params![since.to_string(), today.to_string()])?;
    let mut troubles: BTreeMap<(String, MailFate), MailTrouble> = BTreeMap::new();
    while let Some(row) = rows.next()? {
        let address: String = row.get(0)?;
        let fate = match word(&row.get::<_, String>(1)?)? {
            MailState::Sent => continue,
            MailState::Refused => MailFate::Refused,
            MailState::Waiting | MailState::GivenUp => MailFate::NotSent,
            MailState::Sending | MailState::PerhapsSent => MailFate::PerhapsSent,
        };
        let (words, day) = (row.get(2)?, day(&row.get::<_, String>(3)?)?);
        let trouble = troubles.entry((address.clone(), fate)).or_insert(MailTrouble {
            address,
            fate,
            since: day,
            letters: 0,
            words: String::new(),
        });
        (trouble.letters, trouble.words) = (trouble.letters + 1, words);
    }
    Ok(troubles.into_values().collect())
}
