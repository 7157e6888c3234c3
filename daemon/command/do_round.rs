//! `tickover do-round`: one round for the long run, answered in one line of JSON. Of use to nobody else.

use std::collections::BTreeSet;
use std::io::Read as _;
use std::thread;

use jiff::civil::Date;

use super::arguments::Place;
use super::{COULD_NOT_RUN, log, morning, say};
use crate::round::{self, Answer, Run, Tells, YardFolder};
use crate::today;

/// Makes the round.
pub(super) fn run(
    place: &Place,
    tells: Tells,
    today: Option<Date>,
    _trouble: Vec<String>,
    until_input_ends: bool,
) -> u8 {
    log::only_places_of_panics();
    if until_input_ends {
        thread::spawn(|| {
            let _ = std::io::stdin().lock().read_to_end(&mut Vec::new());
            end();
        });
    }
    let told_now = tells == Tells::Morning;
    let run = Run {
        folder: YardFolder::at(&place.yard),
        now: today::now(),
        today,
        keeps: told_now,
        reader: morning::reader(),
        patience: round::PATIENCE_BY_HAND,
    };
    let outcome = match round::morning(&run) {
        Ok(outcome) => outcome,
        Err(problems) => {
            // The long run logs this, and the lines of a file may be personal.
            for problem in problems {
                tracing::error!("{}: {}", problem.place.file, problem.what);
            }
            return COULD_NOT_RUN;
        }
    };
    let today = outcome.letter.day;
    let report = serde_json::to_value(&outcome.report).unwrap_or_default();
    let count = |name: &str| report[name].as_array().map_or(0, Vec::len);
    let answer = Answer {
        today,
        told: told_now.then_some(today).into_iter().collect::<BTreeSet<_>>(),
        told_now,
        next_mail: None,
        unsettled: outcome.unsettled > 0,
        sheets: count("sheets"),
        machines: 0,
        findings: count("findings"),
        complaints: count("complaints"),
        trouble: outcome.trouble.len(),
        sent: 0,
    };
    say::out(&serde_json::to_string(&answer).unwrap_or_default());
    morning::exit_code(&outcome)
}

#[expect(clippy::exit, reason = "the round may be ended at any moment, and waits for nobody")]
fn end() -> ! {
    std::process::exit(i32::from(super::NEEDS_A_PERSON))
}
