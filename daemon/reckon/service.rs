//! The service plan: which of its items are due, overdue, and when the others fall due.

use jiff::civil::Date;

use super::clock::{Change, reading_cell};
use super::covered::needed_to_say_never;
use super::customer::first_visit;
use super::history::{
    LastDone, ages, first_figure, first_months, is_first_service, jobs_that_may_have_done, last_done,
    overtaken_by,
};
use super::subject::{Subject, day_cell, handbook_cell};
use super::whichever_first::first_of;
use super::{Fact, Missing, Reckoned, Service};
use crate::origin::{Entry, Evidence};
use crate::settings::words_of;
use crate::units::{Days, Distance, months_after, shown_day};
use crate::yard::{Job, ServiceItem};

/// After so many days without a reading since the handover, the handover's own reading says nothing any more.
/// Our decision.
const HANDOVER_READING_LASTS: Days = Days(7);

/// The items of a machine's plan, in the handbook's order.
pub(super) fn services(subject: &Subject<'_>) -> Result<Vec<Service>, Missing> {
    let items = &subject.machine.page.services;
    if items.is_empty() {
        return Err(Missing::fact("model in the handbook"));
    }
    Ok(items.iter().map(|item| Planned::new(subject, item).service()).collect())
}

/// One item of the plan with its last time.
pub(super) struct Planned<'s, 'a> {
    pub(super) subject: &'s Subject<'a>,
    item: &'s ServiceItem,
    last: LastDone<'a>,
}

impl<'s, 'a> Planned<'s, 'a> {
    fn new(subject: &'s Subject<'a>, item: &'s ServiceItem) -> Planned<'s, 'a> {
        Planned { subject, item, last: last_done(subject, item) }
    }

    fn service(&self) -> Service {
        let finished = matches!(self.last, LastDone::By(_)) && !self.comes_again();
        let last_done = match self.last {
            LastDone::By(job) => job.day.as_ref().map(|day| day.value),
            LastDone::BeforeOurTime | LastDone::Never => None,
        };
        let (due_day, due_distance) =
            if finished { (None, None) } else { (self.due_day(), self.due_distance()) };
        let distance_left =
            due_distance.as_ref().map(|due| due.clone().and_then(|due| self.distance_left(due)));
        let clock_before = due_distance.as_ref().and_then(|_| self.old_clock());
        let (due, overdue, falls_due) = if finished {
            let never = Reckoned { value: false, shown_by: self.shown_by() };
            (Ok(never.clone()), Ok(never), Err(Missing::fact("a next time in the handbook")))
        } else {
            let due = self.reached(due_day.as_ref(), due_distance.as_ref(), Past::Due);
            let overdue = self.reached(due_day.as_ref(), due_distance.as_ref(), Past::Tolerance);
            let falls_due = self.falls_due(due_day.as_ref(), due_distance.as_ref(), &due);
            let doubt = due.as_ref().is_ok_and(|due| due.value).then(|| self.may_be_done()).flatten();
            match doubt {
                Some(missing) => (Err(missing.clone()), Err(missing.clone()), Err(missing)),
                None => (due, overdue, falls_due),
            }
        };
        Service {
            item: self.item.item.value.clone(),
            is_first: is_first_service(&self.item.item.value),
            ages: ages(self.item),
            overtaken_by: self.overtaken_by(),
            last_done,
            done: self.done(),
            finished,
            due_day,
            due_distance,
            distance_left,
            clock_before: clock_before.map(|change| change.last.clock.value),
            due,
            overdue,
            falls_due,
            shown_by: self.shown_by(),
        }
    }

    /// Whether it was ever done. Of what fell due before the shop had the machine, or out of its sight, nobody here has a
    /// record: that there is none does not say that it was not done. Our decision, as the safe one: a rule that asks is
    /// told so.
    fn done(&self) -> Fact<bool> {
        match self.last {
            LastDone::By(_) => Ok(Reckoned { value: true, shown_by: self.shown_by() }),
            LastDone::BeforeOurTime | LastDone::Never => {
                match self.may_be_done().or_else(|| needed_to_say_never(self.subject, self.item)) {
                    Some(missing) => Err(missing),
                    None => Ok(Reckoned { value: false, shown_by: self.shown_by() }),
                }
            }
        }
    }

    /// The later service of the plan that was done although no job did this one, which is the first.
    fn overtaken_by(&self) -> Fact<String> {
        let overtaken =
            overtaken_by(self.subject, self.item).filter(|_| matches!(self.last, LastDone::Never));
        let cell = done_cell("done since", overtaken.ok_or_else(|| Missing::fact("later service"))?);
        Ok(Reckoned { value: cell.value.clone(), shown_by: vec![cell] })
    }

    /// What is missing to tell whether the item was done since its last time, or since handover: what was done at a job
    /// that says no more than that it was a service, or that names the item and leaves open whether it did it. One without
    /// a day may have been at any time; it counts where the item was never done. No first service is done before half its
    /// distance, and what may have been done so long ago that it would be due again makes no odds.
    ///
    /// Source: common practice, no source; the half is our decision.
    fn may_be_done(&self) -> Option<Missing> {
        let day = |job: &Job| job.day.as_ref().map(|day| day.value);
        let since = match self.last {
            LastDone::By(job) => day(job),
            LastDone::BeforeOurTime | LastDone::Never => {
                self.subject.handed_over().map(|handover| handover.value)
            }
        };
        let was_done = matches!(self.last, LastDone::By(_));
        let is_since = |job: &&Job| match day(job) {
            Some(day) => day <= self.subject.today && Some(day) > since,
            None => !was_done,
        };
        let first = first_figure(self.item).filter(|_| is_first_service(&self.item.item.value));
        let is_too_early = |job: &Job| {
            first.zip(self.clock_at(job).ok()).is_some_and(|(first, (clock, _))| clock + clock < first.value)
        };
        let is_due_again = |job: &Job| {
            let months = self.item.then_every_months.as_ref().map(|months| months.value);
            let next = day(job).zip(months).and_then(|(day, months)| months_after(day, months));
            next.is_some_and(|next| next <= self.subject.today)
        };
        let mut jobs = self.subject.machine.jobs.iter().filter(is_since);
        if jobs.any(|job| is_unnamed(job) && !is_too_early(job)) {
            return Some(Missing::fact("what was done at the last service"));
        }
        let unclear = jobs_that_may_have_done(self.subject, self.item).filter(is_since);
        let unclear =
            unclear.filter(|job| !is_due_again(job)).max_by_key(|job| (day(job).is_none(), day(job)));
        unclear.map(unclear_at)
    }

    /// Whether the plan gives the item a next time.
    fn comes_again(&self) -> bool {
        self.item.then_every.is_some() || self.item.then_every_months.is_some()
    }

    /// The handbook's row and the job that did it last.
    fn shown_by(&self) -> Vec<Evidence> {
        let mut shown_by =
            vec![self.plan_cell("service plan", self.item.item.value.clone(), &self.item.item)];
        if let LastDone::By(job) = self.last {
            shown_by.push(done_cell("last done", job));
        }
        shown_by
    }

    fn plan_cell<T>(&self, what: &str, shown: String, entry: &Entry<T>) -> Evidence {
        handbook_cell(what, shown, entry, self.subject.machine.page.services_are_default)
    }

    /// The record that nobody in the shop can have.
    fn record_missing(&self) -> Missing {
        Missing(vec![format!("record of the {} before handover", self.item.item.value)])
    }

    /// The day that nobody wrote down.
    fn last_day_missing(&self) -> Missing {
        Missing(vec![format!("day of the last {}", self.item.item.value)])
    }

    /// The date by which the item is due; `None` when the plan gives no months for this time.
    fn due_day(&self) -> Option<Fact<Date>> {
        let counted_from = match self.last {
            LastDone::By(job) => match &job.day {
                Some(day) => Ok((day.value, day_cell("last done", day))),
                None => Err(self.last_day_missing()),
            },
            // What comes again is at the latest due so long after handover, whoever did it before.
            LastDone::BeforeOurTime if !self.comes_again() => Err(self.record_missing()),
            LastDone::BeforeOurTime if self.subject.machine.row.handover.is_none() => {
                first_visit(self.subject)
                    .map(|day| (day.value, day_cell("first service here", day)))
                    .map_or_else(|| self.subject.months_count_from(), Ok)
            }
            LastDone::BeforeOurTime | LastDone::Never => {
                self.subject.months_count_from().map_err(|missing| {
                    // Nobody will write down a handover there.
                    if self.subject.practice.hands_over { missing } else { self.last_day_missing() }
                })
            }
        };
        let months = match self.last {
            LastDone::By(_) => self.item.then_every_months.as_ref()?,
            LastDone::BeforeOurTime | LastDone::Never => first_months(self.item)?,
        };
        Some(counted_from.and_then(|(base, evidence)| {
            let value =
                months_after(base, months.value).ok_or_else(|| Missing::fact("months in the handbook"))?;
            let cell = self.plan_cell("months in the plan", months.value.to_string(), months);
            Ok(Reckoned { value, shown_by: vec![evidence, cell] })
        }))
    }

    /// The figure on the clock at which the item is due; `None` when the plan gives no distance for this time.
    fn due_distance(&self) -> Option<Fact<Distance>> {
        match self.last {
            LastDone::By(job) => {
                let every = self.item.then_every.as_ref()?;
                let cell = self.plan_cell("every", self.subject.shown(every.value), every);
                Some(self.clock_at(job).map(|(clock, evidence)| Reckoned {
                    value: clock + every.value,
                    shown_by: vec![evidence, cell],
                }))
            }
            LastDone::BeforeOurTime => first_figure(self.item).map(|_| Err(self.record_missing())),
            LastDone::Never => {
                let figure = first_figure(self.item)?;
                let cell = self.plan_cell("first at", self.subject.shown(figure.value), figure);
                Some(Ok(Reckoned { value: figure.value, shown_by: vec![cell] }))
            }
        }
    }

    /// What the clock showed at a job: as the job says, else as another reading of that day does.
    fn clock_at(&self, job: &Job) -> Result<(Distance, Evidence), Missing> {
        let missing = || Missing(vec![format!("clock reading at the last {}", self.item.item.value)]);
        let day = job.day.as_ref().map(|day| day.value);
        if let Some(clock) = &job.clock {
            if day.is_some_and(|day| self.subject.series.is_doubted(day, clock.value)) {
                return Err(missing());
            }
            let shown = self.subject.shown(clock.value);
            return Ok((clock.value, Evidence::of("clock at the last one", shown, &clock.origin)));
        }
        let reading = self.subject.series.on_or_before(day.ok_or_else(missing)?);
        let reading = reading.filter(|reading| Some(reading.day.value) == day).ok_or_else(missing)?;
        let cell = reading_cell("clock at the last one", reading, self.subject.machine.clock_unit);
        Ok((reading.clock.value, cell))
    }

    /// Whether day or clock is at the item's limit, or past its tolerance: true when either says so, false only
    /// when all that the plan gives say no.
    fn reached(&self, day: Option<&Fact<Date>>, distance: Option<&Fact<Distance>>, past: Past) -> Fact<bool> {
        let by_day = day.map(|day| {
            let day = day.clone()?;
            let value = match past {
                Past::Due => self.subject.today >= day.value,
                Past::Tolerance => {
                    let tolerance = self.item.tolerance_days.as_ref().map_or(Days(0), |days| days.value);
                    // Without a last day in the calendar the tolerance never ends.
                    tolerance.after(day.value).is_some_and(|last| self.subject.today > last)
                }
            };
            Ok(Reckoned { value, shown_by: day.shown_by })
        });
        let by_distance = distance.map(|distance| self.distance_reached(distance.clone()?, past));
        first_of(by_day, by_distance)
            .unwrap_or_else(|| Err(Missing::fact("distance or months in the handbook")))
    }

    /// Whether the clock is at a distance, or past its tolerance.
    fn distance_reached(&self, due: Reckoned<Distance>, past: Past) -> Fact<bool> {
        let clock = self.subject.clock.clone()?;
        let shown = self.shown_at_least(clock.value.distance);
        let value = match past {
            Past::Due => shown >= due.value,
            Past::Tolerance => {
                let tolerance = self.item.tolerance.as_ref().map_or(Distance::ZERO, |entry| entry.value);
                shown > due.value + tolerance
            }
        };
        if !value {
            self.clock_can_say_no(clock.value.day)?;
        }
        let shown_by = clock.shown_by.into_iter().chain(due.shown_by).collect();
        Ok(Reckoned { value, shown_by })
    }

    /// How far the last reading is from a distance; nothing once it is reached.
    fn distance_left(&self, due: Reckoned<Distance>) -> Fact<Distance> {
        let clock = self.subject.clock.clone()?;
        let value = (due.value - self.shown_at_least(clock.value.distance)).max(Distance::ZERO);
        if value > Distance::ZERO {
            self.clock_can_say_no(clock.value.day)?;
        }
        Ok(Reckoned { value, shown_by: clock.shown_by.into_iter().chain(due.shown_by).collect() })
    }

    /// What the clock that the item's distance is meant on shows at least, where the one that is in now shows so
    /// much.
    pub(super) fn shown_at_least(&self, clock: Distance) -> Distance {
        self.old_clock().map_or(clock, |old| old.at_least(clock))
    }

    /// The change of clock since the item's distance began to count, so that it is meant on the clock before.
    fn old_clock(&self) -> Option<Change<'a>> {
        let change = self.subject.series.change?;
        let counts_since = match self.last {
            LastDone::By(job) => job.day.as_ref().map(|day| day.value),
            LastDone::BeforeOurTime | LastDone::Never => None,
        };
        counts_since.is_none_or(|day| day < change.first.day.value).then_some(change)
    }

    /// Whether a reading below the limit means that the limit is not reached.
    pub(super) fn clock_can_say_no(&self, read: Date) -> Result<(), Missing> {
        if self.old_clock().is_some() {
            return Err(Missing::fact("distance on the clock before it was changed"));
        }
        let stale = self.subject.handed_over().is_some_and(|handover| {
            read <= handover.value
                && Days::between(handover.value, self.subject.today) > HANDOVER_READING_LASTS
        });
        if stale { Err(Missing::fact("clock reading since handover")) } else { Ok(()) }
    }
}

/// A job that did an item as evidence, with its day.
fn done_cell(what: &str, job: &Job) -> Evidence {
    let shown = job.day.as_ref().map_or_else(
        || format!("{}, no day", job.done.value),
        |day| format!("{} on {}", job.done.value, shown_day(day.value)),
    );
    Evidence::of(what, shown, &job.done.origin)
}

/// Whether a job says no more than that it was a service.
fn is_unnamed(job: &Job) -> bool {
    let words = words_of(&job.done.value);
    matches!(
        words.iter().map(String::as_str).collect::<Vec<_>>()[..],
        ["service" | "serviced"] | ["last" | "general", "service"]
    )
}

/// What is missing where a job names an item and leaves open whether it did it.
pub(super) fn unclear_at(job: &Job) -> Missing {
    Missing(vec![format!("what was done at `{}`", job.done.value)])
}

/// Which line is asked about.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Past {
    Due,
    Tolerance,
}
