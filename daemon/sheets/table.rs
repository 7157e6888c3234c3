//! What a sheet holds once it is read: rows of cells, each still as its program wrote it.

use std::fmt;
use std::ops::{Bound, RangeBounds};
use std::sync::Arc;

use jiff::civil::Date;

use crate::origin::{Origin, SheetName};
use crate::problem::{Place, Spot};
use crate::sheets::Cell;
use crate::sheets::block::{self, Block, Cells};

/// One sheet's cells.
#[derive(Clone)]
pub struct Table {
    /// Which sheet of which file.
    pub name: Arc<SheetName>,
    /// Whether serial day numbers of this workbook count from 1904 instead of 1900.
    pub counts_from_1904: bool,
    /// Its rows in the sheet's order; one table can be the upper part of another.
    block: Arc<Block>,
    rows: usize,
    /// The cells that are merged downwards, by column and row.
    merged: Arc<[Merged]>,
    /// What is known of its file beyond this sheet.
    pub file: Arc<AboutFile>,
}

/// What is known of a sheet's file beyond the sheet itself.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct AboutFile {
    /// The day on which it was last written; `None` where that is not known.
    pub written: Option<Date>,
    /// Its dates that are days with the day first only.
    pub day_first: DatesProving,
    /// Its dates that are days with the month first only.
    pub month_first: DatesProving,
}

/// The dates of a file that prove one order of day and month.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DatesProving {
    /// How many there are.
    pub count: usize,
    /// The first of them, with its cell.
    pub first: Option<(Origin, String)>,
}

/// A cell that is merged with those below it, of which it alone has a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Merged {
    /// Its column, from 0 for A.
    pub column: u32,
    /// The number of its row, from 1.
    pub first_row: u32,
    /// The number of the last row that it reaches.
    pub last_row: u32,
}

impl Merged {
    /// The most of one sheet that are kept. They are made by hand, one by one.
    pub(super) const MOST: usize = 10_000;
}

impl Table {
    /// A table of these rows, each with its number, from 1 and rising.
    ///
    /// # Panics
    ///
    /// If they take more than four gigabytes: sheets of files, which may, are read within limits.
    pub fn new<'c, Cells: IntoIterator<Item = Cell<'c>>>(
        name: Arc<SheetName>,
        counts_from_1904: bool,
        rows: impl IntoIterator<Item = (u32, Cells)>,
    ) -> Table {
        let mut block = Block::default();
        for (number, cells) in rows {
            for (column, cell) in cells.into_iter().enumerate() {
                block.put(column, cell).expect("there is room");
            }
            block.end_row(number).expect("there is room");
        }
        Table::of(name, counts_from_1904, block)
    }

    /// A table of all rows of a block.
    pub(super) fn of(name: Arc<SheetName>, counts_from_1904: bool, mut block: Block) -> Table {
        block.put_in_order();
        let rows = block.rows.len();
        Table {
            name,
            counts_from_1904,
            rows,
            block: Arc::new(block),
            merged: Arc::default(),
            file: Arc::default(),
        }
    }

    /// The same table with cells that are merged downwards.
    #[must_use]
    pub fn with_merged(self, mut merged: Vec<Merged>) -> Table {
        merged.sort_unstable();
        Table { merged: merged.into(), ..self }
    }

    /// The row in which a row's cell of a column has its value: the row itself, or one above where the cell is merged
    /// with one there.
    pub fn row_of_value<'t>(&'t self, row: Row<'t>, column: usize) -> Row<'t> {
        if self.merged.is_empty() || !row.cell(column).is_blank() {
            return row;
        }
        let begins_before =
            |merged: &Merged| (merged.column as usize, merged.first_row) < (column, row.number);
        let last = self.merged.partition_point(begins_before).checked_sub(1);
        let merged = last
            .map(|place| self.merged[place])
            .filter(|merged| merged.column as usize == column && merged.last_row >= row.number);
        let above = merged.and_then(|merged| {
            let rows = &self.block.rows[..self.rows];
            rows.binary_search_by_key(&merged.first_row, |place| place.number).ok()
        });
        above.map_or(row, |above| self.row(above))
    }

    /// The rows that hold anything, in the sheet's order.
    pub fn rows(&self) -> Rows<'_> {
        Rows { block: &self.block, places: &self.block.rows[..self.rows] }
    }

    /// One of those rows, counted from 0.
    ///
    /// # Panics
    ///
    /// If there are not so many.
    pub fn row(&self, index: usize) -> Row<'_> {
        self.rows().get(index).expect("it is one of the table's rows")
    }

    /// The same table without what stands below its first few rows.
    #[must_use]
    pub fn first_rows(&self, count: usize) -> Table {
        Table { rows: count.min(self.rows), ..self.clone() }
    }

    /// The sheet as a whole, for what is wrong with all of it.
    pub fn whole(&self) -> Place {
        Place { file: self.name.file.clone(), sheet: self.name.sheet.clone(), spot: Spot::Whole }
    }

    /// The origin of a cell of this sheet: the row's own number, the column from 0.
    pub fn origin(&self, row: Row<'_>, column: usize) -> Origin {
        let column = u32::try_from(column).unwrap_or(u32::MAX);
        Origin { name: Arc::clone(&self.name), row: row.number, column }
    }
}

impl PartialEq for Table {
    fn eq(&self, other: &Table) -> bool {
        self.name == other.name
            && self.counts_from_1904 == other.counts_from_1904
            && self.rows().iter().eq(other.rows().iter())
    }
}

impl fmt::Debug for Table {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut list = formatter.debug_list();
        list.entry(&self.name).entries(self.rows().iter()).finish()
    }
}

/// Rows of a table that follow each other.
#[derive(Clone, Copy)]
pub struct Rows<'t> {
    block: &'t Block,
    places: &'t [block::Place],
}

impl<'t> Rows<'t> {
    /// How many there are.
    pub fn len(self) -> usize {
        self.places.len()
    }

    /// Whether there is none.
    pub fn is_empty(self) -> bool {
        self.places.is_empty()
    }

    /// One of them, counted from 0.
    pub fn get(self, index: usize) -> Option<Row<'t>> {
        self.places.get(index).map(|place| self.row(place))
    }

    /// Those of a range, counted from 0, as far as there are any.
    #[must_use]
    pub fn part(self, range: impl RangeBounds<usize>) -> Rows<'t> {
        let from = match range.start_bound() {
            Bound::Included(&from) => from,
            Bound::Excluded(&before) => before.saturating_add(1),
            Bound::Unbounded => 0,
        };
        let to = match range.end_bound() {
            Bound::Included(&last) => last.saturating_add(1),
            Bound::Excluded(&to) => to,
            Bound::Unbounded => usize::MAX,
        };
        let to = to.min(self.len());
        Rows { places: &self.places[from.min(to)..to], ..self }
    }

    /// All of them, one after the other.
    pub fn iter(self) -> impl ExactSizeIterator<Item = Row<'t>> + DoubleEndedIterator + Clone {
        self.places.iter().map(move |place| self.row(place))
    }

    fn row(self, place: &block::Place) -> Row<'t> {
        Row { number: place.number, block: self.block, cells: self.block.cells(*place) }
    }
}

/// One row.
#[derive(Clone, Copy)]
pub struct Row<'t> {
    /// The row's number as the spreadsheet program shows it, from 1.
    pub number: u32,
    block: &'t Block,
    cells: Cells<'t>,
}

impl<'t> Row<'t> {
    /// The cell in a column, counted from 0; blank past the row's end.
    pub fn cell(self, column: usize) -> Cell<'t> {
        self.block.cell(self.cells, column)
    }

    /// The cells from column A on; a column past the end is blank.
    pub fn cells(self) -> impl ExactSizeIterator<Item = Cell<'t>> + DoubleEndedIterator + Clone {
        (0..self.cells.len()).map(move |column| self.block.cell(self.cells, column))
    }
}

impl PartialEq for Row<'_> {
    fn eq(&self, other: &Row<'_>) -> bool {
        self.number == other.number && self.cells().eq(other.cells())
    }
}

impl fmt::Debug for Row<'_> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{}: ", self.number)?;
        formatter.debug_list().entries(self.cells()).finish()
    }
}
