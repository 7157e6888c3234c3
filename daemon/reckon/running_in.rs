//! Running-in: the stage a machine is in, its speeds, and whether the rides kept to them.

use jiff::civil::Date;

use super::history::{FIRST_SERVICE, LastDone, first_figure, first_months, jobs_that_did, last_done};
use super::speedometer;
use super::subject::{DayKeys, Subject, day_cell, handbook_cell};
use super::words::same_words;
use super::{Fact, Missing, Reckoned, RideJudged, RunningIn};
use crate::origin::Evidence;
use crate::units::{Distance, Speed, months_after};
use crate::yard::{Ride, RunningInStage, ServiceItem};

/// What running-in asks of the machine today, and what its rides say.
pub(super) fn running_in(subject: &Subject<'_>) -> RunningIn {
    let clock = subject.clock.as_ref().ok();
    let now = Moment {
        day: subject.today,
        clock: clock.map(|clock| clock.value.distance),
        shown_by: clock.map(|clock| clock.shown_by.clone()).unwrap_or_default(),
    };
    let stage = stage(subject, &now);
    let top_speed = stage.clone().and_then(|stage| {
        let Some(row) = stage.value else { return Ok(Reckoned { value: None, shown_by: stage.shown_by }) };
        let top_speed = row.top_speed.as_ref().ok_or_else(|| Missing::fact("top speed in the handbook"))?;
        let cell = stage_cell(subject, "top speed", top_speed.value.to_string(), top_speed);
        let shown_by = stage.shown_by.into_iter().chain([cell]).collect();
        Ok(Reckoned { value: Some(top_speed.value), shown_by })
    });
    let stage = stage.map(|stage| Reckoned {
        value: stage.value.map(|row| row.stage.value.clone()),
        shown_by: stage.shown_by,
    });
    RunningIn { stage, top_speed, rides: rides(subject) }
}

/// A moment at which the stage is asked for.
struct Moment {
    day: Date,
    /// What the clock showed then; `None` when nobody knows.
    clock: Option<Distance>,
    shown_by: Vec<Evidence>,
}

/// A cell of a stage as evidence.
fn stage_cell<T>(
    subject: &Subject<'_>,
    what: &str,
    shown: String,
    entry: &crate::origin::Entry<T>,
) -> Evidence {
    handbook_cell(what, shown, entry, subject.machine.page.stages_are_default)
}

/// The stage that the machine is in at a moment; `None` inside once running-in is over.
///
/// A stage ends at its distance or date, whichever comes first; the stage that lasts until the first service
/// ends only once that is done as well. The figure and the day themselves still belong to the stage.
fn stage<'a>(subject: &Subject<'a>, moment: &Moment) -> Fact<Option<&'a RunningInStage>> {
    let stages = &subject.machine.page.stages;
    if stages.is_empty() {
        return Err(Missing::fact("running-in stages in the handbook"));
    }
    if let Some(evidence) = came_run_in(subject, stages) {
        return Ok(Reckoned { value: None, shown_by: vec![evidence] });
    }
    let gate = gate(subject, stages);
    for (index, stage) in stages.iter().enumerate() {
        let mut over = has_ended(subject, stage, moment)?;
        match &gate {
            Some(gate) if gate.stage == index => {
                if over || stage.up_to.is_none() && stage.up_to_months.is_none() {
                    over = first_service_done(subject, gate.item, moment.day)?;
                }
            }
            None if over && index == 0 => return Err(Missing::fact("first service in the handbook")),
            Some(_) | None => {}
        }
        if !over {
            let cell = stage_cell(subject, "running-in stage", stage.stage.value.clone(), &stage.stage);
            let shown_by = moment.shown_by.iter().cloned().chain([cell]).collect();
            return Ok(Reckoned { value: Some(stage), shown_by });
        }
    }
    Ok(Reckoned { value: None, shown_by: moment.shown_by.clone() })
}

/// What shows that a machine was run in by others: the first reading that the shop has of it, if not from after
/// its own handover, is past the last stage.
fn came_run_in(subject: &Subject<'_>, stages: &[RunningInStage]) -> Option<Evidence> {
    let last = stages.last()?.up_to.as_ref()?;
    let first = subject.series.trusted.first()?;
    let handover = subject.machine.row.handover.as_ref();
    let before_handover = handover.is_none_or(|handover| first.day.value <= handover.value);
    let cell = || super::clock::reading_cell("first reading", first, subject.machine.clock_unit);
    (before_handover && first.clock.value > last.value).then(cell)
}

/// The stage that lasts until the first service, and the service.
struct Gate<'a> {
    stage: usize,
    item: &'a ServiceItem,
}

/// The stage that the first service ends: the first that lasts as far (or as long) as the service is away.
///
/// `None` when the plan has no first service.
fn gate<'a>(subject: &Subject<'a>, stages: &[RunningInStage]) -> Option<Gate<'a>> {
    let item =
        subject.machine.page.services.iter().find(|item| same_words(&item.item.value, FIRST_SERVICE))?;
    let lasts_until_service = |stage: &RunningInStage| match (&stage.up_to, first_figure(item)) {
        (Some(up_to), Some(figure)) => up_to.value >= figure.value,
        _ => match (&stage.up_to_months, first_months(item)) {
            (Some(up_to), Some(months)) => up_to.value >= months.value,
            _ => true,
        },
    };
    let stage = stages.iter().position(lasts_until_service).unwrap_or(stages.len() - 1);
    Some(Gate { stage, item })
}

/// Whether the first service was done by a day.
fn first_service_done(subject: &Subject<'_>, item: &ServiceItem, day: Date) -> Result<bool, Missing> {
    if matches!(last_done(subject, item), LastDone::BeforeOurTime) {
        return Err(Missing(vec![format!("record of the {} before handover", item.item.value)]));
    }
    let mut undated = false;
    for job in jobs_that_did(subject, &item.item.value) {
        match &job.day {
            Some(done) if done.value <= day => return Ok(true),
            Some(_) => {}
            None => undated = true,
        }
    }
    if undated { Err(Missing(vec![format!("day of the {}", item.item.value)])) } else { Ok(false) }
}

/// Whether a stage has ended by its distance or its date: true when either says so, false when all say no.
fn has_ended(subject: &Subject<'_>, stage: &RunningInStage, moment: &Moment) -> Result<bool, Missing> {
    let by_distance = stage.up_to.as_ref().map(|up_to| {
        let clock = moment.clock.ok_or_else(|| Missing::fact("clock reading"))?;
        let past = clock > up_to.value;
        match subject.series.changed {
            Some(_) if !past => Err(Missing::fact("distance on the clock before it was changed")),
            _ => Ok(past),
        }
    });
    let by_day = stage.up_to_months.as_ref().map(|months| {
        let Some(handover) = &subject.machine.row.handover else {
            return if subject.is_stock() { Ok(false) } else { Err(Missing::fact("handover")) };
        };
        let last = months_after(handover.value, months.value)
            .ok_or_else(|| Missing::fact("months in the handbook"))?;
        Ok(moment.day > last)
    });
    match (by_distance, by_day) {
        (None, None) => Ok(false),
        (Some(part), None) | (None, Some(part)) => part,
        (Some(Ok(true)), _) | (_, Some(Ok(true))) => Ok(true),
        (Some(Ok(false)), Some(Ok(false))) => Ok(false),
        (Some(Err(left)), Some(Err(right))) => Err(left.and(right)),
        (Some(Err(missing)), _) | (_, Some(Err(missing))) => Err(missing),
    }
}

/// Every ride that running-in has a limit for, or may have.
fn rides(subject: &Subject<'_>) -> Vec<RideJudged> {
    let mut keys = DayKeys::default();
    subject
        .machine
        .rides
        .iter()
        .filter_map(|ride| {
            let key = keys.next(ride.day.as_ref().map(|day| day.value));
            judged(subject, ride, key)
        })
        .collect()
}

/// One ride against the limit of its day; `None` when running-in was over then.
fn judged(subject: &Subject<'_>, ride: &Ride, key: String) -> Option<RideJudged> {
    let top_speed = ride.top_speed.as_ref().map(|speed| speed.value);
    let day = ride.day.as_ref().filter(|day| day.value <= subject.today);
    let Some(day) = day else {
        // Without a day that has been, nobody knows which stage it fell in; the ride is shown under today.
        let answer = Err(Missing::fact("day of the ride"));
        return Some(RideJudged { key, day: subject.today, top_speed, limit: None, answer });
    };
    let ride_judged =
        |limit, answer| Some(RideJudged { key: key.clone(), day: day.value, top_speed, limit, answer });
    let stage = match stage_of_ride(subject, ride, day.value) {
        Ok(Reckoned { value: Some(stage), shown_by }) => Reckoned { value: stage, shown_by },
        Ok(Reckoned { value: None, .. }) => return None,
        Err(missing) => return ride_judged(None, Err(missing)),
    };
    let (what, limit) = match (&stage.value.burst_speed, &stage.value.top_speed) {
        (Some(burst), _) => ("short bursts up to", burst),
        (None, Some(top)) => ("top speed in the handbook", top),
        (None, None) => return ride_judged(None, Err(Missing::fact("top speed in the handbook"))),
    };
    let answer = answer(ride, limit.value).map(|(answer, evidence)| {
        let cell = stage_cell(subject, what, limit.value.to_string(), limit);
        let shown_by =
            [day_cell("ride", day)].into_iter().chain(evidence).chain(stage.shown_by).chain([cell]).collect();
        Reckoned { value: answer, shown_by }
    });
    ride_judged(Some(limit.value), answer)
}

/// The stage that a ride fell in. Before the handover nobody but the shop rode it, and it is the first stage's
/// limit that counts where no reading says otherwise.
fn stage_of_ride<'a>(subject: &Subject<'a>, ride: &Ride, day: Date) -> Fact<Option<&'a RunningInStage>> {
    let unit = subject.machine.clock_unit;
    let own = ride.clock.as_ref().filter(|clock| !subject.series.is_doubted(day, clock.value));
    let (clock, shown_by) = match (own, subject.series.on_or_before(day)) {
        (Some(clock), _) => {
            let shown = clock.value.shown_in(unit);
            (Some(clock.value), vec![Evidence::of("clock at the ride", shown, &clock.origin)])
        }
        (None, Some(reading)) => {
            let cell = super::clock::reading_cell("last reading before the ride", reading, unit);
            (Some(reading.clock.value), vec![cell])
        }
        (None, None) => (None, Vec::new()),
    };
    let before_handover = subject.handed_over().is_none_or(|handover| day <= handover.value);
    let clock = clock.or(before_handover.then_some(Distance::ZERO));
    stage(subject, &Moment { day, clock, shown_by })
}

/// What a ride's speed says of a limit, with the cells of speed and source.
fn answer(ride: &Ride, limit: Speed) -> Result<(super::RideAnswer, Vec<Evidence>), Missing> {
    let speed = ride.top_speed.as_ref().ok_or_else(|| Missing::fact("top speed of the ride"))?;
    let source = ride.speed_source.as_ref();
    let answer = speedometer::answer(speed.value, source.map(|source| source.value), limit)
        .ok_or_else(|| Missing::fact("what the top speed was read from"))?;
    Ok((answer, vec![Evidence::of("top speed of the ride", speed.value, &speed.origin)]))
}
