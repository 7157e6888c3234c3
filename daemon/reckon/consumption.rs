//! How far a gallon went, from full to full, and how far it usually goes in this machine.

use super::subject::Subject;
use crate::units::{Distance, DistanceUnit};
use crate::yard::Fill;

/// From fewer earlier consumptions no usual one follows. Our decision.
const FEWEST: usize = 6;

/// Only so many of the latest earlier ones count, since a machine changes: a year of a fill a week. Our decision.
const LATEST: usize = 50;

/// What lies further below the lower quartile than so many times the quartiles' distance is no chance any more
/// (Tukey, Exploratory Data Analysis, 1977: the inner fence).
const FENCE: f64 = 1.5;

/// What one fill says of the machine's thirst.
#[derive(Default)]
pub(super) struct Consumption {
    /// Miles to the UK gallon since the last full fill.
    pub(super) miles_a_gallon: Option<f64>,
    /// The least that would be no surprise after the earlier ones.
    pub(super) usually_at_least: Option<f64>,
}

/// The consumption at each of a machine's fills, in their order.
pub(super) fn consumptions(subject: &Subject<'_>, fills: &[&Fill]) -> Vec<Consumption> {
    // A fill without a day may have come between any two others, whose consumption nobody knows then.
    if fills.iter().any(|fill| fill.day.is_none()) {
        return fills.iter().map(|_| Consumption::default()).collect();
    }
    let mut earlier = Vec::new();
    (0..fills.len())
        .map(|place| {
            let usually_at_least = lower_fence(&earlier);
            let miles_a_gallon = miles_a_gallon(subject, &fills[..=place]);
            earlier.extend(miles_a_gallon);
            Consumption { miles_a_gallon, usually_at_least }
        })
        .collect()
}

/// Miles to the UK gallon at the last of some fills, from the full fill before it; part fills between are added
/// in. `None` unless both are full with a clock to trust and every volume between is known.
fn miles_a_gallon(subject: &Subject<'_>, fills: &[&Fill]) -> Option<f64> {
    let (last, before) = fills.split_last()?;
    let is_full = |fill: &&Fill| fill.full.as_ref().is_some_and(|full| full.value);
    if !is_full(last) {
        return None;
    }
    let since = before.iter().rposition(is_full)?;
    let clock = |fill: &Fill| -> Option<Distance> {
        let (day, clock) = (fill.day.as_ref()?.value, fill.clock.as_ref()?.value);
        (!subject.series.is_doubted(day, clock)).then_some(clock)
    };
    let gone = (clock(last)? - clock(before[since])?).count_in(DistanceUnit::Miles);
    let mut gallons = last.volume.as_ref()?.value.gallons();
    for fill in &before[since + 1..] {
        gallons += fill.volume.as_ref()?.value.gallons();
    }
    (gone > 0.0 && gallons > 0.0).then(|| gone / gallons)
}

/// Tukey's lower inner fence of the latest of some values; `None` of too few.
pub(super) fn lower_fence(values: &[f64]) -> Option<f64> {
    let mut sorted = values[values.len().saturating_sub(LATEST)..].to_vec();
    if sorted.len() < FEWEST {
        return None;
    }
    sorted.sort_by(f64::total_cmp);
    let (lower, upper) = (quartile(&sorted, 1), quartile(&sorted, 3));
    Some(lower - FENCE * (upper - lower))
}

/// The first to third quartile of sorted values, between two of them in proportion (the `inclusive` method).
fn quartile(sorted: &[f64], which: usize) -> f64 {
    let (place, rest) = ((sorted.len() - 1) * which / 4, (sorted.len() - 1) * which % 4);
    let below = sorted[place];
    let above = sorted[(place + 1).min(sorted.len() - 1)];
    below + (above - below) * rest as f64 / 4.0
}
