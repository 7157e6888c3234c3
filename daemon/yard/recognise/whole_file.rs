//! What the sheets of one file tell of each other: one program wrote them, and mostly writes its dates in one way.

use std::sync::Arc;

use jiff::civil::Date;

use crate::settings::DateOrder;
use crate::sheets::{AboutFile, Cell, DatesProving, Table};
use crate::yard::days;

/// As many rows of a sheet are looked at. A log of any length has a day past the twelfth of its month among them.
const ROWS_LOOKED_AT: usize = 20_000;

/// With fewer dates of the one order beside it, a single one of the other is no slip of the keyboard.
const LEAST_BESIDE_A_SLIP: usize = 3;

/// Lets each sheet of a file know when the file was written, and what the dates of all of them prove.
pub fn tell_of_file(tables: &mut [Table], written: Option<Date>) {
    // A sheet that is a file by itself tells its own order.
    let is_alone = tables.len() < 2;
    let mut file = if is_alone { AboutFile::default() } else { dates_proving(tables.iter()) };
    file.written = written;
    let file = Arc::new(file);
    for table in tables {
        table.file = Arc::clone(&file);
    }
}

/// The dates of these sheets that are days in one order only.
pub fn dates_proving<'t>(tables: impl IntoIterator<Item = &'t Table>) -> AboutFile {
    let mut file = AboutFile::default();
    for table in tables {
        for row in table.rows().part(..ROWS_LOOKED_AT).iter() {
            for (column, cell) in row.cells().enumerate() {
                let Cell::Text(text) = cell else { continue };
                let Some(order) = proven(text) else { continue };
                let proving = match order {
                    DateOrder::DayFirst => &mut file.day_first,
                    DateOrder::MonthFirst => &mut file.month_first,
                };
                proving.count += 1;
                proving.first.get_or_insert_with(|| (table.origin(row, column), text.trim().to_owned()));
            }
        }
    }
    file
}

/// The order that a text proves. Most cells are told for no date by their first letter.
fn proven(text: &str) -> Option<DateOrder> {
    let text = text.trim();
    let may_be =
        text.starts_with(|letter: char| letter.is_ascii_digit()) && text.contains(['/', '-', '.', ' ']);
    may_be.then(|| days::readings(text).proves()).flatten()
}

/// The dates of a file that prove an order.
pub(super) fn proving(file: &AboutFile, order: DateOrder) -> &DatesProving {
    match order {
        DateOrder::DayFirst => &file.day_first,
        DateOrder::MonthFirst => &file.month_first,
    }
}

/// The order that a whole file shows, with the cell that does. One date alone shows the order that is expected, and
/// never the other one: it may be a slip of the keyboard.
pub(super) fn order_of_file(file: &AboutFile, expected: DateOrder) -> Option<(DateOrder, String)> {
    let other = expected.other();
    let (for_it, against) = (proving(file, expected), proving(file, other));
    let order = match (for_it.count, against.count) {
        (1.., 0) | (LEAST_BESIDE_A_SLIP.., 1) => expected,
        (0, 2..) | (1, LEAST_BESIDE_A_SLIP..) => other,
        _ => return None,
    };
    let (cell, text) = proving(file, order).first.as_ref()?;
    let sheet = cell.name.sheet.as_deref().unwrap_or_else(|| cell.name.file_name());
    Some((order, format!("as in {sheet}, cell {}: {text}", cell.cell())))
}
