//! When an item of the service plan was last done, as the jobs tell it.

use jiff::civil::Date;

use super::customer::{customer_since, first_visit, new_at_handover, on_the_road_by};
use super::job_text::Said;
use super::subject::Subject;
use super::unnamed::none_but_it;
use crate::origin::Entry;
use crate::settings::{same_words, words_of};
use crate::units::{Distance, Months, months_after};
use crate::yard::{Job, ServiceItem};

/// The item that ends running-in, as the handbook names it.
pub(super) const FIRST_SERVICE: &str = "first service";

/// Whether an item's name, however it is written, is that of the service which ends running-in.
pub(super) fn is_first_service(item: &str) -> bool {
    same_words(item, FIRST_SERVICE)
}

/// A machine on the road for so long before its handover had other keepers, whose records the shop has not.
pub(super) const HAD_KEEPERS_AFTER: Months = Months(12);

/// When an item was last done.
#[derive(Clone, Copy)]
pub(super) enum LastDone<'a> {
    /// By this job.
    By(&'a Job),
    /// No job did it, and none would be known: it fell due before the shop handed the machine over.
    BeforeOurTime,
    /// No job did it.
    Never,
}

/// When an item was last done. Of several jobs the latest counts; one without a day only where no other did it.
pub(super) fn last_done<'a>(subject: &Subject<'a>, item: &ServiceItem) -> LastDone<'a> {
    let done: Vec<&Job> =
        subject.works().that_say(item, Said::Done).chain(none_but_it(subject, item)).collect();
    let dated = done.iter().filter_map(|job| job.day.as_ref().map(|day| (day.value, *job)));
    let latest = dated.fold(None, |latest: Option<(Date, &Job)>, (day, job)| match latest {
        Some((other, _)) if other > day => latest,
        _ => Some((day, job)),
    });
    match latest.map(|(_, job)| job).or(done.first().copied()) {
        Some(job) => LastDone::By(job),
        None if fell_due_before_handover(subject, item) => LastDone::BeforeOurTime,
        None => LastDone::Never,
    }
}

/// Whether an item ages, ridden or not: a fluid by its name, or one without a distance that is no service.
pub(super) fn ages(item: &ServiceItem) -> bool {
    let words = words_of(&item.item.value);
    let named = |word: &str| words.iter().any(|known| known == word);
    let by_months_only = item.first_at.is_none() && item.then_every.is_none();
    named("fluid") || (by_months_only && !named("service"))
}

/// Whether the plan gives an item a next time.
pub(super) fn comes_again(item: &ServiceItem) -> bool {
    item.then_every.is_some() || item.then_every_months.is_some()
}

/// Whether an item is a service, and not one of its works.
pub(super) fn is_service(item: &ServiceItem) -> bool {
    words_of(&item.item.value).iter().any(|word| word == "service")
}

/// Whether an item is something that is changed when it is old, so that to look at it does not do it.
pub(super) fn is_changed_when_old(item: &ServiceItem) -> bool {
    const CHANGED: [&str; 6] = ["antifreeze", "coolant", "fluid", "fluids", "hose", "hoses"];
    const LOOKED_AT: [&str; 15] = [
        "adjust",
        "adjustment",
        "check",
        "checks",
        "clean",
        "clearance",
        "clearances",
        "inspect",
        "inspection",
        "mot",
        "tappet",
        "tappets",
        "test",
        "valve",
        "valves",
    ];
    let words = words_of(&item.item.value);
    let has = |list: &[&str]| words.iter().any(|word| list.contains(&word.as_str()));
    (ages(item) || has(&CHANGED)) && !has(&LOOKED_AT)
}

/// The first job since the handover that did a later service of the plan, where an item is the first service. What ends
/// running-in was done there at the latest. Whether the first service was done in its time is another question: records
/// of jobs mostly begin later than the shop's sales do, and a sheet that has but the last service has lost the first.
pub(super) fn overtaken_by<'a>(subject: &Subject<'a>, item: &ServiceItem) -> Option<&'a Job> {
    if !is_first_service(&item.item.value) {
        return None;
    }
    let since = customer_since(subject).ok()?.value;
    let later = subject.machine.page.services.iter();
    let later = later.filter(|later| !is_first_service(&later.item.value) && is_service(later));
    let done = later.flat_map(|later| subject.works().that_say(later, Said::Done));
    let done = done.filter(|job| job.day.as_ref().is_none_or(|day| day.value > since));
    done.min_by_key(|job| job.day.as_ref().map(|day| day.value))
}

/// The figure on the clock at which an item is due for the first time.
pub(super) fn first_figure(item: &ServiceItem) -> Option<&Entry<Distance>> {
    item.first_at.as_ref().or(item.then_every.as_ref())
}

/// The months after which an item is due for the first time.
pub(super) fn first_months(item: &ServiceItem) -> Option<&Entry<Months>> {
    item.first_after.as_ref().or(item.then_every_months.as_ref())
}

/// Whether an item first fell due while the machine was in other hands: its clock was past the figure by the
/// handover (or, where none is known, by its arrival or first service here), or, where nobody wrote it down then, the machine had been
/// on the road for a year and was not new.
fn fell_due_before_handover(subject: &Subject<'_>, item: &ServiceItem) -> bool {
    let arrived = subject.machine.row.arrived.as_ref().filter(|arrived| arrived.value <= subject.today);
    let came = if subject.machine.row.handover.is_some() {
        subject.handed_over().or(arrived)
    } else {
        arrived.or_else(|| first_visit(subject))
    };
    let Some(handover) = came.map(|day| day.value) else { return false };
    match (first_figure(item), subject.series.on_or_before(handover)) {
        (Some(figure), Some(reading)) => reading.clock.value >= figure.value,
        _ => {
            let new = new_at_handover(subject).is_ok_and(|new| new.value);
            on_the_road_by(subject)
                .filter(|_| !new)
                .is_some_and(|by| months_after(by, HAD_KEEPERS_AFTER).is_some_and(|year| year <= handover))
        }
    }
}
