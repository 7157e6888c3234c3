//! The cells of a sheet in one block: the text of all in one piece of memory, and of each cell a few bytes that say what
//! it is and where. A piece of memory for each cell, or only for each row, would cost more than to read the file.

use std::ops::Range;

use crate::sheets::field::{each_end, each_quoted_end, field_of_line};
use crate::sheets::packed::{Packed, Sort};
use crate::sheets::piece::Full;
use crate::sheets::{Cell, Fault};

/// Rows of cells.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Block {
    pub(super) text: String,
    /// Values that take eight bytes for themselves: the bits of numbers, and lengths of time.
    pub(super) wide: Vec<u64>,
    pub(super) cells: Vec<Packed>,
    /// The bounds of the fields of rows that are lines of the text: of each row, where its first field begins, then one
    /// byte behind each field's end. Four bytes a cell, since they are all that a text file needs.
    bounds: Vec<u32>,
    /// The rows that are whole. Cells behind the last one's belong to the row under way.
    pub(super) rows: Vec<Place>,
    /// Where the row under way begins among the cells.
    begins_at: usize,
    given: Given,
}

/// One row: its number as the spreadsheet program shows it, and where its cells stand, or the bounds of its fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) number: u32,
    pub(super) begins_at: u32,
    pub(super) ends_at: u32,
    pub(super) is_line: bool,
}

impl Place {
    pub(super) fn range(self) -> Range<usize> {
        self.begins_at as usize..self.ends_at as usize
    }
}

/// The cells of one row.
#[derive(Clone, Copy)]
pub(super) enum Cells<'b> {
    Packed(&'b [Packed]),
    /// The bounds of plain fields.
    Fields(&'b [u32]),
}

impl Cells<'_> {
    pub(super) fn len(self) -> usize {
        match self {
            Cells::Packed(cells) => cells.len(),
            Cells::Fields(bounds) => bounds.len().saturating_sub(1),
        }
    }
}

/// What stands for a cell that cannot be made out, which is never a blank one; no block that is sound has such a cell.
const NOT_MADE_OUT: Cell<'static> = Cell::Fault(Fault::ErrorValue("?"));

/// A text that becomes the first part of the block's own in the end: where it stands meanwhile.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Given {
    address: usize,
    bytes: usize,
}

impl Block {
    /// A block for the cells of this text, which are not copied; [`Block::take_text`] must follow.
    pub(super) fn over(text: &str) -> Block {
        Block { given: Given { address: text.as_ptr().addr(), bytes: text.len() }, ..Block::default() }
    }

    /// The text over which the block was made becomes its own.
    pub(super) fn take_text(&mut self, given: String) {
        let added = std::mem::replace(&mut self.text, given);
        self.text.push_str(&added);
        self.given = Given::default();
    }

    /// How many bytes it takes, more or less.
    pub(super) fn bytes(&self) -> usize {
        self.text.len() + self.wide.len() * size_of::<u64>() + self.cells.len() * Packed::BYTES
    }

    /// The cells of a row.
    pub(super) fn cells(&self, row: Place) -> Cells<'_> {
        if row.is_line {
            Cells::Fields(self.bounds.get(row.range()).unwrap_or_default())
        } else {
            Cells::Packed(self.cells.get(row.range()).unwrap_or_default())
        }
    }

    /// One cell of a row as others see it; blank past the row's end.
    pub(super) fn cell(&self, cells: Cells<'_>, column: usize) -> Cell<'_> {
        match cells {
            Cells::Packed(cells) => cells.get(column).map_or(Cell::Blank, |cell| self.unpack(*cell)),
            Cells::Fields(bounds) => match bounds.get(column..).and_then(<[u32]>::first_chunk) {
                Some(&[begins_at, ends_before]) => {
                    let field = self.text.get(begins_at as usize..ends_before as usize - 1);
                    field.map_or(NOT_MADE_OUT, field_of_line)
                }
                None => Cell::Blank,
            },
        }
    }

    fn unpack(&self, packed: Packed) -> Cell<'_> {
        let wide = || self.wide.get(packed.at()).copied();
        let seen = match packed.sort() {
            Some(Sort::Blank) => Some(Cell::Blank),
            Some(Sort::Text) => self.stretch(packed).map(Cell::Text),
            Some(Sort::ErrorValue) => self.stretch(packed).map(Fault::ErrorValue).map(Cell::Fault),
            Some(Sort::Number) => wide().map(f64::from_bits).map(Cell::Number),
            Some(Sort::Time) => wide().map(u64::cast_signed).map(Cell::Time),
            Some(Sort::TooLong) => wide().map(|characters| {
                Cell::Fault(Fault::TooLong(usize::try_from(characters).unwrap_or(usize::MAX)))
            }),
            Some(Sort::Day) => packed.day().map(Cell::Day),
            Some(Sort::True) => Some(Cell::Flag(true)),
            Some(Sort::False) => Some(Cell::Flag(false)),
            Some(Sort::NeverReckoned) => Some(Cell::Fault(Fault::NeverReckoned)),
            None => None,
        };
        seen.unwrap_or(NOT_MADE_OUT)
    }

    fn stretch(&self, packed: Packed) -> Option<&str> {
        self.text.get(packed.at()..packed.at() + packed.length())
    }

    /// Puts a cell into the row under way, into a column counted from 0.
    #[inline]
    pub(super) fn put(&mut self, column: usize, cell: Cell<'_>) -> Result<(), Full> {
        let packed = self.pack(cell)?;
        let at = self.begins_at + column;
        if self.cells.len() == at {
            self.cells.push(packed);
        } else {
            if self.cells.len() < at {
                self.cells.resize(at + 1, Packed::default());
            }
            self.cells[at] = packed;
        }
        Ok(())
    }

    #[inline]
    fn pack(&mut self, cell: Cell<'_>) -> Result<Packed, Full> {
        Ok(match cell {
            Cell::Blank => Packed::default(),
            Cell::Text(text) => self.pack_text(Sort::Text, text)?,
            Cell::Number(number) => self.pack_wide(Sort::Number, number.to_bits())?,
            Cell::Day(day) => Packed::of_day(day),
            Cell::Time(seconds) => self.pack_wide(Sort::Time, seconds.cast_unsigned())?,
            Cell::Flag(true) => Packed::bare(Sort::True),
            Cell::Flag(false) => Packed::bare(Sort::False),
            Cell::Fault(Fault::ErrorValue(name)) => self.pack_text(Sort::ErrorValue, name)?,
            Cell::Fault(Fault::NeverReckoned) => Packed::bare(Sort::NeverReckoned),
            Cell::Fault(Fault::TooLong(characters)) => self.pack_wide(Sort::TooLong, characters as u64)?,
        })
    }

    #[inline]
    fn pack_text(&mut self, sort: Sort, text: &str) -> Result<Packed, Full> {
        let Given { address, bytes } = self.given;
        let within = text.as_ptr().addr().wrapping_sub(address);
        let at = if within < bytes {
            within
        } else {
            self.text.push_str(text);
            bytes + self.text.len() - text.len()
        };
        Packed::of(sort, at, text.len()).ok_or(Full::Text)
    }

    fn pack_wide(&mut self, sort: Sort, value: u64) -> Result<Packed, Full> {
        self.wide.push(value);
        Packed::of(sort, self.wide.len() - 1, 0).ok_or(Full::Cells)
    }

    /// Whether the row under way has no cell yet.
    pub(super) fn is_row_blank(&self) -> bool {
        self.cells.len() == self.begins_at
    }

    /// The row under way is whole, and has this number; gives back how many cells it takes, blank ones at its end aside.
    /// One that is blank is no row.
    pub(super) fn end_row(&mut self, number: u32) -> Result<usize, Full> {
        while self.cells.len() > self.begins_at && self.cells.last().is_some_and(|cell| cell.is_blank()) {
            self.cells.pop();
        }
        let count = self.cells.len() - self.begins_at;
        if count > 0 {
            let place = |at: usize| u32::try_from(at).map_err(|_| Full::Cells);
            let (begins_at, ends_at) = (place(self.begins_at)?, place(self.cells.len())?);
            self.rows.push(Place { number, begins_at, ends_at, is_line: false });
            self.begins_at = self.cells.len();
        }
        Ok(count)
    }

    /// Puts a row of plain fields that is a line of the text over which the block was made; gives back how many cells it
    /// takes, as [`Block::end_row`] does. `None` where it takes more than so many, stands elsewhere, or has a quote that
    /// neither opens nor closes a field.
    pub(super) fn put_line(
        &mut self,
        number: u32,
        line: &str,
        delimiter: u8,
        most: usize,
    ) -> Result<Option<usize>, Full> {
        let begins_at = line.as_ptr().addr().wrapping_sub(self.given.address);
        if begins_at.saturating_add(line.len()) > self.given.bytes {
            return Ok(None);
        }
        // The bounds lie one byte behind the fields' ends at most.
        u32::try_from(begins_at + line.len() + 1).map_err(|_| Full::Text)?;
        let bound = |at: usize| (begins_at + at) as u32;
        let first = self.bounds.len();
        self.bounds.push(bound(0));
        let tell = |end| self.bounds.push(bound(end + 1));
        let is_in_order = if memchr::memchr(b'"', line.as_bytes()).is_some() {
            each_quoted_end(line.as_bytes(), delimiter, tell)
        } else {
            each_end(line.as_bytes(), delimiter, tell);
            true
        };
        while let [.., from, to] = self.bounds[first..]
            && field_of_line(&line[from as usize - begins_at..to as usize - 1 - begins_at]).is_blank()
        {
            self.bounds.pop();
        }
        let cells = self.bounds.len() - first - 1;
        if !is_in_order || cells == 0 || cells > most {
            self.bounds.truncate(first);
            return Ok((is_in_order && cells == 0).then_some(0));
        }
        let place = |at: usize| u32::try_from(at).map_err(|_| Full::Cells);
        let (begins_at, ends_at) = (place(first)?, place(self.bounds.len())?);
        self.rows.push(Place { number, begins_at, ends_at, is_line: true });
        Ok(Some(cells))
    }

    /// The last whole row, which is no line of a text, stands once more below itself.
    pub(super) fn repeat_row(&mut self, number: u32) -> Result<usize, Full> {
        let Some(row) = self.rows.last() else { return Ok(0) };
        self.cells.extend_from_within(row.range());
        self.end_row(number)
    }

    /// The last whole row by itself, with another number.
    pub(super) fn last_row_as(&self, number: u32) -> Result<Block, Full> {
        let mut row = Block::default();
        if let Some(cells) = self.rows.last().map(|row| self.cells(*row)) {
            for column in 0..cells.len() {
                row.put(column, self.cell(cells, column))?;
            }
        }
        row.end_row(number)?;
        Ok(row)
    }

    /// Adds the rows of another block below its own. A text file's are never but one block.
    pub(super) fn append(&mut self, more: Block) -> Result<(), Full> {
        if self.rows.is_empty() {
            *self = more;
            return Ok(());
        }
        let place = |at: usize, full: Full| u32::try_from(at).map_err(|_| full);
        let (text, wide) = (place(self.text.len(), Full::Text)?, place(self.wide.len(), Full::Cells)?);
        let cells = place(self.cells.len(), Full::Cells)?;
        place(self.text.len() + more.text.len(), Full::Text)?;
        place(self.cells.len() + more.cells.len(), Full::Cells)?;
        self.text.push_str(&more.text);
        self.wide.extend_from_slice(&more.wide);
        self.cells.extend(more.cells.iter().map(|cell| cell.moved(text, wide)));
        self.rows.extend(more.rows.iter().map(|row| Place {
            number: row.number,
            begins_at: row.begins_at + cells,
            ends_at: row.ends_at + cells,
            is_line: false,
        }));
        self.begins_at = self.cells.len();
        Ok(())
    }

    /// Puts the rows in the order of their numbers, joins the parts of one row, and gives back the memory that is left.
    pub(super) fn put_in_order(&mut self) {
        if !self.rows.is_sorted_by(|one, next| one.number < next.number) {
            let mut parts = std::mem::take(&mut self.rows);
            parts.sort_by_key(|row| row.number);
            for part in parts {
                match self.rows.pop() {
                    Some(row) if row.number == part.number => self.join(row, part),
                    row => self.rows.extend(row.into_iter().chain([part])),
                }
            }
        }
        self.text.shrink_to_fit();
        self.wide.shrink_to_fit();
        self.cells.shrink_to_fit();
        self.bounds.shrink_to_fit();
        self.rows.shrink_to_fit();
    }

    /// Makes one row of two parts; where both have a cell, the later one's counts.
    fn join(&mut self, earlier: Place, later: Place) {
        // What was joined before stands at the end already, so that many parts take no more than they have.
        let begins_at = if earlier.range().end == self.cells.len() {
            earlier.range().start
        } else {
            self.cells.extend_from_within(earlier.range());
            self.cells.len() - earlier.range().len()
        };
        for (index, from) in later.range().enumerate() {
            let cell = self.cells[from];
            match self.cells.get_mut(begins_at + index) {
                Some(place) if !cell.is_blank() => *place = cell,
                Some(_) => {}
                None => self.cells.push(cell),
            }
        }
        let place = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        let (begins_at, ends_at) = (place(begins_at), place(self.cells.len()));
        self.rows.push(Place { number: earlier.number, begins_at, ends_at, is_line: false });
    }

    /// Whether every cell and row of a block that another process has sent is one, and no row has more cells than this.
    pub(super) fn is_sound(&self) -> bool {
        let is_cell = |cell: &Packed| match cell.sort() {
            Some(Sort::Text | Sort::ErrorValue) => self.stretch(*cell).is_some(),
            Some(Sort::Number | Sort::Time | Sort::TooLong) => cell.at() < self.wide.len(),
            Some(Sort::Day) => cell.day().is_some(),
            Some(sort) => *cell == Packed::bare(sort),
            None => false,
        };
        // The rows follow each other and leave no cell out.
        let mut begins_at = 0;
        let is_row = |row: &Place| {
            let follows = row.begins_at == begins_at && row.ends_at > row.begins_at && !row.is_line;
            begins_at = row.ends_at;
            follows
        };
        self.rows.iter().all(is_row)
            && self.rows.last().map_or(0, |row| row.range().end) == self.cells.len()
            && self.cells.iter().all(is_cell)
    }

    /// How many cells the longest row has.
    pub(super) fn width(&self) -> usize {
        self.rows.iter().map(|row| self.cells(*row).len()).max().unwrap_or(0)
    }

    /// The block of these parts, as another process has sent them.
    pub(super) fn of_parts(text: String, wide: Vec<u64>, cells: Vec<Packed>, rows: Vec<Place>) -> Block {
        let begins_at = cells.len();
        Block { text, wide, cells, rows, begins_at, ..Block::default() }
    }
}
