//! Days that stand in a row of their own, above the visits of that day, as in a diary: `Monday 20 October 2025`.

use jiff::civil::Date;

use super::days;
use crate::sheets::{Cell, Row};

/// The column and the day of a row that holds nothing but one day, whichever of day and month comes first.
pub(super) fn day_of(row: Row<'_>) -> Option<(usize, Date)> {
    let mut filled = row.cells().enumerate().filter(|(_, cell)| !cell.is_blank());
    let (Some((column, cell)), None) = (filled.next(), filled.next()) else { return None };
    let day = match cell {
        Cell::Day(day) => days::within_years(day.date()),
        Cell::Text(text) => {
            let readings = days::readings(text);
            readings.day_first.filter(|_| readings.day_first == readings.month_first)
        }
        _ => None,
    };
    day.map(|day| (column, day))
}
