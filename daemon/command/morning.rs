//! `tickover morning`: read, judge, keep, compose and deliver now.

use std::path::PathBuf;

use jiff::civil::Date;

use super::arguments::WhichYard;
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, say};
use crate::round::{self, Outcome, Run, Tells, YardFolder};
use crate::sheets::Reader;
use crate::today;

/// Runs the morning of a yard folder.
pub(super) fn run(place: &WhichYard, today: Option<Date>, json: bool, dry_run: bool) -> u8 {
    let outcome = match round::morning(&Run {
        folder: YardFolder::at(&place.yard),
        now: today::now(),
        today,
        keeps: !dry_run,
        tells: Tells::MorningAgain,
        trouble: Vec::new(),
        reader: reader(),
        patience: round::PATIENCE,
    }) {
        Ok(outcome) => outcome,
        Err(problems) => {
            say::problems(&problems);
            return COULD_NOT_RUN;
        }
    };
    if json {
        match serde_json::to_string_pretty(&outcome.report) {
            Ok(text) => say::out(&text),
            Err(cause) => {
                say::talk(&format!("error: the run could not be printed: {cause}"));
                return COULD_NOT_RUN;
            }
        }
    } else if let Some(letter) = &outcome.letter {
        say::out(if dry_run { &letter.text } else { &letter.subject });
        if let Some(time) = &outcome.had_since {
            say::out(&told_before(time));
        }
        for path in &outcome.delivered {
            say::out(&path.display().to_string());
        }
    }
    say::problems(&outcome.trouble);
    exit_code(&outcome)
}

/// What is said where the day's letter has gone out already, and there is nothing more to tell.
fn told_before(time: &str) -> String {
    let at = if time.is_empty() { "before".to_owned() } else { format!("at {time}") };
    format!("Already told {at}; nothing has been added since, so no letter goes out again.")
}

/// Whether something needs a person.
pub(super) fn exit_code(outcome: &Outcome) -> u8 {
    if outcome.needs_a_person() { NEEDS_A_PERSON } else { DONE }
}

/// Workbooks are read by this same program, in a process of its own, and never in this one.
pub(super) fn reader() -> Reader {
    Reader::InChild(program())
}

/// This same program.
pub(super) fn program() -> PathBuf {
    std::env::current_exe().unwrap_or_else(|_| "tickover".into())
}
