//! Whom today's round asked: the rules in force and the machines in the sheets, and what the letter calls them.

use std::collections::{BTreeMap, BTreeSet};

use super::{Finding, Section};
use crate::origin::Entry;
use crate::reckon::Absentee;
use crate::yard::{Identity, Machine, MachineId, NotToRing, not_to_ring};

/// The fact that is missing when a finding's machine stands in no sheet any more.
pub const MACHINE_GONE: &str = "the machine in the sheets";
/// The fact that is missing when a finding's rule is not in force.
pub const RULE_GONE: &str = "the rule in force";

/// The fact that is missing when a finding's rule breaks off on its machine; where it does stands behind it in brackets.
pub const RULE_FAILS: &str = "a rule that works";
/// The fact that is missing when a finding's rule took all of its time.
pub const RULE_SLOW: &str = "time: it takes too long";

/// What a rule in force adds to each of its findings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleWords {
    /// Its title, for headings.
    pub title: String,
    /// The caution that goes with its findings, where they touch brakes, tyres, steering, fuel or roadworthiness.
    pub caution: Option<String>,
}

/// What today's round asked: each of these rules of each of these machines, whether it applied or not.
///
/// A rule that came to no answer on a machine has said that it cannot tell; silence means that there is nothing.
#[derive(Debug, Clone)]
pub struct Asked<'a> {
    rules: &'a BTreeMap<String, RuleWords>,
    machines: BTreeMap<&'a MachineId, &'a Machine>,
    not_in_force: &'a BTreeSet<String>,
    lacking: &'a BTreeMap<(String, MachineId), Vec<String>>,
    absent: BTreeMap<&'a MachineId, &'a Absentee>,
    over: &'a BTreeMap<MachineId, &'static str>,
}

impl<'a> Asked<'a> {
    /// The rules in force, by name, and the machines in the sheets.
    pub fn of(
        rules: &'a BTreeMap<String, RuleWords>,
        machines: impl IntoIterator<Item = &'a Machine>,
    ) -> Asked<'a> {
        static NO_RULES: BTreeSet<String> = BTreeSet::new();
        static NONE_OVER: BTreeMap<MachineId, &str> = BTreeMap::new();
        static NOTHING: BTreeMap<(String, MachineId), Vec<String>> = BTreeMap::new();
        let machines = machines.into_iter().map(|machine| (&machine.id, machine)).collect();
        Asked {
            rules,
            machines,
            not_in_force: &NO_RULES,
            lacking: &NOTHING,
            absent: BTreeMap::new(),
            over: &NONE_OVER,
        }
    }

    /// The same, with the rules whose files are there but not in force.
    #[must_use]
    pub fn with_not_in_force(self, not_in_force: &'a BTreeSet<String>) -> Asked<'a> {
        Asked { not_in_force, ..self }
    }

    /// The same, with the facts for want of which a rule does not apply to a machine: what it once raised there is
    /// no better for it.
    #[must_use]
    pub fn with_lacking(self, lacking: &'a BTreeMap<(String, MachineId), Vec<String>>) -> Asked<'a> {
        Asked { lacking, ..self }
    }

    /// The same, with the machines that are gone from the sheets, so that what is said of them names them.
    #[must_use]
    pub fn with_absent(self, absentees: &'a [Absentee]) -> Asked<'a> {
        let absent = absentees.iter().map(|absentee| (&absentee.machine, absentee)).collect();
        Asked { absent, ..self }
    }

    /// The same, with the machines that are none, or have left for good, and what says so.
    #[must_use]
    pub fn with_over(self, over: &'a BTreeMap<MachineId, &'static str>) -> Asked<'a> {
        Asked { over, ..self }
    }

    /// What says that a machine of a kept finding is none of the shop's; `None` where a sheet lists it, or nothing does.
    pub(super) fn is_over(&self, machine: &MachineId) -> Option<&'static str> {
        self.over.get(machine).copied().filter(|_| !self.machines.contains_key(machine))
    }

    /// Whether a rule is in force.
    pub(super) fn has_rule(&self, rule: &str) -> bool {
        self.rules.contains_key(rule)
    }

    /// What is missing when a rule could not be asked of a machine; `None` when it was, or when its file is gone.
    pub(super) fn not_asked(&self, rule: &str, machine: &MachineId) -> Option<Vec<String>> {
        if self.not_in_force.contains(rule) {
            return Some(vec![RULE_GONE.to_owned()]);
        }
        if !self.rules.contains_key(rule) {
            return None;
        }
        if !self.machines.contains_key(machine) && !machine.is_whole_yard() {
            return Some(vec![MACHINE_GONE.to_owned()]);
        }
        self.lacking.get(&(rule.to_owned(), machine.clone())).filter(|missing| !missing.is_empty()).cloned()
    }

    /// The lasting name that a kept finding's machine has today.
    ///
    /// It is another one when the machine is gone under its own, and just one of today's shares a mark, frame or
    /// stock number with it and differs in none: the sheets begin to give a frame number, or cease to.
    pub(super) fn name_today(&self, id: &MachineId, identity: &Identity) -> MachineId {
        if self.machines.contains_key(id) {
            return id.clone();
        }
        let mut alike = self.machines.values().filter(|machine| is_alike(identity, &machine.identity));
        match (alike.next(), alike.next()) {
            (Some(machine), None) => machine.id.clone(),
            _ => id.clone(),
        }
    }

    /// A rule's title; its name where it is not in force.
    pub(super) fn title<'b>(&'b self, rule: &'b str) -> &'b str {
        self.rules.get(rule).map_or(rule, |words| &words.title)
    }

    /// A machine in a person's words, and what it is known by; the lasting name where it is in no sheet.
    pub(super) fn named(&self, id: &MachineId) -> (String, Identity) {
        match (self.machines.get(id), self.absent.get(id)) {
            (Some(machine), _) => (machine.name(), machine.identity.clone()),
            (None, Some(absentee)) => (absentee.name.clone(), absentee.identity.clone()),
            (None, None) if id.is_whole_yard() => ("The whole yard".to_owned(), Identity::default()),
            (None, None) => (id.as_str().to_owned(), Identity::default()),
        }
    }

    /// The finding with today's words of its rule and machine; what is gone leaves the words that were kept.
    pub(super) fn dressed(&self, mut finding: Finding) -> Finding {
        if let Some(words) = self.rules.get(&finding.rule) {
            finding.title.clone_from(&words.title);
            finding.caution.clone_from(&words.caution);
        }
        if let Some(machine) = self.machines.get(&finding.machine) {
            let text = |entry: &Option<Entry<String>>| entry.as_ref().map(|entry| entry.value.clone());
            finding.identity = machine.identity.clone();
            finding.machine_name = machine.name();
            // A number beside a blank may be that of a later customer than the last one whom the book names.
            finding.customer = text(&machine.row.customer).filter(|_| !machine.row.number_alone);
            finding.telephone = text(&machine.row.telephone);
            // Nobody is rung for somebody who is said to have died: the office writes down who has the machine now.
            let said = [&finding.customer, &finding.telephone].into_iter().flatten();
            let has_died = said.into_iter().any(|said| not_to_ring(said) == Some(NotToRing::Died));
            if has_died && finding.raised.section.rings() {
                finding.raised.section = Section::PutTheSheetRight;
            }
        }
        finding
    }
}

/// Whether two machines' names share one and differ in none that both have.
fn is_alike(one: &Identity, other: &Identity) -> bool {
    fn agree<T: PartialEq>(one: &Option<Entry<T>>, other: &Option<Entry<T>>) -> Option<bool> {
        Some(one.as_ref()?.value == other.as_ref()?.value)
    }
    let agreed = [
        agree(&one.frame_no, &other.frame_no),
        agree(&one.stock_no, &other.stock_no),
        agree(&one.mark, &other.mark),
    ];
    agreed.contains(&Some(true)) && !agreed.contains(&Some(false))
}
