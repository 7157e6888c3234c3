//! What a sheet holds once it is read: rows of cells, each still as its program wrote it.

use std::sync::Arc;

use jiff::civil::DateTime;

use crate::origin::{Origin, SheetName};

/// One sheet's cells.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Which sheet of which file.
    pub name: Arc<SheetName>,
    /// The rows that hold anything, in the sheet's order.
    pub rows: Vec<Row>,
    /// Whether serial day numbers of this workbook count from 1904 instead of 1900.
    pub counts_from_1904: bool,
}

impl Table {
    /// The origin of a cell of this sheet: the row's own number, the column from 0.
    pub fn origin(&self, row: &Row, column: usize) -> Origin {
        let column = u32::try_from(column).unwrap_or(u32::MAX);
        Origin { name: Arc::clone(&self.name), row: row.number, column }
    }
}

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The row's number as the spreadsheet program shows it, from 1.
    pub number: u32,
    /// The cells from column A on; a column past the end is blank.
    pub cells: Vec<Cell>,
}

impl Row {
    /// The cell in a column, counted from 0; blank past the row's end.
    pub fn cell(&self, column: usize) -> &Cell {
        self.cells.get(column).unwrap_or(&Cell::Blank)
    }
}

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing, or nothing but blanks.
    Blank,
    /// Text, trimmed; every cell of a text file is one, but for error values such as `#N/A`. A number that its format
    /// shows with leading zeros (00123) is one too.
    Text(Box<str>),
    /// A number without a date format; it may still be a serial day number, which only its column can tell.
    Number(f64),
    /// A real date, with its time of day (midnight where the cell has none).
    Day(DateTime),
    /// A time of day or a length of time, in seconds.
    Time(i64),
    /// TRUE or FALSE.
    Flag(bool),
    /// An error value such as `#N/A`, or a formula whose value was never stored.
    Fault(Box<str>),
}

impl Cell {
    /// Whether there is nothing in the cell.
    pub fn is_blank(&self) -> bool {
        matches!(self, Cell::Blank)
    }

    /// The cell as a person would copy it from the sheet, for messages.
    pub fn shown(&self) -> String {
        match self {
            Cell::Blank => String::new(),
            Cell::Text(text) | Cell::Fault(text) => text.to_string(),
            Cell::Number(number) => number.to_string(),
            Cell::Day(day) => day.date().to_string(),
            Cell::Time(seconds) => {
                let sign = if *seconds < 0 { "-" } else { "" };
                let minutes = seconds.unsigned_abs() / 60;
                format!("{sign}{}:{:02}", minutes / 60, minutes % 60)
            }
            Cell::Flag(flag) => if *flag { "TRUE" } else { "FALSE" }.to_owned(),
        }
    }
}
