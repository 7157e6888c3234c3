//! The readings, jobs, checks, rides and fills ever seen: kept once each, as written, with the cells they stood in.

use std::collections::{HashMap, HashSet};

use jiff::civil::Date;
use rusqlite::{Connection, params};

use super::body;
use super::failure::Trouble;
use super::places::{SheetsByName, SheetsByNumber};
use super::words::UNREADABLE;
use crate::origin::{Entry, SheetName};
use crate::yard::{Check, Fill, Identity, Job, Reading, Record, Records, Ride};

/// The kept records that today's sheets do not say themselves, in the order in which they were first seen.
///
/// Today's and these together are everything ever seen.
pub(super) fn beyond(connection: &Connection, current: &Records) -> Result<Records, Trouble> {
    let said_today: HashSet<Content> = contents(current).map(|(content, ..)| content).collect();
    let sheets = SheetsByNumber::read(connection)?;
    let mut statement = connection.prepare("SELECT content, body FROM record ORDER BY id")?;
    let mut rows = statement.query([])?;
    let mut records = Vec::new();
    while let Some(row) = rows.next()? {
        if !said_today.contains(&row.get::<_, Content>(0)?) {
            records.push(body::read(row.get_ref(1)?.as_str().map_err(|_| UNREADABLE)?, &sheets)?);
        }
    }
    Ok(Records { records })
}

/// Keeps the records that are new, and notes of the others that they were seen again and where they stand now.
pub(super) fn keep(connection: &Connection, current: &Records, today: Date) -> Result<(), Trouble> {
    let today = today.to_string();
    let mut known = known(connection, &today)?;
    let mut sheets = SheetsByName::read(connection)?;
    let mut add = connection.prepare(
        "INSERT INTO record (content, first_seen, last_seen, kind, body) VALUES (?1, ?2, ?2, ?3, ?4)",
    )?;
    let mut see_again = connection.prepare("UPDATE record SET last_seen = ?2, body = ?3 WHERE id = ?1")?;
    for (content, identity, record) in contents(current) {
        match known.insert(content, Known::SeenToday) {
            Some(Known::SeenToday) => {}
            Some(Known::SeenBefore(id)) => {
                see_again.execute(params![id, today, body::written(identity, record, &mut sheets)?])?;
            }
            None => {
                let body = body::written(identity, record, &mut sheets)?;
                add.execute(params![content, today, kind(record), body])?;
            }
        }
    }
    Ok(())
}

/// What the ledger knows of a content.
enum Known {
    /// It was last seen on an earlier day, and this is its row.
    SeenBefore(i64),
    /// It is up to date.
    SeenToday,
}

fn known(connection: &Connection, today: &str) -> Result<HashMap<Content, Known>, Trouble> {
    let mut statement = connection.prepare("SELECT content, id, last_seen < ?1 FROM record")?;
    let rows = statement.query_map([today], |row| {
        let known = if row.get(2)? { Known::SeenBefore(row.get(1)?) } else { Known::SeenToday };
        Ok((row.get(0)?, known))
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// A digest of what a record says, whichever cell says so: an export that shifts its rows adds nothing.
type Content = [u8; 32];

/// The records that the ledger keeps, each with its content.
///
/// Two rows of one sheet that say the same are two (two rides of five miles on one day); the same row in two
/// files, or in the next export, is one.
fn contents(records: &Records) -> impl Iterator<Item = (Content, &Identity, &Record)> {
    let mut times_said: HashMap<(Content, Option<&SheetName>), u32> = HashMap::new();
    let mut text = Vec::new();
    records.records.iter().filter_map(move |(identity, record)| {
        text.clear();
        write_content(identity, record, &mut text)?;
        let mut content: Content = blake3::hash(&text).into();
        let times = times_said.entry((content, sheet_of(identity))).or_default();
        if *times > 0 {
            text.extend(times.to_le_bytes());
            content = blake3::hash(&text).into();
        }
        *times += 1;
        Some((content, identity, record))
    })
}

/// The sheet whose row named the machine.
fn sheet_of(identity: &Identity) -> Option<&SheetName> {
    let Identity { mark, frame_no, stock_no } = identity;
    let origins = [
        mark.as_ref().map(|entry| &entry.origin),
        frame_no.as_ref().map(|entry| &entry.origin),
        stock_no.as_ref().map(|entry| &entry.origin),
    ];
    origins.into_iter().flatten().next().map(|origin| &*origin.name)
}

/// Writes what a record says, without its places; `None` for what a row says of the machine itself, which is not
/// kept. A change here makes every kept record a new one.
fn write_content(identity: &Identity, record: &Record, text: &mut Vec<u8>) -> Option<()> {
    fn value<T>(entry: &Option<Entry<T>>) -> Option<&T> {
        entry.as_ref().map(|entry| &entry.value)
    }
    let of = (
        identity.mark.as_ref().map(|mark| mark.value.as_str()),
        identity.frame_no.as_ref().map(|frame_no| frame_no.value.as_str()),
        identity.stock_no.as_ref().map(|stock_no| stock_no.value.as_str()),
    );
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
fn kind(record: &Record) -> Option<&'static str> {
    match record {
        Record::Machine(_) => None,
        Record::Reading(_) => Some("reading"),
        Record::Job(_) => Some("job"),
        Record::Check(_) => Some("check"),
        Record::Ride(_) => Some("ride"),
        Record::Fill(_) => Some("fill"),
    }
}
