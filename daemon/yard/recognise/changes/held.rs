//! A sheet with columns whose new values are not taken: in them stands what the same rows said before.

use std::collections::HashMap;
use std::sync::Arc;

use super::{MatchedRows, ReadAs, Side};
use crate::sheets::{Cell, Table};

/// The sheet with the last values of these columns, each with its places before and now. A row that is new has none.
pub(super) fn with_last_values(
    before: &Side<'_>,
    now: &Table,
    read_as: &ReadAs,
    held: &[(usize, usize)],
) -> Option<Table> {
    let side = Side::of(now, read_as)?;
    let asked: Vec<usize> = held.iter().map(|(was, _)| *was).collect();
    let rows = MatchedRows::of(before, &side, &asked);
    let earlier: HashMap<u32, _> = rows.pairs().map(|(earlier, later)| (later.number, earlier)).collect();
    let header = now.rows().get(side.header_row)?.number;
    let rows = now.rows().iter().map(|row| {
        let mut cells: Vec<Cell<'_>> = row.cells().collect();
        for (was, place) in held.iter().filter(|_| row.number > header) {
            if *place < cells.len() {
                cells[*place] = earlier.get(&row.number).map_or(Cell::Blank, |earlier| earlier.cell(*was));
            }
        }
        (row.number, cells)
    });
    Some(Table::new(Arc::clone(&now.name), now.counts_from_1904, rows))
}
