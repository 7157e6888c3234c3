//! A last reading far beyond the machine's own pace, in which a digit was most likely typed twice.

use jiff::civil::Date;

use super::clock::Series;
use super::slip::{Slip, typed_twice};
use super::usage::{FEWEST_READINGS, usage};
use crate::units::{Days, Distance, DistanceUnit};
use crate::yard::{Machine, Reading};

/// So many times its own pace is far beyond it; a machine that is merely ridden more stays below. Our decision.
const FAR_BEYOND: f64 = 20.0;

/// So many times its own pace is still what a machine may do. Our decision.
const WITHIN_REACH: f64 = 3.0;

/// A machine that hardly moves may be ridden so many miles a day at any time. Our decision.
const LEAST_PACE: f64 = 5.0;

/// The last reading with the one before it, and what was most likely meant.
pub(super) struct Doubled<'a> {
    pub(super) before: &'a Reading,
    pub(super) last: &'a Reading,
    /// The machine's pace until the reading before.
    pub(super) miles_a_day: f64,
    pub(super) slip: Slip,
}

/// The last reading of a series, if it is far beyond the pace of those before it and would fit it with one of two
/// equal neighbouring digits less. While no later reading speaks, nothing else gives such a slip away.
pub(super) fn doubled<'a>(machine: &Machine, series: &Series<'a>, today: Date) -> Option<Doubled<'a>> {
    let (last, earlier) = series.trusted.split_last()?;
    let before = earlier.last()?;
    let pace = usage(machine, &series.without_last(), today).ok()?.value;
    if pace.readings < FEWEST_READINGS {
        return None;
    }
    let days = Days::between(before.day.value, last.day.value).0.max(1) as f64;
    let a_day = pace.miles_a_day.max(LEAST_PACE);
    let after = |miles: f64| before.clock.value + Distance::estimated(miles, DistanceUnit::Miles);
    if last.clock.value <= after(FAR_BEYOND * a_day * days) {
        return None;
    }
    let fits = before.clock.value..=after(WITHIN_REACH * a_day * days);
    let slip = typed_twice(last.clock.value, machine.clock_unit);
    let slip = slip.into_iter().filter(|slip| fits.contains(&slip.meant)).min_by_key(|slip| slip.meant)?;
    Some(Doubled { before, last, miles_a_day: pace.miles_a_day, slip })
}
