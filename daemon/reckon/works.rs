//! What each job of a machine says of each item of its plan: read once, since many sums ask for it.

use std::borrow::Cow;

use jiff::civil::Date;

use super::changed::said_changed;
use super::history::{FIRST_SERVICE, is_changed_when_old, is_service};
use super::job_text::{Said, said, says_done};
use super::service_words::{self, is_bare_service, named_by_interval, trade_wordings};
use super::short_words::in_full;
use crate::settings::{Practice, same_words, words_of};
use crate::yard::{Job, Machine, ServiceItem};

/// How a job's text is read for a wording.
type Reads = fn(&str, &str) -> Said;

/// The jobs of a machine until a day, as they speak of its plan.
pub(super) struct Works<'a> {
    plan: &'a [ServiceItem],
    visits: Vec<Visit<'a>>,
}

/// One job.
pub(super) struct Visit<'a> {
    pub(super) job: &'a Job,
    /// What it says of each item of the plan, in the plan's order.
    says: Vec<Said>,
    does_first_service: bool,
    /// Whether it speaks of a service, by the word itself or the shop's own for one, such as `annual`.
    pub(super) is_of_a_service: bool,
    /// Whether it or another of its day names a service of the plan.
    pub(super) names_a_service: bool,
    /// Whether it says no more than that it was a service: what a row calls its last service is the first one where both
    /// have one day.
    pub(super) is_unnamed: bool,
}

impl<'a> Works<'a> {
    /// Reads the jobs until a day; one without a day is taken for one of the past.
    pub(super) fn until(today: Date, machine: &'a Machine, practice: &'a Practice) -> Works<'a> {
        let plan = &machine.page.services[..];
        let wordings = |name: &'a str| wordings(practice, plan, name);
        // What a plan says of its items is looked up once, since there are many jobs.
        let reads = |item| -> Reads { if is_changed_when_old(item) { said_changed } else { said } };
        let of_items: Vec<(Reads, Vec<Cow<'_, str>>)> =
            plan.iter().map(|item| (reads(item), wordings(&item.item.value))).collect();
        let of_first = wordings(FIRST_SERVICE);
        let of_services: Vec<Cow<'_, str>> = practice
            .service_words
            .iter()
            .filter(|(item, _)| speaks_of_a_service(item))
            .flat_map(|(_, wordings)| wordings.iter().map(|wording| in_full(wording)))
            .collect();
        let has_come = |job: &&Job| job.day.as_ref().is_none_or(|day| day.value <= today);
        let visit = |job: &'a Job| {
            let text = in_full(&job.done.value);
            // Of a job in doubt nobody can tell what of it was done.
            let at_most = if job.doubt.is_some() { Said::Unclear } else { Said::Done };
            let by_interval = named_by_interval(&text, machine.clock_unit, plan);
            let says = |name: &str, of: Reads, wordings: &[Cow<'_, str>]| {
                let is_named = by_interval.is_some_and(|named| same_words(&named.item.value, name));
                let said = wordings.iter().map(|wording| of(&text, wording)).max().unwrap_or(Said::Not);
                if is_named { at_most } else { said.min(at_most) }
            };
            let items = plan.iter().zip(&of_items);
            Visit {
                job,
                says: items.map(|(item, (of, wordings))| says(&item.item.value, *of, wordings)).collect(),
                does_first_service: says(FIRST_SERVICE, said, &of_first) == Said::Done,
                is_of_a_service: speaks_of_a_service(&text)
                    || (at_most == Said::Done && of_services.iter().any(|wording| says_done(&text, wording))),
                names_a_service: false,
                is_unnamed: is_bare_service(&text),
            }
        };
        let mut works = Works { plan, visits: machine.jobs.iter().filter(has_come).map(visit).collect() };
        works.look_for_names();
        works
    }

    /// Settles of which jobs a service is named.
    fn look_for_names(&mut self) {
        let services = |visit: &Visit<'_>| {
            let mut said = self.plan.iter().zip(&visit.says);
            said.any(|(item, said)| *said == Said::Done && is_service(item))
        };
        let named: Vec<bool> = self.visits.iter().map(services).collect();
        let days: Vec<Date> = self
            .visits
            .iter()
            .zip(&named)
            .filter(|(_, named)| **named)
            .filter_map(|(visit, _)| day(visit.job))
            .collect();
        for (visit, named) in self.visits.iter_mut().zip(named) {
            visit.names_a_service = named || day(visit.job).is_some_and(|day| days.contains(&day));
            visit.is_unnamed &= !visit.names_a_service;
        }
    }

    pub(super) fn visits(&self) -> impl Iterator<Item = &Visit<'a>> {
        self.visits.iter()
    }

    /// The jobs that say this much of an item of the plan.
    pub(super) fn that_say(&self, item: &ServiceItem, wanted: Said) -> impl Iterator<Item = &'a Job> {
        let place = self.plan.iter().position(|of_plan| std::ptr::eq(of_plan, item));
        let says = move |visit: &&Visit<'_>| place.is_some_and(|place| visit.says[place] == wanted);
        self.visits.iter().filter(says).map(|visit| visit.job)
    }

    /// The jobs that did the first service, whether the plan has it or not.
    pub(super) fn first_services(&self) -> impl Iterator<Item = &'a Job> {
        self.visits.iter().filter(|visit| visit.does_first_service).map(|visit| visit.job)
    }
}

/// The day of a job, where it has one.
pub(super) fn day(job: &Job) -> Option<Date> {
    job.day.as_ref().map(|day| day.value)
}

fn speaks_of_a_service(text: &str) -> bool {
    words_of(text).iter().any(|word| service_words::is_service(word))
}

/// The words by which an item is known in a job's text, written out in full.
fn wordings<'a>(practice: &'a Practice, plan: &[ServiceItem], name: &'a str) -> Vec<Cow<'a, str>> {
    let agreed = practice.service_words.iter().filter(|(known, _)| same_words(known, name));
    let agreed = agreed.flat_map(|(_, words)| words.iter().map(String::as_str));
    let plan = plan.iter().filter(|planned| same_words(&planned.item.value, name));
    let of_the_trade = plan.flat_map(|planned| trade_wordings(planned).iter().copied());
    std::iter::once(name).chain(agreed).chain(of_the_trade).map(in_full).collect()
}
