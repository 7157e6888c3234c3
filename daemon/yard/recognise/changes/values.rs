//! Columns whose values are others now in the same rows, though headers and rows stay: a day's work changes a few of them.

use super::{ColumnRead, MatchedRows, Side, Terms};
use crate::sheets::Row;
use crate::units::{Days, DistanceUnit};
use crate::yard::Field;
use crate::yard::cell_words;
use crate::yard::cells;

/// Fewer rows may have changed in a day's work. Our decision.
const LEAST_ROWS: usize = 5;

/// The share of the rows that have changed: most. Our decision.
const MOST: f64 = 0.6;

/// No machine is ridden further in a day, as in the doubts about single readings. Our decision.
const MILES_A_DAY: i64 = 1_000;

/// So many times the figure is no ride either, where it is a day's ride more at the least. Our decision.
const TIMES: f64 = 3.0;
const DAYS_RIDE: f64 = 250.0;

/// How many of the same rows have another value than a day's work leaves in them.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Altered {
    pub(super) rows: usize,
    pub(super) others: usize,
}

impl Altered {
    /// Whether the column is another one now, by all that its rows show.
    pub(super) fn are_most(self) -> bool {
        self.others >= LEAST_ROWS && self.others as f64 >= MOST * self.rows as f64
    }

    /// Whether the rows speak against its being the same column.
    pub(super) fn speak_against(self) -> bool {
        /// A few corrected cells are no other column. Our decision.
        const SOME: f64 = 0.2;
        self.others > 0 && self.others as f64 > SOME * self.rows as f64
    }

    fn count(&mut self, is_other: bool) {
        self.rows += 1;
        self.others += usize::from(is_other);
    }
}

/// Compares the values of two columns, row by row. A day that moved by no more than was put off is no other one.
pub(super) fn altered(
    (before, was): (&Side<'_>, &ColumnRead),
    (now, column): (&Side<'_>, &ColumnRead),
    terms: &Terms<'_>,
    put_off: Days,
) -> Altered {
    let mut altered = Altered::default();
    for (earlier, later) in MatchedRows::of(before, now, &[was.index]).pairs() {
        if is_day_that_stands(was.field) {
            let day = |row: Row<'_>, column: &ColumnRead| {
                cells::day(row.cell(column.index), &column.meaning).ok().flatten()
            };
            if let (Some(was), Some(is)) = (day(earlier, was), day(later, column)) {
                altered.count(Days::between(was, is).0.abs() > put_off.0);
            }
        } else if was.field == Field::Clock {
            let (was, is) = (miles(earlier, was, before, terms), miles(later, column, now, terms));
            if let (Some(was), Some(is)) = (was, is) {
                altered.count(!may_be_ridden(was, is, terms.days_between));
            }
        }
    }
    altered
}

/// Whether a field is a day that stays what it is once it is written, but for a few rows.
pub(super) fn is_day_that_stands(field: Field) -> bool {
    field.is_what_due_hangs_on()
        || matches!(
            field,
            Field::Built
                | Field::Arrived
                | Field::WarrantyEnd
                | Field::AnnualServiceDay
                | Field::BrakeFluidDay
                | Field::InspectionDay
                | Field::QualityDay
                | Field::FirstRideDay
                | Field::SecondRideDay
        )
}

fn may_be_ridden(was: f64, is: f64, between: Days) -> bool {
    let ridden = is - was;
    let days = between.0.max(1);
    ridden >= 0.0
        && ridden <= (MILES_A_DAY * days) as f64
        && !(is > TIMES * was && ridden > DAYS_RIDE * days as f64)
}

/// The distance in a row, in miles; `None` where there is none.
pub(super) fn miles(row: Row<'_>, column: &ColumnRead, side: &Side<'_>, terms: &Terms<'_>) -> Option<f64> {
    let written = cells::distance(row.cell(column.index), &column.meaning).ok().flatten()?;
    let of_row = side.read_as.columns.iter().find(|column| column.field == Field::ClockUnit);
    let of_row = of_row.and_then(|unit| cell_words::clock_unit(row.cell(unit.index)).ok().flatten());
    Some(written.resolved(of_row.unwrap_or(terms.clock_unit)).count_in(DistanceUnit::Miles))
}
