//! Rows of text files in which a figure was parted at its comma: `1,204` without quotes takes two cells, and all that
//! stands to its right has moved.

use super::Sheet;
use crate::sheets::{Cell, Row};
use crate::yard::ColumnRead;
use crate::yard::cells::Unread;
use crate::yard::field::Shape;

/// What is told of such a row. Read as it stands, it would give a clock of one mile.
pub(super) const PARTED: Unread = Unread {
    what: "seems to be parted over two cells at its comma, which moves the cells behind it, so the row was not read",
    help: "Export the file again with such figures in quotes, or without a comma.",
};

/// The place of the figure that was parted: the row has more cells than the sheet has headers, and a figure of up to
/// three digits stands before one of exactly three. Workbooks have no such rows.
pub(super) fn parted_figure(sheet: &Sheet<'_>, row: Row<'_>) -> Option<usize> {
    let headers = sheet.table.row(sheet.header_row);
    let width = headers.cells().rposition(|cell| !cell.is_blank())? + 1;
    let is_too_wide = row.cells().skip(width).any(|cell| !cell.is_blank());
    if sheet.table.name.sheet.is_some() || !is_too_wide {
        return None;
    }
    let column = |index: usize| sheet.columns.iter().find(|column| column.index == index);
    // A column that is not read may hold a price.
    let may_be_parted = |column: Option<&ColumnRead>| {
        column.is_none_or(|column| matches!(column.field.shape(), Shape::Distance | Shape::Anything))
    };
    (0..width).find(|&index| {
        may_be_parted(column(index)) && begins_a_group(row.cell(index)) && is_a_group(row.cell(index + 1))
    })
}

/// One to three digits and nothing behind them, as before the comma of `1,204` or `£1,649.00`.
fn begins_a_group(cell: Cell<'_>) -> bool {
    let Cell::Text(text) = cell else { return false };
    let figures = text.trim_start_matches(['£', '-', '(', ' ']);
    (1..=3).contains(&figures.len())
        && figures.bytes().all(|byte| byte.is_ascii_digit())
        && !figures.starts_with('0')
}

/// Three digits, perhaps with a fraction or a unit behind them.
fn is_a_group(cell: Cell<'_>) -> bool {
    let Cell::Text(text) = cell else { return false };
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    digits == 3
        && text[digits..].chars().next().is_none_or(|next| matches!(next, '.' | ' ' | ')' | 'm' | 'k'))
}
