//! Cells become rows, within the limits of columns, rows, cells and characters.

use crate::origin::column_name;
use crate::problem::{Place, Problem, Severity, Spot, counted};
use crate::settings::Limits;
use crate::sheets::block::Block;
use crate::sheets::packed::LENGTH_MAX;
use crate::sheets::piece::{Full, Give, Piece, Tally, place, problem, size};
use crate::sheets::{Cell, Fault, Merged};

/// How much is given on at once: few enough pieces that to give one costs nothing, and small enough to stay at hand.
pub(super) const GIVEN_ON_BYTES: usize = 128 * 1024;

/// A file may have so many times more blank cells than others: a column that somebody has coloured to its end, and no more
/// than can be passed over in seconds. Our decision.
const BLANKS_TIMES: usize = 3;

/// Makes rows of the cells of one sheet after the other and gives them on.
pub(super) struct Rows<'a> {
    limits: &'a Limits,
    give: &'a mut Give<'a>,
    tally: Tally<'a>,
    sheet: Option<String>,
    /// The row under way, counted from 0.
    row: u32,
    /// The rows that are not given on yet, and the cells of the row under way.
    block: Block,
    /// How much text its rows have that are counted.
    text_bytes: usize,
    /// Whether rows are given on as soon as there are enough, or all at once.
    gives_on: bool,
    beyond_columns: Left,
    too_long: Left,
    /// How many cells of the sheet have come.
    cells: usize,
    /// How many blank cells of the file have come, which take no room but time.
    blanks: usize,
    merged: Vec<Merged>,
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

    /// The cell as it is kept: a text that is too long is not, and not passed off as a shorter one.
    fn check<'c>(&mut self, row: u32, column: u32, cell: Cell<'c>, characters_max: usize) -> Cell<'c> {
        let characters = match cell {
            // A character takes at least one byte.
            Cell::Text(text) if text.len() > characters_max.min(LENGTH_MAX) => {
                let characters = text.chars().count();
                if characters <= characters_max && text.len() <= LENGTH_MAX {
                    return cell;
                }
                characters
            }
            Cell::Fault(Fault::TooLong(characters)) if characters > characters_max => characters,
            _ => return cell,
        };
        self.add(row, column, 1);
        Cell::Fault(Fault::TooLong(characters))
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
            block: Block::default(),
            text_bytes: 0,
            gives_on: true,
            beyond_columns: Left::default(),
            too_long: Left::default(),
            cells: 0,
            blanks: 0,
            merged: Vec::new(),
        }
    }

    /// How many cells of the sheet have come.
    pub(super) fn cells_so_far(&self) -> usize {
        self.cells
    }

    /// The most cells that a file may have, those that are blank among them.
    pub(super) fn cells_max(&self) -> usize {
        self.limits.cells.saturating_mul(1 + BLANKS_TIMES)
    }

    /// A cell of the sheet is merged with those below it, to the last row; all counted from 0.
    pub(super) fn merged(&mut self, column: u32, first_row: u32, last_row: u32) {
        let (first_row, last_row) = (first_row.saturating_add(1), last_row.saturating_add(1));
        if last_row > first_row && self.merged.len() < Merged::MOST {
            self.merged.push(Merged { column, first_row, last_row });
        }
    }

    /// A sheet begins.
    pub(super) fn begin(&mut self, sheet: Option<&str>, counts_from_1904: bool) -> Result<(), Full> {
        self.sheet = sheet.map(str::to_owned);
        self.clear();
        self.send(Piece::Sheet { name: self.sheet.clone(), counts_from_1904 })
    }

    /// A sheet begins whose cells are stretches of this text, or near enough that few of them are not. It is not copied:
    /// [`Rows::end_with_text`] must be given it.
    pub(super) fn begin_in_text(&mut self, text: &str) -> Result<(), Full> {
        self.begin(None, false)?;
        self.block = Block::over(text);
        self.gives_on = false;
        Ok(())
    }

    /// Counts text that no cell brings with it.
    pub(super) fn count_text(&mut self, bytes: usize) -> Result<(), Full> {
        self.tally.count_rows(0, 0, bytes)
    }

    /// The text over which the sheet was begun, of which reading has ended like this.
    pub(super) fn end_with_text(&mut self, text: String, outcome: Result<(), Full>) -> Result<(), Full> {
        let outcome = outcome.and_then(|()| self.end_row());
        self.block.take_text(text);
        self.gives_on = true;
        self.end_as(outcome)
    }

    /// One cell of the sheet, row and column counted from 0.
    pub(super) fn cell(&mut self, row: u32, column: u32, cell: Cell<'_>) -> Result<(), Full> {
        if cell.is_blank() {
            self.blanks += 1;
            let is_too_many = self.blanks > self.limits.cells.saturating_mul(BLANKS_TIMES);
            return if is_too_many { Err(Full::Cells) } else { Ok(()) };
        }
        self.go_to_row(row)?;
        self.put(column, cell)
    }

    fn put(&mut self, column: u32, cell: Cell<'_>) -> Result<(), Full> {
        if column as usize >= self.limits.columns {
            self.beyond_columns.add(self.row, column, 1);
            return Ok(());
        }
        self.cells += 1;
        let kept = self.too_long.check(self.row, column, cell, self.limits.cell_characters);
        // One text of a workbook can stand in all its cells, and be counted for each: it is text of the file like any other.
        if self.gives_on
            && let (Cell::Text(text), Cell::Fault(_)) = (cell, kept)
        {
            self.tally.count_rows(0, 0, text.len())?;
        }
        self.block.put(column as usize, kept)
    }

    /// A row of plain fields, counted from 0, that is a line of the text in which the sheet was begun. `false` where that
    /// cannot be kept as it stands, and the row is to be given field by field.
    pub(super) fn line(&mut self, row: u32, line: &str, delimiter: u8) -> Result<bool, Full> {
        self.begin_row(row)?;
        let (most, longest) = (self.limits.columns, self.limits.cell_characters);
        // No field of the line is longer than the line.
        let number = row.saturating_add(1);
        if line.len() > longest {
            return Ok(false);
        }
        let Some(cells) = self.block.put_line(number, line, delimiter, most)? else { return Ok(false) };
        if cells > 0 {
            self.tally.count_rows(1, cells, 0)?;
        }
        Ok(true)
    }

    /// A row begins that is no part of one given before, counted from 0.
    pub(super) fn begin_row(&mut self, row: u32) -> Result<(), Full> {
        self.end_row()?;
        self.row = row;
        Ok(())
    }

    /// A cell of the row that has begun.
    pub(super) fn cell_of_row(&mut self, column: u32, cell: Cell<'_>) -> Result<(), Full> {
        if cell.is_blank() { Ok(()) } else { self.put(column, cell) }
    }

    /// The same cell so many times, from this column on.
    pub(super) fn cells(&mut self, row: u32, column: u32, times: u32, cell: Cell<'_>) -> Result<(), Full> {
        if cell.is_blank() || times == 0 {
            return Ok(());
        }
        let columns = u32::try_from(self.limits.columns).unwrap_or(u32::MAX);
        let within = times.min(columns.saturating_sub(column));
        for index in 0..within {
            self.cell(row, column + index, cell)?;
        }
        if within < times {
            self.go_to_row(row)?;
            self.beyond_columns.add(row, column + within, times - within);
        }
        Ok(())
    }

    /// This row, of which the cells have just been given, stands so many times more below itself.
    pub(super) fn repeat_row(&mut self, row: u32, more: u32) -> Result<(), Full> {
        if row != self.row || more == 0 {
            // A row that is not under way is blank.
            return Ok(());
        }
        self.beyond_columns.repeat(more);
        self.too_long.repeat(more);
        if self.block.is_row_blank() {
            return Ok(());
        }
        let cells = self.count_row()?;
        for _ in 0..more {
            self.row = self.row.saturating_add(1);
            let number = self.row.saturating_add(1);
            if self.is_enough() {
                let row = self.block.last_row_as(number)?;
                self.give_rows()?;
                self.block = row;
            } else {
                self.block.repeat_row(number)?;
            }
            let text_bytes = self.new_text_bytes();
            self.tally.count_rows(1, cells, text_bytes)?;
        }
        self.give_on()
    }

    fn go_to_row(&mut self, row: u32) -> Result<(), Full> {
        if row != self.row {
            self.end_row()?;
            self.row = row;
            self.beyond_columns.in_row = 0;
            self.too_long.in_row = 0;
        }
        Ok(())
    }

    fn end_row(&mut self) -> Result<(), Full> {
        self.count_row()?;
        self.give_on()
    }

    /// Ends the row under way, unless it is blank, and counts it.
    fn count_row(&mut self) -> Result<usize, Full> {
        let cells = self.block.end_row(self.row.saturating_add(1))?;
        if cells > 0 {
            let text_bytes = self.new_text_bytes();
            self.tally.count_rows(1, cells, text_bytes)?;
        }
        Ok(cells)
    }

    /// How much text has come since this was asked last.
    fn new_text_bytes(&mut self) -> usize {
        let before = std::mem::replace(&mut self.text_bytes, self.block.text.len());
        self.text_bytes - before
    }

    /// Gives the whole rows on once there are enough of them.
    fn give_on(&mut self) -> Result<(), Full> {
        if self.is_enough() { self.give_rows() } else { Ok(()) }
    }

    fn is_enough(&self) -> bool {
        self.gives_on && self.block.bytes() >= GIVEN_ON_BYTES
    }

    fn give_rows(&mut self) -> Result<(), Full> {
        let block = std::mem::take(&mut self.block);
        self.text_bytes = 0;
        if block.rows.is_empty() { Ok(()) } else { (self.give)(Piece::Rows(block)) }
    }

    /// What is not given on is void.
    fn clear(&mut self) {
        self.block = Block::default();
        self.text_bytes = 0;
        self.gives_on = true;
        self.cells = 0;
        self.merged.clear();
    }

    /// The sheet is whole; says what was left out of it.
    pub(super) fn end(&mut self) -> Result<(), Full> {
        self.end_row()?;
        self.give_rows()?;
        let merged = std::mem::take(&mut self.merged);
        if !merged.is_empty() {
            self.send(Piece::Merged(merged))?;
        }
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
        self.clear();
        self.beyond_columns = Left::default();
        self.too_long = Left::default();
        let problem = problem(Severity::Error, self.sheet.as_deref(), what, help);
        self.send(Piece::Spoilt(problem))
    }

    /// Nothing of the file can be used, neither the sheets that are whole already.
    pub(super) fn void(&mut self, problem: Problem) -> Result<(), Full> {
        self.clear();
        self.send(Piece::Void(problem))
    }

    /// Something that a person should know.
    pub(super) fn tell(&mut self, problem: Problem) -> Result<(), Full> {
        self.send(Piece::Problem(problem))
    }

    /// Ends the sheet as its reading ended: whole, or spoilt by a limit. An error means that reading must stop.
    pub(super) fn end_as(&mut self, outcome: Result<(), Full>) -> Result<(), Full> {
        let Err(full) = outcome.and_then(|()| self.end()) else { return Ok(()) };
        let help = "Split it into several files, or raise the limit under [limits] in tickover.toml.";
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
                let most = size(self.limits.file_bytes);
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
