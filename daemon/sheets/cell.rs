//! What one cell of a sheet holds, as its table shows it.

use jiff::civil::DateTime;

use crate::problem::counted;

/// One cell, seen where its table keeps it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Cell<'t> {
    /// Nothing, or nothing but blanks.
    #[default]
    Blank,
    /// Text, trimmed; every cell of a text file is one, but for error values such as `#N/A`. A number that its format
    /// shows with leading zeros (00123) is one too.
    Text(&'t str),
    /// A number without a date format; it may still be a serial day number, which only its column can tell.
    Number(f64),
    /// A real date, with its time of day (midnight where the cell has none).
    Day(DateTime),
    /// A time of day or a length of time, in seconds.
    Time(i64),
    /// TRUE or FALSE.
    Flag(bool),
    /// Something stands in the cell, and its value does not.
    Fault(Fault<'t>),
}

/// Why a cell that is not blank has no value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault<'t> {
    /// An error value such as `#N/A`, as the program writes it.
    ErrorValue(&'t str),
    /// A formula whose value the program that wrote the file never worked out.
    NeverReckoned,
    /// A text of so many characters, which are more than a cell may have.
    TooLong(usize),
}

impl Fault<'_> {
    /// The fault as a message shows it in place of the value.
    pub fn shown(&self) -> String {
        match self {
            Fault::ErrorValue(name) => (*name).to_owned(),
            Fault::NeverReckoned => {
                "formula without a value; open the file in the spreadsheet program and save it once"
                    .to_owned()
            }
            Fault::TooLong(characters) => format!("text of {}", counted(*characters, "character")),
        }
    }
}

impl Cell<'_> {
    /// Whether there is nothing in the cell.
    pub fn is_blank(&self) -> bool {
        matches!(self, Cell::Blank)
    }

    /// The cell as a person would copy it from the sheet, for messages.
    pub fn shown(&self) -> String {
        match self {
            Cell::Blank => String::new(),
            Cell::Text(text) => (*text).to_owned(),
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
