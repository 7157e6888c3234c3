//! Which readings of the clock can be trusted, and what cannot be so in the others.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::slip::likely_slip;
use super::subject::DayKeys;
use super::words::{says_done, shown_day};
use super::{Clock, Doubt, Fact, Missing, Reckoned};
use crate::origin::Evidence;
use crate::problem::counted;
use crate::units::{Days, Distance, DistanceUnit};
use crate::yard::{Machine, Reading};

/// The most that a machine can go in a day; more is a slip. Common practice, no source: 1,000 miles are sixteen
/// hours at 62 miles an hour.
const IMPOSSIBLE_A_DAY: i64 = 1_000;

/// More than this a day is possible, but a slip is likelier where other readings speak against it. Our decision.
pub(super) const UNLIKELY_A_DAY: i64 = 250;

/// The latest readings that are looked at; five a week for more than seven years.
const READINGS_MAX: usize = 2_000;

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
    /// The first reading's day of the clock that is in now, where another was in before.
    pub(super) changed: Option<Date>,
    /// What cannot be so.
    pub(super) doubts: Vec<Doubt>,
    doubted: BTreeSet<(Date, Distance)>,
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
    /// The largest set that fits together is kept: the clock never falls, and no day has more than 1,000 miles.
    /// Of two that speak against each other alone, the earlier is kept. Two or more readings below all those
    /// before are another clock, and the series starts anew with it; so does one after a job that says so.
    pub(super) fn of(machine: &'a Machine, today: Date) -> Series<'a> {
        let mut readings: Vec<&Reading> = machine.readings.iter().collect();
        readings.sort_by_key(|reading| (reading.day.value, reading.clock.value, &reading.clock.origin));
        readings.dedup_by_key(|reading| (reading.day.value, reading.clock.value));
        let first_future = readings.partition_point(|reading| reading.day.value <= today);
        let future = readings.split_off(first_future);
        let readings = &readings[readings.len().saturating_sub(READINGS_MAX)..];
        let kept = best_fitting(readings, machine);
        let mut telling = Telling { unit: machine.clock_unit, keys: DayKeys::default(), doubts: Vec::new() };
        let mut doubted = BTreeSet::new();
        for place in (0..readings.len()).filter(|place| !kept.iter().any(|(kept, _)| kept == place)) {
            let reading = readings[place];
            doubted.insert((reading.day.value, reading.clock.value));
            let before = kept.iter().rev().find(|(kept, _)| *kept < place).map(|(kept, _)| readings[*kept]);
            let behind = kept.iter().find(|(kept, _)| *kept > place).map(|(kept, _)| readings[*kept]);
            telling.does_not_fit(reading, before, behind);
        }
        let mut changed = None;
        let mut start = 0;
        for (index, (place, step)) in kept.iter().enumerate() {
            if *step == Step::NewClock {
                let (before, reading) = (readings[kept[index - 1].0], readings[*place]);
                if !clock_replaced(machine, before.day.value, reading.day.value) {
                    telling.new_clock(before, reading);
                }
                (changed, start) = (Some(reading.day.value), index);
            }
        }
        for reading in future {
            telling.in_the_future(reading, today);
        }
        telling.doubts.sort_by(|left, right| (left.day, &left.key).cmp(&(right.day, &right.key)));
        let trusted = kept[start..].iter().map(|(place, _)| readings[*place]).collect();
        Series { trusted, changed, doubts: telling.doubts, doubted }
    }

    /// The latest reading that no doubt hangs over.
    pub(super) fn clock(&self, unit: DistanceUnit) -> Fact<Clock> {
        let reading = self.trusted.last().ok_or_else(|| Missing::fact("clock reading"))?;
        Ok(Reckoned {
            value: Clock { distance: reading.clock.value, day: reading.day.value },
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

    /// The first trusted reading at a distance or past it.
    pub(super) fn first_at_or_past(&self, distance: Distance) -> Option<&'a Reading> {
        self.trusted.iter().find(|reading| reading.clock.value >= distance).copied()
    }
}

/// A reading as evidence: `412 miles on 3 Nov 2026`.
pub(super) fn reading_cell(what: &str, reading: &Reading, unit: DistanceUnit) -> Evidence {
    let shown = format!("{} on {}", reading.clock.value.shown_in(unit), shown_day(reading.day.value));
    Evidence::of(what, shown, &reading.clock.origin)
}

/// A count of miles for each of the days between two readings; readings of one day count as a day apart.
fn miles_for(a_day: i64, from: Date, to: Date) -> Distance {
    Distance::of(a_day * Days::between(from, to).0.max(1), DistanceUnit::Miles)
}

/// Whether a job between two days says that another clock was put in.
fn clock_replaced(machine: &Machine, from: Date, to: Date) -> bool {
    machine.jobs.iter().any(|job| {
        job.day.as_ref().is_some_and(|day| (from..=to).contains(&day.value))
            && NEW_CLOCK_WORDS.iter().any(|words| says_done(&job.done.value, words))
    })
}

/// How a reading follows an earlier one, and what that costs; `None` when it cannot.
fn step(from: &Reading, to: &Reading, machine: &Machine) -> Option<(Step, i64)> {
    let (first, then) = (from.day.value, to.day.value);
    let gap = to.clock.value - from.clock.value;
    if gap.is_negative() {
        let cost = if clock_replaced(machine, first, then) { 0 } else { NEW_CLOCK };
        return Some((Step::NewClock, cost));
    }
    if gap > miles_for(IMPOSSIBLE_A_DAY, first, then) {
        None
    } else if gap > miles_for(UNLIKELY_A_DAY, first, then) {
        Some((Step::Unlikely, UNLIKELY))
    } else {
        Some((Step::Likely, 0))
    }
}

/// The places of the readings that fit together best, each with how it follows the one before.
fn best_fitting(readings: &[&Reading], machine: &Machine) -> Vec<(usize, Step)> {
    let mut best: Vec<(i64, Option<usize>, Step)> = Vec::with_capacity(readings.len());
    for (place, reading) in readings.iter().enumerate() {
        let mut mine = (KEPT, None, Step::Likely);
        for (earlier, from) in readings[..place].iter().enumerate() {
            if best[earlier].0 + KEPT <= mine.0 {
                continue;
            }
            if let Some((step, cost)) = step(from, reading, machine) {
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

/// Puts doubts into words.
struct Telling {
    unit: DistanceUnit,
    keys: DayKeys,
    doubts: Vec<Doubt>,
}

impl Telling {
    fn add(&mut self, kind: &str, day: Date, what: String, likely: String, shown_by: Vec<Evidence>) {
        let key = self.keys.counted(format!("{kind} {day}"));
        self.doubts.push(Doubt { key, day, what, likely, shown_by });
    }

    fn cell(&self, reading: &Reading) -> Evidence {
        reading_cell("reading", reading, self.unit)
    }

    /// A reading that does not go with the trusted ones around it.
    fn does_not_fit(&mut self, reading: &Reading, before: Option<&Reading>, behind: Option<&Reading>) {
        let slip = likely_slip(reading, before, behind, self.unit);
        for (from, to) in [before.map(|before| (before, reading)), behind.map(|behind| (reading, behind))]
            .into_iter()
            .flatten()
        {
            let gap = to.clock.value - from.clock.value;
            let shown_by = vec![self.cell(from), self.cell(to)];
            if gap.is_negative() {
                let what = fallen(from, to, self.unit);
                let likely = slip.unwrap_or_else(|| {
                    "one of the two readings is mistyped, or another clock was put in".to_owned()
                });
                return self.add("clock goes down", reading.day.value, what, likely, shown_by);
            }
            if gap > miles_for(IMPOSSIBLE_A_DAY, from.day.value, to.day.value) {
                let days = Days::between(from.day.value, to.day.value).0;
                let within = if days == 0 { "one day".to_owned() } else { counted(days as usize, "day") };
                let what = format!("{} in {within} is more than can be ridden", gap.shown_in(self.unit));
                let likely = slip.unwrap_or_else(|| "a reading or its day is mistyped".to_owned());
                return self.add("impossible pace", reading.day.value, what, likely, shown_by);
            }
        }
    }

    /// Readings that begin again below those before, without a job that says why.
    fn new_clock(&mut self, before: &Reading, reading: &Reading) {
        let what = fallen(before, reading, self.unit);
        let likely =
            "another clock was put in and no job says so, or the readings before are another machine's";
        let shown_by = vec![self.cell(before), self.cell(reading)];
        self.add("clock starts anew", reading.day.value, what, likely.to_owned(), shown_by);
    }

    /// A reading of a day that has not come.
    fn in_the_future(&mut self, reading: &Reading, today: Date) {
        let what = format!(
            "the reading of {} is dated {}, after today, {}",
            reading.clock.value.shown_in(self.unit),
            shown_day(reading.day.value),
            shown_day(today)
        );
        let shown_by = vec![Evidence::of("day", shown_day(reading.day.value), &reading.day.origin)];
        let likely = "day, month or year is mistyped".to_owned();
        self.add("day in the future", reading.day.value, what, likely, shown_by);
    }
}

/// `the clock goes down from 1,204 miles on 1 Nov 2026 to 1,180 miles on 3 Nov 2026`.
fn fallen(from: &Reading, to: &Reading, unit: DistanceUnit) -> String {
    format!(
        "the clock goes down from {} on {} to {} on {}",
        from.clock.value.shown_in(unit),
        shown_day(from.day.value),
        to.clock.value.shown_in(unit),
        shown_day(to.day.value)
    )
}
