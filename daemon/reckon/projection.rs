//! The day on which a distance will be reached, and what the clock likely shows today.

use jiff::civil::Date;

use super::subject::Subject;
use super::{Clock, Fact, Reckoned, Usage};
use crate::units::{Days, Distance, DistanceUnit};

/// Nothing is foretold further ahead than this, about ten years: by then a pace says nothing. Our decision.
const FARTHEST_AHEAD: Days = Days(3_650);

/// The days on which a distance is reached at the upper, the median and the lower pace.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Reached {
    pub(super) earliest: Date,
    pub(super) likeliest: Date,
    pub(super) latest: Date,
}

/// When a distance is reached, counted from the last reading; it can lie in the past, when the reading is old.
///
/// A pace too low to get there within ten years has the end of those ten years for its day.
pub(super) fn reached(clock: &Clock, usage: &Usage, distance: Distance) -> Option<Reached> {
    let miles = (distance - clock.distance).count_in(DistanceUnit::Miles).max(0.0);
    let day = |miles_a_day: f64| {
        // A pace of nothing gives an endless count, which the limit cuts off.
        let days = if miles > 0.0 { (miles / miles_a_day).ceil() } else { 0.0 };
        Days(days.min(FARTHEST_AHEAD.0 as f64) as i64).after(clock.day)
    };
    Some(Reached {
        earliest: day(usage.highest)?,
        likeliest: day(usage.miles_a_day)?,
        latest: day(usage.lowest)?,
    })
}

/// What the clock likely shows today: the last reading itself when it is today's, else carried on at the pace.
pub(super) fn clock_today(subject: &Subject<'_>) -> Fact<Distance> {
    let clock = subject.clock.clone()?;
    let days = Days::between(clock.value.day, subject.today).0;
    if days == 0 {
        return Ok(Reckoned { value: clock.value.distance, shown_by: clock.shown_by });
    }
    let usage = subject.usage.clone()?;
    let gone = Distance::estimated(usage.value.miles_a_day * days as f64, DistanceUnit::Miles);
    Ok(Reckoned { value: clock.value.distance + gone, shown_by: usage.shown_by })
}
