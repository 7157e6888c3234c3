//! The pieces that are said of a file become its tables and problems, whoever says them.

use std::sync::Arc;

use crate::origin::SheetName;
use crate::problem::Problem;
use crate::settings::Limits;
use crate::sheets::piece::{Full, Piece, Tally};
use crate::sheets::{Cell, ReadFile, Row, Table};

/// Collects pieces.
pub(super) struct Tables<'a> {
    file: &'a str,
    columns: usize,
    /// Counts them again where they come from another process, which is not trusted.
    tally: Option<Tally<'a>>,
    read: ReadFile,
    /// Whether the last table is still being filled.
    open: bool,
    ended: bool,
}

impl<'a> Tables<'a> {
    /// Nothing read yet of the file with this name, of which another process says the pieces.
    pub(super) fn new(file: &'a str, limits: &'a Limits) -> Tables<'a> {
        Tables { tally: Some(Tally::new(limits)), ..Tables::of_this_process(file, limits) }
    }

    /// The same of a file that this process reads itself, which has counted all that it says.
    pub(super) fn of_this_process(file: &'a str, limits: &'a Limits) -> Tables<'a> {
        Tables {
            file,
            columns: limits.columns,
            tally: None,
            read: ReadFile::default(),
            open: false,
            ended: false,
        }
    }

    /// Takes the next piece.
    pub(super) fn take(&mut self, piece: Piece) -> Result<(), Full> {
        if let Some(tally) = &mut self.tally {
            tally.count(&piece)?;
        }
        match piece {
            Piece::Sheet { name, counts_from_1904 } => {
                self.drop_unfinished();
                let name = Arc::new(SheetName { file: self.file.to_owned(), sheet: name });
                self.read.tables.push(Table { name, rows: Vec::new(), counts_from_1904 });
                self.open = true;
            }
            Piece::Row(row) if row.cells.len() > self.columns => return Err(Full::Cells),
            Piece::Row(row) => match self.read.tables.last_mut() {
                Some(table) if self.open => table.rows.push(row),
                _ => return Err(Full::Gone),
            },
            Piece::Problem(problem) => self.tell(problem),
            Piece::Spoilt(problem) => {
                self.drop_unfinished();
                self.tell(problem);
            }
            Piece::Void(problem) => {
                self.read = ReadFile::default();
                self.open = false;
                self.tell(problem);
            }
            Piece::SheetEnds => self.close(),
            Piece::End => {
                self.drop_unfinished();
                self.ended = true;
            }
        }
        Ok(())
    }

    fn tell(&mut self, mut problem: Problem) {
        problem.place.file = self.file.to_owned();
        self.read.problems.push(problem);
    }

    fn drop_unfinished(&mut self) {
        if std::mem::take(&mut self.open) {
            self.read.tables.pop();
        }
    }

    /// Puts the last table in order; one that holds nothing is none.
    fn close(&mut self) {
        if !std::mem::take(&mut self.open) {
            return;
        }
        let Some(table) = self.read.tables.last_mut() else { return };
        if table.rows.is_empty() {
            self.read.tables.pop();
            return;
        }
        if !table.rows.is_sorted_by(|one, next| one.number < next.number) {
            table.rows.sort_by_key(|row| row.number);
            table.rows.dedup_by(|later, earlier| later.number == earlier.number && join(earlier, later));
        }
        table.rows.shrink_to_fit();
    }

    /// What was read so far; an unfinished sheet is none.
    pub(super) fn finished(mut self) -> ReadFile {
        self.drop_unfinished();
        self.read
    }

    /// What was read; `None` where the pieces stopped before their end.
    pub(super) fn whole(self) -> Option<ReadFile> {
        self.ended.then_some(self.read)
    }
}

/// Two pieces of one row become one; always true, as the later one is then to be dropped.
fn join(earlier: &mut Row, later: &mut Row) -> bool {
    if earlier.cells.len() < later.cells.len() {
        earlier.cells.resize(later.cells.len(), Cell::Blank);
    }
    for (kept, cell) in earlier.cells.iter_mut().zip(later.cells.drain(..)) {
        if !cell.is_blank() {
            *kept = cell;
        }
    }
    true
}
