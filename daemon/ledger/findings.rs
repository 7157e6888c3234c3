//! The findings as the last round left them; settled ones stay, so that they are never forgotten, only closed.

use jiff::civil::Date;
use rusqlite::{Connection, Row, params};
use serde::{Deserialize, Serialize};

use super::failure::Trouble;
use super::places::{KeptNames, Place, SheetsByName, SheetsByNumber};
use super::words::{body, day, word, written_body, written_word};
use crate::findings::{Finding, KeptFinding, Lives, Raised};
use crate::origin::Evidence;
use crate::yard::{Identity, MachineId};

/// What a finding says beyond the columns of its row.
#[derive(Serialize, Deserialize)]
struct Body {
    title: String,
    machine_name: String,
    names: KeptNames,
    due_range: Option<(Date, Date)>,
    at_once: bool,
    no_longer_told: Vec<String>,
    caution: Option<String>,
    evidence: Vec<KeptEvidence>,
}

/// One piece of evidence with the place of its cell, where it has one.
#[derive(Serialize, Deserialize)]
struct KeptEvidence {
    what: String,
    value: String,
    at: Option<Place>,
    common_practice: bool,
}

/// Every finding that was ever raised, by rule, machine and key.
pub(super) fn kept(connection: &Connection) -> Result<Vec<KeptFinding>, Trouble> {
    let sheets = SheetsByNumber::read(connection)?;
    let mut statement = connection.prepare(
        "SELECT rule, machine, key, state, since, as_of, section, text, due, body FROM finding \
         ORDER BY rule, machine, key",
    )?;
    let mut rows = statement.query([])?;
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
        Ok(Evidence { what: kept.what, value: kept.value, origin, common_practice: kept.common_practice })
    });
    let due: Option<String> = row.get("due")?;
    let finding = Finding {
        rule: row.get("rule")?,
        title: body.title,
        machine: MachineId::kept(&row.get::<_, String>("machine")?),
        identity: sheets.identity(body.names)?,
        machine_name: body.machine_name,
        customer: None,
        telephone: None,
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
        caution: body.caution,
        evidence: evidence.collect::<Result<_, Trouble>>()?,
    };
    Ok(KeptFinding { finding, as_of: day(&row.get::<_, String>("as_of")?)? })
}

/// What the machine of a finding is known by, of the body that its row holds.
pub(super) fn identity_of(text: &str, sheets: &SheetsByNumber) -> Result<Identity, Trouble> {
    let body: Body = body(text)?;
    sheets.identity(body.names)
}

/// Keeps how today's round left the findings; those that it did not speak of stay as they are.
pub(super) fn keep(connection: &Connection, lives: &Lives, today: Date) -> Result<(), Trouble> {
    let mut forget =
        connection.prepare("DELETE FROM finding WHERE rule = ?1 AND machine = ?2 AND key = ?3")?;
    for id in &lives.renamed {
        forget.execute(params![id.rule, id.machine.as_str(), id.key])?;
    }
    let mut sheets = SheetsByName::read(connection)?;
    let mut keep = connection.prepare(
        "INSERT INTO finding (rule, machine, key, state, since, as_of, section, text, due, body) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10) \
         ON CONFLICT (rule, machine, key) DO UPDATE SET state = excluded.state, since = excluded.since, \
         as_of = excluded.as_of, section = excluded.section, text = excluded.text, due = excluded.due, \
         body = excluded.body",
    )?;
    for finding in lives.open.iter().chain(&lives.settled) {
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

fn written(finding: &Finding, sheets: &mut SheetsByName<'_>) -> Result<String, Trouble> {
    let mut evidence = Vec::with_capacity(finding.evidence.len());
    for Evidence { what, value, origin, common_practice } in &finding.evidence {
        evidence.push(KeptEvidence {
            what: what.clone(),
            value: value.clone(),
            at: origin.as_ref().map(|origin| sheets.place(origin)).transpose()?,
            common_practice: *common_practice,
        });
    }
    let body = Body {
        title: finding.title.clone(),
        machine_name: finding.machine_name.clone(),
        names: sheets.names(&finding.identity)?,
        due_range: finding.raised.due_range,
        at_once: finding.raised.at_once,
        no_longer_told: finding.no_longer_told.clone(),
        caution: finding.caution.clone(),
        evidence,
    };
    Ok(written_body(&body))
}
