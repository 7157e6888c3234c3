//! The readings, jobs, checks, rides and fills ever seen: kept once each, as written, with the cells they stood in.

use std::collections::{HashMap, HashSet};

use jiff::civil::Date;
use rusqlite::{Connection, params};

use super::body;
use super::corrections::{SaidToday, Today, Unsaid};
use super::failure::Trouble;
use super::places::{SheetsByName, SheetsByNumber};
use super::words::{UNREADABLE, day};
use crate::origin::{Entry, SheetName};
use crate::yard::{Check, Fill, Identity, Job, Reading, Record, Records, Ride};

/// The kept records that today's sheets do not say themselves, in the order in which they were first seen; without
/// those that a sheet has put right since it was last read, and those that are taken back.
///
/// Today's and these together are everything ever seen.
pub(super) fn beyond(
    connection: &Connection,
    current: &Records,
    taken_back: &HashSet<Content>,
) -> Result<Records, Trouble> {
    let unsaid = apart(connection, current)?.unsaid.into_iter();
    let counting = unsaid.filter(|(content, _)| !taken_back.contains(content));
    Ok(Records { records: counting.map(|(_, said)| said).collect(), ..Records::default() })
}

/// Removes records by their contents.
pub(super) fn remove(connection: &Connection, contents: &HashSet<Content>) -> Result<(), Trouble> {
    let mut remove = connection.prepare("DELETE FROM record WHERE content = ?1")?;
    // Sorted, so that a round does the same whenever it is made.
    let contents: std::collections::BTreeSet<&Content> = contents.iter().collect();
    for content in contents {
        remove.execute([content])?;
    }
    Ok(())
}

/// What the ledger has beside what the sheets say today.
pub(super) struct Apart {
    /// What they do not say, with its content.
    pub(super) unsaid: Vec<(Content, (Identity, Record))>,
    /// The new contents that put a kept record right, each with the content of that.
    pub(super) put_right: HashMap<Content, Content>,
}

/// Tells what only the ledger has from what today's sheets have put right.
pub(super) fn apart(connection: &Connection, current: &Records) -> Result<Apart, Trouble> {
    let said_today: Vec<_> = contents(current).collect();
    let contents_today: HashSet<&Content> = said_today.iter().map(|(content, _)| content).collect();
    let (known, unsaid) = known_and_unsaid(connection, &contents_today, "")?;
    let corrections = today(current, said_today.iter().copied(), &known).corrections(&unsaid);
    let mut apart = Apart { unsaid: Vec::new(), put_right: HashMap::new() };
    for Unsaid { id, content, said, .. } in unsaid {
        match corrections.get(&id) {
            Some(now) => _ = apart.put_right.insert(*now, content),
            None => apart.unsaid.push((content, said)),
        }
    }
    Ok(apart)
}

/// Keeps the records that are new, and notes of the others that they were seen again and where they stand now.
///
/// A new one that puts a kept one right takes its place, so that the slip does not come back once both are out of
/// the sheet.
pub(super) fn keep(connection: &Connection, current: &Records, today: Date) -> Result<(), Trouble> {
    let today = today.to_string();
    let known = known(connection)?;
    let said_today: Vec<_> = contents(current).collect();
    let put_right = put_right(connection, current, &said_today, &known)?;
    let mut sheets = SheetsByName::read(connection)?;
    let mut add = connection.prepare(
        "INSERT INTO record (content, first_seen, last_seen, kind, body) VALUES (?1, ?2, ?2, ?3, ?4)",
    )?;
    let mut see_again = connection.prepare("UPDATE record SET last_seen = ?2, body = ?3 WHERE id = ?1")?;
    let mut correct =
        connection.prepare("UPDATE record SET content = ?2, last_seen = ?3, body = ?4 WHERE id = ?1")?;
    let mut kept = HashSet::new();
    for (content, (identity, record)) in said_today {
        let before = known.get(&content);
        if before.is_some_and(|known| known.last_seen >= today) || !kept.insert(content) {
            continue;
        }
        let body = body::written(identity, record, &mut sheets)?;
        match (before, put_right.get(&content)) {
            (Some(known), _) => see_again.execute(params![known.id, today, body])?,
            (None, Some(id)) => correct.execute(params![id, content, today, body])?,
            (None, None) => add.execute(params![content, today, kind(record), body])?,
        };
    }
    Ok(())
}

/// The most contents that are compared with rows that say the same several times, so that this always ends soon.
const REPEATS_MAX: u32 = 1_000_000;

/// Whether every kept record can be read, and says what it said when it was kept.
pub(super) fn readable(connection: &Connection) -> Result<(), Trouble> {
    let sheets = SheetsByNumber::read(connection)?;
    let mut statement =
        connection.prepare("SELECT content, body, first_seen, last_seen FROM record ORDER BY id")?;
    let mut rows = statement.query([])?;
    let (mut next_repeat, mut compared) = (HashMap::new(), 0);
    while let Some(row) = rows.next()? {
        let kept: Content = row.get(0)?;
        for column in [2, 3] {
            day(row.get_ref(column)?.as_str().map_err(|_| UNREADABLE)?)?;
        }
        let (identity, record) = body::read(row.get_ref(1)?.as_str().map_err(|_| UNREADABLE)?, &sheets)?;
        let mut text = Vec::new();
        write_content(&identity, &record, &mut text).ok_or(UNREADABLE)?;
        let first = content(&text, 0);
        if kept == first {
            continue;
        }
        // One of several that say the same; they mostly come in their order.
        let next: &mut u32 = next_repeat.entry(first).or_insert(1);
        let mut repeats = (*next..REPEATS_MAX).chain(1..*next);
        let found = repeats.find(|times| {
            compared += 1;
            compared > REPEATS_MAX || content(&text, *times) == kept
        });
        *next = found.ok_or(UNREADABLE)? + 1;
    }
    Ok(())
}

/// What the ledger knows of a content: its row, and the day it was last seen.
struct Known {
    id: i64,
    last_seen: String,
}

fn known(connection: &Connection) -> Result<HashMap<Content, Known>, Trouble> {
    let mut statement = connection.prepare("SELECT content, id, last_seen FROM record")?;
    let rows = statement
        .query_map([], |row| Ok((row.get(0)?, Known { id: row.get(1)?, last_seen: row.get(2)? })))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// What today's sheets say, beside what is known.
fn today<'c>(
    current: &'c Records,
    said_today: impl Iterator<Item = SaidToday<'c>>,
    known: &HashMap<Content, Known>,
) -> Today<'c> {
    Today::new(current, said_today, |content| known.get(content).map(|known| known.last_seen.as_str()))
}

/// What was seen on a day or later: of what today's sheets say when that was, and the rest as it was kept, oldest
/// first.
fn known_and_unsaid(
    connection: &Connection,
    said_today: &HashSet<&Content>,
    since: &str,
) -> Result<(HashMap<Content, Known>, Vec<Unsaid>), Trouble> {
    let sheets = SheetsByNumber::read(connection)?;
    let mut statement = connection
        .prepare("SELECT content, id, last_seen, body FROM record WHERE last_seen >= ?1 ORDER BY id")?;
    let mut rows = statement.query([since])?;
    let (mut known, mut unsaid) = (HashMap::new(), Vec::new());
    while let Some(row) = rows.next()? {
        let (content, id, last_seen) = (row.get(0)?, row.get(1)?, row.get(2)?);
        if said_today.contains(&content) {
            known.insert(content, Known { id, last_seen });
        } else {
            let said = body::read(row.get_ref(3)?.as_str().map_err(|_| UNREADABLE)?, &sheets)?;
            unsaid.push(Unsaid { id, content, last_seen, said });
        }
    }
    Ok((known, unsaid))
}

/// Of the new contents that put a kept record right the row of that record.
fn put_right(
    connection: &Connection,
    current: &Records,
    said_today: &[SaidToday<'_>],
    known: &HashMap<Content, Known>,
) -> Result<HashMap<Content, i64>, Trouble> {
    let today = today(current, said_today.iter().copied(), known);
    let Some(since) = today.since() else { return Ok(HashMap::new()) };
    let contents_today: HashSet<&Content> = said_today.iter().map(|(content, _)| content).collect();
    let (_, unsaid) = known_and_unsaid(connection, &contents_today, since)?;
    let corrections = today.corrections(&unsaid);
    Ok(corrections.into_iter().map(|(id, content)| (content, id)).collect())
}

/// A digest of what a record says, whichever cell says so: an export that shifts its rows adds nothing.
pub(super) type Content = [u8; 32];

/// The records that the ledger keeps, each with its content.
///
/// Two rows of one sheet that say the same are two (two rides of five miles on one day); the same row in two
/// files, or in the next export, is one.
pub(super) fn contents(records: &Records) -> impl Iterator<Item = SaidToday<'_>> {
    let mut times_said: HashMap<(Content, Option<&SheetName>), u32> = HashMap::new();
    let mut text = Vec::new();
    records.records.iter().filter_map(move |said| {
        let (identity, record) = said;
        text.clear();
        write_content(identity, record, &mut text)?;
        let first = content(&text, 0);
        let times = times_said.entry((first, identity.cell().map(|cell| &*cell.name))).or_default();
        let content = if *times == 0 { first } else { content(&text, *times) };
        *times += 1;
        Some((content, said))
    })
}

/// The digest of a text that was said so many times before.
fn content(text: &[u8], times: u32) -> Content {
    let mut hasher = blake3::Hasher::new();
    hasher.update(text);
    if times > 0 {
        hasher.update(&times.to_le_bytes());
    }
    hasher.finalize().into()
}

/// Writes what a record says, without its places; `None` for what a row says of the machine itself, which is not
/// kept. A change here makes every kept record a new one.
fn write_content(identity: &Identity, record: &Record, text: &mut Vec<u8>) -> Option<()> {
    fn value<T>(entry: &Option<Entry<T>>) -> Option<&T> {
        entry.as_ref().map(|entry| &entry.value)
    }
    let [mark, frame_no, stock_no] = identity.names();
    let of = (mark, frame_no, stock_no);
    let kind = kind(record)?;
    let written = match record {
        Record::Machine(_) => return None,
        Record::Reading(Reading { day, clock }) => {
            serde_json::to_writer(text, &(kind, of, day.value, clock.value))
        }
        Record::Job(Job { day, done, clock, oil, by }) => serde_json::to_writer(
            text,
            &(kind, of, value(day), &done.value, value(clock), value(oil), value(by)),
        ),
        Record::Check(Check { day, item, result, by }) => {
            serde_json::to_writer(text, &(kind, of, value(day), &item.value, result.value, value(by)))
        }
        Record::Ride(Ride { day, distance, top_speed, speed_source, clock, by }) => serde_json::to_writer(
            text,
            &(
                (kind, of, value(day), value(distance), value(top_speed)),
                (value(speed_source), value(clock), value(by)),
            ),
        ),
        Record::Fill(Fill { day, clock, volume, grade, full }) => serde_json::to_writer(
            text,
            &(kind, of, value(day), value(clock), value(volume), value(grade), value(full)),
        ),
    };
    written.expect("texts, numbers and days can always be written to memory");
    Some(())
}

/// A record's kind as the ledger names it; `None` for what a row says of the machine itself.
pub(super) fn kind(record: &Record) -> Option<&'static str> {
    match record {
        Record::Machine(_) => None,
        Record::Reading(_) => Some("reading"),
        Record::Job(_) => Some("job"),
        Record::Check(_) => Some("check"),
        Record::Ride(_) => Some("ride"),
        Record::Fill(_) => Some("fill"),
    }
}
