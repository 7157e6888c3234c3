//! What only shows over all machines: the same check failed on several of one model, and machines that are gone.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::checks::check_cell;
use crate::origin::Evidence;
use crate::settings::{check_key, words_of};
use crate::units::Days;
use crate::yard::{Check, CheckResult, Identity, Machine, MachineId};

/// Checks of longer ago than this say nothing of what a model is like now. Our decision.
const FAULTS_OF: Days = Days(365);

/// Who signs is asked of so many days. Our decision.
const SIGNED_IN: Days = Days(90);

/// The most machines that a fault names and shows; more are counted.
const NAMED: usize = 8;

/// How the whole yard stands on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WholeYard {
    /// The day.
    pub today: Date,
    /// How many machines the sheets list.
    pub machines: usize,
    /// The checks that failed within the last year, by model and item.
    pub faults: Vec<Fault>,
    /// The machines that the sheets named before and do not name any more.
    pub absentees: Vec<Absentee>,
    /// Who signed checks of the last quarter, whoever signed most first.
    pub signers: Vec<Signer>,
    /// The sheets that were read.
    pub sheets: Vec<SheetOfYard>,
}

/// Somebody who signs checks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signer {
    /// The name as it was signed.
    pub name: String,
    /// How many checks.
    pub signed: usize,
}

/// A sheet that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetOfYard {
    /// Its file, with its worksheet where it has one.
    pub name: String,
    /// The day on which it was last saved.
    pub renewed: Date,
    /// How many open days have gone by since, today not counted.
    pub open_days: usize,
}

/// One check that failed on machines of one model.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The make and model; `None` for machines of which nobody wrote it down.
    pub model: Option<String>,
    /// The check.
    pub item: String,
    /// On how many machines it failed, whether it passed since or not.
    pub machines: usize,
    /// Those machines, as a person names them.
    pub named: String,
    /// The day on which it last failed, where one is known.
    pub last: Option<Date>,
    /// The checks.
    pub shown_by: Vec<Evidence>,
}

/// A machine that the sheets named before and do not name any more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Absentee {
    /// Its lasting name.
    pub machine: MachineId,
    /// The machine in a person's words.
    pub name: String,
    /// What it was known by.
    pub identity: Identity,
    /// The last day on which a sheet named it, where that is known.
    pub last_named: Option<Date>,
    /// How many findings of it stand open.
    pub open: usize,
}

/// How the whole yard stands on a day; which machines are gone comes in from what was kept, and how old the sheets are
/// from their files.
pub fn stand_yard<'a>(
    machines: impl IntoIterator<Item = &'a Machine>,
    absentees: Vec<Absentee>,
    sheets: Vec<SheetOfYard>,
    today: Date,
) -> WholeYard {
    let mut count = 0;
    let mut signed: BTreeMap<String, Signer> = BTreeMap::new();
    let mut failed: BTreeMap<(Option<String>, String), Failed<'_>> = BTreeMap::new();
    for machine in machines {
        count += 1;
        for by in machine.checks.iter().filter_map(|check| signed_lately(check, today)) {
            let signer = || Signer { name: by.trim().to_owned(), signed: 0 };
            signed.entry(words_of(by).join(" ")).or_insert_with(signer).signed += 1;
        }
        for check in machine.checks.iter().filter(|check| failed_lately(check, today)) {
            let key = (model_key(machine), check_key(&check.item.value));
            failed.entry(key).or_default().add(machine, check);
        }
    }
    let faults = failed.into_iter().map(|((model, _), failed)| failed.fault(model.is_some())).collect();
    let mut signers: Vec<Signer> = signed.into_values().collect();
    signers.sort_by(|one, other| other.signed.cmp(&one.signed).then_with(|| one.name.cmp(&other.name)));
    WholeYard { today, machines: count, faults, absentees, signers, sheets }
}

/// Who signed a check, where its day lies in the last quarter; a check without a day says nothing of that.
fn signed_lately(check: &Check, today: Date) -> Option<&str> {
    let day = check.day.as_ref()?.value;
    let is_late = day <= today && SIGNED_IN.before(today).is_none_or(|first| first <= day);
    check.by.as_ref().filter(|by| is_late && !by.value.trim().is_empty()).map(|by| by.value.as_str())
}

/// A check without a day is taken for one of the last year.
fn failed_lately(check: &Check, today: Date) -> bool {
    check.result.value == CheckResult::Failed
        && check.day.as_ref().is_none_or(|day| {
            day.value <= today && FAULTS_OF.before(today).is_none_or(|first| first <= day.value)
        })
}

/// By what two machines are of one model, whatever the capitals; `None` where nobody wrote the model down.
fn model_key(machine: &Machine) -> Option<String> {
    let model = words_of(&machine.row.model.as_ref()?.value);
    let make = machine.row.make.as_ref().map(|make| words_of(&make.value)).unwrap_or_default();
    Some([make, model].concat().join(" "))
}

/// The failures of one check on one model, as they come together.
#[derive(Default)]
struct Failed<'a> {
    checks: Vec<(&'a Machine, &'a Check)>,
}

impl<'a> Failed<'a> {
    fn add(&mut self, machine: &'a Machine, check: &'a Check) {
        self.checks.push((machine, check));
    }

    fn fault(mut self, has_model: bool) -> Fault {
        let day = |check: &Check| check.day.as_ref().map(|day| day.value);
        self.checks.sort_by_key(|(machine, check)| (day(check), machine.identity.shown()));
        let mut seen = BTreeSet::new();
        let first_each: Vec<_> = self.checks.iter().filter(|(machine, _)| seen.insert(&machine.id)).collect();
        let row = &self.checks[0].0.row;
        let written = [&row.make, &row.model].map(|entry| entry.as_ref().map(|entry| entry.value.as_str()));
        let model = written.into_iter().flatten().collect::<Vec<_>>().join(" ");
        let mut named: Vec<String> =
            first_each.iter().take(NAMED).map(|(machine, _)| machine.identity.shown()).collect();
        if first_each.len() > NAMED {
            named.push(format!("{} more", first_each.len() - NAMED));
        }
        Fault {
            model: has_model.then_some(model),
            item: self.checks[0].1.item.value.clone(),
            machines: first_each.len(),
            named: named.join(", "),
            last: self.checks.iter().filter_map(|(_, check)| day(check)).max(),
            shown_by: first_each.iter().take(NAMED).map(|(_, check)| check_cell(check)).collect(),
        }
    }
}
