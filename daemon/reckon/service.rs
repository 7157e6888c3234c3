//! The service plan: which of its items are due, overdue, and when the others fall due.

use jiff::civil::Date;

use super::clock::{Change, reading_cell};
use super::covered::needed_to_say_never;
use super::customer::first_visit;
use super::done_cell::{LAST_DONE, done_cell};
use super::history::{
    LastDone, ages, comes_again, first_figure, first_months, is_first_service, last_done, overtaken_by,
};
use super::subject::{Subject, day_cell, handbook_cell};
use super::unnamed::{Perhaps, may_have_done};
use super::whichever_first::first_of;
use super::{Fact, Missing, Reckoned, Service};
use crate::origin::{Entry, Evidence};
use crate::problem::counted;
use crate::units::{Days, Distance, months_after};
use crate::yard::{Job, ServiceItem};

/// After so many days without a reading since the handover, the handover's own reading says nothing any more.
/// Our decision.
const HANDOVER_READING_LASTS: Days = Days(7);

/// The items of a machine's plan, in the handbook's order.
pub(super) struct Plan {
    /// A job that may have done some of them is taken to have done each of these.
    pub(super) services: Result<Vec<Service>, Missing>,
    /// The same, taken to have done none of them, with what would tell; `None` where there is no such job.
    pub(super) otherwise: Option<(Vec<Service>, Missing)>,
}

/// The plan of a machine, reckoned both ways where a job may have done an item: whether it did or not, what is due either
/// way is due.
pub(super) fn plan(subject: &Subject<'_>) -> Plan {
    let items = &subject.machine.page.services;
    if items.is_empty() {
        return Plan { services: Err(Missing::fact("model in the handbook")), otherwise: None };
    }
    let plain: Vec<Planned<'_, '_>> = items.iter().map(|item| Planned::new(subject, item)).collect();
    let perhaps: Vec<Option<Planned<'_, '_>>> = plain.iter().map(Planned::perhaps_done).collect();
    let done = plain.iter().zip(&perhaps).map(|(plain, perhaps)| perhaps.as_ref().unwrap_or(plain).service());
    let hangs_on = perhaps.iter().flatten().filter_map(|planned| planned.perhaps).map(Perhaps::missing);
    let otherwise = hangs_on
        .reduce(Missing::and)
        .map(|hangs_on| (plain.iter().map(Planned::service).collect(), hangs_on));
    Plan { services: Ok(done.collect()), otherwise }
}

/// The job that may have done an item, if there is one that nobody can tell of.
pub(super) fn perhaps_done<'a>(subject: &Subject<'a>, item: &ServiceItem) -> Option<Perhaps<'a>> {
    Planned::new(subject, item).perhaps_done()?.perhaps
}

/// One item of the plan with its last time.
pub(super) struct Planned<'s, 'a> {
    pub(super) subject: &'s Subject<'a>,
    item: &'s ServiceItem,
    last: LastDone<'a>,
    /// The job of that time, where it is not certain that it did it.
    perhaps: Option<Perhaps<'a>>,
}

impl<'s, 'a> Planned<'s, 'a> {
    fn new(subject: &'s Subject<'a>, item: &'s ServiceItem) -> Planned<'s, 'a> {
        Planned { subject, item, last: last_done(subject, item), perhaps: None }
    }

    /// The same, had the job done it that may have; `None` where none may have.
    fn perhaps_done(&self) -> Option<Planned<'s, 'a>> {
        let perhaps = may_have_done(self.subject, self.item, &self.last, |job| self.is_too_early(job))?;
        Some(Planned { last: LastDone::By(perhaps.job), perhaps: Some(perhaps), ..*self })
    }

    fn service(&self) -> Service {
        let finished = matches!(self.last, LastDone::By(_)) && !comes_again(self.item);
        let last_done = match self.last {
            LastDone::By(job) if self.perhaps.is_none() => job.day.as_ref().map(|day| day.value),
            LastDone::By(_) | LastDone::BeforeOurTime | LastDone::Never => None,
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
            (due, overdue, falls_due)
        };
        Service {
            item: self.item.item.value.clone(),
            is_first: is_first_service(&self.item.item.value),
            ages: ages(self.item),
            overtaken_by: self.overtaken_by(),
            last_done,
            at_the_latest: self.at_the_latest(),
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
            LastDone::BeforeOurTime | LastDone::Never => match needed_to_say_never(self.subject, self.item) {
                Some(missing) => Err(missing),
                None => Ok(Reckoned { value: false, shown_by: self.shown_by() }),
            },
        }
    }

    /// The later service of the plan that was done although no job did this one, which is the first.
    fn overtaken_by(&self) -> Fact<String> {
        let overtaken =
            overtaken_by(self.subject, self.item).filter(|_| matches!(self.last, LastDone::Never));
        let cell = done_cell("done since", overtaken.ok_or_else(|| Missing::fact("later service"))?);
        Ok(Reckoned { value: cell.value.clone(), shown_by: vec![cell] })
    }

    /// Whether a job came before half the distance of a first service: none is done so early. Our decision.
    fn is_too_early(&self, job: &Job) -> bool {
        let first = first_figure(self.item).filter(|_| is_first_service(&self.item.item.value));
        first.zip(self.clock_at(job).ok()).is_some_and(|(first, (clock, _))| clock + clock < first.value)
    }

    /// How long after the job that may have done it the item is due, so that it is due then at the latest: `12 months after the
    /// last service, of which the sheets do not say which it was`.
    fn at_the_latest(&self) -> Option<String> {
        let perhaps = self.perhaps?;
        let distance = self.item.then_every.as_ref().map(|every| self.subject.shown(every.value));
        let months =
            self.item.then_every_months.as_ref().map(|every| counted(every.value.0 as usize, "month"));
        let terms: Vec<String> = distance.into_iter().chain(months).collect();
        (!terms.is_empty()).then(|| format!("{} after {}", terms.join(" or "), perhaps.as_said()))
    }

    /// The handbook's row and the job that did it last.
    fn shown_by(&self) -> Vec<Evidence> {
        let mut shown_by =
            vec![self.plan_cell("service plan", self.item.item.value.clone(), &self.item.item)];
        if let LastDone::By(job) = self.last {
            shown_by.push(done_cell(self.last_time(), job));
        }
        shown_by
    }

    /// What the evidence calls the last time.
    fn last_time(&self) -> &'static str {
        self.perhaps.map_or(LAST_DONE, Perhaps::as_evidence)
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
                Some(day) => Ok((day.value, day_cell(self.last_time(), day))),
                None => Err(self.last_day_missing()),
            },
            // What comes again is at the latest due so long after handover, whoever did it before.
            LastDone::BeforeOurTime if !comes_again(self.item) => Err(self.record_missing()),
            LastDone::BeforeOurTime if self.subject.machine.row.handover.is_none() => {
                self.counts_from_visit().map_or_else(|| self.subject.months_count_from(), Ok)
            }
            LastDone::BeforeOurTime | LastDone::Never => {
                self.subject.months_count_from().or_else(|missing| match self.counts_from_visit() {
                    Some(counts_from) => Ok(counts_from),
                    None if self.subject.practice.hands_over => Err(missing),
                    // Nobody will write down a handover there.
                    None => Err(self.last_day_missing()),
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

    /// The first service here, from which the months of what comes again count where no handover tells: it is at the latest
    /// due so long after that, whoever did it before.
    fn counts_from_visit(&self) -> Option<(Date, Evidence)> {
        let visit = first_visit(self.subject).filter(|_| comes_again(self.item))?;
        Some((visit.value, day_cell("first service here", visit)))
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

/// Which line is asked about.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Past {
    Due,
    Tolerance,
}
