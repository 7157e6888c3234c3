//! What a run prints for other programs: one JSON object, its shape kept stable by `tests/morning.schema.json`.

use jiff::civil::Date;
use serde::Serialize;

use super::intake::SheetRead;
use crate::digest::{RuleBecame, RuleEdit, RuleInForce};
use crate::findings::{CannotTell, Finding, Section, State, Turn};
use crate::origin::Evidence;
use crate::problem::Problem;
use crate::yard::Identity;

/// One run, ready to print as JSON.
#[derive(Debug, Clone, Serialize)]
pub struct Report {
    pub(super) today: Date,
    pub(super) sheets: Vec<SheetLine>,
    pub(super) machines: usize,
    pub(super) findings: Vec<FindingLine>,
    pub(super) cannot_tell: Vec<CannotTellLine>,
    pub(super) complaints: Vec<ComplaintLine>,
    pub(super) rules: Vec<RuleLine>,
    pub(super) edits: Vec<EditLine>,
    pub(super) delivery: DeliveryLine,
}

/// One sheet that was read.
#[derive(Debug, Clone, Serialize)]
pub(super) struct SheetLine {
    pub(super) file: String,
    pub(super) sheet: Option<String>,
    pub(super) records: usize,
    pub(super) read_as: &'static str,
    pub(super) modified: Date,
}

/// What a machine is known by.
#[derive(Debug, Clone, Serialize)]
pub(super) struct MachineLine {
    mark: Option<String>,
    frame_no: Option<String>,
    stock_no: Option<String>,
}

impl From<&Identity> for MachineLine {
    fn from(identity: &Identity) -> MachineLine {
        MachineLine {
            mark: identity.mark.as_ref().map(|mark| mark.value.to_string()),
            frame_no: identity.frame_no.as_ref().map(|frame_no| frame_no.value.to_string()),
            stock_no: identity.stock_no.as_ref().map(|stock_no| stock_no.value.to_string()),
        }
    }
}

/// One finding, open or settled today.
#[derive(Debug, Clone, Serialize)]
pub(super) struct FindingLine {
    rule: String,
    machine: MachineLine,
    key: String,
    section: Section,
    state: State,
    since: Date,
    due: Option<Date>,
    due_range: Option<(Date, Date)>,
    text: String,
    evidence: Vec<EvidenceLine>,
}

impl From<&Finding> for FindingLine {
    fn from(finding: &Finding) -> FindingLine {
        FindingLine {
            rule: finding.rule.clone(),
            machine: MachineLine::from(&finding.identity),
            key: finding.key.clone(),
            section: finding.raised.section,
            state: finding.state,
            since: finding.since,
            due: finding.raised.due,
            due_range: finding.raised.due_range,
            text: finding.raised.text.clone(),
            evidence: finding.evidence.iter().map(EvidenceLine::from).collect(),
        }
    }
}

/// One thing that shows a finding.
#[derive(Debug, Clone, Serialize)]
struct EvidenceLine {
    what: String,
    value: String,
    file: Option<String>,
    sheet: Option<String>,
    cell: Option<String>,
}

impl From<&Evidence> for EvidenceLine {
    fn from(evidence: &Evidence) -> EvidenceLine {
        let origin = evidence.origin.as_ref();
        EvidenceLine {
            what: evidence.what.clone(),
            value: evidence.value.clone(),
            file: origin.map(|origin| origin.name.file.clone()),
            sheet: origin.and_then(|origin| origin.name.sheet.clone()),
            cell: origin.map(crate::origin::Origin::cell),
        }
    }
}

/// One verdict that lacked a fact.
#[derive(Debug, Clone, Serialize)]
pub(super) struct CannotTellLine {
    rule: String,
    machine: MachineLine,
    missing: Vec<String>,
}

impl From<&CannotTell> for CannotTellLine {
    fn from(untold: &CannotTell) -> CannotTellLine {
        CannotTellLine {
            rule: untold.rule.clone(),
            machine: MachineLine::from(&untold.identity),
            missing: untold.missing.clone(),
        }
    }
}

/// One thing in an input that could not be read, judged or kept.
#[derive(Debug, Clone, Serialize)]
pub(super) struct ComplaintLine {
    file: String,
    sheet: Option<String>,
    cell: Option<String>,
    value: String,
    problem: String,
    help: String,
}

impl From<&Problem> for ComplaintLine {
    fn from(problem: &Problem) -> ComplaintLine {
        ComplaintLine {
            file: problem.place.file.clone(),
            sheet: problem.place.sheet.clone(),
            cell: problem.place.cell(),
            value: problem.value.clone(),
            problem: problem.what.clone(),
            help: problem.help.clone(),
        }
    }
}

/// One rule file.
#[derive(Debug, Clone, Serialize)]
pub(super) struct RuleLine {
    pub(super) rule: String,
    pub(super) in_force: bool,
    pub(super) problem: Option<String>,
}

/// A rule that is in force otherwise than for the last letter.
#[derive(Debug, Clone, Serialize)]
pub(super) struct EditLine {
    rule: String,
    became: &'static str,
    /// Since when it is in force as it stands; none of one that was taken out.
    since: Option<Date>,
    /// What it says otherwise today; none where its earlier words cannot be read any more.
    effect: Option<EffectLine>,
    examples: Vec<String>,
}

/// Of how many machines' things an edited rule says something else.
#[derive(Debug, Clone, Serialize)]
struct EffectLine {
    adds: usize,
    changes: usize,
    clears: usize,
    cannot_tell_any_more: usize,
}

impl From<&RuleEdit> for EditLine {
    fn from(edit: &RuleEdit) -> EditLine {
        let (became, since) = match edit.became {
            RuleBecame::New { since } => ("new", Some(since)),
            RuleBecame::Changed { since } => ("changed", Some(since)),
            RuleBecame::TakenOut => ("taken out", None),
        };
        let effect = edit.effect.as_ref().map(|effect| EffectLine {
            adds: effect.count(Turn::Added),
            changes: effect.count(Turn::Changed),
            clears: effect.count(Turn::Cleared),
            cannot_tell_any_more: effect.count(Turn::CannotTell),
        });
        EditLine { rule: edit.rule.clone(), became, since, effect, examples: edit.examples.clone() }
    }
}

/// What became of the letter.
#[derive(Debug, Clone, Serialize)]
pub(super) struct DeliveryLine {
    pub(super) message_id: Option<String>,
    pub(super) to: String,
    pub(super) state: Delivered,
    /// For how many receivers the mail server took a mail in this run.
    pub(super) sent: usize,
    /// For how many it did not, or nobody knows.
    pub(super) not_sent: usize,
}

/// Whether the letter is where it should be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Delivered {
    /// It was put there in this run.
    #[serde(rename = "delivered")]
    Now,
    /// There was no letter to tell.
    #[serde(rename = "no letter")]
    NoLetter,
    /// An earlier run of the same day put the same letter there.
    #[serde(rename = "already delivered")]
    Before,
    /// It could not be put there; it waits in the ledger.
    #[serde(rename = "not delivered")]
    Not,
    /// The run was to deliver nothing.
    #[serde(rename = "dry run")]
    DryRun,
}

impl From<&SheetRead> for SheetLine {
    fn from(read: &SheetRead) -> SheetLine {
        SheetLine {
            file: read.name.file.clone(),
            sheet: read.name.sheet.clone(),
            records: read.records,
            read_as: read.read_as,
            modified: read.modified,
        }
    }
}

impl From<RuleInForce> for RuleLine {
    fn from(rule: RuleInForce) -> RuleLine {
        let problem = rule.problem.map(|problem| format!("{}: {}", problem.place, problem.what));
        RuleLine { rule: rule.rule, in_force: rule.in_force, problem }
    }
}
