//! Which readings of the clock can be trusted, and what cannot be so in the others.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::doubled::doubled;
use super::doubts::{Around, Telling};
use super::job_text::says_done;
use super::slip::{Slip, likely_slip};
use super::{Clock, Doubt, Fact, Missing, Reckoned};
use crate::origin::Evidence;
use crate::units::{Days, Distance, DistanceUnit, shown_day};
use crate::yard::{Machine, Reading};

/// The most that a machine can go in a day; more is a slip. Common practice, no source: 1,000 miles are sixteen
/// hours at 62 miles an hour.
const IMPOSSIBLE_A_DAY: i64 = 1_000;

/// More than this a day is possible, but a slip is likelier where other readings speak against it. Our decision.
pub(super) const UNLIKELY_A_DAY: i64 = 250;

/// So many days on end a machine may do what is possible in a day; in all that come after, no more than what is likely.
/// Our decision.
const AT_A_STRETCH: i64 = 7;

/// The latest readings that are looked at; five a week for more than seven years.
const READINGS_MAX: usize = 2_000;

/// A smaller fall is none: figures in whole kilometres and in whole miles differ by less, whichever way they were
/// rounded. A clock that has fallen shows at least one less in its own unit.
const ROUNDING: Distance = Distance::of(1, DistanceUnit::Kilometres);

/// What a reading that is kept counts, when the readings that fit together best are looked for.
const KEPT: i64 = 2;

/// What an unlikely pace takes from that.
const UNLIKELY: i64 = 1;

/// What it takes from that to believe in a new clock that nobody recorded: two readings must speak for it, and
/// one alone is a slip.
const NEW_CLOCK: i64 = 3;

/// What a job's text says when another clock was put in.
const NEW_CLOCK_WORDS: [&str; 9] = [
    "new clock",
    "new clocks",
    "new odometer",
    "new speedometer",
    "new speedo",
    "clock replaced",
    "odometer replaced",
    "speedometer replaced",
    "speedo replaced",
];

/// A machine's readings, those that fit together apart from those that cannot be so.
pub(super) struct Series<'a> {
    /// The readings that no doubt hangs over, of the clock that is in the machine now, first to last.
    pub(super) trusted: Vec<&'a Reading>,
    /// Where the clock that is in now took over, if another was in before.
    pub(super) change: Option<Change<'a>>,
    /// What cannot be so.
    pub(super) doubts: Vec<Doubt>,
    doubted: BTreeSet<(Date, Distance)>,
}

/// Where one clock took over from another.
#[derive(Clone, Copy)]
pub(super) struct Change<'a> {
    /// The last reading of the clock before.
    pub(super) last: &'a Reading,
    /// The first reading of the clock that is in now.
    pub(super) first: &'a Reading,
}

impl Change<'_> {
    /// What the clock before would show at least, where the one that is in now shows so much. Nobody knows how
    /// far the machine went between the two.
    pub(super) fn at_least(&self, clock: Distance) -> Distance {
        self.last.clock.value + (clock - self.first.clock.value)
    }
}

/// How one reading follows another.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Step {
    Likely,
    Unlikely,
    NewClock,
}

impl<'a> Series<'a> {
    /// The readings of a machine as they stand on a day.
    ///
    /// The largest set that fits together is kept: the clock never falls, no day has more than 1,000 miles, and no weeks on
    /// end have so many a day.
    /// Of two that speak against each other alone, the earlier is kept, unless it is the one before the last and
    /// its slip is the likelier. Two or more readings below all those
    /// before are another clock, and the series starts anew with it; so does one after a job that says so.
    pub(super) fn of(machine: &'a Machine, today: Date) -> Series<'a> {
        let mut readings: Vec<&Reading> = machine.readings.iter().collect();
        readings.sort_by_key(|reading| (reading.day.value, reading.clock.value, &reading.clock.origin));
        readings.dedup_by_key(|reading| (reading.day.value, reading.clock.value));
        let first_future = readings.partition_point(|reading| reading.day.value <= today);
        let future = readings.split_off(first_future);
        let readings = &readings[readings.len().saturating_sub(READINGS_MAX)..];
        let replaced = days_of_new_clocks(machine);
        let mut kept = best_fitting(readings, &replaced);
        settle_the_last(readings, &mut kept, machine.clock_unit, &replaced);
        let mut telling = Telling::new(machine.clock_unit);
        let mut doubted = BTreeSet::new();
        for (place, reading) in readings.iter().enumerate() {
            let next = kept.partition_point(|(kept, _)| *kept < place);
            if kept.get(next).is_some_and(|(kept, _)| *kept == place) {
                continue;
            }
            doubted.insert((reading.day.value, reading.clock.value));
            let trusted = |index: Option<usize>| Some(readings[kept.get(index?)?.0]);
            telling.does_not_fit(&Around {
                reading,
                before: trusted(next.checked_sub(1)),
                before_that: trusted(next.checked_sub(2)),
                behind: trusted(Some(next)),
            });
        }
        let mut change = None;
        let mut start = 0;
        for (index, (place, step)) in kept.iter().enumerate() {
            if *step == Step::NewClock {
                let (last, first) = (readings[kept[index - 1].0], readings[*place]);
                if !any_within(&replaced, last.day.value, first.day.value) {
                    telling.new_clock(last, first);
                }
                (change, start) = (Some(Change { last, first }), index);
            }
        }
        for reading in future {
            telling.in_the_future(reading, today);
        }
        let trusted = kept[start..].iter().map(|(place, _)| readings[*place]).collect();
        let mut series = Series { trusted, change, doubts: Vec::new(), doubted };
        if let Some(doubled) = doubled(machine, &series, today) {
            telling.digit_twice(&doubled);
            series.doubted.insert((doubled.last.day.value, doubled.last.clock.value));
            series.trusted.pop();
        }
        series.doubts = telling.told();
        series
    }

    /// The readings that would be trusted before the last of them was taken.
    pub(super) fn without_last(&self) -> Series<'a> {
        let mut trusted = self.trusted.clone();
        trusted.pop();
        Series { trusted, change: self.change, doubts: Vec::new(), doubted: BTreeSet::new() }
    }

    /// The latest reading that no doubt hangs over.
    pub(super) fn clock(&self, unit: DistanceUnit) -> Fact<Clock> {
        let reading = self.trusted.last().ok_or_else(|| Missing::fact("clock reading"))?;
        Ok(Reckoned {
            value: Clock {
                distance: reading.clock.value,
                day: reading.day.value,
                is_undated: reading.is_undated(),
            },
            shown_by: vec![reading_cell("last reading", reading, unit)],
        })
    }

    /// Whether a reading that another record carries is one of those that cannot be so.
    pub(super) fn is_doubted(&self, day: Date, clock: Distance) -> bool {
        self.doubted.contains(&(day, clock))
    }

    /// The last trusted reading on a day or before it.
    pub(super) fn on_or_before(&self, day: Date) -> Option<&'a Reading> {
        self.trusted.iter().rev().find(|reading| reading.day.value <= day).copied()
    }
}

/// A reading as evidence: `412 miles on 3 Nov 2026`, or `by` that day where nobody wrote one beside it.
pub(super) fn reading_cell(what: &str, reading: &Reading, unit: DistanceUnit) -> Evidence {
    let when = if reading.is_undated() { "by" } else { "on" };
    let shown = format!("{} {when} {}", reading.clock.value.shown_in(unit), shown_day(reading.day.value));
    Evidence::of(what, shown, &reading.clock.origin)
}

/// A count of miles for each of the days between two readings; readings of one day count as a day apart.
pub(super) fn miles_for(a_day: i64, from: Date, to: Date) -> Distance {
    Distance::of(a_day * Days::between(from, to).0.max(1), DistanceUnit::Miles)
}

/// The most that can be ridden between two readings; more is a slip.
pub(super) fn most_between(from: Date, to: Date) -> Distance {
    let days = Days::between(from, to).0.max(1);
    let at_a_stretch = days.min(AT_A_STRETCH);
    let miles = IMPOSSIBLE_A_DAY * at_a_stretch + UNLIKELY_A_DAY * (days - at_a_stretch);
    Distance::of(miles, DistanceUnit::Miles)
}

/// The days, in order, on which a job says that another clock was put in.
fn days_of_new_clocks(machine: &Machine) -> Vec<Date> {
    let says_so = |text: &str| NEW_CLOCK_WORDS.iter().any(|words| says_done(text, words));
    let mut days: Vec<Date> = machine
        .jobs
        .iter()
        .filter(|job| job.doubt.is_none() && says_so(&job.done.value))
        .filter_map(|job| job.day.as_ref().map(|day| day.value))
        .collect();
    days.sort();
    days
}

/// Whether any of some days, in order, lies within two others.
fn any_within(days: &[Date], from: Date, to: Date) -> bool {
    days.get(days.partition_point(|day| *day < from)).is_some_and(|day| *day <= to)
}

/// How a reading follows an earlier one, and what that costs; `None` when it cannot.
fn step(from: &Reading, to: &Reading, replaced: &[Date]) -> Option<(Step, i64)> {
    let (first, then) = (from.day.value, to.day.value);
    let gap = to.clock.value - from.clock.value;
    if gap.is_negative() && from.clock.value.gap_to(to.clock.value) >= ROUNDING {
        return Some((Step::NewClock, if any_within(replaced, first, then) { 0 } else { NEW_CLOCK }));
    }
    if gap > most_between(first, then) {
        // Nobody knows how long before that day the clock showed what has none beside it.
        from.is_undated().then_some((Step::Unlikely, UNLIKELY))
    } else if gap > miles_for(UNLIKELY_A_DAY, first, then) {
        Some((Step::Unlikely, UNLIKELY))
    } else {
        Some((Step::Likely, 0))
    }
}

/// The places of the readings that fit together best, each with how it follows the one before.
fn best_fitting(readings: &[&Reading], replaced: &[Date]) -> Vec<(usize, Step)> {
    let mut best: Vec<(i64, Option<usize>, Step)> = Vec::with_capacity(readings.len());
    for (place, reading) in readings.iter().enumerate() {
        let mut mine = (KEPT, None, Step::Likely);
        for (earlier, from) in readings[..place].iter().enumerate() {
            if best[earlier].0 + KEPT <= mine.0 {
                continue;
            }
            if let Some((step, cost)) = step(from, reading, replaced) {
                let worth = best[earlier].0 + KEPT - cost;
                if worth > mine.0 {
                    mine = (worth, Some(earlier), step);
                }
            }
        }
        best.push(mine);
    }
    let most = best.iter().map(|(worth, ..)| *worth).max();
    let mut at = best.iter().position(|(worth, ..)| Some(*worth) == most);
    let mut kept = Vec::new();
    while let Some(place) = at {
        let (_, before, step) = best[place];
        kept.push((place, step));
        at = before;
    }
    kept.reverse();
    kept
}

/// Where the very last reading speaks against the one before it alone, lets the slip decide which of them is
/// wrong: if one is likelier behind the earlier of the two, the last is kept in its stead.
fn settle_the_last(readings: &[&Reading], kept: &mut [(usize, Step)], unit: DistanceUnit, replaced: &[Date]) {
    let ([.., earlier, last], Some((place, _))) = (readings, kept.last()) else { return };
    if place + 2 != readings.len() {
        return;
    }
    let before = kept.len().checked_sub(2).map(|index| readings[kept[index].0]);
    let follows = before.is_none_or(|before| matches!(step(before, last, replaced), Some((Step::Likely, _))));
    let rank = |slip: Option<Slip>| slip.filter(|slip| !slip.swapped).map_or(u8::MAX, |slip| slip.rank);
    let earlier_is_wrong = rank(likely_slip(earlier, before, Some(last), unit))
        < rank(likely_slip(last, Some(earlier), None, unit));
    if let (true, true, Some(kept)) = (follows, earlier_is_wrong, kept.last_mut()) {
        *kept = (readings.len() - 1, Step::Likely);
    }
}
