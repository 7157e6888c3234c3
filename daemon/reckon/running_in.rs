//! Running-in: the stage a machine is in, its speeds, and whether the rides kept to them.

use jiff::civil::Date;

use super::stages::{Moment, Stages};
use super::subject::{Subject, content_keys, day_cell};
use super::{Fact, Missing, Reckoned, RideAnswer, RideJudged, RunningIn};
use super::{ride_clock, speedometer};
use crate::origin::{Entry, Evidence};
use crate::units::Speed;
use crate::yard::{Ride, RunningInStage, SpeedSource};

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

/// Every ride until today that running-in has a limit for, or may have.
fn rides(subject: &Subject<'_>, stages: &Stages<'_, '_>) -> Vec<RideJudged> {
    let counting = &subject.machine.rides;
    let says = |ride: &Ride| {
        (ride.day.as_ref().map(|day| day.value), ride.top_speed.as_ref().map(|speed| speed.value))
    };
    // What a sheet has taken back clears nobody, and was said all the same.
    let withdrawn = subject.machine.withdrawn.rides.iter();
    let withdrawn: Vec<&Ride> =
        withdrawn.filter(|ride| counting.iter().all(|other| says(other) != says(ride))).collect();
    let rides = counting.iter().chain(withdrawn.iter().copied());
    let rides: Vec<&Ride> = rides.filter(|ride| subject.has_come(ride.day.as_ref())).collect();
    let what = |ride: &Ride| {
        let speed = ride.top_speed.as_ref().map(|speed| subject.shown_speed(speed.value));
        speed.unwrap_or_else(|| "no speed".to_owned())
    };
    let content = |ride: &Ride| {
        let clock = ride.clock.as_ref().map(|clock| clock.value);
        let source = ride.speed_source.as_ref().map(|source| source.value);
        (clock, ride.distance.as_ref().map(|distance| distance.value), source)
    };
    let keys = content_keys(&rides, |ride| ride.day.as_ref().map(|day| day.value), what, content);
    let is_withdrawn = |ride: &Ride| withdrawn.iter().any(|withdrawn| std::ptr::eq(*withdrawn, ride));
    let is_clear =
        |judged: &RideJudged| judged.answer.as_ref().map_or(true, |answer| answer.value == RideAnswer::Clear);
    let judged = |(ride, key)| {
        let judged: RideJudged = judged(subject, stages, ride, key)?;
        (!is_withdrawn(ride) || !is_clear(&judged)).then_some(judged)
    };
    rides.iter().copied().zip(keys).filter_map(judged).collect()
}

/// One ride against the limit of its day; `None` when running-in was over then.
fn judged(subject: &Subject<'_>, stages: &Stages<'_, '_>, ride: &Ride, key: String) -> Option<RideJudged> {
    let top_speed = ride.top_speed.as_ref().map(|speed| speed.value);
    let Some(day) = &ride.day else {
        // Without a day nobody knows which stage it fell in; the ride is shown under today.
        let answer = Err(Missing::fact("day of the ride"));
        return Some(RideJudged { key, day: subject.today, top_speed, limit: None, answer });
    };
    let mut judged = Vec::new();
    for moment in ride_clock::moments(subject, ride, day.value) {
        match stages.at(&moment) {
            Ok(Reckoned { value: None, .. }) => judged.push(None),
            Ok(Reckoned { value: Some(stage), shown_by }) => {
                judged.push(Some(in_stage(subject, stages, ride, day, &Reckoned { value: stage, shown_by })));
            }
            Err(missing) => judged.push(Some((None, Err(missing)))),
        }
    }
    // Whatever the clock showed: where that decides, it must be known.
    let says = |judged: &Option<Judged>| {
        let answer = judged.as_ref().map(|(_, answer)| answer.as_ref().map(|answer| answer.value));
        answer.unwrap_or(Ok(RideAnswer::Clear)).map_err(Clone::clone)
    };
    let is_breach = |judged: &Option<Judged>| says(judged).is_ok_and(|answer| answer >= RideAnswer::Breach);
    if judged.iter().all(is_breach) {
        // A breach either way; beyond doubt only where it is that either way.
        let (limit, answer) =
            judged.into_iter().rev().flatten().min_by_key(|(_, answer)| {
                answer.as_ref().map_or(RideAnswer::Breach, |answer| answer.value)
            })?;
        return Some(RideJudged { key, day: day.value, top_speed, limit, answer });
    }
    let sure = judged.windows(2).all(|pair| says(&pair[0]) == says(&pair[1]));
    let (limit, answer) = judged.into_iter().rev().flatten().next()?;
    if sure {
        return Some(RideJudged { key, day: day.value, top_speed, limit, answer });
    }
    let answer = Err(Missing::fact("clock at the ride"));
    Some(RideJudged { key, day: day.value, top_speed, limit: None, answer })
}

/// A limit, and what a ride's speed says of it.
type Judged = (Option<Speed>, Fact<RideAnswer>);

/// A ride against the limit of a stage.
fn in_stage(
    subject: &Subject<'_>,
    stages: &Stages<'_, '_>,
    ride: &Ride,
    day: &Entry<Date>,
    stage: &Reckoned<&RunningInStage>,
) -> Judged {
    let (what, limit) = match (&stage.value.burst_speed, &stage.value.top_speed) {
        (Some(burst), _) => ("short bursts up to", burst),
        (None, Some(top)) => ("top speed in the handbook", top),
        (None, None) => return (None, Err(Missing::fact("top speed in the handbook"))),
    };
    let answer = answer(subject, ride, limit.value).map(|(answer, evidence)| {
        let cell = stages.cell(what, subject.shown_speed(limit.value), limit);
        let shown_by = [day_cell("ride", day)].into_iter().chain(evidence);
        let shown_by = shown_by.chain(stage.shown_by.iter().cloned()).chain([cell]).collect();
        Reckoned { value: answer, shown_by }
    });
    (Some(limit.value), answer)
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
