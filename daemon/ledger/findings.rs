//! The findings as the last round left them; settled ones stay, so that they are never forgotten, only closed.

use jiff::civil::Date;
use rusqlite::{Connection, OptionalExtension, Row, params};
use serde::{Deserialize, Serialize};

use super::failure::Trouble;
use super::places::{CellPlace, KeptNames, SheetsByName, SheetsByNumber};
use super::words::{body, day, word, written_body, written_word};
use crate::findings::{Finding, KeptFinding, Lives, Raised, Renamed, State};
use crate::origin::{Evidence, Exhibit};
use crate::yard::{Identity, MachineId};

/// What a finding says beyond the columns of its row.
#[derive(Serialize, Deserialize)]
struct Body {
    title: String,
    machine_name: String,
    names: KeptNames,
    /// Whom to ring while it is open, should the machine vanish from the sheets; gone once it is settled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    customer: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    telephone: Option<String>,
    due_range: Option<(Date, Date)>,
    at_once: bool,
    no_longer_told: Vec<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    words_of: Option<Date>,
    caution: Option<String>,
    evidence: Vec<KeptEvidence>,
}

/// One piece of evidence with the place of its cell, where it has one.
#[derive(Serialize, Deserialize)]
struct KeptEvidence {
    what: String,
    value: String,
    at: Option<CellPlace>,
    common_practice: bool,
}

/// The findings that can matter on a day, by rule, machine and key; the others only wait to be raised again.
pub(super) fn kept(connection: &Connection, today: Date) -> Result<Vec<KeptFinding>, Trouble> {
    let sheets = SheetsByNumber::read(connection)?;
    let mut statement = connection.prepare(
        "SELECT rule, machine, key, state, since, as_of, section, text, due, body, told, told_settled FROM finding \
         WHERE state <> 'settled' OR as_of = ?1 \
         OR (told IS NOT NULL AND (told_settled IS NULL OR told_settled = ?1)) \
         ORDER BY rule, machine, key",
    )?;
    let mut rows = statement.query([today.to_string()])?;
    let mut findings = Vec::new();
    while let Some(row) = rows.next()? {
        findings.push(read(row, &sheets)?);
    }
    Ok(findings)
}

fn read(row: &Row<'_>, sheets: &SheetsByNumber) -> Result<KeptFinding, Trouble> {
    let body: Body = body(&row.get::<_, String>("body")?)?;
    let evidence = body.evidence.into_iter().map(|kept| {
        let origin = kept.at.map(|place| sheets.origin(place)).transpose()?;
        let KeptEvidence { what, value, common_practice, .. } = kept;
        Ok(Evidence::from(Exhibit { what, value, origin, common_practice }))
    });
    let due: Option<String> = row.get("due")?;
    let finding = Finding {
        rule: row.get("rule")?,
        title: body.title,
        machine: MachineId::kept(&row.get::<_, String>("machine")?),
        identity: sheets.identity(body.names)?,
        machine_name: body.machine_name,
        customer: body.customer,
        telephone: body.telephone,
        key: row.get("key")?,
        raised: Raised {
            section: word(&row.get::<_, String>("section")?)?,
            text: row.get("text")?,
            due: due.as_deref().map(day).transpose()?,
            due_range: body.due_range,
            at_once: body.at_once,
        },
        state: word(&row.get::<_, String>("state")?)?,
        since: day(&row.get::<_, String>("since")?)?,
        no_longer_told: body.no_longer_told,
        words_of: body.words_of,
        caution: body.caution,
        evidence: evidence.collect::<Result<_, Trouble>>()?,
    };
    let maybe_day = |column| -> Result<Option<Date>, Trouble> {
        row.get::<_, Option<String>>(column)?.as_deref().map(day).transpose()
    };
    Ok(KeptFinding {
        finding,
        as_of: day(&row.get::<_, String>("as_of")?)?,
        told: maybe_day("told")?,
        told_settled: maybe_day("told_settled")?,
    })
}

/// Whether every finding can be read.
pub(super) fn readable(connection: &Connection) -> Result<(), Trouble> {
    let sheets = SheetsByNumber::read(connection)?;
    let mut statement = connection.prepare("SELECT * FROM finding")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        read(row, &sheets)?;
    }
    Ok(())
}

/// What the machine of a finding is known by, of the body that its row holds.
pub(super) fn identity_of(text: &str, sheets: &SheetsByNumber) -> Result<Identity, Trouble> {
    let body: Body = body(text)?;
    sheets.identity(body.names)
}

/// Keeps how today's round left the findings; those that it did not speak of stay as they are.
pub(super) fn keep(connection: &Connection, lives: &Lives, today: Date) -> Result<(), Trouble> {
    for renamed in &lives.renamed {
        rename(connection, renamed)?;
    }
    for finding in &lives.open {
        begin_anew(connection, finding)?;
    }
    let mut sheets = SheetsByName::read(connection)?;
    let mut keep = connection.prepare(
        "INSERT INTO finding (rule, machine, key, state, since, as_of, section, text, due, body) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10) \
         ON CONFLICT (rule, machine, key) DO UPDATE SET state = excluded.state, since = excluded.since, \
         as_of = CASE WHEN state = 'settled' AND excluded.state = 'settled' THEN min(as_of, excluded.as_of) \
         ELSE excluded.as_of END, section = excluded.section, text = excluded.text, due = excluded.due, \
         body = excluded.body",
    )?;
    for finding in lives.open.iter().chain(&lives.settled).chain(&lives.never_told) {
        keep.execute(params![
            finding.rule,
            finding.machine.as_str(),
            finding.key,
            written_word(&finding.state),
            finding.since.to_string(),
            today.to_string(),
            written_word(&finding.raised.section),
            finding.raised.text,
            finding.raised.due.map(|day| day.to_string()),
            written(finding, &mut sheets)?,
        ])?;
    }
    Ok(())
}

/// Gives a finding its machine's name of today, with what was told of it. Where one stands under that name already
/// they become one; one that is settled there gives way.
fn rename(connection: &Connection, Renamed { from, to }: &Renamed) -> Result<(), Trouble> {
    let names = params![from.rule, from.machine.as_str(), from.key, to.as_str()];
    connection.execute(
        "DELETE FROM finding WHERE (rule, machine, key) = (?1, ?4, ?3) AND state = 'settled' \
         AND EXISTS (SELECT 1 FROM finding AS old \
         WHERE (old.rule, old.machine, old.key) = (?1, ?2, ?3) AND old.state <> 'settled')",
        names,
    )?;
    connection.execute(
        "UPDATE finding SET told = min(ifnull(finding.told, old.told), ifnull(old.told, finding.told)) \
         FROM finding AS old \
         WHERE (old.rule, old.machine, old.key) = (?1, ?2, ?3) \
         AND (finding.rule, finding.machine, finding.key) = (?1, ?4, ?3)",
        names,
    )?;
    for table in ["finding", "telling"] {
        let of_old_name = "WHERE (rule, machine, key) = (?1, ?2, ?3)";
        connection.execute(&format!("UPDATE OR IGNORE {table} SET machine = ?4 {of_old_name}"), names)?;
        connection.execute(&format!("DELETE FROM {table} {of_old_name}"), &names[..3])?;
    }
    Ok(())
}

/// Forgets what was told of a finding that is open now and was settled: that it is settled, and, where its life has
/// begun anew, all of it.
fn begin_anew(connection: &Connection, finding: &Finding) -> Result<(), Trouble> {
    let id = [&*finding.rule, finding.machine.as_str(), &*finding.key];
    let since: Option<String> = connection
        .prepare_cached(
            "UPDATE finding SET told_settled = NULL \
             WHERE (rule, machine, key) = (?1, ?2, ?3) AND state = 'settled' RETURNING since",
        )?
        .query_row(id, |row| row.get(0))
        .optional()?;
    let Some(since) = since else { return Ok(()) };
    let of_this = "WHERE (rule, machine, key) = (?1, ?2, ?3)";
    connection.execute(&format!("DELETE FROM telling {of_this} AND as_settled = 1"), id)?;
    if since != finding.since.to_string() {
        connection.execute(&format!("DELETE FROM telling {of_this}"), id)?;
        connection.execute(&format!("UPDATE finding SET told = NULL {of_this}"), id)?;
    }
    Ok(())
}

fn written(finding: &Finding, sheets: &mut SheetsByName<'_>) -> Result<String, Trouble> {
    let mut evidence = Vec::with_capacity(finding.evidence.len());
    for shown in &finding.evidence {
        let Exhibit { what, value, origin, common_practice } = &**shown;
        evidence.push(KeptEvidence {
            what: what.clone(),
            value: value.clone(),
            at: origin.as_ref().map(|origin| sheets.place(origin)).transpose()?,
            common_practice: *common_practice,
        });
    }
    let is_open = finding.state != State::Settled;
    let while_open = |text: &Option<String>| text.clone().filter(|_| is_open);
    let body = Body {
        title: finding.title.clone(),
        machine_name: finding.machine_name.clone(),
        names: sheets.names(&finding.identity)?,
        customer: while_open(&finding.customer),
        telephone: while_open(&finding.telephone),
        due_range: finding.raised.due_range,
        at_once: finding.raised.at_once,
        no_longer_told: finding.no_longer_told.clone(),
        words_of: finding.words_of,
        caution: finding.caution.clone(),
        evidence,
    };
    Ok(written_body(&body))
}
