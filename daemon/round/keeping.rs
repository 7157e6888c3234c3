//! What earlier rounds left, and what this one leaves: the ledger, also when it cannot be used.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::findings::{FindingId, KeptFinding, State};
use crate::ledger::{Ledger, LedgerFailure};
use crate::problem::{Place, Problem};
use crate::yard::Records;

use super::{YardFolder, outbox};

/// What earlier rounds left.
#[derive(Default)]
pub(super) struct History {
    pub(super) records: Records,
    pub(super) findings: Vec<KeptFinding>,
    pub(super) rules: BTreeMap<String, String>,
    pub(super) last_told: Option<Date>,
    /// The findings that no letter needs to tell at once: one has told of them, or waits to.
    pub(super) told: BTreeSet<FindingId>,
    pub(super) problems: Vec<Problem>,
}

/// Opens the ledger to keep in. Where it cannot be written it is at least read; where it cannot even be read the
/// round goes on without a history, and a problem says so.
pub(super) fn open(folder: &YardFolder, keeps: bool) -> (Ledger, Vec<Problem>) {
    let path = folder.ledger();
    let mut problems = Vec::new();
    if keeps {
        match Ledger::open(&path) {
            Ok(ledger) => return (ledger, problems),
            Err(failure) => problems.push(as_problem(&failure)),
        }
    }
    match Ledger::open_read_only(&path) {
        Ok(ledger) => return (ledger, problems),
        Err(failure) if problems.is_empty() => problems.push(as_problem(&failure)),
        Err(_) => {}
    }
    (Ledger::in_memory().expect("a ledger in memory needs nothing from outside"), problems)
}

/// Reads what earlier rounds left. What cannot be read is missed, and a problem says so.
pub(super) fn history(ledger: &Ledger, current: &Records, today: Date) -> History {
    let mut history = History::default();
    let mut problems = Vec::new();
    let mut note = |failure: LedgerFailure| {
        let problem = as_problem(&failure);
        if !problems.contains(&problem) {
            problems.push(problem);
        }
    };
    match ledger.kept_records(current) {
        Ok(records) => history.records = records,
        Err(failure) => note(failure),
    }
    match ledger.kept_findings(today) {
        Ok(findings) => history.findings = findings,
        Err(failure) => note(failure),
    }
    match ledger.to_be_told(today) {
        Ok(told) => history.told = told,
        Err(failure) => note(failure),
    }
    let is_told = |kept: &&KeptFinding| kept.told.is_some() && kept.finding.state != State::Settled;
    history.told.extend(history.findings.iter().filter(is_told).map(|kept| kept.finding.id()));
    match ledger.accepted_rules(today) {
        Ok(rules) => history.rules = rules,
        Err(failure) => note(failure),
    }
    match ledger.last_told_before(today) {
        Ok(day) => history.last_told = day,
        Err(failure) => note(failure),
    }
    let mut troubles = Vec::new();
    match ledger.mail_troubles(today) {
        Ok(found) => troubles = found,
        Err(failure) => note(failure),
    }
    problems.extend(outbox::of_earlier(&troubles, today));
    history.problems = problems;
    history
}

/// A failure of the ledger as the letter tells it.
pub(super) fn as_problem(failure: &LedgerFailure) -> Problem {
    parted(Place::file("kept/ledger.sqlite3"), &failure.to_string())
}

/// A failure's words as a problem; they are `what is wrong; what to do`.
pub(super) fn parted(place: Place, words: &str) -> Problem {
    let (what, help) = words.split_once("; ").unwrap_or((words, "see that its disk is sound"));
    let mut letters = help.chars();
    let first = letters.next().map(char::to_uppercase).into_iter().flatten().collect::<String>();
    Problem::error(place, what, format!("{first}{}.", letters.as_str()))
}
