//! Cells become rows, within the limits of columns, rows, cells and characters.

use crate::origin::column_name;
use crate::problem::{Place, Problem, Severity, Spot, counted};
use crate::settings::Limits;
use crate::sheets::piece::{Full, Give, Piece, Tally, place, problem, size};
use crate::sheets::{Cell, Fault, Row};

/// Makes rows of the cells of one sheet after the other and gives them on.
pub(super) struct Rows<'a> {
    limits: &'a Limits,
    give: &'a mut Give<'a>,
    tally: Tally<'a>,
    sheet: Option<String>,
    /// The row under way, counted from 0, and its cells so far.
    row: u32,
    cells: Vec<Cell>,
    beyond_columns: Left,
    too_long: Left,
}

/// The cells of one sheet that were left out: how many, and where the first of them stands.
#[derive(Default)]
struct Left {
    count: usize,
    /// How many of them stand in the row under way.
    in_row: usize,
    first: Option<(u32, u32)>,
}

impl Left {
    fn add(&mut self, row: u32, column: u32, cells: u32) {
        let cells = usize::try_from(cells).unwrap_or(usize::MAX);
        self.count = self.count.saturating_add(cells);
        self.in_row = self.in_row.saturating_add(cells);
        self.first.get_or_insert((row, column));
    }

    /// A text that is too long is not kept, and not passed off as a shorter one.
    fn check(&mut self, row: u32, column: u32, cell: &mut Cell, characters_max: usize) {
        let characters = match cell {
            // A character takes at least one byte.
            Cell::Text(text) if text.len() > characters_max => text.chars().count(),
            Cell::Fault(Fault::TooLong(characters)) => *characters,
            _ => return,
        };
        if characters > characters_max {
            self.add(row, column, 1);
            *cell = Cell::Fault(Fault::TooLong(characters));
        }
    }

    /// The row under way stands so many times more.
    fn repeat(&mut self, more: u32) {
        let more = usize::try_from(more).unwrap_or(usize::MAX);
        self.count = self.count.saturating_add(self.in_row.saturating_mul(more));
    }

    /// The place of the first of them, and a fresh start for the next sheet.
    fn take(&mut self, sheet: Option<&str>) -> Option<(usize, Place)> {
        let Left { count, first, .. } = std::mem::take(self);
        let (row, column) = first?;
        Some((count, place(sheet, Spot::Cell { row: row.saturating_add(1), column })))
    }
}

impl<'a> Rows<'a> {
    /// No sheet begun yet.
    pub(super) fn new(limits: &'a Limits, give: &'a mut Give<'a>) -> Rows<'a> {
        Rows {
            limits,
            give,
            tally: Tally::new(limits),
            sheet: None,
            row: 0,
            cells: Vec::new(),
            beyond_columns: Left::default(),
            too_long: Left::default(),
        }
    }

    /// A sheet begins.
    pub(super) fn begin(&mut self, sheet: Option<&str>, counts_from_1904: bool) -> Result<(), Full> {
        self.sheet = sheet.map(str::to_owned);
        self.cells.clear();
        self.send(Piece::Sheet { name: self.sheet.clone(), counts_from_1904 })
    }

    /// One cell of the sheet, row and column counted from 0.
    pub(super) fn cell(&mut self, row: u32, column: u32, cell: Cell) -> Result<(), Full> {
        if cell.is_blank() { Ok(()) } else { self.make_cell(row, column, |place| *place = cell) }
    }

    /// The same with a cell that is made where it stays, since moving one costs as much as making it. Nothing is made of
    /// a blank one.
    pub(super) fn make_cell(
        &mut self,
        row: u32,
        column: u32,
        make: impl FnOnce(&mut Cell),
    ) -> Result<(), Full> {
        self.go_to_row(row)?;
        let index = column as usize;
        if index >= self.limits.columns {
            let mut cell = Cell::Blank;
            make(&mut cell);
            if !cell.is_blank() {
                self.beyond_columns.add(row, column, 1);
            }
            return Ok(());
        }
        if self.cells.len() == index {
            self.cells.push(Cell::Blank);
        } else if self.cells.len() < index {
            self.cells.resize(index + 1, Cell::Blank);
        }
        make(&mut self.cells[index]);
        Ok(())
    }

    /// A whole row that is no part of one given before, counted from 0: its fields from the first column on, and how each
    /// of them becomes a cell.
    pub(super) fn row<'b>(
        &mut self,
        row: u32,
        fields: impl Iterator<Item = &'b str>,
        mut make: impl FnMut(u32, &'b str, &mut Cell),
    ) -> Result<(), Full> {
        self.end_row()?;
        self.row = row;
        for (column, field) in (0..).zip(fields) {
            if self.cells.len() < self.limits.columns {
                let index = self.cells.len();
                self.cells.push(Cell::Blank);
                make(column, field, &mut self.cells[index]);
            } else {
                let mut cell = Cell::Blank;
                make(column, field, &mut cell);
                if !cell.is_blank() {
                    self.beyond_columns.add(row, column, 1);
                }
            }
        }
        Ok(())
    }

    /// The same cell so many times, from this column on; it is taken, and a blank one left in its place.
    pub(super) fn cells(&mut self, row: u32, column: u32, times: u32, cell: &mut Cell) -> Result<(), Full> {
        if cell.is_blank() || times == 0 {
            return Ok(());
        }
        let columns = u32::try_from(self.limits.columns).unwrap_or(u32::MAX);
        let within = times.min(columns.saturating_sub(column));
        for index in 1..within {
            self.make_cell(row, column + index, |place| place.clone_from(cell))?;
        }
        if within < times {
            self.go_to_row(row)?;
            self.beyond_columns.add(row, column + within, times - within);
        }
        if within > 0 { self.make_cell(row, column, |place| *place = std::mem::take(cell)) } else { Ok(()) }
    }

    /// This row, of which the cells have just been given, stands so many times more below itself.
    pub(super) fn repeat_row(&mut self, row: u32, more: u32) -> Result<(), Full> {
        if row != self.row || more == 0 {
            // A row that is not under way is blank.
            return Ok(());
        }
        self.beyond_columns.repeat(more);
        let cells = self.cells.clone();
        let more = if cells.is_empty() { 0 } else { more };
        for _ in 0..more {
            self.go_to_row(self.row.saturating_add(1))?;
            self.cells.clone_from(&cells);
        }
        Ok(())
    }

    fn go_to_row(&mut self, row: u32) -> Result<(), Full> {
        if row != self.row {
            self.end_row()?;
            self.row = row;
            self.beyond_columns.in_row = 0;
        }
        Ok(())
    }

    fn end_row(&mut self) -> Result<(), Full> {
        while self.cells.last().is_some_and(Cell::is_blank) {
            self.cells.pop();
        }
        if self.cells.is_empty() {
            return Ok(());
        }
        // Most often the next row has as many cells.
        let next = Vec::with_capacity(self.cells.len());
        let mut cells = std::mem::replace(&mut self.cells, next);
        cells.shrink_to_fit();
        for (column, cell) in (0..).zip(&mut cells) {
            self.too_long.check(self.row, column, cell, self.limits.cell_characters);
        }
        self.send(Piece::Row(Row { number: self.row.saturating_add(1), cells }))
    }

    /// The sheet is whole; says what was left out of it.
    pub(super) fn end(&mut self) -> Result<(), Full> {
        self.end_row()?;
        if let Some((count, place)) = self.beyond_columns.take(self.sheet.as_deref()) {
            let last = u32::try_from(self.limits.columns.saturating_sub(1)).unwrap_or(u32::MAX);
            let cells = counted(count, "cell");
            let what = format!("{cells} beyond column {} {} not read", column_name(last), were(count));
            self.send(Piece::Problem(Problem::error(
                place,
                what,
                "Move them further left, or empty them, and save the file again.",
            )))?;
        }
        if let Some((count, place)) = self.too_long.take(self.sheet.as_deref()) {
            let most = self.limits.cell_characters;
            let cells = counted(count, "cell");
            let what = format!("{cells} with more than {most} characters {} not read", were(count));
            self.send(Piece::Problem(Problem::error(
                place,
                what,
                "Shorten the text, and save the file again.",
            )))?;
        }
        self.send(Piece::SheetEnds)
    }

    /// The sheet cannot be used; its rows so far are void.
    pub(super) fn spoil(&mut self, what: impl Into<String>, help: &str) -> Result<(), Full> {
        self.cells.clear();
        self.beyond_columns = Left::default();
        self.too_long = Left::default();
        let problem = problem(Severity::Error, self.sheet.as_deref(), what, help);
        self.send(Piece::Spoilt(problem))
    }

    /// Nothing of the file can be used, neither the sheets that are whole already.
    pub(super) fn void(&mut self, problem: Problem) -> Result<(), Full> {
        self.cells.clear();
        self.send(Piece::Void(problem))
    }

    /// Something that a person should know.
    pub(super) fn tell(&mut self, problem: Problem) -> Result<(), Full> {
        self.send(Piece::Problem(problem))
    }

    /// Ends the sheet as its reading ended: whole, or spoilt by a limit. An error means that reading must stop.
    pub(super) fn end_as(&mut self, outcome: Result<(), Full>) -> Result<(), Full> {
        let Err(full) = outcome.and_then(|()| self.end()) else { return Ok(()) };
        let help = "Split it into several files, or raise the limit in the settings.";
        match full {
            Full::Rows => {
                let rows = counted(self.limits.rows, "row");
                let what = format!("the sheet has more than {rows} and was not read");
                self.spoil(what, help)
            }
            Full::Cells => {
                let what = format!(
                    "the file has more than {} cells; nothing was read from here on",
                    self.limits.cells
                );
                self.spoil(what, help).and(Err(full))
            }
            Full::Text => {
                let most = size(self.limits.unpacked_bytes);
                let what = format!("the file holds more than {most} of text; nothing was read from here on");
                self.spoil(what, help).and(Err(full))
            }
            Full::Quotes => {
                let what = "the file has too many quote marks that open and do not close, and was not read";
                self.spoil(what, "Export it again, with quote marks inside cells doubled.").and(Err(full))
            }
            Full::Sheets | Full::Problems | Full::Gone => Err(full),
        }
    }

    fn send(&mut self, piece: Piece) -> Result<(), Full> {
        self.tally.count(&piece)?;
        (self.give)(piece)
    }
}

fn were(count: usize) -> &'static str {
    if count == 1 { "was" } else { "were" }
}
