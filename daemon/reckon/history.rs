//! When an item of the service plan was last done, as the jobs tell it.

use std::borrow::Cow;

use jiff::civil::Date;

use super::changed::said_changed;
use super::customer::{customer_since, first_visit, new_at_handover, on_the_road_by};
use super::in_full::in_full;
use super::job_text::{Said, said, says_done};
use super::service_words::{named_by_interval, trade_wordings};
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
    let done: Vec<&Job> = jobs_naming(subject, item, Said::Done).chain(none_but_it(subject, item)).collect();
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

/// The jobs until today that name an item, and of which nobody can tell whether they did it.
pub(super) fn jobs_that_may_have_done<'s, 'a>(
    subject: &'s Subject<'a>,
    item: &'s ServiceItem,
) -> impl Iterator<Item = &'a Job> + use<'s, 'a> {
    jobs_naming(subject, item, Said::Unclear)
}

/// The jobs until today that say this much of an item.
fn jobs_naming<'s, 'a>(
    subject: &'s Subject<'a>,
    item: &'s ServiceItem,
    wanted: Said,
) -> impl Iterator<Item = &'a Job> + use<'s, 'a> {
    let wordings = wordings(subject, &item.item.value);
    let of = if is_changed_when_old(item) { said_changed } else { said };
    jobs_until_today(subject).filter(move |job| {
        let text = in_full(&job.done.value);
        let in_words = wordings.iter().map(|wording| of(&text, wording)).max();
        let said =
            if is_named_by_interval(subject, &text, &item.item.value) { Some(Said::Done) } else { in_words };
        said == Some(wanted)
    })
}

/// Whether an item ages, ridden or not: a fluid by its name, or one without a distance that is no service.
pub(super) fn ages(item: &ServiceItem) -> bool {
    let words = words_of(&item.item.value);
    let named = |word: &str| words.iter().any(|known| known == word);
    let by_months_only = item.first_at.is_none() && item.then_every.is_none();
    named("fluid") || (by_months_only && !named("service"))
}

/// Whether an item is something that is changed when it is old, so that to look at it does not do it.
fn is_changed_when_old(item: &ServiceItem) -> bool {
    const CHANGED: [&str; 6] = ["antifreeze", "coolant", "fluid", "fluids", "hose", "hoses"];
    const LOOKED_AT: [&str; 9] =
        ["adjust", "adjustment", "check", "checks", "clean", "inspect", "inspection", "mot", "test"];
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
    let later = subject.machine.page.services.iter().map(|item| item.item.value.as_str());
    let later =
        later.filter(|name| !is_first_service(name) && words_of(name).iter().any(|word| word == "service"));
    let done = later.flat_map(|name| jobs_that_did(subject, name));
    let done = done.filter(|job| job.day.as_ref().is_none_or(|day| day.value > since));
    done.min_by_key(|job| job.day.as_ref().map(|day| day.value))
}

/// The jobs until today whose words say that they did an item: its own name, the shop's wordings for it or the trade's, or
/// the distance that it comes after.
pub(super) fn jobs_that_did<'s, 'a>(
    subject: &'s Subject<'a>,
    item: &'s str,
) -> impl Iterator<Item = &'a Job> + use<'s, 'a> {
    let wordings = wordings(subject, item);
    jobs_until_today(subject).filter(move |job| {
        let text = in_full(&job.done.value);
        wordings.iter().any(|wording| says_done(&text, wording)) || is_named_by_interval(subject, &text, item)
    })
}

/// Whether a job's text, in full, names an item by the distance or the months that it comes after.
fn is_named_by_interval(subject: &Subject<'_>, text: &str, item: &str) -> bool {
    let Subject { machine, .. } = subject;
    named_by_interval(text, machine.clock_unit, &machine.page.services)
        .is_some_and(|named| same_words(&named.item.value, item))
}

fn jobs_until_today<'a>(subject: &Subject<'a>) -> impl Iterator<Item = &'a Job> + use<'a> {
    let today = subject.today;
    let jobs = subject.machine.jobs.iter();
    jobs.filter(move |job| job.day.as_ref().is_none_or(|day| day.value <= today))
}

/// The words by which an item is known in a job's text, written out in full.
fn wordings<'s>(subject: &Subject<'s>, item: &'s str) -> Vec<Cow<'s, str>> {
    let agreed = subject.practice.service_words.iter().filter(|(name, _)| same_words(name, item));
    let agreed = agreed.flat_map(|(_, words)| words.iter().map(String::as_str));
    let plan = subject.machine.page.services.iter().filter(|planned| same_words(&planned.item.value, item));
    let of_the_trade = plan.flat_map(|planned| trade_wordings(planned).iter().copied());
    std::iter::once(item).chain(agreed).chain(of_the_trade).map(in_full).collect()
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
