//! The readings, jobs, checks, rides and fills ever seen: kept once each, as written, with the cells they stood in.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use jiff::civil::Date;
use rusqlite::{Connection, Row, params};

use super::body;
use super::corrections::{SaidToday, Today, Unsaid};
use super::failure::Trouble;
use super::pending::Pending;
use super::places::{SheetsByName, SheetsByNumber};
use super::read_otherwise::Otherwise;
use super::witnesses::Witnesses;
use super::words::{UNREADABLE, day};
use crate::origin::{Entry, SheetName};
use crate::yard::{Check, Fill, Identity, Job, Reading, Record, Records, Ride};

/// The kept records that today's sheets do not say themselves, in the order in which they were first seen; without
/// those that a sheet has put right since it was last read, those that were read otherwise than they are now, and those
/// that are taken back. Beside them, what sheets have taken back themselves.
///
/// Today's and the first of these together are everything ever seen that counts.
pub(super) fn beyond(
    connection: &Connection,
    current: &Records,
    otherwise: &Otherwise,
    withdrawing: &HashSet<Content>,
) -> Result<(Records, Records), Trouble> {
    let Apart { mut unsaid, withdrawn, .. } = apart(connection, current, withdrawing)?;
    unsaid.retain(|(content, _)| !otherwise.wrong.contains(content));
    if !otherwise.renamed.is_empty() {
        let said_today: HashSet<Content> = contents(current).map(|(content, _)| content).collect();
        for (content, (identity, _)) in &mut unsaid {
            if let Some(now) = otherwise.renamed.get(content) {
                identity.clone_from(now);
            }
        }
        let is_said = |(identity, record): &(Identity, Record)| {
            content_of(identity, record).is_some_and(|content| said_today.contains(&content))
        };
        unsaid.retain(|(content, said)| !otherwise.renamed.contains_key(content) || !is_said(said));
    }
    let kept = Records { records: unsaid.into_iter().map(|(_, said)| said).collect(), ..Records::default() };
    Ok((kept, Records { records: withdrawn, ..Records::default() }))
}

/// Gives kept records the machines that their rows name now. One that is known of that machine already goes.
pub(super) fn rename(connection: &Connection, renamed: &BTreeMap<Content, Identity>) -> Result<(), Trouble> {
    let by_number = SheetsByNumber::read(connection)?;
    let mut known: HashSet<Content> = known(connection)?.into_keys().collect();
    let mut sheets = SheetsByName::read(connection)?;
    let mut read = connection.prepare("SELECT body FROM record WHERE content = ?1")?;
    let mut change = connection.prepare("UPDATE record SET content = ?2, body = ?3 WHERE content = ?1")?;
    let mut times: HashMap<Content, u32> = HashMap::new();
    let mut gone = HashSet::new();
    for (before, identity) in renamed {
        let body: String = read.query_row([before], |row| row.get(0))?;
        let (_, record) = body::read(&body, &by_number)?;
        let mut text = Vec::new();
        write_content(identity, &record, &mut text).ok_or(UNREADABLE)?;
        // Two rides of one day that say the same are two under the right name, too.
        let times = times.entry(content(&text, 0)).or_default();
        let now = content(&text, *times);
        *times += 1;
        if known.insert(now) {
            change.execute(params![before, now, body::written(identity, &record, &mut sheets)?])?;
        } else {
            gone.insert(*before);
        }
    }
    remove(connection, &gone)
}

/// The content of a record that is said once; `None` for what a row says of the machine itself.
fn content_of(identity: &Identity, record: &Record) -> Option<Content> {
    let mut text = Vec::new();
    write_content(identity, record, &mut text)?;
    Some(content(&text, 0))
}

/// Removes records by their contents.
pub(super) fn remove(connection: &Connection, contents: &HashSet<Content>) -> Result<(), Trouble> {
    let mut remove = connection.prepare("DELETE FROM record WHERE content = ?1")?;
    // Sorted, so that a round does the same whenever it is made.
    let contents: BTreeSet<&Content> = contents.iter().collect();
    for content in contents {
        remove.execute([content])?;
    }
    Ok(())
}

/// Notes which records their sheets have taken back, and which need not say any more what they said. What is noted already
/// keeps its day.
pub(super) fn withdraw(connection: &Connection, pending: &Pending, today: Date) -> Result<(), Trouble> {
    let Pending { withdrawing, letting_go, .. } = pending;
    for (contents, sql) in [
        (withdrawing, "UPDATE record SET withdrawn = ?2 WHERE content = ?1 AND withdrawn IS NULL"),
        (letting_go, "UPDATE record SET let_go = ?2 WHERE content = ?1 AND let_go IS NULL"),
    ] {
        let mut note = connection.prepare(sql)?;
        // Sorted, so that a round does the same whenever it is made.
        let contents: BTreeSet<&Content> = contents.iter().collect();
        for content in contents {
            note.execute(params![content, today.to_string()])?;
        }
    }
    Ok(())
}

/// What the ledger has beside what the sheets say today.
#[derive(Default)]
pub(super) struct Apart {
    /// What they do not say, with its content.
    pub(super) unsaid: Vec<(Content, (Identity, Record))>,
    /// What they have taken back.
    pub(super) withdrawn: Vec<(Identity, Record)>,
    /// The new contents that put a kept record right, each with the content of that.
    pub(super) put_right: HashMap<Content, Content>,
}

/// Tells what only the ledger has from what today's sheets have put right.
pub(super) fn apart(
    connection: &Connection,
    current: &Records,
    withdrawing: &HashSet<Content>,
) -> Result<Apart, Trouble> {
    let said_today: Vec<_> = contents(current).collect();
    let contents_today: HashSet<&Content> = said_today.iter().map(|(content, _)| content).collect();
    let (known, mut unsaid) = known_and_unsaid(connection, &contents_today, "")?;
    let withdrawn = unsaid.extract_if(.., |kept| kept.is_withdrawn || withdrawing.contains(&kept.content));
    let mut apart = Apart { withdrawn: withdrawn.map(|kept| kept.said).collect(), ..Apart::default() };
    let corrections = today(current, said_today.iter().copied(), &known).corrections(&unsaid);
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
pub(super) fn keep(
    connection: &Connection,
    current: &Records,
    pending: &Pending,
    today: Date,
) -> Result<(), Trouble> {
    let today = today.to_string();
    let known = known(connection)?;
    let mut witnesses = Witnesses::read(connection)?;
    let said_today: Vec<_> = contents(current).collect();
    let put_right = put_right(connection, current, &said_today, &known)?;
    let mut sheets = SheetsByName::read(connection)?;
    let mut add = connection.prepare(
        "INSERT INTO record (content, first_seen, last_seen, kind, body, witness) VALUES (?1, ?2, ?2, ?3, ?4, ?5)",
    )?;
    let mut see_again = connection.prepare(
        "UPDATE record SET last_seen = ?2, body = ?3, witness = ?4, withdrawn = NULL, let_go = NULL WHERE id = ?1",
    )?;
    let mut correct = connection.prepare(
        "UPDATE record SET content = ?2, last_seen = ?3, body = ?4, witness = ?5, let_go = NULL WHERE id = ?1",
    )?;
    let mut put_back =
        connection.prepare("UPDATE record SET withdrawn = ?2 WHERE id = ?1 AND withdrawn IS NULL")?;
    let mut kept = HashSet::new();
    for (content, (identity, record)) in said_today {
        if let Some(bad) = put_right.get(&content).filter(|_| known.contains_key(&content)) {
            put_back.execute(params![bad, today])?;
        }
        let before = known.get(&content);
        let witness = pending.witnesses.get(&content).map(|witness| &**witness);
        let witness = witnesses.joined(witness, before.and_then(|known| known.witness))?;
        let is_noted = |known: &Known| {
            known.last_seen >= today && !known.is_withdrawn && !known.is_let_go && known.witness == witness
        };
        if before.is_some_and(is_noted) || !kept.insert(content) {
            continue;
        }
        let body = body::written(identity, record, &mut sheets)?;
        match (before, put_right.get(&content)) {
            (Some(known), _) => see_again.execute(params![known.id, today, body, witness])?,
            (None, Some(id)) => correct.execute(params![id, content, today, body, witness])?,
            (None, None) => add.execute(params![content, today, kind(record), body, witness])?,
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
pub(super) struct Known {
    id: i64,
    pub(super) last_seen: String,
    pub(super) is_withdrawn: bool,
    pub(super) is_let_go: bool,
    witness: Option<i64>,
}

const KNOWN: &str = "content, id, last_seen, withdrawn IS NOT NULL, let_go IS NOT NULL, witness";

impl Known {
    fn read(row: &Row<'_>) -> rusqlite::Result<(Content, Known)> {
        let known = Known {
            id: row.get(1)?,
            last_seen: row.get(2)?,
            is_withdrawn: row.get(3)?,
            is_let_go: row.get(4)?,
            witness: row.get(5)?,
        };
        Ok((row.get(0)?, known))
    }
}

pub(super) fn known(connection: &Connection) -> Result<HashMap<Content, Known>, Trouble> {
    let mut statement = connection.prepare(&format!("SELECT {KNOWN} FROM record"))?;
    let rows = statement.query_map([], Known::read)?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// What today's sheets say, beside what is known.
pub(super) fn today<'c>(
    current: &'c Records,
    said_today: impl Iterator<Item = SaidToday<'c>>,
    known: &HashMap<Content, Known>,
) -> Today<'c> {
    let last_seen = |content: &Content| {
        let known = known.get(content)?;
        Some((known.last_seen.as_str(), known.is_withdrawn))
    };
    Today::new(current, said_today, last_seen)
}

/// What was seen on a day or later: of what today's sheets say when that was, and the rest as it was kept, oldest
/// first.
pub(super) fn known_and_unsaid(
    connection: &Connection,
    said_today: &HashSet<&Content>,
    since: &str,
) -> Result<(HashMap<Content, Known>, Vec<Unsaid>), Trouble> {
    let sheets = SheetsByNumber::read(connection)?;
    let mut statement =
        connection.prepare(&format!("SELECT {KNOWN}, body FROM record WHERE last_seen >= ?1 ORDER BY id"))?;
    let mut rows = statement.query([since])?;
    let (mut known, mut unsaid) = (HashMap::new(), Vec::new());
    while let Some(row) = rows.next()? {
        let (content, of_content) = Known::read(row)?;
        if said_today.contains(&content) {
            known.insert(content, of_content);
        } else {
            let said = body::read(row.get_ref(6)?.as_str().map_err(|_| UNREADABLE)?, &sheets)?;
            let Known { id, last_seen, is_withdrawn, is_let_go, witness } = of_content;
            unsaid.push(Unsaid { id, content, last_seen, is_withdrawn, is_let_go, witness, said });
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
    let (_, mut unsaid) = known_and_unsaid(connection, &contents_today, since)?;
    unsaid.retain(|kept| !kept.is_withdrawn);
    let corrections = today.corrections(&unsaid);
    Ok(corrections.into_iter().map(|(id, content)| (content, id)).collect())
}

/// A digest of what a record says, whichever cell says so: an export that shifts its rows adds nothing.
pub type Content = [u8; 32];

/// The records that the ledger keeps, each with its content.
///
/// Two rows of one sheet that say the same are two (two rides of five miles on one day); the same row in two
/// files, or in the next export, is one.
pub fn contents(records: &Records) -> impl Iterator<Item = SaidToday<'_>> {
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
        Record::Job(Job { day, done, clock, oil, by, doubt }) => {
            let says = (kind, of, value(day), &done.value, value(clock), value(oil), value(by));
            match doubt {
                None => serde_json::to_writer(text, &says),
                Some(doubt) => serde_json::to_writer(text, &(says, &doubt.value)),
            }
        }
        // The time tells only which of two came first, and makes no other check of it.
        Record::Check(Check { day, time: _, item, result, remark, by }) => {
            let says = (kind, of, value(day), &item.value, result.value, value(by));
            // Most have none, and were kept before there were remarks.
            match remark {
                None => serde_json::to_writer(text, &says),
                Some(remark) => serde_json::to_writer(text, &(says, remark)),
            }
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
