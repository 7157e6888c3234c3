//! Days of the same rows that have all moved by the same, as after a find and replace or a wrong clock of the program that
//! wrote them, and days that run on from row to row, as after filling down.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::Side;
use super::held::HeldCell;
use super::meanings::{Doubt, LEAST_MACHINES, Pair, Told};
use super::values::{self, MOST, NEARLY_ALL, SOME};
use crate::problem::counted;
use crate::sheets::Row;
use crate::units::Days;
use crate::yard::Field;

/// Fewer days that move by a little, or run on from row to row, may be a day's work. Our decision.
const LEAST_ROWS: usize = 5;

/// A day that moved by no more than this was put off. Our decision.
const PUT_OFF: i64 = 31;

/// What such days are known by, before their header.
const TOGETHER: &str = "moved together";
const SERIES: &str = "in a row";

/// By how much a day moved: to the same day of another month, or by so many days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Shift {
    Months(i32),
    Days(i64),
}

impl Shift {
    fn between(was: Date, is: Date) -> Shift {
        if was.day() == is.day() {
            let months = |day: Date| i32::from(day.year()) * 12 + i32::from(day.month());
            return Shift::Months(months(is) - months(was));
        }
        Shift::Days(Days::between(was, is).0)
    }

    fn is_far(self) -> bool {
        match self {
            Shift::Months(months) => months.abs() > 1,
            Shift::Days(days) => days.abs() > PUT_OFF,
        }
    }

    fn is_of_years(self) -> bool {
        matches!(self, Shift::Months(months) if months % 12 == 0)
    }

    fn in_words(self) -> String {
        let (count, unit, is_later) = match self {
            Shift::Months(months) if months % 12 == 0 => (months.abs() / 12, "year", months > 0),
            Shift::Months(months) => (months.abs(), "month", months > 0),
            Shift::Days(days) => (i32::try_from(days.abs()).unwrap_or(i32::MAX), "day", days > 0),
        };
        let count = counted(count.unsigned_abs() as usize, unit);
        format!("{count} {}", if is_later { "later" } else { "earlier" })
    }
}

impl Pair<'_> {
    fn day_before(&self, row: Row<'_>) -> Option<Date> {
        values::day(row, self.was)
    }

    fn day_now(&self, row: Row<'_>) -> Option<Date> {
        values::day(row, self.column)
    }

    /// Several days that have moved by the same, however many others stayed. What moves so in a day's work is none.
    pub(super) fn moved_together(&self) -> Option<Told> {
        let is_of_log = self.before.is_log() && self.column.field == Field::Day;
        if !(is_of_log || values::is_day_that_stands(self.column.field)) || self.is_order_agreed_now() {
            return None;
        }
        let mut both = 0;
        let mut moved: BTreeMap<Shift, Vec<HeldCell>> = BTreeMap::new();
        for (earlier, later) in self.rows.pairs() {
            let Some((was, is)) = self.day_before(earlier).zip(self.day_now(later)) else { continue };
            both += 1;
            // The newest row of a log may say what the one that rolled off did.
            let is_in_place = !is_of_log || self.is_in_place(earlier, later);
            if was != is && is_in_place && !values::is_days_work(self.column.field, was, is) {
                let cell = HeldCell { row: later.number, was: self.was.index, place: self.column.index };
                moved.entry(Shift::between(was, is)).or_default().push(cell);
            }
        }
        let (shift, cells) = moved.into_iter().max_by_key(|(_, cells)| cells.len())?;
        let is_most = cells.len() >= LEAST_ROWS && cells.len() as f64 >= MOST * both as f64;
        let are_many = if is_of_log { shift.is_of_years() } else { shift.is_far() };
        let is_so = is_most
            || (are_many && cells.len() >= LEAST_MACHINES)
            || (cells.len() as f64 >= SOME * both as f64 && self.terms.is_known(&self.key(TOGETHER)));
        if !is_so {
            return None;
        }
        let what = format!(
            "{} of {both} days in {} are exactly {} than before, which no day's work does; what the same rows said before \
             stands",
            cells.len(),
            self.subject(),
            shift.in_words()
        );
        Some((self.held(TOGETHER, what), Some(Doubt::Shifted(cells))))
    }

    /// Whether a row stands where it stood, or as many rows further as the sheet has more.
    fn is_in_place(&self, earlier: Row<'_>, later: Row<'_>) -> bool {
        let more = self.now.table.rows().len() as i64 - self.before.table.rows().len() as i64;
        let further = i64::from(later.number) - i64::from(earlier.number);
        further == 0 || further == more
    }

    /// Days on which clocks were read that are as far from each other from row to row, though the clocks stayed.
    pub(super) fn in_a_row(&self) -> Option<Told> {
        if self.column.field != Field::ClockDay {
            return None;
        }
        let clock = |side: &Side<'_>| {
            let columns = &side.read_as.columns;
            columns.iter().find(|column| column.field == Field::Clock).map(|column| column.index)
        };
        let (clock_was, clock_is) = (clock(self.before)?, clock(self.now)?);
        let (mut both, mut stayed, mut days) = (0, 0, Vec::new());
        for (earlier, later) in self.rows.pairs() {
            let Some((was, is)) = self.day_before(earlier).zip(self.day_now(later)) else { continue };
            both += 1;
            if was != is {
                days.push(is);
                stayed += usize::from(earlier.cell(clock_was).shown() == later.cell(clock_is).shown());
            }
        }
        let mut steps: BTreeMap<i64, usize> = BTreeMap::new();
        for next in days.windows(2) {
            *steps.entry(Days::between(next[0], next[1]).0).or_default() += 1;
        }
        steps.remove(&0);
        let (step, count) = steps.into_iter().max_by_key(|(_, count)| *count)?;
        let is_known = self.terms.is_known(&self.key(SERIES));
        let (least, share) = if is_known { (2, SOME) } else { (LEAST_ROWS, MOST) };
        let is_so = days.len() >= least
            && days.len() as f64 >= share * both as f64
            && stayed as f64 >= share * days.len() as f64
            && count as f64 >= NEARLY_ALL * (days.len() - 1) as f64;
        if !is_so {
            return None;
        }
        let what = format!(
            "the days in {} of {} rows are {} apart from row to row now, as after filling down, and the clocks stayed what \
             they were; what the same rows said before stands",
            self.subject(),
            days.len(),
            counted(step.unsigned_abs() as usize, "day")
        );
        Some((self.held(SERIES, what), Some(Doubt::Held)))
    }
}
