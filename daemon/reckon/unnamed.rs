//! Jobs that may have done an item of the plan, and of which nobody wrote so: services of which nobody wrote which they
//! were, and jobs that name an item and leave open whether they did it.

use jiff::civil::Date;

use super::Missing;
use super::history::{LastDone, ages, comes_again, is_service};
use super::job_text::Said;
use super::subject::Subject;
use super::works::day;
use crate::settings::same_words;
use crate::units::{Months, months_after};
use crate::yard::{Job, ServiceItem};

/// A job that may have done an item.
#[derive(Clone, Copy)]
pub(super) struct Perhaps<'a> {
    pub(super) job: &'a Job,
    /// Whether it names the item and leaves open whether it did it; else it says no more than that it was a service.
    names_it: bool,
}

impl Perhaps<'_> {
    /// What would tell whether it did it.
    pub(super) fn missing(self) -> Missing {
        if self.names_it { unclear_at(self.job) } else { Missing::fact("what was done at the last service") }
    }

    /// The job, as a sentence has it.
    pub(super) fn as_said(self) -> String {
        if self.names_it {
            format!("{}, which leaves open whether it was done", named(self.job))
        } else {
            "the last service, of which the sheets do not say which it was".to_owned()
        }
    }

    /// What the evidence calls it.
    pub(super) fn as_evidence(self) -> &'static str {
        if self.names_it { "perhaps done" } else { "last service" }
    }
}

/// What is missing where a job names an item and leaves open whether it did it.
pub(super) fn unclear_at(job: &Job) -> Missing {
    Missing(vec![format!("what was done at {}", named(job))])
}

/// A job by its own words, with what stands in another cell by which it is in doubt.
fn named(job: &Job) -> String {
    let done = &job.done.value;
    let doubt = job.doubt.as_ref();
    doubt.map_or_else(
        || format!("`{done}`"),
        |doubt| format!("`{done}` (see `{}` in {})", doubt.value, doubt.origin),
    )
}

/// The last job since an item's last time, or since handover, that may have done it. One without a day may have been at any
/// time; it counts where the item was never done, and there is no other.
///
/// What ages is not done by a service that does not say so where the shop writes it down by itself: common practice, no
/// source.
pub(super) fn may_have_done<'a>(
    subject: &Subject<'a>,
    item: &ServiceItem,
    last: &LastDone<'_>,
    is_too_early: impl Fn(&Job) -> bool,
) -> Option<Perhaps<'a>> {
    let was_done = matches!(last, LastDone::By(_));
    let since = match last {
        LastDone::By(job) => day(job),
        LastDone::BeforeOurTime | LastDone::Never => subject.handed_over().map(|handover| handover.value),
    };
    let is_since = |job: &Job| match day(job) {
        Some(day) => day <= subject.today && Some(day) > since,
        None => !was_done,
    };
    let unnamed = subject.works().visits().filter(|_| !(was_done && ages(item)));
    let unnamed = unnamed.filter(|visit| visit.is_unnamed && !is_too_early(visit.job));
    // One in doubt is named by its words, beside what it is in doubt by.
    let unnamed = unnamed.map(|visit| Perhaps { job: visit.job, names_it: visit.job.doubt.is_some() });
    let unclear = subject.works().that_say(item, Said::Unclear).map(|job| Perhaps { job, names_it: true });
    unnamed.chain(unclear).filter(|perhaps| is_since(perhaps.job)).max_by_key(|perhaps| day(perhaps.job))
}

/// The services that say no more than that they were one, and were an item all the same: the plan has no other that comes
/// again, and they came when it was due again after another service. Our decision: a shop that writes `Last service` and no
/// more has it done when it is due.
pub(super) fn none_but_it<'a>(subject: &Subject<'a>, item: &ServiceItem) -> Vec<&'a Job> {
    /// So long before it is due it may be done; and two entries of one visit lie nearer to each other.
    const EARLY: Months = Months(3);
    let services = subject.machine.page.services.iter();
    let mut again = services.filter(|item| is_service(item) && comes_again(item));
    let only = again.next().filter(|_| again.next().is_none());
    if only.is_none_or(|only| !same_words(&only.item.value, &item.item.value)) {
        return Vec::new();
    }
    let every = item.then_every_months.as_ref().map_or(Months(0), |every| every.value);
    let apart = Months((every.0 - EARLY.0).max(EARLY.0));
    let mut visits: Vec<(Date, bool, &Job)> = Vec::new();
    for visit in subject.works().visits() {
        let is_unnamed = visit.is_unnamed && visit.job.doubt.is_none();
        if let Some(day) = day(visit.job).filter(|_| visit.names_a_service || is_unnamed) {
            visits.push((day, visit.names_a_service, visit.job));
        }
    }
    visits.sort_by_key(|(day, ..)| *day);
    let (mut since, mut done): (Option<Date>, Vec<&Job>) = (None, Vec::new());
    for (day, is_named, job) in visits {
        let is_due = since.and_then(|since| months_after(since, apart)).is_some_and(|due| due <= day);
        if is_due && !is_named {
            done.push(job);
        }
        if is_due || is_named || since.is_none() {
            since = Some(day);
        }
    }
    done
}
