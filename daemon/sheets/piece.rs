//! What is said of a file while it is read, piece by piece, and how many pieces there may be.

use crate::problem::{Place, Problem, Severity, Spot};
use crate::settings::Limits;
use crate::sheets::Merged;
use crate::sheets::block::Block;

/// The most sheets of a workbook; a spreadsheet program stops being usable long before.
pub(super) const SHEETS_MAX: usize = 1_000;

/// The most problems told of one file; a damaged file must not fill the letter.
pub(super) const PROBLEMS_MAX: usize = 1_000;

/// One thing said of a file; the pieces come in the file's order.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Piece {
    /// A sheet begins; the rows that follow are its rows.
    Sheet {
        /// The worksheet's name; `None` for a text file.
        name: Option<String>,
        /// Whether its serial day numbers count from 1904.
        counts_from_1904: bool,
    },
    /// The next rows that hold anything.
    Rows(Block),
    /// Cells of the sheet that began last which are merged downwards.
    Merged(Vec<Merged>),
    /// The sheet that began last is whole; without this piece its rows do not count.
    SheetEnds,
    /// Something that a person should know; its place does not name the file yet.
    Problem(Problem),
    /// The sheet that began last cannot be used, and why; its rows so far are void.
    Spoilt(Problem),
    /// Nothing of the file can be used, and why: what was said of it so far is void.
    Void(Problem),
    /// Nothing follows. Without this piece, nothing of what came before counts.
    End,
}

/// Takes the pieces one by one; an error means that no more are wanted.
pub(super) type Give<'a> = dyn FnMut(Piece) -> Result<(), Full> + 'a;

/// Which limit has been reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Full {
    /// The sheet has more rows than allowed.
    Rows,
    /// The file has more cells than allowed.
    Cells,
    /// The file holds more text than allowed.
    Text,
    /// The text has more stray quote marks than one can make sense of.
    Quotes,
    /// There are more sheets than allowed.
    Sheets,
    /// There are more problems than allowed.
    Problems,
    /// Whoever took the pieces is gone.
    Gone,
}

/// Counts what has come and says when it is too much.
#[derive(Debug)]
pub(super) struct Tally<'a> {
    limits: &'a Limits,
    sheets: usize,
    problems: usize,
    spoilt: usize,
    rows: usize,
    cells: usize,
    text_bytes: u64,
}

impl<'a> Tally<'a> {
    /// Nothing counted yet.
    pub(super) fn new(limits: &'a Limits) -> Tally<'a> {
        Tally { limits, sheets: 0, problems: 0, spoilt: 0, rows: 0, cells: 0, text_bytes: 0 }
    }

    /// Counts one piece that another process has sent; whoever fills rows counts each by itself, so that none is made
    /// above a limit.
    pub(super) fn count(&mut self, piece: &Piece) -> Result<(), Full> {
        match piece {
            Piece::Sheet { .. } => {
                self.rows = 0;
                self.sheets += 1;
                within(self.sheets, SHEETS_MAX, Full::Sheets)
            }
            Piece::Problem(_) => {
                self.problems += 1;
                within(self.problems, PROBLEMS_MAX, Full::Problems)
            }
            // Counted apart, so that the reason for stopping can still be told when the others are used up; each
            // sheet can be spoilt, and the file once more.
            Piece::Spoilt(_) | Piece::Void(_) => {
                self.spoilt += 1;
                within(self.spoilt, SHEETS_MAX + 1, Full::Sheets)
            }
            Piece::Rows(block) => self.count_rows(block.rows.len(), block.cells.len(), block.text.len()),
            Piece::Merged(merged) => self.count_rows(0, merged.len(), 0),
            Piece::SheetEnds | Piece::End => Ok(()),
        }
    }

    /// Counts so many rows with their cells and the bytes of their text. Rows count a sheet, everything else counts a
    /// file; blanks between cells count too, since they take the same memory.
    pub(super) fn count_rows(&mut self, rows: usize, cells: usize, text_bytes: usize) -> Result<(), Full> {
        self.rows += rows;
        self.cells += cells;
        self.text_bytes += text_bytes as u64;
        if self.rows > self.limits.rows {
            Err(Full::Rows)
        } else if self.cells > self.limits.cells {
            Err(Full::Cells)
        } else if self.text_bytes > self.limits.file_bytes {
            Err(Full::Text)
        } else {
            Ok(())
        }
    }
}

fn within(count: usize, most: usize, full: Full) -> Result<(), Full> {
    if count > most { Err(full) } else { Ok(()) }
}

/// The place of a problem of which the file is named later.
pub(super) fn place(sheet: Option<&str>, spot: Spot) -> Place {
    Place { file: String::new(), sheet: sheet.map(str::to_owned), spot }
}

/// A problem of the whole file, or of one of its sheets, of which the file is named later.
pub(super) fn problem(
    severity: Severity,
    sheet: Option<&str>,
    what: impl Into<String>,
    help: impl Into<String>,
) -> Problem {
    let place = place(sheet, Spot::Whole);
    match severity {
        Severity::Error => Problem::error(place, what, help),
        Severity::Note => Problem::note(place, what, help),
    }
}

/// A size as a message gives it: whole megabytes, or bytes where it is less than one.
pub(super) fn size(bytes: u64) -> String {
    const MEGABYTE: u64 = 1024 * 1024;
    if bytes < MEGABYTE { format!("{bytes} bytes") } else { format!("{} MB", bytes.div_ceil(MEGABYTE)) }
}
