//! Which of day and month comes first, told by what cannot be: work done on a day to come, a service before the machine
//! was registered, a clock that falls, a log whose days leap to and fro.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::assign::{Assigned, column_of};
use super::beside::ROWS_BESIDE;
use crate::settings::DateOrder;
use crate::sheets::{Cell, Row, Table};
use crate::yard::Field;
use crate::yard::cells::{self, Meaning};
use crate::yard::days;

/// So often must the one order make of the dates what cannot be, and the other one never. Our decision.
const LEAST_AGAINST: usize = 3;

/// Fewer dates than this may stand in a rising row by chance: six do in one log of 360 (2 of 6! ways). Our decision.
const LEAST_RISING: usize = 6;

/// What is over and done: none of these days is yet to come. An inspection or a service may be planned.
const OVER: [Field; 7] = [
    Field::Day,
    Field::Built,
    Field::Sold,
    Field::ClockDay,
    Field::LastServiceDay,
    Field::FirstRideDay,
    Field::LastFillDay,
];

/// What comes before what in a machine's row, be it new or used.
const BEFORE: [(Field, Field, &str); 6] = [
    (Field::Built, Field::Registered, "registered before it was built"),
    (Field::Registered, Field::FirstServiceDay, "serviced before it was registered"),
    (Field::Registered, Field::LastServiceDay, "serviced before it was registered"),
    (Field::Registered, Field::MotExpiry, "past its MOT before it was registered"),
    (Field::Arrived, Field::Handover, "handed over before it had come"),
    (Field::FirstRideDay, Field::SecondRideDay, "on its second road test before its first"),
];

/// How often an order makes of the dates what cannot be, with the first cell and what would be there.
#[derive(Default)]
struct Against {
    count: usize,
    first: Option<String>,
}

impl Against {
    fn add(&mut self, said: impl FnOnce() -> String) {
        self.count += 1;
        self.first.get_or_insert_with(said);
    }
}

/// The order that the rows show, and what the other one would make of them; `None` where they show none, or both.
pub(super) fn order_by_rows(
    table: &Table,
    header_row: usize,
    assigned: &[Assigned],
) -> Option<(DateOrder, String)> {
    let rows = Rows { table, header_row, assigned };
    let looks = |order| {
        [rows.days_to_come(order), rows.in_wrong_turn(order), rows.falling_clocks(order), rows.leaps(order)]
    };
    let mut found: Option<(DateOrder, String)> = None;
    for (day_first, month_first) in looks(DateOrder::DayFirst).into_iter().zip(looks(DateOrder::MonthFirst)) {
        let (order, against) = match (day_first.count, month_first.count) {
            (0, LEAST_AGAINST..) => (DateOrder::DayFirst, month_first),
            (LEAST_AGAINST.., 0) => (DateOrder::MonthFirst, day_first),
            _ => continue,
        };
        if found.as_ref().is_some_and(|(other, _)| *other != order) {
            return None;
        }
        found = found.or(against.first.map(|said| (order, said)));
    }
    found
}

/// The rows of a sheet, of whose dates nothing else tells the order.
struct Rows<'r> {
    table: &'r Table,
    header_row: usize,
    assigned: &'r [Assigned],
}

impl<'r> Rows<'r> {
    fn column(&self, field: Field) -> Option<usize> {
        column_of(self.assigned, field)
    }

    fn rows(&self) -> impl Iterator<Item = Row<'r>> + use<'r> {
        self.table.rows().part(self.header_row + 1..self.header_row + 1 + ROWS_BESIDE).iter()
    }

    fn shown(&self, row: Row<'_>, column: usize) -> String {
        format!("{} `{}`", self.table.origin(row, column).cell(), row.cell(column).shown())
    }

    /// Days that would lie behind the day on which the file was written.
    fn days_to_come(&self, order: DateOrder) -> Against {
        let mut against = Against::default();
        let Some(written) = self.table.file.written else { return against };
        // A list of jobs may hold those that are booked.
        let is_over = |field: &Field| *field != Field::Day || self.column(Field::Done).is_none();
        for column in OVER.into_iter().filter(is_over).filter_map(|field| self.column(field)) {
            for row in self.rows() {
                if let Some(day) = day(row.cell(column), order).filter(|day| *day > written) {
                    against
                        .add(|| format!("{} would be {}, yet to come", self.shown(row, column), said(day)));
                }
            }
        }
        against
    }

    /// Days of a machine's row that would lie in the wrong turn.
    fn in_wrong_turn(&self, order: DateOrder) -> Against {
        let mut against = Against::default();
        for (earlier, later, what) in BEFORE {
            let Some((first, second)) = self.column(earlier).zip(self.column(later)) else { continue };
            for row in self.rows() {
                let days = day(row.cell(first), order).zip(day(row.cell(second), order));
                if days.is_some_and(|(first, second)| second < first) {
                    against.add(|| format!("by {} it would be {what}", self.shown(row, second)));
                }
            }
        }
        against
    }

    /// Readings of a machine that would be lower than those before them.
    fn falling_clocks(&self, order: DateOrder) -> Against {
        let mut against = Against::default();
        let name = self.assigned.iter().find(|assigned| assigned.field.is_identity());
        let columns =
            name.map(|name| name.column).zip(self.column(Field::Day)).zip(self.column(Field::Clock));
        let Some(((name, on), clock)) = columns else { return against };
        let mut machines: BTreeMap<String, Vec<(Date, i64, u32)>> = BTreeMap::new();
        for row in self.rows() {
            let Ok(Some(figure)) = cells::distance(row.cell(clock), &Meaning::default()) else { continue };
            let machine = self.table.row_of_value(row, name).cell(name).shown().to_uppercase();
            if let Some(day) = day(row.cell(on), order).filter(|_| !machine.is_empty()) {
                machines.entry(machine).or_default().push((day, figure.tenths, row.number));
            }
        }
        for readings in machines.values_mut() {
            readings.sort_unstable();
            for pair in readings.windows(2).filter(|pair| pair[0].0 < pair[1].0 && pair[1].1 < pair[0].1) {
                against.add(|| {
                    format!("the clock in row {} would have fallen since {}", pair[1].2, said(pair[0].0))
                });
            }
        }
        against
    }

    /// The breaks in a log that is written down day by day, the newest first or last.
    fn leaps(&self, order: DateOrder) -> Against {
        let Some(column) = self.column(Field::Day) else { return Against::default() };
        let all: Vec<(Row<'_>, Date)> =
            self.rows().filter_map(|row| Some((row, day(row.cell(column), order)?))).collect();
        let (mut up, mut down) = (Against::default(), Against::default());
        for pair in all.windows(2) {
            let ((_, before), (row, day)) = (&pair[0], &pair[1]);
            let leap =
                || format!("{} would be {}, behind {}", self.shown(*row, column), said(*day), said(*before));
            match day.cmp(before) {
                std::cmp::Ordering::Less => up.add(leap),
                std::cmp::Ordering::Greater => down.add(leap),
                std::cmp::Ordering::Equal => {}
            }
        }
        let steps = up.count + down.count;
        let against = if up.count <= down.count { up } else { down };
        // Texts that a spreadsheet program has sorted as such rise with the month first, whatever is meant.
        let is_sorted_as_text =
            order == DateOrder::MonthFirst && against.count == 0 && self.is_sorted_text(column);
        if steps + 1 < LEAST_RISING || is_sorted_as_text {
            return Against { count: 1, first: None };
        }
        against
    }

    fn is_sorted_text(&self, column: usize) -> bool {
        let texts: Vec<String> = self.rows().map(|row| row.cell(column).shown()).collect();
        texts.is_sorted() || texts.iter().rev().is_sorted()
    }
}

/// The day of a cell with that order.
fn day(cell: Cell<'_>, order: DateOrder) -> Option<Date> {
    match cell {
        Cell::Day(day) => Some(day.date()),
        Cell::Text(text) => days::readings(text).in_order(order),
        _ => None,
    }
}

fn said(day: Date) -> String {
    day.strftime("%-d %b %Y").to_string()
}
