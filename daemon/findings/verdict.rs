//! What a rule says of a machine: clear, raised for somebody to act, or which fact is missing.

use std::sync::Arc;

use jiff::civil::Date;

use crate::origin::Evidence;
use crate::yard::MachineId;

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

    /// Whether its findings have a customer rung.
    pub fn rings(self) -> bool {
        matches!(self, Section::RingToday | Section::BookIn)
    }
}

/// What a rule raised.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Raised {
    /// Who acts.
    pub section: Section,
    /// What it is, in a sentence that names the figures.
    pub text: String,
    /// The day by which somebody must have acted.
    pub due: Option<Date>,
    /// The days between which it likely falls due, where that is an estimate.
    pub due_range: Option<(Date, Date)>,
    /// Whether it comes before everything else of its section: somebody could be hurt, or a machine spoilt, today.
    pub at_once: bool,
}

/// A rule's answer for one machine and key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// There is nothing to do, and all the facts for saying so are there.
    Clear,
    /// Somebody must act.
    Raised(Raised),
    /// What it is about is too long ago to be asked for; neither good nor bad, and never told as put right.
    TooLongAgo,
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
    pub rule: Arc<str>,
    /// The machine's lasting name in the ledger.
    pub machine: MachineId,
    /// Which of the machine's things it is about (a service item, a fill's day); empty where there is one.
    pub key: String,
    /// The answer.
    pub verdict: Verdict,
    /// The facts that the rule looked at.
    pub evidence: Vec<Evidence>,
}
