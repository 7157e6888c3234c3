//! Running-in: the stage a machine is in, its speeds, and whether the rides kept to them.

use jiff::civil::Date;

use super::clock::reading_cell;
use super::speedometer;
use super::stages::{Moment, Stages};
use super::subject::{DayKeys, Subject, day_cell};
use super::{Missing, Reckoned, RideAnswer, RideJudged, RunningIn};
use crate::origin::Evidence;
use crate::units::{Distance, Speed};
use crate::yard::{Ride, SpeedSource};

/// What running-in asks of the machine today, and what its rides say.
pub(super) fn running_in(subject: &Subject<'_>) -> RunningIn {
    let clock = subject.clock.as_ref().ok();
    let now = Moment {
        day: subject.today,
        clock: clock.map(|clock| clock.value.distance),
        shown_by: clock.map(|clock| clock.shown_by.clone()).unwrap_or_default(),
    };
    let stages = Stages::new(subject);
    let stage = stages.at(&now);
    let top_speed = stage.clone().and_then(|stage| {
        let Some(row) = stage.value else { return Ok(Reckoned { value: None, shown_by: stage.shown_by }) };
        let top_speed = row.top_speed.as_ref().ok_or_else(|| Missing::fact("top speed in the handbook"))?;
        let cell = stages.cell("top speed", subject.shown_speed(top_speed.value), top_speed);
        let shown_by = stage.shown_by.into_iter().chain([cell]).collect();
        Ok(Reckoned { value: Some(top_speed.value), shown_by })
    });
    let stage = stage.map(|stage| Reckoned {
        value: stage.value.map(|row| row.stage.value.clone()),
        shown_by: stage.shown_by,
    });
    RunningIn { stage, top_speed, rides: rides(subject, &stages) }
}

/// Every ride that running-in has a limit for, or may have.
fn rides(subject: &Subject<'_>, stages: &Stages<'_, '_>) -> Vec<RideJudged> {
    let mut keys = DayKeys::default();
    subject
        .machine
        .rides
        .iter()
        .filter_map(|ride| {
            let key = keys.next(ride.day.as_ref().map(|day| day.value));
            judged(subject, stages, ride, key)
        })
        .collect()
}

/// One ride against the limit of its day; `None` when running-in was over then.
fn judged(subject: &Subject<'_>, stages: &Stages<'_, '_>, ride: &Ride, key: String) -> Option<RideJudged> {
    let top_speed = ride.top_speed.as_ref().map(|speed| speed.value);
    let day = ride.day.as_ref().filter(|day| day.value <= subject.today);
    let Some(day) = day else {
        // Without a day that has been, nobody knows which stage it fell in; the ride is shown under today.
        let answer = Err(Missing::fact("day of the ride"));
        return Some(RideJudged { key, day: subject.today, top_speed, limit: None, answer });
    };
    let ride_judged =
        |limit, answer| Some(RideJudged { key: key.clone(), day: day.value, top_speed, limit, answer });
    let stage = match stages.at(&moment_of(subject, ride, day.value)) {
        Ok(Reckoned { value: Some(stage), shown_by }) => Reckoned { value: stage, shown_by },
        Ok(Reckoned { value: None, .. }) => return None,
        Err(missing) => return ride_judged(None, Err(missing)),
    };
    let (what, limit) = match (&stage.value.burst_speed, &stage.value.top_speed) {
        (Some(burst), _) => ("short bursts up to", burst),
        (None, Some(top)) => ("top speed in the handbook", top),
        (None, None) => return ride_judged(None, Err(Missing::fact("top speed in the handbook"))),
    };
    let answer = answer(subject, ride, limit.value).map(|(answer, evidence)| {
        let cell = stages.cell(what, subject.shown_speed(limit.value), limit);
        let shown_by =
            [day_cell("ride", day)].into_iter().chain(evidence).chain(stage.shown_by).chain([cell]).collect();
        Reckoned { value: answer, shown_by }
    });
    ride_judged(Some(limit.value), answer)
}

/// The moment of a ride: the clock as the ride itself says, else as the last reading before it does. Before the
/// handover nobody but the shop rode the machine, so that without a reading the first stage's limit counts.
fn moment_of(subject: &Subject<'_>, ride: &Ride, day: Date) -> Moment {
    let unit = subject.machine.clock_unit;
    let own = ride.clock.as_ref().filter(|clock| !subject.series.is_doubted(day, clock.value));
    let (clock, shown_by) = match (own, subject.series.on_or_before(day)) {
        (Some(clock), _) => {
            let shown = clock.value.shown_in(unit);
            (Some(clock.value), vec![Evidence::of("clock at the ride", shown, &clock.origin)])
        }
        (None, Some(reading)) => {
            (Some(reading.clock.value), vec![reading_cell("last reading before the ride", reading, unit)])
        }
        (None, None) => {
            let before_handover = subject.handed_over().is_none_or(|handover| day <= handover.value);
            (before_handover.then_some(Distance::ZERO), Vec::new())
        }
    };
    Moment { day, clock, shown_by }
}

/// What a ride's speed says of a limit, with the cells of speed and source.
fn answer(subject: &Subject<'_>, ride: &Ride, limit: Speed) -> Result<(RideAnswer, Vec<Evidence>), Missing> {
    let speed = ride.top_speed.as_ref().ok_or_else(|| Missing::fact("top speed of the ride"))?;
    let source = ride.speed_source.as_ref();
    let answer = speedometer::answer(speed.value, source.map(|source| source.value), limit)
        .ok_or_else(|| Missing::fact("what the top speed was read from"))?;
    let from = source.map_or("", |source| match source.value {
        SpeedSource::Satellite => " true speed",
        SpeedSource::Speedometer => " on the speedometer",
    });
    let shown = format!("{}{from}", subject.shown_speed(speed.value));
    Ok((answer, vec![Evidence::of("top speed of the ride", shown, &speed.origin)]))
}
