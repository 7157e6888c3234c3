//! `tickover rules try`: what a rule file would add, change and clear, in words.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::Path;

use jiff::civil::Date;

use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, morning, say};
use crate::digest::one_line;
use crate::findings::{Difference, Raised, Turn, Untold};
use crate::problem::{Severity, counted};
use crate::round::{self, Beside, NotTried, Over, OverTried, RuleTrial, Run, Tells, YardFolder};
use crate::today;
use crate::units::Days;

/// How many machines are shown of each kind; the rest is counted.
const SHOWN: usize = 40;
/// The longest name or text of a machine, in characters.
const LONGEST: usize = 400;

/// Tries a rule file, and prints what it would do.
pub(super) fn run(folder: &YardFolder, file: &Path, day: Option<Date>, over: Option<Days>) -> u8 {
    let run = only_looks(folder, day);
    match round::try_rule(&run, file, over.map(|days| Over { days, time: Over::TIME })) {
        Ok(trial) => {
            say::out(&told(&trial));
            for problem in &trial.differing {
                say::out(&format!("\n{problem}"));
            }
            say::problems(&trial.trouble);
            let is_whole = trial
                .differing
                .iter()
                .chain(&trial.trouble)
                .all(|problem| problem.severity != Severity::Error);
            if is_whole { DONE } else { NEEDS_A_PERSON }
        }
        Err(NotTried::Unfit(problems)) => {
            say::problems(&problems);
            NEEDS_A_PERSON
        }
        Err(NotTried::CouldNotRun(problems)) => {
            say::problems(&problems);
            COULD_NOT_RUN
        }
    }
}

/// A run that reads, and neither keeps nor tells.
pub(super) fn only_looks(folder: &YardFolder, day: Option<Date>) -> Run {
    Run {
        folder: folder.clone(),
        now: today::now(),
        today: day,
        keeps: false,
        tells: Tells::Nothing,
        trouble: Vec::new(),
        reader: morning::reader(),
        patience: round::PATIENCE,
    }
}

/// The whole report.
fn told(trial: &RuleTrial) -> String {
    let mut said = format!("{}: \"{}\"\n{}\n", trial.rule, trial.title, held_against(trial));
    if trial.effect.differences.is_empty() {
        let same = match (trial.beside, trial.effect.same) {
            (Beside::Nothing, _) => "nothing in today's yard",
            (_, 0) => "nothing in today's yard, before and after",
            _ => "the same as before",
        };
        let _ = writeln!(said, "\nIt raises {same}.");
    }
    for turn in Turn::ALL {
        let lines: Vec<String> = trial.effect.of(turn).map(|it| line(it, "")).collect();
        listed(&mut said, would(turn), &lines);
    }
    let _ = writeln!(said, "\nStays as it is: {}.", trial.effect.same);
    if trial.effect.applied_after == 0 && !trial.is_of_yard && trial.machines > 0 {
        let before = match (trial.beside, trial.effect.applied_before) {
            (Beside::Nothing, _) => String::new(),
            (_, 0) => ", before and after".to_owned(),
            (_, before) => format!("; before, to {before}"),
        };
        let _ = writeln!(said, "It applies to none of {}{before}.", counted(trial.machines, "machine"));
    } else {
        let words = ("Cannot tell", "It can tell of every machine");
        untold(&mut said, words, &trial.effect.untold_before, &trial.effect.untold_after);
    }
    examples(&mut said, trial);
    if let Some(over) = &trial.over {
        over_mornings(&mut said, over, trial.is_of_yard);
    }
    let _ = writeln!(said, "\n{}", what_next(trial));
    said
}

/// Of what the rule was asked, and what it was held against.
fn held_against(trial: &RuleTrial) -> String {
    let beside = match (trial.beside, trial.is_own_file) {
        (Beside::InForce, false) => "beside the rule of that name in force",
        (Beside::InForce, true) => "beside the rule as it was in force at the last round",
        (Beside::SameText, _) => "beside the rule in force, which is the very same",
        (Beside::Nothing, _) => "beside nothing, since no rule of that name is in force: all is new",
    };
    let machines = counted(trial.machines, "machine");
    format!("Tried on {machines} as of {}, {beside}.", weekday(trial.today))
}

fn what_next(trial: &RuleTrial) -> String {
    if trial.beside == Beside::SameText {
        "This is what is in force.".to_owned()
    } else if !trial.differing.is_empty() {
        "Nothing of this is in force, nor can it be: it says something else than its examples expect. What to write is \
         said below."
            .to_owned()
    } else if trial.is_own_file {
        "The file lies in the folder of rules: the next round takes it into force.".to_owned()
    } else {
        let rule = &trial.rule;
        format!(
            "Nothing of this is in force, and nobody was told. To take it into force, save it as rules/{rule}.rhai in \
             the yard folder."
        )
    }
}

fn would(turn: Turn) -> &'static str {
    match turn {
        Turn::Added => "Would add",
        Turn::Changed => "Would change",
        Turn::Cleared => "Would clear",
        Turn::CannotTell => "Could not be told any more, and so would stay open",
    }
}

fn would_have(turn: Turn) -> &'static str {
    match turn {
        Turn::Added => "Would have added",
        Turn::Changed => "Would have changed",
        Turn::Cleared => "Would have cleared",
        Turn::CannotTell => "Could not have been told any more, and so would have stayed open",
    }
}

/// A heading with its lines, as many as are shown; nothing where there is none.
fn listed(said: &mut String, heading: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    let _ = writeln!(said, "\n{heading}: {}", lines.len());
    for line in lines.iter().take(SHOWN) {
        let _ = writeln!(said, "* {line}");
    }
    if lines.len() > SHOWN {
        let _ = writeln!(said, "* and {} more", lines.len() - SHOWN);
    }
}

/// One machine's line; where it changes, a second one says into what.
fn line(difference: &Difference, when: &str) -> String {
    let name = one_line(&difference.machine_name, LONGEST);
    let was = difference.before.as_ref().map(raised).unwrap_or_default();
    let now = match (&difference.before, &difference.after) {
        (Some(was), Some(now)) if was.text == now.text => format!("{}, in the same words", acts(now)),
        (_, now) => now.as_ref().map(raised).unwrap_or_default(),
    };
    match difference.turn {
        Turn::Added => format!("{name}: {when}{now}"),
        Turn::Changed => format!("{name}: {when}{was}\n  becomes {now}"),
        Turn::Cleared => format!("{name}: {when}{was}"),
        Turn::CannotTell => {
            let missing = one_line(&difference.missing.join(", "), LONGEST);
            format!("{name}: {when}{was}\n  for want of {missing}")
        }
    }
}

/// Who acts, by when, and in which words: `Ring today, by Fri 6 Mar 2026: the first service is due.`
fn raised(raised: &Raised) -> String {
    format!("{}: {}", acts(raised), one_line(&raised.text, LONGEST))
}

/// Who acts, and by when.
fn acts(raised: &Raised) -> String {
    let mut said = raised.section.heading().to_owned();
    if raised.at_once {
        said.push_str(", first of all");
    }
    if let Some(due) = raised.due {
        let _ = write!(said, ", by {}", weekday(due));
    }
    if let Some((earliest, latest)) = raised.due_range {
        let _ = write!(said, ", likely {} to {}", weekday(earliest), weekday(latest));
    }
    said
}

fn weekday(day: Date) -> String {
    day.strftime("%a %-d %b %Y").to_string()
}

/// Of how many machines it cannot tell, and for want of what; `words` are those for some, and for none.
fn untold(said: &mut String, words: (&str, &str), before: &Untold, after: &Untold) {
    let machines = |untold: &Untold| {
        let machines: BTreeSet<_> = untold.values().flatten().collect();
        machines.len()
    };
    let wants = |untold: &Untold| {
        let wants = untold.iter().map(|(facts, machines)| {
            format!("{} without {}", machines.len(), one_line(&facts.join(", "), LONGEST))
        });
        let wants: Vec<String> = wants.collect();
        let more = wants.len().saturating_sub(SHOWN);
        let shown = wants[..wants.len() - more].join("; ");
        if more > 0 { format!("{shown}; and {more} more facts") } else { shown }
    };
    let (was, now) = (machines(before), machines(after));
    let (some, none) = words;
    if before == after {
        if now == 0 {
            let _ = writeln!(said, "{none}, before and after.");
        } else {
            let _ = writeln!(said, "{some} of {}, before and after.", counted(now, "machine"));
            let _ = writeln!(said, "* {}", wants(after));
        }
        return;
    }
    let _ = match (now, was) {
        (0, was) => writeln!(said, "{none}; before, not of {was}."),
        (now, 0) => writeln!(said, "{some} of {}; before, of none.", counted(now, "machine")),
        (now, was) => writeln!(said, "{some} of {}; before, of {was}.", counted(now, "machine")),
    };
    for (when, untold) in [("before", before), ("after", after)] {
        if !untold.is_empty() {
            let _ = writeln!(said, "* {when}: {}", wants(untold));
        }
    }
}

/// Which examples differ.
fn examples(said: &mut String, trial: &RuleTrial) {
    let agrees = trial.differing.is_empty();
    let as_expected = if agrees { "" } else { "; it does not say what all of them expect" };
    let _ = match (trial.beside, trial.example_changes.is_empty()) {
        (Beside::Nothing, _) if agrees => {
            writeln!(said, "Examples: {}, and it says what they expect.", trial.examples)
        }
        (Beside::Nothing, _) => writeln!(said, "Examples: {}{as_expected}.", trial.examples),
        (_, true) => writeln!(said, "Examples: {}, the same as before{as_expected}.", trial.examples),
        (_, false) => writeln!(said, "Examples: {}, of which differ:", trial.examples),
    };
    for change in trial.example_changes.iter().take(SHOWN) {
        let _ = writeln!(said, "* {change}");
    }
    let more = trial.example_changes.len().saturating_sub(SHOWN);
    if more > 0 {
        let _ = writeln!(said, "* and {more} more");
    }
}

/// The same over earlier mornings: each thing once, on its first.
fn over_mornings(said: &mut String, over: &OverTried, is_of_yard: bool) {
    let _ = write!(
        said,
        "\nOver the {} before: {} tried, {} without a kept letter left out",
        counted(usize::try_from(over.days).unwrap_or_default(), "day"),
        counted(over.mornings, "morning"),
        counted(over.left_out, "day"),
    );
    if let Some((day, mornings)) = over.no_time_for {
        let _ =
            write!(said, "; there was no time for {} up to {}", counted(mornings, "morning"), weekday(day));
    }
    said.push_str(
        ".\nEach morning is judged as of its day: the machines, handbook and settings as they stand today, with the\n\
         readings, jobs, checks, rides and fills that a round had seen by then. It cannot be known what the rows about\n\
         the machines themselves said that day (handover, sold, MOT), nor which machines they listed; a slip that was\n\
         put right since is right all along.\n",
    );
    if is_of_yard {
        said.push_str(
            "Nor is it known which machines were gone from the sheets that day, and when each sheet was saved: what a rule\n\
             says of those is tried on today alone.\n",
        );
    }
    let mut is_same = true;
    for turn in Turn::ALL {
        let firsts = over.effect.of(turn);
        is_same &= firsts.is_empty();
        let lines: Vec<String> = firsts
            .into_iter()
            .map(|first| {
                let day = weekday(first.day);
                let when = match first.mornings {
                    1 => format!("on {day} alone: "),
                    more => format!("first on {day}, on {} in all: ", counted(more, "morning")),
                };
                line(&first.difference, &when)
            })
            .collect();
        listed(said, would_have(turn), &lines);
    }
    if is_same && over.mornings > 0 {
        let of_what = if is_of_yard { "Of what could be tried, it" } else { "It" };
        let _ = writeln!(said, "\n{of_what} would have raised the same as before on each of them.");
    }
    if over.mornings > 0 {
        said.push('\n');
        let (before, after) = (&over.effect.untold_before, &over.effect.untold_after);
        let words =
            ("On one morning or more it could not tell", "On each morning it could tell of every machine");
        untold(said, words, before, after);
    }
}
