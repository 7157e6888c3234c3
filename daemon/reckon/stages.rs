//! The running-in stage that a machine is in at a moment.

use jiff::civil::Date;

use super::clock::reading_cell;
use super::history::{LastDone, first_figure, first_months, is_first_service, last_done, overtaken_by};
use super::job_text::Said;
use super::subject::{Subject, day_cell, handbook_cell};
use super::unnamed::unclear_at;
use super::whichever_first::first_of;
use super::{Fact, Missing, Reckoned};
use crate::origin::{Entry, Evidence};
use crate::units::{Distance, months_after};
use crate::yard::{RunningInStage, ServiceItem};

/// A moment at which the stage is asked for.
pub(super) struct Moment {
    pub(super) day: Date,
    /// What the clock showed then; `None` when nobody knows.
    pub(super) clock: Option<Distance>,
    /// What shows that.
    pub(super) shown_by: Vec<Evidence>,
}

/// The running-in of a machine, with what is the same at every moment.
pub(super) struct Stages<'s, 'a> {
    subject: &'s Subject<'a>,
    /// What shows that the machine was run in by others.
    came_run_in: Option<Evidence>,
    /// The stage that lasts until the first service; `None` when the plan has no first service.
    gate: Option<Gate>,
}

/// The stage that lasts until the first service, and when that was.
struct Gate {
    stage: usize,
    done: Option<Date>,
    /// Why nobody knows whether it was done on any other day.
    unknown: Option<Missing>,
}

impl<'s, 'a> Stages<'s, 'a> {
    /// The running-in of a machine.
    pub(super) fn new(subject: &'s Subject<'a>) -> Stages<'s, 'a> {
        Stages { subject, came_run_in: came_run_in(subject), gate: gate(subject) }
    }

    /// The stage that the machine is in at a moment; `None` inside once running-in is over.
    ///
    /// A stage ends at its distance or date, whichever comes first; the stage that lasts until the first service
    /// ends only once that is done as well. The figure and the day themselves still belong to the stage.
    pub(super) fn at(&self, moment: &Moment) -> Fact<Option<&'a RunningInStage>> {
        let stages = &self.subject.machine.page.stages;
        if stages.is_empty() {
            return Err(Missing::fact("running-in stages in the handbook"));
        }
        if let Some(evidence) = &self.came_run_in {
            return Ok(Reckoned { value: None, shown_by: vec![evidence.clone()] });
        }
        for (index, stage) in stages.iter().enumerate() {
            if !self.is_over(index, stage, moment)? {
                let cell = self.cell("running-in stage", stage.stage.value.clone(), &stage.stage);
                let shown_by = moment.shown_by.iter().cloned().chain([cell]).collect();
                return Ok(Reckoned { value: Some(stage), shown_by });
            }
        }
        Ok(Reckoned { value: None, shown_by: moment.shown_by.clone() })
    }

    /// A cell of a stage as evidence.
    pub(super) fn cell<T>(&self, what: &str, shown: String, entry: &Entry<T>) -> Evidence {
        handbook_cell(what, shown, entry, self.subject.machine.page.stages_are_default)
    }

    /// Whether a stage is over: at its end and, where the first service is that end too, once that is done.
    fn is_over(&self, index: usize, stage: &RunningInStage, moment: &Moment) -> Result<bool, Missing> {
        let gate = self.gate.as_ref().filter(|gate| gate.stage == index);
        let opened = gate.map(|gate| gate.open_by(moment.day));
        if opened == Some(Ok(false)) {
            // Until the service is done the stage lasts, whatever the clock says.
            return Ok(false);
        }
        let ended = first_of(self.past_distance(stage, moment), self.past_date(stage, moment));
        let ended = ended.transpose()?.map(|ended| ended.value);
        match (opened, ended) {
            (Some(_), Some(false)) => Ok(false),
            // A stage without an end of its own lasts until the service alone.
            (Some(opened), Some(true) | None) => opened,
            (None, Some(true)) if index == 0 && self.gate.is_none() => {
                Err(Missing::fact("first service in the handbook"))
            }
            (None, ended) => Ok(ended == Some(true)),
        }
    }

    fn past_distance(&self, stage: &RunningInStage, moment: &Moment) -> Option<Fact<bool>> {
        let up_to = stage.up_to.as_ref()?.value;
        let Some(clock) = moment.clock else { return Some(Err(Missing::fact("clock reading"))) };
        let change = self.subject.series.change.filter(|change| change.first.day.value <= moment.day);
        let value = change.map_or(clock, |change| change.at_least(clock)) > up_to;
        Some(if !value && change.is_some() {
            Err(Missing::fact("distance on the clock before it was changed"))
        } else {
            Ok(Reckoned { value, shown_by: Vec::new() })
        })
    }

    fn past_date(&self, stage: &RunningInStage, moment: &Moment) -> Option<Fact<bool>> {
        let months = stage.up_to_months.as_ref()?;
        let Some(handover) = &self.subject.machine.row.handover else {
            // For a machine still in stock no months run yet.
            let in_stock = Reckoned { value: false, shown_by: Vec::new() };
            let known = self.subject.is_stock().then_some(in_stock);
            return Some(known.ok_or_else(|| Missing::fact("handover")));
        };
        let last = months_after(handover.value, months.value);
        Some(last.ok_or_else(|| Missing::fact("months in the handbook")).map(|last| Reckoned {
            value: moment.day > last,
            shown_by: vec![day_cell("handover", handover)],
        }))
    }
}

impl Gate {
    /// Whether the first service was done by a day.
    fn open_by(&self, day: Date) -> Result<bool, Missing> {
        if self.done.is_some_and(|done| done <= day) {
            return Ok(true);
        }
        self.unknown.clone().map_or(Ok(false), Err)
    }
}

/// What shows that a machine was run in by others: by its handover (or, where none is known, at the first
/// reading that the shop has of it) its clock was past the last stage.
fn came_run_in(subject: &Subject<'_>) -> Option<Evidence> {
    let last = subject.machine.page.stages.last()?.up_to.as_ref()?;
    let reading = match &subject.machine.row.handover {
        Some(handover) => subject.series.on_or_before(handover.value),
        None => subject.series.trusted.first().copied(),
    };
    let reading = reading.filter(|reading| reading.clock.value > last.value)?;
    Some(reading_cell("reading by the handover", reading, subject.machine.clock_unit))
}

/// The stage that the first service ends: the first that lasts as far (or as long) as the service is away.
fn gate(subject: &Subject<'_>) -> Option<Gate> {
    let page = &subject.machine.page;
    let item = page.services.iter().find(|item| is_first_service(&item.item.value))?;
    let stage = page.stages.iter().position(|stage| lasts_until(stage, item));
    let stage = stage.unwrap_or(page.stages.len().saturating_sub(1));
    let name = &item.item.value;
    let (mut done, mut unknown) = (None, None);
    if matches!(last_done(subject, item), LastDone::BeforeOurTime) {
        unknown = Some(Missing(vec![format!("record of the {name} before handover")]));
    }
    unknown = subject.works().that_say(item, Said::Unclear).last().map(unclear_at).or(unknown);
    let overtaken = overtaken_by(subject, item).filter(|job| job.day.is_some());
    for job in subject.works().that_say(item, Said::Done).chain(overtaken) {
        match &job.day {
            Some(day) => done = Some(done.map_or(day.value, |done: Date| done.min(day.value))),
            None => unknown = Some(Missing(vec![format!("day of the {name}")])),
        }
    }
    Some(Gate { stage, done, unknown })
}

/// Whether a stage lasts as far as a service is away, or, where they have no distance to compare, as long.
fn lasts_until(stage: &RunningInStage, item: &ServiceItem) -> bool {
    match (&stage.up_to, first_figure(item)) {
        (Some(up_to), Some(figure)) => up_to.value >= figure.value,
        _ => match (&stage.up_to_months, first_months(item)) {
            (Some(up_to), Some(months)) => up_to.value >= months.value,
            _ => true,
        },
    }
}
