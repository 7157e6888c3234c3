//! A finding: a raised verdict that lives on from day to day, and what is kept of it overnight.

use jiff::civil::Date;

use super::{Raised, Section};
use crate::origin::Evidence;
use crate::yard::{Identity, MachineId};

/// Where a finding is in its life.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
pub enum State {
    /// Raised, and no letter of an earlier day that was accepted has told of it (or only before it was settled).
    #[serde(rename = "new")]
    New,
    /// Told of by a letter of an earlier day, and not settled since.
    #[serde(rename = "open")]
    Open,
    /// Put off by an answer; it comes back on its day.
    #[serde(rename = "put off")]
    PutOff,
    /// Its rule now says clear.
    #[serde(rename = "settled")]
    Settled,
}

/// A raised verdict with its life: what the letter tells of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// The rule's name.
    pub rule: String,
    /// The rule's title, for headings.
    pub title: String,
    /// The machine's lasting name in the ledger.
    pub machine: MachineId,
    /// The machine's mark, frame and stock number as far as known, and how the letter names it.
    pub identity: Identity,
    /// The machine in a person's words: make, model, mark.
    pub machine_name: String,
    /// The customer, where one is known.
    pub customer: Option<String>,
    /// The customer's telephone number, where one is known.
    pub telephone: Option<String>,
    /// Which of the machine's things it is about.
    pub key: String,
    /// What was raised.
    pub raised: Raised,
    /// Where it is in its life.
    pub state: State,
    /// The day it was first raised.
    pub since: Date,
    /// Why it still stands although its rule can no longer tell: the missing facts, or empty.
    pub no_longer_told: Vec<String>,
    /// The day on which it was last raised in these words, where that is not today and is known.
    pub words_of: Option<Date>,
    /// The caution that goes with it, where it touches brakes, tyres, steering, fuel or roadworthiness.
    pub caution: Option<String>,
    /// The facts that show it.
    pub evidence: Vec<Evidence>,
}

impl Finding {
    /// What it is known by from day to day, whatever its text says.
    pub fn id(&self) -> FindingId {
        FindingId { rule: self.rule.clone(), machine: self.machine.clone(), key: self.key.clone() }
    }

    /// What the letter orders findings by: who acts, by when (no day comes last), then what it is known by.
    pub(super) fn place(&self) -> (Section, (bool, bool), Option<Date>, &MachineId, &str, &str) {
        let due = self.raised.due;
        (
            self.raised.section,
            (!self.raised.at_once, due.is_none()),
            due,
            &self.machine,
            &self.rule,
            &self.key,
        )
    }
}

/// What a finding is known by: a changed text is still the same finding.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct FindingId {
    /// The rule's name.
    pub rule: String,
    /// The machine's lasting name in the ledger.
    pub machine: MachineId,
    /// Which of the machine's things it is about; empty where there is one.
    pub key: String,
}

/// A finding as an earlier round left it. The customer's name and number are kept while it is open only.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptFinding {
    /// The finding, with its state at the end of that round.
    pub finding: Finding,
    /// The day of that round; for a settled finding the day it was settled.
    pub as_of: Date,
    /// The day of the first accepted letter that told of it as open; `None` while none has.
    pub told: Option<Date>,
    /// The day of the first accepted letter that told that it is settled; `None` while none has, or it is open.
    pub told_settled: Option<Date>,
}

impl KeptFinding {
    /// Where it is in its life on a day on which it is raised: what a letter of the same day told is new all day.
    pub(super) fn raised_on(&self, today: Date) -> State {
        if self.told.is_some_and(|told| told < today) { State::Open } else { State::New }
    }

    /// Whether it can still matter on a day: it is open, or was settled on that very day, or it was told of and no
    /// letter of another day has told that it is settled.
    pub(super) fn matters_on(&self, today: Date) -> bool {
        let is_to_be_told = || self.told.is_some() && self.told_settled.is_none_or(|told| told == today);
        self.finding.state != State::Settled || self.as_of == today || is_to_be_told()
    }
}
