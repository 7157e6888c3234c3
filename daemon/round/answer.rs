//! What a round that the long run asked for answers: one line of JSON, and never a machine or a customer in it.

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::digest;
use crate::problem::Problem;

/// How much a round is to tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tells {
    /// Nothing: records and findings are kept, and mails that wait are sent.
    Nothing,
    /// Only what newly must not leave the yard.
    AtOnce,
    /// The day's morning letter, unless the day has been told.
    Morning,
    /// The morning letter as it is now, whatever was told: a person asked for it.
    MorningAgain,
}

impl Tells {
    /// All of them.
    pub const ALL: [Tells; 4] = [Tells::Nothing, Tells::AtOnce, Tells::Morning, Tells::MorningAgain];

    /// As it is typed.
    pub fn word(self) -> &'static str {
        match self {
            Tells::Nothing => "nothing",
            Tells::AtOnce => "at-once",
            Tells::Morning => "morning",
            Tells::MorningAgain => "morning-again",
        }
    }
}

/// What a round answers.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    /// The day that the round was made for.
    pub today: Date,
    /// The days that have their morning letter, however far that has come; the newest are enough.
    pub told: BTreeSet<Date>,
    /// The days whose only morning letter a clock that was ahead sent before them: they are told anew.
    #[serde(default)]
    pub to_tell_anew: BTreeSet<Date>,
    /// Whether a letter of this round's own was accepted, and so has said what the round was told to say.
    pub told_now: bool,
    /// When the next mail in the outbox is to be tried; `None` when none waits.
    pub next_mail: Option<Timestamp>,
    /// Whether a file had not settled and was read from its kept copy, so that another look is due soon.
    pub unsettled: bool,
    /// How many sheets were read.
    pub sheets: usize,
    /// How many machines were judged.
    pub machines: usize,
    /// How many findings are open.
    pub findings: usize,
    /// How many single cells were complained of.
    pub complaints: usize,
    /// How much stands at the top of the letter: what kept the round from being whole.
    pub trouble: usize,
    /// The first of it in words, for a person who asks how the long run stands; it may name an address.
    #[serde(default)]
    pub wrong: Vec<String>,
    /// How many mails a server took.
    pub sent: usize,
    /// That a letter could be kept nowhere, for the next one to say: `what is wrong; what to do`.
    #[serde(default)]
    pub kept_nowhere: Option<String>,
}

/// Why a round could not be made at all: what it answers instead.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NoRound {
    /// Where it is and what is wrong, on one line. It holds no line of a file, and may name an address.
    pub why: String,
    /// What to do about it.
    pub help: String,
}

impl NoRound {
    /// The first of the problems that kept it from being made; the others are in the log.
    pub fn because_of(problems: &[Problem]) -> NoRound {
        let line = |text: &str| digest::one_line(text, WRONG_LONGEST);
        let first = problems.first();
        NoRound {
            why: first.map_or_else(String::new, |it| line(&format!("{}: {}", it.place.file, it.what))),
            help: first.map_or_else(String::new, |it| line(&it.help)),
        }
    }
}

/// How many of the things that are wrong the long run is told in words: as many as a person reads.
const WRONG_SHOWN: usize = 10;
/// The longest of them, in characters: a few lines of a terminal.
const WRONG_LONGEST: usize = 300;

impl Answer {
    /// Counts what is wrong, and says the first of it in a line each.
    pub(super) fn add_trouble(&mut self, problems: &[Problem]) {
        self.trouble += problems.len();
        let lines = problems.iter().map(|problem| format!("{}: {}", problem.place.file, problem.what));
        let room = WRONG_SHOWN.saturating_sub(self.wrong.len());
        self.wrong.extend(lines.take(room).map(|line| digest::one_line(&line, WRONG_LONGEST)));
    }
}
