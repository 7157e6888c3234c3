//! What the clock showed at a ride: as the ride says, or between the readings around it.

use jiff::civil::Date;

use super::clock::reading_cell;
use super::stages::Moment;
use super::subject::Subject;
use crate::origin::Evidence;
use crate::units::{Days, Distance, DistanceUnit};
use crate::yard::{Reading, Ride};

/// Without a pace a reading is good for so many days after it. Our decision.
const READING_LASTS: Days = Days(7);

/// A ride's moment, where the ride itself or a reading of its day says what the clock showed; else two: with the
/// least and with the most that it can have shown.
pub(super) fn moments(subject: &Subject<'_>, ride: &Ride, day: Date) -> Vec<Moment> {
    let unit = subject.machine.clock_unit;
    if let Some(clock) = ride.clock.as_ref().filter(|clock| !subject.series.is_doubted(day, clock.value)) {
        let shown = Evidence::of("clock at the ride", clock.value.shown_in(unit), &clock.origin);
        return vec![Moment { day, clock: Some(clock.value), shown_by: vec![shown] }];
    }
    let before = subject.series.on_or_before(day);
    let mut shown_by: Vec<Evidence> =
        before.iter().map(|reading| reading_cell("last reading before the ride", reading, unit)).collect();
    let changed_later = subject.series.change.is_some() && before.is_none();
    if changed_later && !in_the_shop(subject, day) {
        // The clock of that day is not in any more.
        return vec![Moment { day, clock: None, shown_by }];
    }
    let least = before.map_or(Distance::ZERO, |reading| reading.clock.value);
    let first = Moment { day, clock: Some(least), shown_by: shown_by.clone() };
    if before.is_some_and(|reading| reading.day.value == day) {
        return vec![first];
    }
    let most = match first_after(subject, day) {
        Some(after) => {
            shown_by.push(reading_cell("first reading after the ride", after, unit));
            after.clock.value
        }
        None if in_the_shop(subject, day) => return vec![first],
        None => carried_on(subject, before, day),
    };
    vec![first, Moment { day, clock: Some(most), shown_by }]
}

/// Whether nobody but the shop rode the machine until a day.
fn in_the_shop(subject: &Subject<'_>, day: Date) -> bool {
    subject.handed_over().is_none_or(|handover| day <= handover.value)
}

/// The first trusted reading after a ride, on the clock of that day; for a ride in the shop, one in the shop.
fn first_after<'a>(subject: &Subject<'a>, day: Date) -> Option<&'a Reading> {
    let after = subject.series.trusted.iter().find(|reading| reading.day.value > day).copied()?;
    let same_clock = subject.series.change.is_none_or(|change| change.first.day.value <= day);
    let same_keeper = !in_the_shop(subject, day) || in_the_shop(subject, after.day.value);
    (same_clock && same_keeper).then_some(after)
}

/// The most that the clock can have shown on a day after the last reading, by the machine's own pace.
fn carried_on(subject: &Subject<'_>, before: Option<&Reading>, day: Date) -> Distance {
    let Some(before) = before else { return Distance::FARTHEST };
    let days = Days::between(before.day.value, day);
    match &subject.usage {
        Ok(usage) => {
            let gone = Distance::estimated(usage.value.highest * days.0 as f64, DistanceUnit::Miles);
            before.clock.value + gone
        }
        Err(_) if days <= READING_LASTS => before.clock.value,
        Err(_) => Distance::FARTHEST,
    }
}
