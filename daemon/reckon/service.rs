//! The service plan: which of its items are due, overdue, and when the others fall due.

use jiff::civil::Date;

use super::clock::reading_cell;
use super::history::{LastDone, first_figure, first_months, last_done};
use super::projection::reached;
use super::subject::{Subject, day_cell, handbook_cell};
use super::words::shown_day;
use super::{DueWindow, Fact, Missing, Reckoned, Service};
use crate::origin::Evidence;
use crate::units::{Days, Distance, months_after};
use crate::yard::ServiceItem;

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
struct Planned<'s, 'a> {
    subject: &'s Subject<'a>,
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
            last_done,
            finished,
            due_day,
            due_distance,
            due,
            overdue,
            falls_due,
            shown_by: self.shown_by(),
        }
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
            let shown = job.day.as_ref().map_or_else(
                || format!("{}, no day", job.done.value),
                |day| format!("{} on {}", job.done.value, shown_day(day.value)),
            );
            shown_by.push(Evidence::of("last done", shown, &job.done.origin));
        }
        shown_by
    }

    fn plan_cell<T>(&self, what: &str, shown: String, entry: &crate::origin::Entry<T>) -> Evidence {
        handbook_cell(what, shown, entry, self.subject.machine.page.services_are_default)
    }

    /// The record that nobody in the shop can have.
    fn record_missing(&self) -> Missing {
        Missing(vec![format!("record of the {} before handover", self.item.item.value)])
    }

    /// The date by which the item is due; `None` when the plan gives no months for this time.
    fn due_day(&self) -> Option<Fact<Date>> {
        let counted_from = match self.last {
            LastDone::By(job) => match &job.day {
                Some(day) => Ok((day.value, day_cell("last done", day))),
                None => Err(Missing(vec![format!("day of the last {}", self.item.item.value)])),
            },
            // What comes again is at the latest due so long after handover, whoever did it before.
            LastDone::BeforeOurTime if !self.comes_again() => Err(self.record_missing()),
            LastDone::BeforeOurTime | LastDone::Never => self.subject.months_count_from(),
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
    fn clock_at(&self, job: &crate::yard::Job) -> Result<(Distance, Evidence), Missing> {
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
                    let tolerance = self.item.tolerance_days.as_ref().map_or(0, |days| days.value);
                    // Without a last day in the calendar the tolerance never ends.
                    Days(tolerance).after(day.value).is_some_and(|last| self.subject.today > last)
                }
            };
            Ok(Reckoned { value, shown_by: day.shown_by })
        });
        let by_distance = distance.map(|distance| self.distance_reached(distance.clone()?, past));
        match (by_day, by_distance) {
            (None, None) => Err(Missing::fact("distance or months in the handbook")),
            (Some(part), None) | (None, Some(part)) => part,
            (Some(day), Some(distance)) => either(day, distance),
        }
    }

    /// Whether the clock is at a distance, or past its tolerance.
    fn distance_reached(&self, due: Reckoned<Distance>, past: Past) -> Fact<bool> {
        let clock = self.subject.clock.clone()?;
        let value = match past {
            Past::Due => clock.value.distance >= due.value,
            Past::Tolerance => {
                let tolerance = self.item.tolerance.as_ref().map_or(Distance::ZERO, |entry| entry.value);
                clock.value.distance > due.value + tolerance
            }
        };
        if !value {
            self.clock_can_say_no(clock.value.day)?;
        }
        let shown_by = clock.shown_by.into_iter().chain(due.shown_by).collect();
        Ok(Reckoned { value, shown_by })
    }

    /// Whether a reading below the limit means that the limit is not reached.
    fn clock_can_say_no(&self, read: Date) -> Result<(), Missing> {
        if let Some(changed) = self.subject.series.changed {
            let since = match self.last {
                LastDone::By(job) => job.day.as_ref().is_some_and(|day| day.value >= changed),
                LastDone::BeforeOurTime | LastDone::Never => false,
            };
            if !since {
                return Err(Missing::fact("distance on the clock before it was changed"));
            }
        }
        let stale = self.subject.handed_over().is_some_and(|handover| {
            read <= handover.value
                && Days::between(handover.value, self.subject.today) > HANDOVER_READING_LASTS
        });
        if stale { Err(Missing::fact("clock reading since handover")) } else { Ok(()) }
    }

    /// When the item falls due, or the day it did. Unless it is due already, every part of the plan must be
    /// known, since the unknown one may come first.
    fn falls_due(
        &self,
        day: Option<&Fact<Date>>,
        distance: Option<&Fact<Distance>>,
        due: &Fact<bool>,
    ) -> Fact<DueWindow> {
        if due.as_ref().is_ok_and(|due| due.value) {
            return Ok(self.fell_due(day, distance, due));
        }
        let both = |left: &Missing, right: &Missing| left.clone().and(right.clone());
        let projected = distance.map(|distance| self.projected(distance.clone()?));
        let (day, projected) = match (day.cloned(), projected) {
            (None, None) => {
                return due.clone().and_then(|_| Err(Missing::fact("distance or months in the handbook")));
            }
            (Some(Err(left)), Some(Err(right))) => return Err(both(&left, &right)),
            (Some(Err(missing)), _) | (_, Some(Err(missing))) => return Err(missing),
            (day, projected) => (day.and_then(Result::ok), projected.and_then(Result::ok)),
        };
        let mut shown_by = Vec::new();
        let mut window: Option<DueWindow> = None;
        if let Some(projected) = projected {
            shown_by.extend(projected.shown_by);
            window = Some(projected.value);
        }
        if let Some(day) = day {
            shown_by.extend(day.shown_by);
            window = Some(window.map_or(on_day(day.value), |window| first_of(window, day.value)));
        }
        let value = window.expect("one part of the plan is there");
        Ok(Reckoned { value, shown_by })
    }

    /// The day on which an item that is due fell due: its date, or the first reading at its distance.
    fn fell_due(
        &self,
        day: Option<&Fact<Date>>,
        distance: Option<&Fact<Distance>>,
        due: &Fact<bool>,
    ) -> Reckoned<DueWindow> {
        let known = |fact: Option<&Fact<Date>>| fact.and_then(|fact| fact.as_ref().ok()).map(|day| day.value);
        let by_day = known(day).filter(|day| *day <= self.subject.today);
        let by_distance = distance
            .and_then(|distance| distance.as_ref().ok())
            .and_then(|distance| self.subject.series.first_at_or_past(distance.value))
            .map(|reading| reading.day.value);
        let value = match (by_day, by_distance) {
            (Some(day), Some(read)) if read < day => DueWindow { by_date: false, ..on_day(read) },
            (Some(day), _) => on_day(day),
            (None, read) => DueWindow { by_date: false, ..on_day(read.unwrap_or(self.subject.today)) },
        };
        let shown_by = due.as_ref().map(|due| due.shown_by.clone()).unwrap_or_default();
        Reckoned { value, shown_by }
    }

    /// When the clock reaches the distance, as the pace has it.
    fn projected(&self, distance: Reckoned<Distance>) -> Fact<DueWindow> {
        let clock = self.subject.clock.clone()?;
        if clock.value.distance < distance.value {
            self.clock_can_say_no(clock.value.day)?;
        }
        let usage = self.subject.usage.clone()?;
        let reached = reached(&clock.value, &usage.value, distance.value)
            .ok_or_else(|| Missing::fact("readings to project from"))?;
        let value = DueWindow {
            earliest: reached.earliest,
            likeliest: reached.likeliest,
            latest: reached.latest,
            by_date: false,
        };
        let shown_by = usage.shown_by.into_iter().chain(distance.shown_by).collect();
        Ok(Reckoned { value, shown_by })
    }
}

/// Which line is asked about.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Past {
    Due,
    Tolerance,
}

/// True when either part says so, false when both say no, else what the silent one lacks.
fn either(left: Fact<bool>, right: Fact<bool>) -> Fact<bool> {
    match (left, right) {
        (Ok(left), Ok(right)) => {
            let value = left.value || right.value;
            let shown_by = [left, right]
                .into_iter()
                .filter(|part| part.value == value)
                .flat_map(|part| part.shown_by)
                .collect();
            Ok(Reckoned { value, shown_by })
        }
        (Ok(known), Err(missing)) | (Err(missing), Ok(known)) => {
            if known.value {
                Ok(known)
            } else {
                Err(missing)
            }
        }
        (Err(left), Err(right)) => Err(left.and(right)),
    }
}

/// The window of a date that the plan gives.
fn on_day(day: Date) -> DueWindow {
    DueWindow { earliest: day, likeliest: day, latest: day, by_date: true }
}

/// A projected window cut off by a date that may come first.
fn first_of(window: DueWindow, day: Date) -> DueWindow {
    if day <= window.earliest {
        return on_day(day);
    }
    DueWindow {
        earliest: window.earliest,
        likeliest: window.likeliest.min(day),
        latest: window.latest.min(day),
        by_date: false,
    }
}
