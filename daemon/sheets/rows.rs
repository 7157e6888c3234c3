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
    first: Option<(u32, u32)>,
}

impl Left {
    fn add(&mut self, row: u32, column: u32) {
        self.count += 1;
        self.first.get_or_insert((row, column));
    }

    /// The place of the first of them, and a fresh start for the next sheet.
    fn take(&mut self, sheet: Option<&str>) -> Option<(usize, Place)> {
        let Left { count, first } = std::mem::take(self);
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
        if cell.is_blank() {
            return Ok(());
        }
        if row != self.row {
            self.end_row()?;
            self.row = row;
        }
        let index = column as usize;
        if index >= self.limits.columns {
            self.beyond_columns.add(row, column);
            return Ok(());
        }
        if self.cells.len() <= index {
            self.cells.resize(index + 1, Cell::Blank);
        }
        self.cells[index] = self.within_length(row, column, cell);
        Ok(())
    }

    /// A text that is too long is not kept, and not passed off as a shorter one.
    fn within_length(&mut self, row: u32, column: u32, cell: Cell) -> Cell {
        let Cell::Text(text) = &cell else { return cell };
        if text.len() <= self.limits.cell_characters || text.chars().count() <= self.limits.cell_characters {
            return cell;
        }
        self.too_long.add(row, column);
        Cell::Fault(Fault::TooLong(text.chars().count()))
    }

    fn end_row(&mut self) -> Result<(), Full> {
        if self.cells.is_empty() {
            return Ok(());
        }
        // Collected anew, so that the row takes no more memory than it needs.
        let cells = self.cells.drain(..).collect();
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
