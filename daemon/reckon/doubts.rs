//! What cannot be so in a machine's readings, put into words.

use jiff::civil::Date;

use super::Doubt;
use super::clock::{most_between, reading_cell};
use super::days_ahead::days_ahead;
use super::doubled::Doubled;
use super::slip::likely_slip;
use super::subject::{CountedKeys, Subject};
use crate::origin::Evidence;
use crate::problem::counted;
use crate::units::{Days, Distance, DistanceUnit, shown_day};
use crate::yard::Reading;

/// A reading that does not fit, with the trusted ones around it.
pub(super) struct Around<'a> {
    pub(super) reading: &'a Reading,
    pub(super) before: Option<&'a Reading>,
    pub(super) before_that: Option<&'a Reading>,
    pub(super) behind: Option<&'a Reading>,
}

/// Everything in a machine's readings, and in the days of its other records, that cannot be so, by day.
pub(super) fn all(subject: &Subject<'_>) -> Vec<Doubt> {
    let mut doubts = subject.series.doubts.clone();
    doubts.extend(days_ahead(subject));
    doubts.sort_by(|left, right| (left.day, &left.key).cmp(&(right.day, &right.key)));
    doubts
}

/// Puts doubts into words.
pub(super) struct Telling {
    unit: DistanceUnit,
    keys: CountedKeys,
    doubts: Vec<Doubt>,
}

impl Telling {
    /// Nothing doubted yet on a clock of that unit.
    pub(super) fn new(unit: DistanceUnit) -> Telling {
        Telling { unit, keys: CountedKeys::default(), doubts: Vec::new() }
    }

    /// A reading that does not go with the trusted ones around it.
    pub(super) fn does_not_fit(&mut self, around: &Around<'_>) {
        let reading = around.reading;
        let steps = [around.before.map(|from| (from, reading)), around.behind.map(|to| (reading, to))];
        for (from, to) in steps.into_iter().flatten() {
            let gap = to.clock.value - from.clock.value;
            let shown_by = vec![self.cell(from), self.cell(to)];
            let slip = self.slip(around);
            if gap.is_negative() {
                let likely = slip.unwrap_or("one of the two is mistyped, or another clock was put in".into());
                let what = self.fallen(from, to);
                return self.add("clock goes down", reading.day.value, what, likely, shown_by);
            }
            if gap > most_between(from.day.value, to.day.value) {
                let days = Days::between(from.day.value, to.day.value).0.max(1);
                let within = counted(days as usize, "day");
                let what = format!("{} in {within} are more than can be ridden", gap.shown_in(self.unit));
                let likely = slip.unwrap_or("a reading or its day is mistyped".into());
                return self.add("impossible pace", reading.day.value, what, likely, shown_by);
            }
        }
    }

    /// The slip that most likely made the reading, or, where no later one has settled which of the two is
    /// wrong, the one before it.
    fn slip(&self, around: &Around<'_>) -> Option<String> {
        let own = likely_slip(around.reading, around.before, around.behind, self.unit);
        let (Some(before), None) = (around.before, around.behind) else {
            return own.map(|own| own.words);
        };
        let others = likely_slip(before, around.before_that, Some(around.reading), self.unit);
        let others = others.filter(|others| !others.swapped);
        match (own, others) {
            (own, None) => own.map(|own| own.words),
            (Some(own), Some(others)) if own.rank < others.rank => Some(own.words),
            (Some(own), Some(others)) if own.rank == others.rank => {
                Some(format!("{}; or, in the reading before, {}", own.words, others.words))
            }
            (_, Some(others)) => Some(format!("in the reading before, {}", others.words)),
        }
    }

    /// Readings that begin again below those before, without a job that says why.
    pub(super) fn new_clock(&mut self, last: &Reading, first: &Reading) {
        let what = self.fallen(last, first);
        let likely =
            "another clock was put in and no job says so, or the readings before are another machine's";
        let shown_by = vec![self.cell(last), self.cell(first)];
        self.add("clock starts anew", first.day.value, what, likely.to_owned(), shown_by);
    }

    /// A reading of a day that has not come.
    pub(super) fn in_the_future(&mut self, reading: &Reading, today: Date) {
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

    /// A last reading far beyond the machine's own pace, in which a digit was most likely typed twice.
    pub(super) fn digit_twice(&mut self, doubled: &Doubled<'_>) {
        let Doubled { before, last, miles_a_day, slip } = doubled;
        let days = Days::between(before.day.value, last.day.value).0.max(1);
        let what = format!(
            "{} in {} are far beyond its own pace of about {} a day",
            (last.clock.value - before.clock.value).shown_in(self.unit),
            counted(days as usize, "day"),
            Distance::estimated(*miles_a_day, DistanceUnit::Miles).shown_whole_in(self.unit)
        );
        let shown_by = vec![self.cell(before), self.cell(last)];
        self.add("far beyond its pace", last.day.value, what, slip.words.clone(), shown_by);
    }

    /// All doubts.
    pub(super) fn told(self) -> Vec<Doubt> {
        self.doubts
    }

    fn add(&mut self, kind: &str, day: Date, what: String, likely: String, shown_by: Vec<Evidence>) {
        let key = self.keys.counted(format!("{kind} {day}"));
        self.doubts.push(Doubt { key, day, what, likely, shown_by });
    }

    fn cell(&self, reading: &Reading) -> Evidence {
        reading_cell("reading", reading, self.unit)
    }

    /// `the clock goes down from 1,204 miles on 1 Nov 2026 to 1,180 miles on 3 Nov 2026`.
    fn fallen(&self, from: &Reading, to: &Reading) -> String {
        format!(
            "the clock goes down from {} on {} to {} on {}",
            from.clock.value.shown_in(self.unit),
            shown_day(from.day.value),
            to.clock.value.shown_in(self.unit),
            shown_day(to.day.value)
        )
    }
}
