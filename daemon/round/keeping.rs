//! What earlier rounds left, and what this one leaves: the ledger, also when it cannot be used.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::findings::{KeptFinding, Lives};
use crate::ledger::{Ledger, LedgerFailure, OutboxLetter, Round};
use crate::problem::{Place, Problem};
use crate::yard::Records;

use super::YardFolder;

/// What earlier rounds left.
#[derive(Default)]
pub(super) struct History {
    pub(super) records: Records,
    pub(super) findings: Vec<KeptFinding>,
    pub(super) rules: BTreeMap<String, String>,
    pub(super) last_told: Option<Date>,
    pub(super) problems: Vec<Problem>,
}

/// What this round leaves, but for its letter.
pub(super) struct Kept<'a> {
    pub(super) today: Date,
    pub(super) records: &'a Records,
    pub(super) lives: &'a Lives,
    pub(super) rules: &'a BTreeMap<String, String>,
}

impl<'a> Kept<'a> {
    /// The round as the ledger takes it.
    pub(super) fn with(&self, letter: Option<&'a OutboxLetter>) -> Round<'a> {
        Round { today: self.today, records: self.records, lives: self.lives, rules: self.rules, letter }
    }
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
    match ledger.kept_findings() {
        Ok(findings) => history.findings = findings,
        Err(failure) => note(failure),
    }
    match ledger.accepted_rules(today) {
        Ok(rules) => history.rules = rules,
        Err(failure) => note(failure),
    }
    match ledger.last_told_before(today) {
        Ok(day) => history.last_told = day,
        Err(failure) => note(failure),
    }
    history.problems = problems;
    history
}

/// A failure of the ledger as the letter tells it; its words are `what is wrong; what to do`.
pub(super) fn as_problem(failure: &LedgerFailure) -> Problem {
    let text = failure.to_string();
    let (what, help) = text.split_once("; ").unwrap_or((&text, "see that its disk is sound"));
    Problem::error(Place::file("kept/ledger.sqlite3"), what, sentence(help))
}

/// A phrase as a sentence of its own.
pub(super) fn sentence(phrase: &str) -> String {
    let mut letters = phrase.chars();
    letters.next().map(|first| format!("{}{}.", first.to_uppercase(), letters.as_str())).unwrap_or_default()
}
