//! Columns whose values are others now in the same rows, though headers and rows stay: a day's work changes a few of them.

use jiff::civil::Date;

use super::matched_rows::squeezed;
use super::{ColumnRead, MatchedRows, Side, Terms};
use crate::sheets::{Cell, Row};
use crate::units::{Days, DistanceUnit, SpeedUnit};
use crate::yard::cell_words;
use crate::yard::cells;
use crate::yard::field::Shape;
use crate::yard::{Field, RecordKind};

/// Fewer rows may have changed in a day's work, unless there are no others. Our decision.
const LEAST_ROWS: usize = 5;

/// Of so few rows all must have changed: one may be a slip that was put right. Our decision.
const LEAST_OF_FEW: usize = 2;

/// The share of the rows that have changed: most. Our decision.
pub(super) const MOST: f64 = 0.6;

/// The share of the changed cells that must have changed alike: a day's work changes a few besides. Our decision.
pub(super) const NEARLY_ALL: f64 = 0.9;

/// The share of the rows by which a change that is known is one still: a few may be put right by themselves. Our decision.
pub(super) const SOME: f64 = 0.2;

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
    /// Whether the column is another one now, by all that its rows show: most of them, of few all.
    pub(super) fn are_most(self) -> bool {
        self.rows >= LEAST_OF_FEW
            && self.others >= LEAST_ROWS.min(self.rows)
            && self.others as f64 >= MOST * self.rows as f64
    }

    /// Whether the rows speak against its being the same column.
    pub(super) fn speak_against(self) -> bool {
        /// Beside at least so many that stayed what they were, one row may always have been corrected. Our decision.
        const BESIDE_ONE: usize = 2;
        let is_one = self.others == 1 && self.rows > BESIDE_ONE;
        self.others > 0 && !is_one && self.others as f64 > SOME * self.rows as f64
    }

    pub(super) fn count(&mut self, is_other: bool) {
        self.rows += 1;
        self.others += usize::from(is_other);
    }

    /// Whether there are so few rows that a day's work may well reach all of them.
    fn is_of_few(self) -> bool {
        self.rows < LEAST_ROWS
    }
}

/// Compares the values of two columns, row by row. A day that moved by no more than was put off is no other one.
pub(super) fn altered(
    rows: &MatchedRows<'_>,
    (before, was): (&Side<'_>, &ColumnRead),
    (now, column): (&Side<'_>, &ColumnRead),
    terms: &Terms<'_>,
    put_off: Days,
    between: Days,
) -> Altered {
    let (mut altered, mut renewed) = (Altered::default(), 0);
    for (earlier, later) in rows.pairs() {
        if is_day_that_stands(was.field) {
            if let (Some(was), Some(is)) = (day(earlier, was), day(later, column)) {
                let is_other = Days::between(was, is).0.abs() > put_off.0;
                altered.count(is_other);
                renewed += usize::from(is_other && is_days_work(column.field, was, is));
            }
        } else if was.field == Field::Clock {
            let read_was = was;
            let (was, is) = (miles(earlier, was, before, terms), miles(later, column, now, terms));
            if let (Some(was), Some(is)) = (was, is) {
                let was = if is_rounded_alike((read_was, column), was, is) { is } else { was };
                let is_of_that_day = is_of_the_same_day((earlier, before), (later, now));
                altered.count(!may_be_ridden(was, is, between) || (is_of_that_day && leaps(was, is)));
            }
        }
    }
    // Two machines may well have had their MOT on one day.
    if altered.is_of_few() {
        altered.others -= renewed;
    }
    altered
}

/// Compares what stands in two columns, row by row: whatever is not what it was is another value. Of a column that has
/// another name now nothing less tells that it is the same one.
pub(super) fn differing(
    (before, was): (&Side<'_>, &ColumnRead),
    (now, column): (&Side<'_>, &ColumnRead),
    terms: &Terms<'_>,
) -> Altered {
    let mut altered = Altered::default();
    for (earlier, later) in MatchedRows::of(before, now, &[was.index]).pairs() {
        if let (Some(was), Some(is)) = (said(earlier, was, before, terms), said(later, column, now, terms)) {
            altered.count(!is_alike(&was, &is, column.field.shape()));
        }
    }
    altered
}

/// What a row says in a column, in one way of writing; `None` where it says nothing.
pub(super) fn said(row: Row<'_>, column: &ColumnRead, side: &Side<'_>, terms: &Terms<'_>) -> Option<String> {
    let cell = row.cell(column.index);
    let is_blank = match cell {
        Cell::Text(text) => cell_words::is_nothing_known(text),
        cell => cell.is_blank(),
    };
    let plain = || squeezed(cell).chars().filter(|letter| letter.is_alphanumeric()).collect::<String>();
    let said = match column.field.shape() {
        _ if is_blank => return None,
        Shape::Day | Shape::DayOrFlag | Shape::Result => day(row, column).map(|day| day.to_string()),
        Shape::Distance => miles(row, column, side, terms).map(|miles| format!("{miles:.1}")),
        Shape::Speed => {
            let speed = cells::speed(cell, &column.meaning).ok().flatten();
            speed.map(|speed| speed.shown_in(SpeedUnit::MilesAnHour))
        }
        Shape::Volume => {
            let volume = cells::volume(cell, &column.meaning).ok().flatten();
            volume.map(|volume| format!("{:.2}", volume.litres()))
        }
        Shape::Telephone => cells::telephone(cell).ok().flatten().map(|number| {
            let figures: String = number.chars().filter(char::is_ascii_digit).collect();
            // The code of the country stands for the nought.
            figures.strip_prefix("44").unwrap_or(&figures).trim_start_matches('0').to_owned()
        }),
        Shape::Kind => cell_words::machine_kind(cell).ok().flatten().map(|kind| format!("{kind:?}")),
        Shape::Unit => cell_words::clock_unit(cell).ok().flatten().map(|unit| format!("{unit:?}")),
        Shape::Label => cell_words::ethanol_label(cell).ok().flatten().map(|label| format!("{label:?}")),
        _ => None,
    };
    Some(said.unwrap_or_else(plain)).filter(|said| !said.is_empty())
}

/// Whether two values are one, or the one is the other put right or written out.
pub(super) fn is_alike(was: &str, is: &str, shape: Shape) -> bool {
    /// A shorter word stands in many others by chance.
    const SHORTEST: usize = 3;
    if was == is {
        return true;
    }
    if !matches!(shape, Shape::Words | Shape::Anything) {
        return false;
    }
    let figures = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
    let holds = |long: &str, short: &str| short.chars().count() >= SHORTEST && long.contains(short);
    let is_slip = || figures(was) == figures(is) && strsim::osa_distance(was, is) == 1;
    holds(was, is) || holds(is, was) || is_slip()
}

/// The day that a row says in a column.
pub(super) fn day(row: Row<'_>, column: &ColumnRead) -> Option<Date> {
    cells::day(row.cell(column.index), &column.meaning).ok().flatten()
}

/// Whether a day may well have become that one in a day's work, and in all of a few rows: it moves on with a machine's
/// life, to the next MOT or the newest service, or a machine that was ordered comes later.
pub(super) fn is_days_work(field: Field, was: Date, is: Date) -> bool {
    /// For so long a maker keeps a shop waiting. Our decision.
    const SEASON: Days = Days(92);
    match field {
        Field::MotExpiry
        | Field::MotTested
        | Field::FirstServiceDay
        | Field::LastServiceDay
        | Field::AnnualServiceDay
        | Field::BrakeFluidDay
        | Field::WarrantyEnd => is > was,
        Field::Handover => is > was && Days::between(was, is) <= SEASON,
        _ => false,
    }
}

/// Whether a field of a machine's row says what does not change for most of them in a day's work, and is no day.
pub(super) fn stands(field: Field) -> bool {
    field.is_identity()
        || field.is_of_the_machine()
        || matches!(
            field,
            Field::ClockUnit
                | Field::Customer
                | Field::Telephone
                | Field::FuelAllowed
                | Field::OilAsked
                | Field::FirstServiceClock
                | Field::InspectionBy
                | Field::QualityBy
                | Field::FirstRideDistance
                | Field::FirstRideSpeed
                | Field::SecondRideDistance
                | Field::SecondRideSpeed
        )
}

/// Whether a field of a log's row stays what it is once it is written, and is neither its machine nor a clock.
pub(super) fn stands_in_a_log(field: Field) -> bool {
    matches!(
        field,
        Field::Distance
            | Field::TopSpeed
            | Field::Volume
            | Field::Day
            | Field::Done
            | Field::Item
            | Field::By
            | Field::OilUsed
            | Field::Grade
    )
}

/// Whether nothing but a machine's row as it stands today tells a field: what is in a log, or would be, is kept.
pub(super) fn is_told_by_the_row_alone(field: Field) -> bool {
    field.is_of_the_machine()
        || matches!(
            field,
            Field::ClockUnit
                | Field::Registered
                | Field::Built
                | Field::Arrived
                | Field::Sold
                | Field::Handover
                | Field::Customer
                | Field::Telephone
                | Field::FuelAllowed
                | Field::OilAsked
                | Field::MotExpiry
                | Field::MotTested
                | Field::WarrantyEnd
                | Field::Note
        )
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

/// Whether what one row says in a field is not what another one said, but by a slip.
pub(super) fn stands_in_its_row(field: Field) -> bool {
    stands(field)
        || is_day_that_stands(field)
        || matches!(field, Field::LastServiceClock | Field::AnnualServiceClock)
}

/// Whether two distances are one, told in two units and rounded.
pub(super) fn is_rounded_alike((was, column): (&ColumnRead, &ColumnRead), said: f64, says: f64) -> bool {
    /// Half a mile, to which a clock is rounded.
    const ROUNDED: f64 = 0.51;
    was.meaning.distance_unit != column.meaning.distance_unit && (said - says).abs() <= ROUNDED
}

pub(super) fn may_be_ridden(was: f64, is: f64, between: Days) -> bool {
    let ridden = is - was;
    let days = between.0.max(1);
    ridden >= 0.0
        && ridden <= (MILES_A_DAY * days) as f64
        && !(is >= TIMES * was && ridden > DAYS_RIDE * days as f64)
}

/// Whether a figure is so much more than it was that it is no correction: of the same day both cannot be.
pub(super) fn leaps(was: f64, is: f64) -> bool {
    is >= TIMES * was && is - was > DAYS_RIDE
}

/// Whether the clocks in two rows were read on the same day, as far as a day stands beside them.
pub(super) fn is_of_the_same_day(
    (earlier, before): (Row<'_>, &Side<'_>),
    (later, now): (Row<'_>, &Side<'_>),
) -> bool {
    day_of_clock(earlier, before).is_some_and(|was| day_of_clock(later, now) == Some(was))
}

/// The day beside a clock.
fn day_of_clock(row: Row<'_>, side: &Side<'_>) -> Option<Date> {
    let of_log = side.read_as.kind == Some(RecordKind::Reading);
    let is_its_day = |field: Field| field == Field::ClockDay || (of_log && field == Field::Day);
    let column = side.read_as.columns.iter().find(|column| is_its_day(column.field));
    column.and_then(|column| day(row, column))
}

/// Whether a clock of a machine's row, beside which no day tells since when it has stood so, has the same digits as before
/// and one more. Without a day a clock may have gone on for months, and nothing else tells such a slip from a ride.
pub(super) fn has_a_digit_more(
    (earlier, before, was): (Row<'_>, &Side<'_>, usize),
    (later, now, is): (Row<'_>, &Side<'_>, usize),
) -> bool {
    /// Of fewer digits a true figure has one more too often. Our decision.
    const LEAST_DIGITS: usize = 3;
    let is_undated = |row: Row<'_>, side: &Side<'_>| {
        side.read_as.kind == Some(RecordKind::Machine) && day_of_clock(row, side).is_none()
    };
    if !(is_undated(earlier, before) && is_undated(later, now)) {
        return false;
    }
    let digits = |row: Row<'_>, column: usize| -> String {
        row.cell(column).shown().chars().filter(char::is_ascii_digit).collect()
    };
    let (was, is) = (digits(earlier, was), digits(later, is));
    was.len() >= LEAST_DIGITS
        && is.len() == was.len() + 1
        && (0..is.len()).any(|place| is[..place] == was[..place] && is[place + 1..] == was[place..])
}

/// The distance in a row, in miles; `None` where there is none.
pub(super) fn miles(row: Row<'_>, column: &ColumnRead, side: &Side<'_>, terms: &Terms<'_>) -> Option<f64> {
    // A figure that is not read as it stands shows nothing of what is put right there.
    let read = if column.field == Field::Clock { cells::clock } else { cells::distance };
    let written = read(row.cell(column.index), &column.meaning).ok().flatten()?;
    let of_row = side.read_as.columns.iter().find(|column| column.field == Field::ClockUnit);
    let of_row = of_row.and_then(|unit| cell_words::clock_unit(row.cell(unit.index)).ok().flatten());
    Some(written.resolved(of_row.unwrap_or(terms.clock_unit)).count_in(DistanceUnit::Miles))
}
