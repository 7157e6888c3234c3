//! Where a value came from: no value goes through the house without it.

use std::cmp::Ordering;
use std::fmt;
use std::ops::Deref;
use std::sync::Arc;

/// The name of one sheet: a worksheet of a workbook, or a whole CSV file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SheetName {
    /// The file's path below the yard folder (or as given), with forward slashes.
    pub file: String,
    /// The worksheet's name; `None` for a text file, which is one sheet by itself.
    pub sheet: Option<String>,
}

impl SheetName {
    /// The file's own name, without its folders.
    pub fn file_name(&self) -> &str {
        self.file.rsplit('/').next().unwrap_or(&self.file)
    }

    /// The sheet as a person calls it, without the file's folders: `bikes.xlsx, Stock`.
    pub fn without_folders(&self) -> String {
        named(self.file_name(), self.sheet.as_deref())
    }
}

impl fmt::Display for SheetName {
    /// `sheets/bikes.xlsx, Stock`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&named(&self.file, self.sheet.as_deref()))
    }
}

/// A file, and which of its worksheets where it has several.
pub fn named(file: &str, worksheet: Option<&str>) -> String {
    match worksheet {
        Some(worksheet) => format!("{file}, {worksheet}"),
        None => file.to_owned(),
    }
}

/// One cell of one sheet.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Origin {
    /// The sheet that the cell stands in.
    pub name: Arc<SheetName>,
    /// The row as the spreadsheet program numbers it, from 1.
    pub row: u32,
    /// The column, from 0 for A.
    pub column: u32,
}

impl Origin {
    /// The cell as a spreadsheet program names it: `D14`.
    pub fn cell(&self) -> String {
        cell_name(self.row, self.column)
    }
}

impl fmt::Display for Origin {
    /// `bikes.xlsx, Stock, D14`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{}, {}", self.name, self.cell())
    }
}

/// The spreadsheet program's name of a cell; rows count from 1, columns from 0: (14, 3) is `D14`.
pub fn cell_name(row: u32, column: u32) -> String {
    format!("{}{row}", column_name(column))
}

/// The spreadsheet program's name of a column, counted from 0: 0 is `A`, 26 is `AA`.
pub fn column_name(column: u32) -> String {
    let mut letters = Vec::new();
    let mut rest = column + 1;
    while rest > 0 {
        rest -= 1;
        letters.push(char::from(b'A' + (rest % 26) as u8));
        rest /= 26;
    }
    letters.iter().rev().collect()
}

/// A value together with the cell it was read from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry<T> {
    /// What was read.
    pub value: T,
    /// Where it stands.
    pub origin: Origin,
}

impl<T> Entry<T> {
    /// A value that was read from a cell.
    pub fn new(value: T, origin: Origin) -> Entry<T> {
        Entry { value, origin }
    }

    /// The same cell's value, turned into something else.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Entry<U> {
        Entry { value: change(self.value), origin: self.origin }
    }
}

/// One thing that shows why a verdict is what it is. A clone costs one count: a sum's evidence goes into every verdict
/// that rests on it.
#[derive(Debug, Clone)]
pub struct Evidence {
    /// The same for all that say the same; tells most others apart without a look at what they say.
    mark: u64,
    exhibit: Arc<Exhibit>,
}

/// What a piece of evidence says: what it is, what was read or reckoned, and from which cell.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Exhibit {
    /// What it is, in the words of the trade: `handover`, `last reading`.
    pub what: String,
    /// Its value, ready to print.
    pub value: String,
    /// The cell it came from; `None` for a setting or a sum whose cells stand beside it.
    pub origin: Option<Origin>,
    /// Whether it is a rule of thumb of the trade and not this model's own handbook.
    pub common_practice: bool,
}

impl Deref for Evidence {
    type Target = Exhibit;

    fn deref(&self) -> &Exhibit {
        &self.exhibit
    }
}

impl From<Exhibit> for Evidence {
    fn from(exhibit: Exhibit) -> Evidence {
        Evidence { mark: exhibit.mark(), exhibit: Arc::new(exhibit) }
    }
}

impl PartialEq for Evidence {
    #[inline]
    fn eq(&self, other: &Evidence) -> bool {
        let is_alike = || Arc::ptr_eq(&self.exhibit, &other.exhibit) || self.exhibit == other.exhibit;
        self.mark == other.mark && is_alike()
    }
}

impl Eq for Evidence {}

impl PartialOrd for Evidence {
    fn partial_cmp(&self, other: &Evidence) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Evidence {
    fn cmp(&self, other: &Evidence) -> Ordering {
        self.exhibit.cmp(&other.exhibit)
    }
}

impl Exhibit {
    /// Its cell and how long its words are.
    fn mark(&self) -> u64 {
        let words = ((self.what.len() as u64) << 8) ^ self.value.len() as u64;
        let cell = self.origin.as_ref().map(|cell| (u64::from(cell.row) << 32) | u64::from(cell.column));
        cell.map_or(words, |cell| cell ^ (words << 16))
    }
}

impl Evidence {
    /// A value that stands in a cell.
    pub fn of(what: impl Into<String>, value: impl fmt::Display, origin: &Origin) -> Evidence {
        let (what, value, origin) = (what.into(), value.to_string(), Some(origin.clone()));
        Evidence::from(Exhibit { what, value, origin, common_practice: false })
    }

    /// A value that was reckoned from other evidence.
    pub fn reckoned(what: impl Into<String>, value: impl fmt::Display) -> Evidence {
        let (what, value) = (what.into(), value.to_string());
        Evidence::from(Exhibit { what, value, origin: None, common_practice: false })
    }

    /// The same evidence, marked as a rule of thumb.
    #[must_use]
    pub fn as_common_practice(mut self) -> Evidence {
        Arc::make_mut(&mut self.exhibit).common_practice = true;
        self
    }
}
