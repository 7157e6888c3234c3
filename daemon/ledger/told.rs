//! What has been told: a letter tells of its findings once it is accepted, and not before.

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::{Connection, params};

use super::failure::Trouble;
use super::words::written_moment;
use crate::findings::{Finding, FindingId, Lives, State};
use crate::yard::MachineId;

/// Which of a round's findings a letter tells of.
#[derive(Debug, Clone, Copy)]
pub enum TellsOf<'a> {
    /// All that are open or settled: the morning letter.
    Everything,
    /// Only these.
    Only(&'a [Finding]),
}

/// Notes what a letter will have told of once it is accepted; at once, where it is accepted already.
pub(super) fn will_tell(
    connection: &Connection,
    letter: i64,
    tells: TellsOf<'_>,
    lives: &Lives,
) -> Result<(), Trouble> {
    let mut note = connection.prepare(
        "INSERT OR REPLACE INTO telling (letter, rule, machine, key, as_settled) VALUES (?1, ?2, ?3, ?4, ?5)",
    )?;
    let everything = lives.open.iter().chain(&lives.settled);
    let findings: Vec<&Finding> = match tells {
        TellsOf::Everything => everything.collect(),
        TellsOf::Only(findings) => findings.iter().collect(),
    };
    for finding in findings {
        let as_settled = finding.state == State::Settled;
        note.execute(params![letter, finding.rule, finding.machine.as_str(), finding.key, as_settled])?;
    }
    let sql = "SELECT accepted IS NOT NULL FROM letter WHERE id = ?1";
    let is_accepted: bool = connection.query_row(sql, [letter], |row| row.get(0))?;
    if is_accepted { has_told(connection, letter) } else { Ok(()) }
}

/// What letters of a day that are not accepted yet will have told of as open.
pub(super) fn to_be_told(connection: &Connection, day: Date) -> Result<BTreeSet<FindingId>, Trouble> {
    let mut statement = connection.prepare(
        "SELECT rule, machine, key FROM telling JOIN letter ON letter.id = telling.letter \
         WHERE day = ?1 AND as_settled = 0",
    )?;
    let mut rows = statement.query([day.to_string()])?;
    let mut findings = BTreeSet::new();
    while let Some(row) = rows.next()? {
        let machine = MachineId::kept(&row.get::<_, String>("machine")?);
        findings.insert(FindingId { rule: row.get("rule")?, machine, key: row.get("key")? });
    }
    Ok(findings)
}

/// Notes that a letter has reached somebody, and with that what it has told of. A second time changes nothing.
pub(super) fn accept(connection: &Connection, letter: i64, now: Timestamp) -> Result<(), Trouble> {
    let sql = "UPDATE letter SET accepted = ?2 WHERE id = ?1 AND accepted IS NULL";
    connection.execute(sql, params![letter, written_moment(now)])?;
    has_told(connection, letter)
}

/// Moves what a letter was to tell to the findings: the first day counts, also where a day that was noted while the
/// PC's date was wrong lies in the future.
fn has_told(connection: &Connection, letter: i64) -> Result<(), Trouble> {
    for (column, as_settled) in [("told", 0), ("told_settled", 1)] {
        connection.execute(
            &format!(
                "UPDATE finding SET {column} = min(ifnull({column}, letter.day), letter.day) \
                 FROM letter, telling \
                 WHERE letter.id = ?1 AND telling.letter = letter.id AND telling.as_settled = ?2 \
                 AND telling.rule = finding.rule AND telling.machine = finding.machine \
                 AND telling.key = finding.key"
            ),
            params![letter, as_settled],
        )?;
    }
    connection.execute("DELETE FROM telling WHERE letter = ?1", [letter])?;
    // A clock that was ahead dated the letter which told of these as settled; its day, once it comes, tells them no more.
    connection.execute(
        "UPDATE finding SET told_settled = date(letter.day, '-1 day'), as_of = min(as_of, date(letter.day, '-1 day')) \
         FROM letter WHERE letter.id = ?1 AND letter.kind = 'morning' AND letter.accepted IS NOT NULL \
         AND finding.state = 'settled' AND finding.told_settled > letter.day",
        [letter],
    )?;
    Ok(())
}
