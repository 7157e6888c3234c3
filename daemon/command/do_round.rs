//! `tickover do-round`: one round for the long run, answered in one line of JSON. Of use to nobody else.

use std::io::Read as _;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use jiff::civil::Date;
use serde::Serialize;

use super::arguments::WhichYard;
use super::{COULD_NOT_RUN, log, morning, say};
use crate::round::{self, NoRound, Run, Tells, YardFolder};
use crate::today;

/// How long a round that is told to end has to end by itself: a little less than the long run waits. To be ended in
/// the middle costs it nothing.
const LAST_STEPS: Duration = Duration::from_millis(600);

/// Makes the round.
pub(super) fn run(
    place: &WhichYard,
    tells: Tells,
    today: Option<Date>,
    trouble: Vec<String>,
    until_input_ends: bool,
) -> u8 {
    log::only_places_of_panics();
    let stop = Arc::new(AtomicBool::new(false));
    if until_input_ends {
        end_with_input(Arc::clone(&stop));
    }
    let run = Run {
        folder: YardFolder::at(&place.yard),
        now: today::now(),
        today,
        keeps: true,
        tells,
        trouble,
        reader: morning::reader(),
        // What has not settled by then is looked at again soon.
        patience: round::PATIENCE,
    };
    let outcome = match round::make(&run, &stop, &mut |_| {}) {
        Ok(outcome) => outcome,
        Err(mut problems) => {
            // The long run logs this. The lines of a file may be personal, and so may the folder's whole path.
            let root = run.folder.root();
            for problem in problems.iter_mut().filter(|problem| Path::new(&problem.place.file) == root) {
                problem.place.file = "the yard folder".to_owned();
            }
            for problem in &problems {
                tracing::error!("{}: {}", problem.place.file, problem.what);
            }
            answer(&NoRound::because_of(&problems));
            return COULD_NOT_RUN;
        }
    };
    if answer(&outcome.answer) { morning::exit_code(&outcome) } else { COULD_NOT_RUN }
}

/// Answers in one line of JSON, and says whether that could be done.
fn answer(answer: &impl Serialize) -> bool {
    match serde_json::to_string(answer) {
        Ok(line) => say::out(&line),
        Err(cause) => {
            say::talk(&format!("error: the answer could not be written: {cause}"));
            return false;
        }
    }
    true
}

/// The long run closes the input when the round is to end, and so does its own end.
fn end_with_input(stop: Arc<AtomicBool>) {
    thread::spawn(move || {
        // Nothing is ever written there; whatever ends it is the end.
        let _ = std::io::stdin().lock().read_to_end(&mut Vec::new());
        stop.store(true, Ordering::Relaxed);
        thread::sleep(LAST_STEPS);
        end();
    });
}

#[expect(clippy::exit, reason = "the round may be ended at any moment, and waits for nobody")]
fn end() -> ! {
    std::process::exit(i32::from(super::NEEDS_A_PERSON))
}
