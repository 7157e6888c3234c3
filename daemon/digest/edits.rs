//! The owner's edits in the letter: which rules came into force otherwise, and what that adds, changes and clears.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::page::{Item, Listing};
use super::words::{self, NAME, SENTENCE, one_line};
use crate::findings::{Effect, Turn, Untold};
use crate::problem::counted;

/// How many machines a line names; the others are counted.
const NAMED: usize = 6;

/// A rule that is in force otherwise than for the last letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleEdit {
    /// The rule's name, which is its file's without the ending.
    pub rule: String,
    /// What became of it.
    pub became: RuleBecame,
    /// What it says otherwise of today's machines; `None` where the words before it cannot be read any more.
    pub effect: Option<Effect>,
    /// Which of its examples differ, each in words.
    pub examples: Vec<String>,
}

/// What became of a rule since the last letter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RuleBecame {
    /// No rule of that name was in force before.
    New {
        /// The day of the first round that judged by it.
        since: Date,
    },
    /// It is in other words.
    Changed {
        /// The day of the first round that judged by these.
        since: Date,
    },
    /// Its file is gone.
    TakenOut,
}

/// The edits, each with what it does.
pub(super) fn of(edits: &[RuleEdit], today: Date) -> Listing {
    Listing {
        heading: format!("Rules changed since the last letter: {}", edits.len()),
        lead: "What each says today beside what it said before.",
        items: edits.iter().map(|edit| item(edit, today)).collect(),
        more: 0,
    }
}

fn item(edit: &RuleEdit, today: Date) -> Item {
    let file = one_line(&format!("rules/{}.rhai", edit.rule), NAME);
    let rule = match edit.became {
        RuleBecame::New { since } => format!("In force since {}: {file} (new)", words::day(since, today)),
        RuleBecame::Changed { since } => format!("In force since {}: {file}", words::day(since, today)),
        RuleBecame::TakenOut => format!("Not in force any more: {file}, whose file is gone"),
    };
    let said = |does: &str| format!("{rule}; {does}.");
    let Some(effect) = &edit.effect else {
        let does = "what it changes cannot be told, as its earlier words cannot be read any more";
        return Item { said: said(does), ..Item::default() };
    };
    let is_there = !matches!(edit.became, RuleBecame::TakenOut);
    let lines = lines(effect, is_there).into_iter().chain(examples(&edit.examples)).collect();
    let is_new = matches!(edit.became, RuleBecame::New { .. });
    Item { said: said(&does(effect, is_new)), lines, ..Item::default() }
}

/// What an edit does, in numbers.
fn does(effect: &Effect, is_new: bool) -> String {
    let counts = Turn::ALL.into_iter().filter_map(|turn| match (turn, effect.count(turn)) {
        (_, 0) => None,
        (Turn::Added, count) => Some(format!("adds {count}")),
        (Turn::Changed, count) => Some(format!("changes {count}")),
        (Turn::Cleared, count) => Some(format!("clears {count}")),
        (Turn::CannotTell, count) => Some(format!("cannot tell {count} any more")),
    });
    let counts: Vec<String> = counts.collect();
    match (counts.is_empty(), is_new) {
        (true, true) => "raises nothing in today's yard".to_owned(),
        (true, false) => "raises the same as before".to_owned(),
        _ => counts.join(", "),
    }
}

/// Of which machines, a line for each turn, and of how many it cannot tell where that has changed.
fn lines(effect: &Effect, is_there: bool) -> Vec<String> {
    let named = |turn: Turn| {
        let mut names: Vec<String> =
            effect.of(turn).map(|difference| one_line(&difference.machine_name, NAME)).collect();
        names.dedup();
        let more = names.len().saturating_sub(NAMED);
        names.truncate(NAMED);
        if more > 0 {
            names.push(format!("and {more} more"));
        }
        (!names.is_empty()).then(|| format!("{}: {}.", word(turn), names.join("; ")))
    };
    let count = |untold: &Untold| untold.values().flatten().collect::<BTreeSet<_>>().len();
    let (before, after) = (count(&effect.untold_before), count(&effect.untold_after));
    let untold = match (after, before) {
        _ if is_there && effect.applied_before > 0 && effect.applied_after == 0 => {
            Some(format!("It applies to no machine; before, to {}.", effect.applied_before))
        }
        (after, before) if after == before => None,
        (0, before) => Some(format!("It can tell of every machine; before, not of {before}.")),
        (after, 0) => Some(format!("Cannot tell of {}; before, of none.", counted(after, "machine"))),
        (after, before) => {
            Some(format!("Cannot tell of {}; before, of {before}.", counted(after, "machine")))
        }
    };
    Turn::ALL.into_iter().filter_map(named).chain(untold).collect()
}

/// Which examples differ, in one line.
fn examples(changes: &[String]) -> Option<String> {
    /// How many of them are named; the others are counted.
    const NAMED: usize = 3;
    let mut named: Vec<String> =
        changes.iter().take(NAMED).map(|change| one_line(change, SENTENCE)).collect();
    if changes.len() > NAMED {
        named.push(format!("and {} more", changes.len() - NAMED));
    }
    (!named.is_empty()).then(|| format!("Examples that differ: {}.", named.join("; ")))
}

fn word(turn: Turn) -> &'static str {
    match turn {
        Turn::Added => "Adds",
        Turn::Changed => "Changes",
        Turn::Cleared => "Clears",
        Turn::CannotTell => "Cannot tell any more, so it stays open",
    }
}
