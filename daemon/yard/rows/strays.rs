//! Rows that are no records: repeated headers, totals, headings inside a sheet, footnotes below it.

use super::Sheet;
use crate::sheets::{Cell, Row};
use crate::units::month_named;
use crate::yard::cell_words::is_word_for_total;
use crate::yard::cells;
use crate::yard::field::Shape;
use crate::yard::{ColumnRead, Field};

/// The rows of a sheet that are no records, found from top to bottom.
pub(super) struct Strays<'sheet> {
    sheet: &'sheet Sheet<'sheet>,
    /// The last row that names a machine, counted from the first one below the headers; totals and footnotes stand
    /// below it.
    last_machine: Option<usize>,
    sums: Sums,
}

/// What the columns of a sheet come to above a row.
struct Sums {
    /// How many rows are reckoned in.
    rows: usize,
    /// Each column's sum in thousandths, and how many figures it has.
    columns: Vec<(i64, i64)>,
}

impl<'sheet> Strays<'sheet> {
    pub(super) fn of(sheet: &'sheet Sheet<'sheet>) -> Strays<'sheet> {
        let is_machine = |(index, row): (usize, Row<'_>)| {
            !is_totals(sheet, row) && !is_count(sheet, index, row) && names_a_machine(sheet, row)
        };
        let mut rows = sheet.body().iter().enumerate().rev();
        let last_machine = rows.find(|row| is_machine(*row)).map(|(index, _)| index);
        let sums = Sums { rows: 0, columns: vec![(0, 0); sheet.columns.len()] };
        Strays { sheet, last_machine, sums }
    }

    /// Whether a row is no record. The rows come in their order, each with its place below the headers.
    pub(super) fn is_one(&mut self, index: usize, row: Row<'_>) -> bool {
        let sheet = self.sheet;
        let is_empty = |cell: Cell<'_>| cell.is_blank() || is_rule(cell);
        sheet.columns.iter().all(|column| is_empty(row.cell(column.index)))
            || is_repeated_header(sheet, row)
            || is_totals(sheet, row)
            || is_count(sheet, index, row)
            || is_heading(sheet, row)
            || (self.last_machine.is_none_or(|last| index > last) && is_footnote(sheet, row))
            || (self.last_machine.is_some_and(|last| index > last) && self.is_sums(index, row))
    }

    /// Whether all figures of a row without a machine are the sums or averages of their columns.
    fn is_sums(&mut self, index: usize, row: Row<'_>) -> bool {
        let sheet = self.sheet;
        let mut figures = Vec::new();
        for (place, column) in sheet.columns.iter().enumerate() {
            let cell = row.cell(column.index);
            if cell.is_blank() {
                continue;
            }
            match cells::number(cell, &column.meaning) {
                Ok(Some(figure)) if !column.field.is_identity() => {
                    figures.push((place, figure.thousandths()))
                }
                _ => return false,
            }
        }
        self.sums.reckon_up_to(index, sheet);
        let is_sum_or_average = |(place, figure): &(usize, i64)| {
            let (sum, count) = self.sums.columns[*place];
            count > 0 && (*figure == sum || (figure - sum / count).abs() <= 500)
        };
        !figures.is_empty() && figures.iter().all(is_sum_or_average)
    }
}

impl Sums {
    /// Adds the rows that are not reckoned in yet, up to one that is left out.
    fn reckon_up_to(&mut self, index: usize, sheet: &Sheet<'_>) {
        let rows = sheet.body().part(self.rows..index);
        for row in rows.iter().filter(|row| names_something(sheet, *row) && !is_totals(sheet, *row)) {
            for (column, (sum, count)) in sheet.columns.iter().zip(&mut self.columns) {
                if let Ok(Some(figure)) = cells::number(row.cell(column.index), &column.meaning) {
                    *sum = sum.saturating_add(figure.thousandths());
                    *count += 1;
                }
            }
        }
        self.rows = index.max(self.rows);
    }
}

/// Whether a row names a machine by a number that can be one.
fn names_a_machine<'sheet>(sheet: &Sheet<'sheet>, row: Row<'sheet>) -> bool {
    sheet.identity_columns().any(|column| {
        let cell = sheet.cell(row, column.index);
        match column.field {
            Field::Mark => matches!(cells::mark(cell), Ok(Some(_))),
            Field::FrameNumber => matches!(cells::frame_number(cell), Ok(Some(_))) && !is_remark(cell),
            _ => matches!(cells::stock_number(cell), Ok(Some(_))) && !is_remark(cell),
        }
    })
}

/// Whether the cells that name a machine repeat their headers instead, or, where there are none, all others do.
fn is_repeated_header(sheet: &Sheet<'_>, row: Row<'_>) -> bool {
    let repeats = |column: &ColumnRead| match row.cell(column.index) {
        Cell::Text(text) => {
            let own = column.header.rsplit(" / ").next().unwrap_or_default();
            text.eq_ignore_ascii_case(&column.header) || text.eq_ignore_ascii_case(own)
        }
        _ => false,
    };
    let is_filled = |column: &&ColumnRead| !row.cell(column.index).is_blank();
    let mut identities = sheet.identity_columns().filter(is_filled).peekable();
    if identities.peek().is_some() {
        return identities.all(repeats);
    }
    // The lower one of two rows of headers names no machine.
    let mut others = sheet.columns.iter().filter(is_filled).peekable();
    others.peek().is_some() && others.all(repeats)
}

/// Whether a row calls itself a total and names no machine. A bare figure where machines are named is a count, unless
/// the row says anything else.
fn is_totals(sheet: &Sheet<'_>, row: Row<'_>) -> bool {
    if !row.cells().any(is_word_for_total) {
        return false;
    }
    let is_bare = row.cells().all(|cell| cell.is_blank() || is_word_for_total(cell) || is_figure(cell));
    let names_a_machine = sheet.identity_columns().any(|column| {
        let cell = row.cell(column.index);
        !(cell.is_blank() || is_word_for_total(cell) || (is_bare && is_figure(cell)))
    });
    !names_a_machine
}

/// Whether a cell holds a whole figure and nothing else.
fn is_figure(cell: Cell<'_>) -> bool {
    match cell {
        Cell::Number(number) => number.fract() == 0.0,
        Cell::Text(text) => text.bytes().all(|byte| byte.is_ascii_digit()),
        _ => false,
    }
}

/// Whether the last row of a sheet holds nothing but how many machines stand above it.
fn is_count(sheet: &Sheet<'_>, index: usize, row: Row<'_>) -> bool {
    let mut filled = row.cells().filter(|cell| !cell.is_blank());
    let (Some(cell), None) = (filled.next(), filled.next()) else { return false };
    let above = sheet.body().part(..index);
    let machines = || above.iter().filter(|row| names_something(sheet, *row) && !is_totals(sheet, *row));
    // Where machines are numbered 1, 2, 3, a figure is one of them.
    let are_numbered =
        || sheet.identity_columns().any(|column| above.iter().any(|row| is_figure(row.cell(column.index))));
    index + 1 == sheet.body().len()
        && is_figure(cell)
        && cell.shown() == machines().count().to_string()
        && !are_numbered()
}

/// Whether a row has one cell only, with words that are no machine: a heading such as `SOLD IN MARCH`.
fn is_heading(sheet: &Sheet<'_>, row: Row<'_>) -> bool {
    let mut filled = row.cells().enumerate().filter(|(_, cell)| !cell.is_blank());
    let (Some((index, cell)), None) = (filled.next(), filled.next()) else { return false };
    let Some(column) = sheet.columns.iter().find(|column| column.index == index) else { return true };
    // Below a merged cell that names the machine stands what else was done to it, and that is no heading.
    if matches!(column.field, Field::Done | Field::Item) {
        return false;
    }
    let holds_words = matches!(column.field.shape(), Shape::Words | Shape::Anything);
    sheet.columns.len() > 1
        && (is_remark(cell)
            || is_page_number(cell)
            || is_month(cell)
            || (holds_words && matches!(cell, Cell::Text(_))))
}

/// Whether a cell names a month, as a heading above the rows of it does: `NOVEMBER 2025`.
fn is_month(cell: Cell<'_>) -> bool {
    let Cell::Text(text) = cell else { return false };
    let (name, year) = text.trim().split_once(' ').unwrap_or((text.trim(), ""));
    month_named(name).is_some() && year.trim().bytes().all(|byte| byte.is_ascii_digit())
}

/// Whether a cell numbers a page of a print: `Page 2`, `Page 2 of 5`.
fn is_page_number(cell: Cell<'_>) -> bool {
    let Cell::Text(text) = cell else { return false };
    let text = text.trim().to_ascii_lowercase();
    let Some(behind) = text.strip_prefix("page") else { return false };
    let is_word = |word: &str| word == "of" || word.bytes().all(|byte| byte.is_ascii_digit());
    let mut words = behind.split([' ', '/', ':', '-']).filter(|word| !word.is_empty()).peekable();
    words.peek().is_some() && words.all(is_word)
}

/// Whether a cell holds words and no number of a machine: no figure at all, or several words.
fn is_remark(cell: Cell<'_>) -> bool {
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
fn is_footnote(sheet: &Sheet<'_>, row: Row<'_>) -> bool {
    /// `Printed by: | Sam`; a row with more is a machine whose number is missing.
    const CELLS_OF_A_FOOTNOTE: usize = 2;
    let filled = row.cells().filter(|cell| !cell.is_blank()).count();
    let mut named =
        sheet.identity_columns().map(|column| row.cell(column.index)).filter(|cell| !cell.is_blank());
    let is_remark = |cell: Cell<'_>| {
        is_rule(cell)
            || is_short_figure(cell)
            || (is_remark_of_any_length(cell) && !matches!(cells::mark(cell), Ok(None)))
    };
    filled <= CELLS_OF_A_FOOTNOTE && named.next().is_some_and(is_remark) && named.all(is_remark)
}

/// Whether a cell is drawn as a line: `-----`.
fn is_rule(cell: Cell<'_>) -> bool {
    matches!(cell, Cell::Text(text) if text.trim().len() > 1 && text.trim().bytes().all(|byte| b"-=_*.".contains(&byte)))
}

/// Whether a cell holds a figure that is too short for what spreadsheet programs make of a frame number: `Sold this year | 8`.
fn is_short_figure(cell: Cell<'_>) -> bool {
    const DIGITS: usize = 4;
    is_figure(cell) && cell.shown().len() <= DIGITS
}

/// Below the last machine a text that is no number of a machine is a remark, such as `Printed 03/04/2026`.
fn is_remark_of_any_length(cell: Cell<'_>) -> bool {
    is_remark(cell) || matches!(cell, Cell::Text(text) if text.contains(' ') && cells::mark(cell).is_err())
}

/// Whether anything stands where a row names its machine.
fn names_something<'sheet>(sheet: &Sheet<'sheet>, row: Row<'sheet>) -> bool {
    sheet.identity_columns().any(|column| !sheet.cell(row, column.index).is_blank())
}
