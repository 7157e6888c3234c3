//! What a letter is made from, and what it is.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::earlier_letter::FirstOfDay;
use super::edits::RuleEdit;
use super::form::Form;
use crate::findings::{CannotTell, Finding};
use crate::problem::Problem;

/// All that one morning's letter tells of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Morning {
    /// The day of the letter.
    pub today: Date,
    /// The shop's name.
    pub shop: String,
    /// What is open today, put off ones included.
    pub findings: Vec<Finding>,
    /// What was open in the last letter and is not any more, with the facts that cleared it.
    pub settled: Vec<Finding>,
    /// What no rule could say for want of a fact.
    pub cannot_tell: Vec<CannotTell>,
    /// What nobody has put right and is too long ago to be asked for; what it lacks is empty.
    pub too_long_ago: Vec<CannotTell>,
    /// What in the sheets could not be read, or was read in a way that a person should know of.
    pub complaints: Vec<Problem>,
    /// What keeps the letter itself from being whole: a rule not in force, a locked ledger, an unreadable or stale
    /// sheet. Stands at the top.
    pub trouble: Vec<Problem>,
    /// What was read.
    pub read: Vec<SheetRead>,
    /// How many machines were looked at.
    pub machines: usize,
    /// The rule files.
    pub rules: Vec<RuleInForce>,
    /// The rules by names that ship, edited or not: where there is not room for all, theirs is not taken by others.
    pub ships: BTreeSet<String>,
    /// The rules that are in force otherwise than for the last letter, or not any more.
    pub edits: Vec<RuleEdit>,
    /// The day of the last letter; `None` when this is the first.
    pub last_told: Option<Date>,
    /// What the last letter said in plain text; empty when this is the first, or nobody has its words any more.
    pub last_letter: String,
    /// Which letter it is.
    pub form: Form,
    /// The day's first letter, where somebody has one and this says more.
    pub first_of_day: Option<FirstOfDay>,
}

/// One sheet that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetRead {
    /// The file, below the yard folder or as given.
    pub file: String,
    /// The worksheet, where the file is a workbook.
    pub sheet: Option<String>,
    /// How many records it gave.
    pub records: usize,
    /// What its rows were taken for: `readings`.
    pub read_as: String,
    /// The day the file was last saved.
    pub modified: Date,
}

/// One rule file and whether it judged this morning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleInForce {
    /// The rule's name, which is its file's without the ending.
    pub rule: String,
    /// The rule's title, for people.
    pub title: String,
    /// Whether it judged.
    pub in_force: bool,
    /// What is wrong with the file, where something is; an older version may be in force all the same.
    pub problem: Option<Problem>,
    /// What its owner may not have meant, and may have.
    pub notes: Vec<Problem>,
}

/// The morning letter, ready to be posted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Letter {
    /// The day of the letter.
    pub day: Date,
    /// What matters, at most 70 characters on one line.
    pub subject: String,
    /// The letter as plain text; says the same as the HTML.
    pub text: String,
    /// The letter as one HTML page of at most 80,000 bytes.
    pub html: String,
    /// Everything in plain text, where the letter left something out; its file is named by [`full_list_name`].
    ///
    /// [`full_list_name`]: super::full_list_name
    pub full_list: Option<String>,
}
