//! How far a machine goes in a day: Theil-Sen over its readings, with an interval.

use jiff::civil::Date;

use super::clock::{Series, reading_cell};
use super::subject::day_cell;
use super::theil_sen::{Z_90_PERCENT, theil_sen};
use super::{Fact, Missing, Reckoned, Usage};
use crate::origin::Evidence;
use crate::units::{Days, Distance, DistanceUnit, Months, months_after, months_before};
use crate::yard::{Machine, Reading};

/// Only readings of so many months count, since people change how they ride.
const MONTHS_BACK: Months = Months(12);

/// Fewer readings (of different days) or a shorter span say nothing of a pace. Our decision.
pub(super) const FEWEST_READINGS: usize = 3;
const SHORTEST_SPAN: Days = Days(14);

/// A reading so many days around the handover is taken for the handover's. Our decision.
pub(super) const AROUND_HANDOVER: Days = Days(3);

/// A machine registered no longer than this before its handover had about nothing on its clock then, so that a pace
/// can count from there. Less than what counts as new for its first service, since here it stands for a figure.
/// Our decision.
const UNRIDDEN_IF_REGISTERED_WITHIN: Months = Months(2);

/// From two readings alone no interval follows; half to twice the pace is taken for one. Our decision.
const TWO_READINGS_FACTOR: f64 = 2.0;

/// How far the machine goes in a day.
///
/// A customer's pace begins at the handover, so the time in the shop before it does not count.
pub(super) fn usage(machine: &Machine, series: &Series<'_>, today: Date) -> Fact<Usage> {
    let from = months_before(today, MONTHS_BACK).unwrap_or(Date::MIN);
    let handed_over = machine.row.handover.as_ref().map(|day| day.value).filter(|day| *day <= today);
    let begin = handed_over.and_then(|day| AROUND_HANDOVER.before(day)).map_or(from, |day| day.max(from));
    let readings = last_of_each_day(&series.trusted, begin);
    if let ([first, .., last], true) = (readings.as_slice(), readings.len() >= FEWEST_READINGS)
        && Days::between(first.day.value, last.day.value) >= SHORTEST_SPAN
    {
        return Ok(over_readings(&readings, first, last, machine.clock_unit));
    }
    since_handover(machine, series, handed_over).ok_or_else(|| Missing::fact("readings to project from"))
}

/// The last reading of each day from a day on.
fn last_of_each_day<'a>(trusted: &[&'a Reading], begin: Date) -> Vec<&'a Reading> {
    let mut readings: Vec<&Reading> = Vec::new();
    for reading in trusted.iter().filter(|reading| reading.day.value >= begin) {
        if readings.last().is_some_and(|last| last.day.value == reading.day.value) {
            readings.pop();
        }
        readings.push(reading);
    }
    readings
}

/// The pace over at least three readings.
fn over_readings(
    readings: &[&Reading],
    first: &Reading,
    last: &Reading,
    unit: DistanceUnit,
) -> Reckoned<Usage> {
    let points: Vec<(f64, f64)> = readings
        .iter()
        .map(|reading| {
            let day = Days::between(first.day.value, reading.day.value).0 as f64;
            (day, reading.clock.value.count_in(DistanceUnit::Miles))
        })
        .collect();
    let slope = theil_sen(&points, Z_90_PERCENT).expect("readings of different days have a slope");
    let usage = Usage {
        miles_a_day: slope.median.max(0.0),
        lowest: slope.lowest.max(0.0),
        highest: slope.highest.max(0.0),
        readings: readings.len(),
    };
    let shown_by = vec![
        reading_cell("first reading of the pace", first, unit),
        reading_cell("last reading", last, unit),
        pace(&usage, unit),
    ];
    Reckoned { value: usage, shown_by }
}

/// The pace from the handover to the last reading, where both ends are known.
fn since_handover(
    machine: &Machine,
    series: &Series<'_>,
    handed_over: Option<Date>,
) -> Option<Reckoned<Usage>> {
    let (day, unit) = (handed_over?, machine.clock_unit);
    let last = series.trusted.last()?;
    let around = AROUND_HANDOVER.before(day)?..=AROUND_HANDOVER.after(day)?;
    let start = series
        .trusted
        .iter()
        .filter(|reading| around.contains(&reading.day.value))
        .min_by_key(|reading| (Days::between(day, reading.day.value).0.abs(), reading.day.value));
    let (from, gone, evidence) = match start {
        Some(start) => {
            let evidence = reading_cell("reading at handover", start, unit);
            (start.day.value, last.clock.value - start.clock.value, evidence)
        }
        None => (day, last.clock.value, unridden_at_handover(machine, series, day)?),
    };
    let days = Days::between(from, last.day.value).0;
    if days < 1 {
        return None;
    }
    let miles_a_day = (gone.count_in(DistanceUnit::Miles) / days as f64).max(0.0);
    let usage = Usage {
        miles_a_day,
        lowest: miles_a_day / TWO_READINGS_FACTOR,
        highest: miles_a_day * TWO_READINGS_FACTOR,
        readings: 2,
    };
    let shown_by = vec![evidence, reading_cell("last reading", last, unit), pace(&usage, unit)];
    Some(Reckoned { value: usage, shown_by })
}

/// What shows that the clock stood at about nothing at handover: the machine was registered shortly before, and
/// its clock was never changed. `None` for any other machine, whose clock at handover nobody knows.
fn unridden_at_handover(machine: &Machine, series: &Series<'_>, handover: Date) -> Option<Evidence> {
    let registered = machine.row.registered.as_ref()?;
    let unridden =
        series.change.is_none() && months_after(registered.value, UNRIDDEN_IF_REGISTERED_WITHIN)? >= handover;
    unridden.then(|| day_cell("registered, so new at handover", registered))
}

/// The pace in words: `8.2 miles a day, 5.1 to 11.3 likely, from 6 readings`.
fn pace(usage: &Usage, unit: DistanceUnit) -> Evidence {
    let a_day = |miles: f64| Distance::estimated(miles, DistanceUnit::Miles).count_in(unit);
    let [a_pace, lowest, highest] =
        [usage.miles_a_day, usage.lowest, usage.highest].map(|miles| format!("{:.1}", a_day(miles)));
    // A range that is none to this place says nothing.
    let likely = if lowest == highest { String::new() } else { format!(", {lowest} to {highest} likely") };
    let shown = format!("{a_pace} {} a day{likely}, from {} readings", unit.plural(), usage.readings);
    Evidence::reckoned("pace", shown)
}
