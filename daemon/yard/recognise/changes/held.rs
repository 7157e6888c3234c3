//! A sheet with columns whose new values are not taken: in them stands what the same rows said before.

use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

use super::{ColumnRead, MatchedRows, ReadAs, Side};
use crate::sheets::{Cell, Row, Table};
use crate::yard::{Field, RecordKind};

/// The columns whose last values stand, with those that tell of the same: a day and the figure beside it are one reading,
/// and a day from before beside a figure of today would be none.
pub(super) fn with_partners(
    before: &Side<'_>,
    read_as: &mut ReadAs,
    mut held: Vec<(usize, usize)>,
) -> Vec<(usize, usize)> {
    let of_held = |column: &ColumnRead| held.iter().any(|(_, place)| *place == column.index);
    // Each column of checks is one by itself.
    let events: Vec<&str> = read_as
        .columns
        .iter()
        .filter(|column| of_held(column) && column.field != Field::CheckItem)
        .filter_map(|column| column.field.event())
        .collect();
    for column in &mut read_as.columns {
        let is_partner = column.field.event().is_some_and(|event| events.contains(&event));
        let was = before.read_as.columns.iter().find(|was| was.field == column.field);
        if let Some(was) = was.filter(|_| is_partner && held.iter().all(|(_, place)| *place != column.index))
        {
            column.meaning = was.meaning;
            held.push((was.index, column.index));
        }
    }
    held
}

/// One cell whose last value stands: its row now, and the places of its column before and now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct HeldCell {
    pub(super) row: u32,
    pub(super) was: usize,
    pub(super) place: usize,
}

/// Where last values stand: in columns, each by its places before and now, or in some of their cells.
pub(super) struct Stands<'s> {
    pub(super) columns: &'s [(usize, usize)],
    pub(super) cells: &'s [HeldCell],
    /// The columns of such cells of which nothing is taken in a new row.
    pub(super) shifted: &'s [(usize, usize)],
}

/// The sheet with the last values of these columns and cells. A row that is new has none: its cells in these columns are
/// given beside the sheet, since what they say is not known.
pub(super) fn with_last_values(
    before: &Side<'_>,
    now: &Table,
    read_as: &ReadAs,
    Stands { columns: held, cells: held_cells, shifted }: Stands<'_>,
) -> Option<(Table, Vec<(u32, usize)>)> {
    let side = Side::of(now, read_as)?;
    let of_cells = held_cells.iter().map(|cell| cell.was);
    let asked: Vec<usize> = held.iter().map(|(was, _)| *was).chain(of_cells).collect();
    let rows = same_rows(before, &side, &asked);
    let earlier: HashMap<u32, _> = rows.pairs().map(|(earlier, later)| (later.number, earlier)).collect();
    let header = now.rows().get(side.header_row)?.number;
    let (mut without_value, mut new_cells) = (Vec::new(), BTreeSet::new());
    for row in side.body().iter() {
        let earlier = earlier.get(&row.number);
        // What stands in a column that has exchanged its header with another is known from there.
        let is_known = |cell: &Cell<'_>| {
            earlier.is_some_and(|earlier| held.iter().any(|(was, _)| earlier.cell(*was) == *cell))
        };
        let says_new = |cell: Cell<'_>| !cell.is_blank() && !is_known(&cell);
        let row_says_new = held.iter().any(|(_, place)| says_new(row.cell(*place)));
        let is_blank = |(was, place): &&(usize, usize)| {
            let fills = |earlier: &Row<'_>| earlier.cell(*was).is_blank() && !row.cell(*place).is_blank();
            row_says_new && earlier.is_none_or(fills)
        };
        without_value.extend(held.iter().filter(is_blank).map(|(_, place)| (row.number, *place)));
        let is_new = |(_, place): &&(usize, usize)| earlier.is_none() && !row.cell(*place).is_blank();
        new_cells.extend(shifted.iter().filter(is_new).map(|(_, place)| (row.number, *place)));
    }
    without_value.extend(&new_cells);
    let mut of_rows: HashMap<u32, Vec<&HeldCell>> = HashMap::new();
    for cell in held_cells {
        of_rows.entry(cell.row).or_default().push(cell);
    }
    let rows = now.rows().iter().map(|row| {
        let mut cells: Vec<Cell<'_>> = row.cells().collect();
        let of_row = of_rows.get(&row.number).into_iter().flatten().map(|cell| (cell.was, cell.place));
        for (was, place) in held.iter().copied().chain(of_row).filter(|_| row.number > header) {
            let value = earlier.get(&row.number).map_or(Cell::Blank, |earlier| earlier.cell(was));
            if place >= cells.len() && !value.is_blank() {
                cells.resize(place + 1, Cell::Blank);
            }
            if let Some(cell) = cells.get_mut(place) {
                *cell = value;
            }
        }
        for (_, place) in shifted.iter().filter(|(_, place)| new_cells.contains(&(row.number, *place))) {
            cells[*place] = Cell::Blank;
        }
        (row.number, cells)
    });
    let table = Table::new(Arc::clone(&now.name), now.counts_from_1904, rows);
    Some((table, without_value))
}

/// The rows of both exports that are the same. One of a log is known by all that it says but what is held.
fn same_rows<'a>(before: &Side<'a>, now: &Side<'a>, asked: &[usize]) -> MatchedRows<'a> {
    let by_names = MatchedRows::of(before, now, asked);
    if before.read_as.kind == Some(RecordKind::Machine) {
        return by_names;
    }
    let by_rest = MatchedRows::alike_but(before, now, asked);
    // By its machine and day alone a row of several of that day is not known.
    let is_by_rest = by_rest.pairs().count() >= by_names.pairs().count();
    if is_by_rest { by_rest } else { by_names }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use jiff::civil::{Date, date};

    use super::*;
    use crate::origin::SheetName;
    use crate::settings::DateOrder;
    use crate::units::DistanceUnit;
    use crate::yard::{Record, Terms, compare, records};

    fn sheet(rows: &[(&str, Cell<'_>, f64)]) -> Table {
        let headers = ["Reg", "Model", "Mileage date", "Mileage"].map(Cell::Text).to_vec();
        let rows = rows.iter().map(|(mark, day, clock)| {
            vec![Cell::Text(mark), Cell::Text("Burdock 400"), *day, Cell::Number(*clock)]
        });
        let name = SheetName { file: "bikes.xlsx".to_owned(), sheet: Some("Bikes".to_owned()) };
        Table::new(Arc::new(name), false, (1..).zip(std::iter::once(headers).chain(rows)))
    }

    /// A spreadsheet program that expects the other order has changed round what it could, and the clocks have gone on.
    #[test]
    fn a_reading_whose_day_is_held_is_held_with_its_figure() {
        let days = [(9, 1), (8, 2), (11, 1), (10, 2), (12, 2), (7, 2)];
        let marks = ["AB12 CDE", "AB13 CDE", "AB14 CDE", "AB15 CDE", "AB16 CDE", "AB17 CDE"];
        let rows = |is_turned: bool, ridden: f64| -> Vec<(&str, Cell<'_>, f64)> {
            let cell = |(day, month): &(i8, i8)| {
                let (month, day) = if is_turned { (*day, *month) } else { (*month, *day) };
                Cell::Day(date(2026, month, day).at(0, 0, 0, 0))
            };
            let clocks = (1..).map(|number| f64::from(number) * 700.0 + ridden);
            marks
                .iter()
                .zip(&days)
                .zip(clocks)
                .map(|((mark, day), clock)| (*mark, cell(day), clock))
                .collect()
        };
        let (before, now) = (sheet(&rows(false, 0.0)), sheet(&rows(true, 11.0)));
        let nothing = BTreeMap::new();
        let terms = Terms {
            agreed: None,
            shop_order: DateOrder::DayFirst,
            clock_unit: DistanceUnit::Miles,
            known: &nothing,
            before: date(2026, 3, 2),
            today: date(2026, 3, 3),
            heeds_right: true,
            is_kept: false,
        };
        let compared = compare(&before, &now, &terms);
        let (said, _) = records(compared.stand_in.as_ref().unwrap(), &compared.read_as, date(2026, 3, 3));
        let readings: Vec<(Date, i64)> = said
            .records
            .iter()
            .filter_map(|(_, record)| match record {
                Record::Reading(reading) => Some((reading.day.value, reading.clock.value.tenths)),
                _ => None,
            })
            .collect();
        let expected = days.iter().zip((1..).map(|number| number * 7_000));
        let expected: Vec<(Date, i64)> =
            expected.map(|((day, month), tenths)| (date(2026, *month, *day), tenths)).collect();
        assert_eq!(readings, expected);
    }
}
