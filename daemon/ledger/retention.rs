//! Forgets what is personal of machines that no sheet has named for long, and the words of old letters.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use rusqlite::types::Value;
use rusqlite::{Connection, Row, TransactionBehavior, params, params_from_iter};

use super::failure::Trouble;
use super::places::SheetsByNumber;
use super::words::{UNREADABLE, day};
use super::{body, findings, letter_rules};
use crate::units::Days;
use crate::yard::{Identity, MachineId, Records};

/// How long a letter's words are kept, however long machines are: what is known of a machine stands in its records and
/// findings, and the file must not grow for ever.
pub const LETTER_DAYS: Days = Days(400);

/// How long a letter's finished bytes are kept once nothing waits for them: its words stand beside them and its copy in the
/// folder, and every copy of the ledger would hold each letter three times over.
const BYTES_DAYS: Days = Days(31);

/// The most passes over what is kept that names of one machine are joined in; each joins at least one more of them,
/// and a machine has few.
const PASSES_MAX: u32 = 100;

/// What was forgotten.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Forgotten {
    /// Readings, jobs, checks, rides and fills.
    pub records: usize,
    /// Findings that were settled.
    pub settled: usize,
    /// Findings that were not.
    pub open: usize,
}

/// Notes which machines today's sheets name.
pub(super) fn note_names(connection: &Connection, records: &Records, today: Date) -> Result<(), Trouble> {
    let names: BTreeSet<String> =
        records.records.iter().flat_map(|(identity, _)| names_of(identity)).collect();
    let mut note = connection.prepare(
        "INSERT INTO named (name, last_seen) VALUES (?1, ?2) \
         ON CONFLICT (name) DO UPDATE SET last_seen = excluded.last_seen WHERE last_seen < excluded.last_seen",
    )?;
    for name in names {
        note.execute(params![name, today.to_string()])?;
    }
    Ok(())
}

/// Forgets names that sheets never gave, but by a misreading. Those that one gives today are noted anew.
pub(super) fn forget_names<'n>(
    connection: &Connection,
    names: impl Iterator<Item = &'n MachineId>,
) -> Result<(), Trouble> {
    let mut forget = connection.prepare("DELETE FROM named WHERE name = ?1")?;
    for name in names {
        forget.execute([name.as_str()])?;
    }
    Ok(())
}

/// The names that sheets gave machines before a day and do not give in some records, with the last day on which one
/// did.
pub(super) fn names_gone(
    connection: &Connection,
    records: &Records,
    today: Date,
) -> Result<BTreeMap<MachineId, Date>, Trouble> {
    let named: BTreeSet<String> =
        records.records.iter().flat_map(|(identity, _)| names_of(identity)).collect();
    let gone = all_named(connection)?.into_iter().filter(|(name, _)| !named.contains(name));
    let gone = gone.map(|(name, last_seen)| Ok((MachineId::kept(&name), day(&last_seen)?)));
    let mut gone: BTreeMap<MachineId, Date> = gone.collect::<Result<_, Trouble>>()?;
    // A day to come was written while the PC's clock was ahead.
    gone.retain(|_, day| *day <= today);
    Ok(gone)
}

/// What a row or finding calls its machine, each in the form of a machine's lasting name.
fn names_of(identity: &Identity) -> impl Iterator<Item = String> {
    MachineId::each(identity).map(|name| name.as_str().to_owned())
}

/// Forgets, as a whole or not at all, what has had its time.
pub(super) fn forget(connection: &mut Connection, today: Date, unseen: Days) -> Result<Forgotten, Trouble> {
    let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // A day to come was written while the PC's clock was ahead, and would keep things for ever.
    for table in ["named", "record"] {
        let sql = format!("UPDATE {table} SET last_seen = ?1 WHERE last_seen > ?1");
        change.execute(&sql, [today.to_string()])?;
    }
    let forgotten = match unseen.before(today) {
        Some(since) => forget_machines(&change, since)?,
        None => Forgotten::default(),
    };
    if let Some(since) = unseen.min(LETTER_DAYS).before(today) {
        forget_letters(&change, since)?;
    }
    if let Some(since) = BYTES_DAYS.before(today) {
        forget_bytes(&change, since)?;
    }
    change.commit()?;
    Ok(forgotten)
}

/// Something kept, with the names of its machine.
struct Kept<Id> {
    id: Id,
    last_seen: String,
    names: Vec<String>,
}

fn forget_machines(connection: &Connection, since: Date) -> Result<Forgotten, Trouble> {
    let since = since.to_string();
    let records = kept_records(connection)?;
    let findings = kept_findings(connection)?;
    let seen = named_since(connection, &since)?;
    let groups = records.iter().map(|record| (&record.last_seen, &record.names));
    let groups = groups.chain(findings.iter().map(|finding| (&finding.last_seen, &finding.names)));
    let Some(seen) = joined(seen, groups, &since) else { return Ok(Forgotten::default()) };
    let unseen = |names: &[String]| names.iter().all(|name| !seen.contains(name));

    let mut forgotten = Forgotten::default();
    let mut forget = connection.prepare("DELETE FROM record WHERE id = ?1")?;
    for record in records.iter().filter(|record| record.last_seen < since && unseen(&record.names)) {
        forgotten.records += forget.execute([record.id])?;
    }
    // What is about the whole yard names no machine.
    let of_machines = findings.iter().filter(|finding| !MachineId::kept(&finding.id.1).is_whole_yard());
    for Kept { id: (rule, machine, key, is_settled), .. } in
        of_machines.filter(|finding| unseen(&finding.names))
    {
        let of = params![rule, machine, key];
        connection.execute("DELETE FROM telling WHERE rule = ?1 AND machine = ?2 AND key = ?3", of)?;
        let gone =
            connection.execute("DELETE FROM finding WHERE rule = ?1 AND machine = ?2 AND key = ?3", of)?;
        *(if *is_settled { &mut forgotten.settled } else { &mut forgotten.open }) += gone;
    }
    let mut forget = connection.prepare("DELETE FROM named WHERE name = ?1 AND last_seen < ?2")?;
    for (name, _) in all_named(connection)?.iter().filter(|(name, _)| !seen.contains(*name)) {
        forget.execute(params![name, since])?;
    }
    Ok(forgotten)
}

/// All names of the machines of which one name was seen since a day: a name that stands beside one that was seen is
/// that machine's, too. `None` when they could not be joined within the limit; then nothing is forgotten.
fn joined<'k>(
    mut seen: BTreeSet<String>,
    groups: impl Iterator<Item = (&'k String, &'k Vec<String>)> + Clone,
    since: &str,
) -> Option<BTreeSet<String>> {
    for _ in 0..PASSES_MAX {
        let before = seen.len();
        for (last_seen, names) in groups.clone() {
            if last_seen.as_str() >= since || names.iter().any(|name| seen.contains(name)) {
                seen.extend(names.iter().filter(|name| !seen.contains(*name)).cloned().collect::<Vec<_>>());
            }
        }
        if seen.len() == before {
            return Some(seen);
        }
    }
    None
}

fn all_named(connection: &Connection) -> Result<BTreeMap<String, String>, Trouble> {
    let mut statement = connection.prepare("SELECT name, last_seen FROM named")?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

fn named_since(connection: &Connection, since: &str) -> Result<BTreeSet<String>, Trouble> {
    let named = all_named(connection)?.into_iter();
    Ok(named.filter(|(_, last_seen)| last_seen.as_str() >= since).map(|(name, _)| name).collect())
}

fn kept_records(connection: &Connection) -> Result<Vec<Kept<i64>>, Trouble> {
    let sheets = SheetsByNumber::read(connection)?;
    let mut statement = connection.prepare("SELECT id, last_seen, body FROM record ORDER BY id")?;
    let mut rows = statement.query([])?;
    let mut records = Vec::new();
    while let Some(row) = rows.next()? {
        let (identity, _) = body::read(row.get_ref(2)?.as_str().map_err(|_| UNREADABLE)?, &sheets)?;
        records.push(Kept { id: row.get(0)?, last_seen: row.get(1)?, names: names_of(&identity).collect() });
    }
    Ok(records)
}

/// A finding's rule, machine and key, and whether it is settled.
type FindingRow = (String, String, String, bool);

/// Every finding. That a round spoke of it says nothing of when a sheet did, so it counts as not seen itself.
fn kept_findings(connection: &Connection) -> Result<Vec<Kept<FindingRow>>, Trouble> {
    let sheets = SheetsByNumber::read(connection)?;
    let mut statement = connection
        .prepare("SELECT rule, machine, key, state, body FROM finding ORDER BY rule, machine, key")?;
    let mut rows = statement.query([])?;
    let mut kept = Vec::new();
    while let Some(row) = rows.next()? {
        let identity = findings::identity_of(&row.get::<_, String>(4)?, &sheets)?;
        let machine: String = row.get(1)?;
        let names = names_of(&identity).chain([machine.clone()]).collect();
        let is_settled = row.get::<_, String>(3)? == "settled";
        let id = (row.get(0)?, machine, row.get(2)?, is_settled);
        kept.push(Kept { id, last_seen: String::new(), names });
    }
    Ok(kept)
}

/// Takes the words out of letters of before a day, and removes their mails with the receivers' addresses, and the rules
/// that they rest on. That there was such a letter stays known.
fn forget_letters(connection: &Connection, since: Date) -> Result<(), Trouble> {
    let since = since.to_string();
    let mut statement = connection.prepare(
        "SELECT id, day, kind, edition, message_id, made, replace(state, 'waiting', 'superseded'), accepted FROM letter \
         WHERE day < ?1 AND (eml <> x'' OR text <> '' OR html <> '' OR subject <> '')",
    )?;
    let columns = |row: &Row<'_>| (0..8).map(|at| row.get(at)).collect::<Result<Vec<Value>, _>>();
    let letters = statement.query_map([&since], columns)?.collect::<Result<Vec<_>, _>>()?;
    // A row that only shrinks would keep its page for ever; one that goes gives it back. Its mails go with it.
    for letter in letters {
        connection.execute("DELETE FROM letter WHERE id = ?1", [&letter[0]])?;
        connection.execute(
            "INSERT INTO letter (id, day, kind, edition, message_id, made, subject, text, html, eml, state, accepted) \
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, '', '', '', x'', ?7, ?8)",
            params_from_iter(letter),
        )?;
    }
    let older = "letter IN (SELECT id FROM letter WHERE day < ?1)";
    connection.execute(&format!("DELETE FROM mail WHERE {older}"), [&since])?;
    connection.execute(&format!("DELETE FROM telling WHERE {older}"), [&since])?;
    letter_rules::forget(connection, &since)?;
    Ok(())
}

/// Takes the finished bytes out of letters of before a day that have their place, and of mails that are tried no more.
fn forget_bytes(connection: &Connection, since: Date) -> Result<(), Trouble> {
    let since = since.to_string();
    connection.execute(
        "UPDATE letter SET eml = x'' WHERE day < ?1 AND state <> 'waiting' AND eml <> x''",
        [&since],
    )?;
    connection.execute(
        "UPDATE mail SET eml = x'' WHERE eml <> x'' AND letter IN (SELECT id FROM letter WHERE day < ?1) \
         AND NOT EXISTS (SELECT 1 FROM receiver WHERE receiver.mail = mail.id AND next_try IS NOT NULL)",
        [&since],
    )?;
    Ok(())
}
