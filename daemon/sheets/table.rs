//! What a sheet holds once it is read: rows of cells, each still as its program wrote it.

use std::sync::Arc;

use jiff::civil::DateTime;

use crate::origin::{Origin, SheetName};
use crate::problem::{Place, Spot, counted};

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
    /// The sheet as a whole, for what is wrong with all of it.
    pub fn whole(&self) -> Place {
        Place { file: self.name.file.clone(), sheet: self.name.sheet.clone(), spot: Spot::Whole }
    }

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

/// The text of a cell. Most are as short as a mark or a name, and stand in the cell itself: a sheet of two million cells
/// would else be two million pieces of memory.
pub type CellText = compact_str::CompactString;

/// One cell.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Cell {
    /// Nothing, or nothing but blanks.
    #[default]
    Blank,
    /// Text, trimmed; every cell of a text file is one, but for error values such as `#N/A`. A number that its format
    /// shows with leading zeros (00123) is one too.
    Text(CellText),
    /// A number without a date format; it may still be a serial day number, which only its column can tell.
    Number(f64),
    /// A real date, with its time of day (midnight where the cell has none).
    Day(DateTime),
    /// A time of day or a length of time, in seconds.
    Time(i64),
    /// TRUE or FALSE.
    Flag(bool),
    /// Something stands in the cell, and its value does not.
    Fault(Fault),
}

/// Why a cell that is not blank has no value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// An error value such as `#N/A`, as the program writes it.
    ErrorValue(Box<CellText>),
    /// A formula whose value the program that wrote the file never worked out.
    NeverReckoned,
    /// A text of so many characters, which are more than a cell may have.
    TooLong(usize),
}

impl Fault {
    /// An error value by its name.
    pub fn error_value(name: impl Into<CellText>) -> Fault {
        Fault::ErrorValue(Box::new(name.into()))
    }

    /// The fault as a message shows it in place of the value.
    pub fn shown(&self) -> String {
        match self {
            Fault::ErrorValue(name) => name.to_string(),
            Fault::NeverReckoned => {
                "formula without a value; open the file in the spreadsheet program and save it once"
                    .to_owned()
            }
            Fault::TooLong(characters) => format!("text of {}", counted(*characters, "character")),
        }
    }
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
            Cell::Text(text) => text.to_string(),
            Cell::Fault(fault) => fault.shown(),
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
