//! Rows that count for nothing because nothing in them names a machine that can be read: they are counted, and said at the top.

use super::Sheet;
use crate::origin::cell_name;
use crate::problem::{Problem, counted};
use crate::sheets::Row;
use crate::yard::RecordKind;

/// How many of those rows are told with their cell; the rest is counted.
const NAMED: usize = 4;

/// The longest value that is quoted of a cell, in characters.
const QUOTED: usize = 20;

/// The rows of a sheet that name no machine, in their order.
#[derive(Default)]
pub(super) struct RowsLost {
    /// The first few, each with its cell and what stands there.
    named: Vec<String>,
    count: usize,
}

impl RowsLost {
    /// Takes down a row in which no name of a machine could be read. Of a log it counts only where one stands there, or
    /// where a check or a ride is lost with it: in a diary or on a list of fuel there are rows that are about no machine.
    pub(super) fn add(&mut self, sheet: &Sheet<'_>, row: Row<'_>) {
        let filled = |cell: usize| !sheet.cell(row, cell).is_blank();
        let mut naming = sheet.identity_columns().map(|column| column.index);
        let named = naming.find(|column| filled(*column));
        let counts_unnamed = matches!(sheet.kind, RecordKind::Machine | RecordKind::Check | RecordKind::Ride);
        if named.is_none() && !counts_unnamed {
            return;
        }
        self.count += 1;
        if self.named.len() == NAMED {
            return;
        }
        let column =
            named.or_else(|| sheet.columns.iter().map(|column| column.index).find(|column| filled(*column)));
        let Some(column) = column else { return };
        let shown: String = sheet.cell(row, column).shown().chars().take(QUOTED).collect();
        let name = cell_name(row.number, u32::try_from(column).unwrap_or(u32::MAX));
        self.named.push(format!("{name} `{shown}`"));
    }

    /// What is said of them, once a sheet. A machine that is lost is nobody's to miss, so that a person is needed.
    pub(super) fn into_problem(self, sheet: &Sheet<'_>) -> Option<Problem> {
        const HELP: &str = "Write the registration mark, frame number or stock number into each, as text.";
        if self.count == 0 {
            return None;
        }
        let (verb, them) = if self.count == 1 { ("names", "it says") } else { ("name", "they say") };
        let mut cells = self.named.join(", ");
        let more = self.count - self.named.len();
        if more > 0 {
            cells.push_str(&format!(" and {more} more"));
        }
        let what = format!(
            "{} {verb} no machine that can be read, and nothing that {them} counts: {cells}",
            counted(self.count, "row")
        );
        let place = sheet.table.whole();
        Some(match sheet.kind {
            RecordKind::Machine => Problem::error(place, what, HELP),
            _ => Problem { hides_what_is_due: true, ..Problem::note(place, what, HELP) },
        })
    }
}
