//! Rows that are no records: repeated headers, totals, headings inside a sheet, footnotes below it.

use super::Sheet;
use crate::sheets::{Cell, Row};
use crate::yard::cell_words::is_word_for_total;
use crate::yard::cells;
use crate::yard::field::Shape;
use crate::yard::{ColumnRead, Field};

/// The last row that names a machine, counted from the first one below the headers; totals and footnotes stand
/// below it.
pub(super) fn last_row_of_a_machine(sheet: &Sheet<'_>) -> Option<usize> {
    sheet.body().iter().rposition(|row| {
        !is_totals(sheet, row)
            && sheet.identity_columns().any(|column| {
                let cell = row.cell(column.index);
                match column.field {
                    Field::Mark => matches!(cells::mark(cell), Ok(Some(_))),
                    Field::FrameNumber => {
                        matches!(cells::frame_number(cell), Ok(Some(_))) && !is_remark(cell)
                    }
                    _ => matches!(cells::stock_number(cell), Ok(Some(_))) && !is_remark(cell),
                }
            })
    })
}

/// Whether a row is no record. `is_below` says that it stands below the last machine.
pub(super) fn is_passed_over(sheet: &Sheet<'_>, row: &Row, is_below: bool) -> bool {
    let is_blank = sheet.columns.iter().all(|column| row.cell(column.index).is_blank());
    is_blank
        || is_repeated_header(sheet, row)
        || is_totals(sheet, row)
        || is_heading(sheet, row)
        || (is_below && (is_footnote(sheet, row) || is_sums(sheet, row)))
}

/// Whether the cells that name a machine repeat their headers instead.
fn is_repeated_header(sheet: &Sheet<'_>, row: &Row) -> bool {
    let repeats = |column: &ColumnRead| match row.cell(column.index) {
        Cell::Text(text) => {
            let own = column.header.rsplit(" / ").next().unwrap_or_default();
            text.eq_ignore_ascii_case(&column.header) || text.eq_ignore_ascii_case(own)
        }
        _ => false,
    };
    let mut identities =
        sheet.identity_columns().filter(|column| !row.cell(column.index).is_blank()).peekable();
    identities.peek().is_some() && identities.all(repeats)
}

/// Whether a row calls itself a total and names no machine.
fn is_totals(sheet: &Sheet<'_>, row: &Row) -> bool {
    let names_a_machine = sheet.identity_columns().any(|column| {
        let cell = row.cell(column.index);
        !cell.is_blank() && !is_word_for_total(cell)
    });
    !names_a_machine && row.cells.iter().any(is_word_for_total)
}

/// Whether a row has one cell only, with words that are no machine: a heading such as `SOLD IN MARCH`.
fn is_heading(sheet: &Sheet<'_>, row: &Row) -> bool {
    let mut filled = row.cells.iter().enumerate().filter(|(_, cell)| !cell.is_blank());
    let (Some((index, cell)), None) = (filled.next(), filled.next()) else { return false };
    let Some(column) = sheet.columns.iter().find(|column| column.index == index) else { return true };
    let holds_words = matches!(column.field.shape(), Shape::Words | Shape::Anything);
    sheet.columns.len() > 1 && (is_remark(cell) || (holds_words && matches!(cell, Cell::Text(_))))
}

/// Whether a cell holds words and no number of a machine: no figure at all, or several words.
fn is_remark(cell: &Cell) -> bool {
    /// `AB12 CDE` and `JX1 2345 678` are numbers; more words are a sentence.
    const WORDS_OF_A_NUMBER: usize = 3;
    match cell {
        Cell::Text(text) => {
            !text.bytes().any(|byte| byte.is_ascii_digit())
                || text.split_whitespace().count() > WORDS_OF_A_NUMBER
                || text.starts_with(['*', '†', '('])
        }
        _ => false,
    }
}

/// Whether a row below the last machine is a remark where machines are named, with at most one cell beside it.
fn is_footnote(sheet: &Sheet<'_>, row: &Row) -> bool {
    /// `Printed by: | Sam`; a row with more is a machine whose number is missing.
    const CELLS_OF_A_FOOTNOTE: usize = 2;
    let filled = row.cells.iter().filter(|cell| !cell.is_blank()).count();
    let mut named =
        sheet.identity_columns().map(|column| row.cell(column.index)).filter(|cell| !cell.is_blank());
    let is_remark = |cell: &Cell| is_remark_of_any_length(cell) && !matches!(cells::mark(cell), Ok(None));
    filled <= CELLS_OF_A_FOOTNOTE && named.next().is_some_and(is_remark) && named.all(is_remark)
}

/// Below the last machine a text that is no number of a machine is a remark, such as `Printed 03/04/2026`.
fn is_remark_of_any_length(cell: &Cell) -> bool {
    is_remark(cell) || matches!(cell, Cell::Text(text) if text.contains(' ') && cells::mark(cell).is_err())
}

/// Whether anything stands where a row names its machine.
fn names_something(sheet: &Sheet<'_>, row: &Row) -> bool {
    sheet.identity_columns().any(|column| !row.cell(column.index).is_blank())
}

/// Whether all figures of a row without a machine are the sums or averages of their columns.
fn is_sums(sheet: &Sheet<'_>, row: &Row) -> bool {
    let mut sums = 0;
    for column in sheet.columns {
        let cell = row.cell(column.index);
        if cell.is_blank() {
            continue;
        }
        let meaning = &column.meaning;
        let Ok(Some(figure)) = cells::number(cell, meaning) else { return false };
        if column.field.is_identity() {
            return false;
        }
        let values: Vec<i64> = sheet
            .body()
            .iter()
            .take_while(|other| other.number < row.number)
            .filter(|other| names_something(sheet, other) && !is_totals(sheet, other))
            .filter_map(|other| cells::number(other.cell(column.index), meaning).ok().flatten())
            .map(|number| number.thousandths())
            .collect();
        let sum: i64 = values.iter().fold(0, |sum, value| sum.saturating_add(*value));
        let count = i64::try_from(values.len()).unwrap_or(i64::MAX).max(1);
        let is_average = (figure.thousandths() - sum / count).abs() <= 500;
        if values.is_empty() || !(figure.thousandths() == sum || is_average) {
            return false;
        }
        sums += 1;
    }
    sums > 0
}
