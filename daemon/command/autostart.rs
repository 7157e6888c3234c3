//! `tickover autostart`: starts it with the PC, says whether it does, or no longer does so.

use super::arguments::AutostartVerb;
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, morning, say};
use crate::round::YardFolder;
use crate::unattended::autostart;

/// Does what was asked, and prints what came of it.
pub(super) fn run(verb: &AutostartVerb) -> u8 {
    let outcome = match verb {
        AutostartVerb::Install { place } => {
            autostart::install(&YardFolder::at(&place.yard), &morning::program())
        }
        AutostartVerb::Remove => autostart::remove(),
        AutostartVerb::Status => autostart::status(),
    };
    let report = match outcome {
        Ok(report) => report,
        Err(problem) => {
            say::problems(&[problem]);
            return COULD_NOT_RUN;
        }
    };
    for line in &report.said {
        say::out(line);
    }
    say::problems(&report.problems);
    if report.needs_a_person() { NEEDS_A_PERSON } else { DONE }
}
