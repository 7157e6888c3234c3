//! What a rule says of a machine, and the life of what it raised.

use jiff::civil::Date;

use crate::origin::Evidence;
use crate::yard::{Identity, MachineId};

/// Who acts on a finding, and so where the letter puts it; in the letter's order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Section {
    /// The machine must not be ridden away.
    KeepInTheYard,
    /// Somebody rings the customer.
    RingToday,
    /// A visit is to be arranged.
    BookIn,
    /// The workshop does it.
    OnTheBench,
    /// The office corrects what is written.
    PutTheSheetRight,
}

impl Section {
    /// All sections, most urgent first.
    pub const ALL: [Section; 5] = [
        Section::KeepInTheYard,
        Section::RingToday,
        Section::BookIn,
        Section::OnTheBench,
        Section::PutTheSheetRight,
    ];

    /// The section's heading in the letter.
    pub fn heading(self) -> &'static str {
        match self {
            Section::KeepInTheYard => "Keep in the yard",
            Section::RingToday => "Ring today",
            Section::BookIn => "Book in",
            Section::OnTheBench => "On the bench",
            Section::PutTheSheetRight => "Put the sheet right",
        }
    }
}

/// What a rule raised.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Raised {
    /// Who acts.
    pub section: Section,
    /// What it is, in a sentence that names the figures.
    pub text: String,
    /// The day by which somebody must have acted.
    pub due: Option<Date>,
    /// The days between which it likely falls due, where that is an estimate.
    pub due_range: Option<(Date, Date)>,
}

/// A rule's answer for one machine and key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// There is nothing to do, and all the facts for saying so are there.
    Clear,
    /// Somebody must act.
    Raised(Raised),
    /// A fact is missing, and its name is given; never the same as clear.
    CannotTell {
        /// The missing facts in the trade's words: `handover`, `fuel grade`.
        missing: Vec<String>,
    },
}

/// One verdict with what it is about and what shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judgement {
    /// The rule's name, which is its file's without the ending.
    pub rule: String,
    /// The machine's lasting name in the ledger.
    pub machine: MachineId,
    /// Which of the machine's things it is about (a service item, a fill's day); empty where there is one.
    pub key: String,
    /// The answer.
    pub verdict: Verdict,
    /// The facts that the rule looked at.
    pub evidence: Vec<Evidence>,
}

/// Where a finding is in its life.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
pub enum State {
    /// Raised today for the first time (or again after it was settled).
    #[serde(rename = "new")]
    New,
    /// Raised on an earlier day and not settled since.
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
    /// The caution that goes with it, where it touches brakes, tyres, steering, fuel or roadworthiness.
    pub caution: Option<String>,
    /// The facts that show it.
    pub evidence: Vec<Evidence>,
}
