//! What was known on an earlier day: the records that a round had seen by then.

use std::collections::{HashMap, HashSet};

use jiff::civil::Date;
use rusqlite::Connection;

use super::failure::Trouble;
use super::records::{self, Apart, Content};
use super::words::day;
use crate::yard::{Identity, Record, Records};

/// Everything ever seen, each with the day on which a round first saw it.
#[derive(Debug)]
pub struct RecordsByDay {
    /// What today's sheets say.
    said: Vec<(Since, (Identity, Record))>,
    /// What only the ledger has.
    kept: Vec<(Since, (Identity, Record))>,
}

/// Since when something is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Since {
    /// Nobody noted it: what rows say of machines themselves is taken as it stands today.
    Unnoted,
    /// A round of that day saw it first.
    Day(Date),
    /// No round has kept it yet.
    NotYet,
}

impl RecordsByDay {
    /// What a round of that day could know: what sheets said, and what only the ledger still had. Rows about machines
    /// themselves are as today's sheets have them.
    pub fn seen_by(&self, today: Date) -> (Records, Records) {
        let known = |since: Since| match since {
            Since::Unnoted => true,
            Since::Day(day) => day <= today,
            Since::NotYet => false,
        };
        let of = |records: &[(Since, (Identity, Record))]| Records {
            records: records
                .iter()
                .filter(|(since, _)| known(*since))
                .map(|(_, said)| said.clone())
                .collect(),
            ..Records::default()
        };
        (of(&self.said), of(&self.kept))
    }
}

/// Reads when each record was first seen: what today's sheets say, and what they do not.
pub(super) fn by_day(
    connection: &Connection,
    current: &Records,
    withdrawing: &HashSet<Content>,
) -> Result<RecordsByDay, Trouble> {
    let first_seen = first_seen(connection)?;
    let Apart { unsaid, put_right, .. } = records::apart(connection, current, withdrawing)?;
    let since = |content: &Content| {
        // A slip that was put right since is known as long as the slip was.
        let slip = || first_seen.get(put_right.get(content)?);
        first_seen.get(content).or_else(slip).map_or(Since::NotYet, |day| Since::Day(*day))
    };
    let mut contents = records::contents(current).map(|(content, _)| content);
    let said = current.records.iter().map(|said| {
        let since = match records::kind(&said.1) {
            None => Since::Unnoted,
            Some(_) => contents.next().as_ref().map_or(Since::NotYet, since),
        };
        (since, said.clone())
    });
    let said = said.collect();
    let kept = unsaid.into_iter().map(|(content, said)| (since(&content), said)).collect();
    Ok(RecordsByDay { said, kept })
}

fn first_seen(connection: &Connection) -> Result<HashMap<Content, Date>, Trouble> {
    let mut statement = connection.prepare("SELECT content, first_seen FROM record")?;
    let mut rows = statement.query([])?;
    let mut first_seen = HashMap::new();
    while let Some(row) = rows.next()? {
        first_seen.insert(row.get(0)?, day(&row.get::<_, String>(1)?)?);
    }
    Ok(first_seen)
}
