//! Whether the running-in oil came out: the oil with which a machine is new, and which takes up what the engine sheds.

use super::history::{LastDone, is_first_service, last_done, overtaken_by};
use super::job_text::has_words;
use super::oil::{is_top_up, says_oil_changed};
use super::service::perhaps_done;
use super::subject::Subject;
use super::{Fact, Missing, Reckoned};
use crate::origin::Evidence;
use crate::units::shown_day;
use crate::yard::Job;

/// What a job's text says when the oil was left in.
const LEFT_IN: [&str; 6] =
    ["no oil change", "oil left in", "oil not changed", "oil not done", "oil still in", "without oil change"];

/// Whether the running-in oil came out.
///
/// An oil that went in or a change that is written down says yes. A first service of which nobody wrote the oil down
/// says nothing, and so does a later one where no first is known: at most it came out there. Where no job says anything, it is still in, unless others looked after the
/// machine when it was due.
pub(super) fn running_in_oil_out(subject: &Subject<'_>) -> Fact<bool> {
    let come = || subject.machine.jobs.iter().filter(|job| subject.has_come(job.day.as_ref()));
    let changed = come().find(|job| is_change(job));
    if let Some(job) = changed {
        return Ok(Reckoned { value: true, shown_by: vec![job_cell(job)] });
    }
    let left_in = come().rfind(|job| LEFT_IN.iter().any(|phrase| has_words(&job.done.value, phrase)));
    if let Some(job) = left_in {
        return Ok(Reckoned { value: false, shown_by: vec![job_cell(job)] });
    }
    if subject.works().first_services().next().is_some() {
        return Err(Missing::fact("oil that went in at the first service"));
    }
    let item = subject.machine.page.services.iter().find(|item| is_first_service(&item.item.value));
    if item.is_some_and(|item| matches!(last_done(subject, item), LastDone::BeforeOurTime)) {
        return Err(Missing::fact("record of the first service before handover"));
    }
    if let Some(perhaps) = item.and_then(|item| perhaps_done(subject, item)) {
        return Err(perhaps.missing());
    }
    if let Some(job) = item.and_then(|item| overtaken_by(subject, item)) {
        return Err(Missing(vec![format!("oil that went in at `{}`", job.done.value)]));
    }
    Ok(Reckoned { value: false, shown_by: Vec::new() })
}

fn is_change(job: &Job) -> bool {
    let filled = job.oil.as_ref().is_some_and(|oil| !oil.value.trim().is_empty());
    (filled || says_oil_changed(job)) && !is_top_up(job)
}

fn job_cell(job: &Job) -> Evidence {
    let oil = job.oil.as_ref().map(|oil| format!(", {}", oil.value)).unwrap_or_default();
    let day = job.day.as_ref().map(|day| format!(" on {}", shown_day(day.value))).unwrap_or_default();
    Evidence::of("job", format!("{}{oil}{day}", job.done.value), &job.done.origin)
}
