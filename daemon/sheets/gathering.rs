//! The pieces that are said of a file become its tables and problems, whoever says them.

use std::sync::Arc;

use crate::origin::SheetName;
use crate::problem::Problem;
use crate::settings::Limits;
use crate::sheets::block::Block;
use crate::sheets::piece::{Full, Piece, Tally};
use crate::sheets::{Merged, ReadFile, Table};

/// Collects pieces.
pub(super) struct Tables<'a> {
    file: &'a str,
    columns: usize,
    /// Counts them again where they come from another process, which is not trusted.
    tally: Option<Tally<'a>>,
    read: ReadFile,
    /// The sheet that is being filled.
    open: Option<Sheet>,
    ended: bool,
}

/// A sheet of which not all rows have come.
struct Sheet {
    name: Option<String>,
    counts_from_1904: bool,
    block: Block,
    merged: Vec<Merged>,
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
            open: None,
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
                self.open =
                    Some(Sheet { name, counts_from_1904, block: Block::default(), merged: Vec::new() });
            }
            // Rows of this process have been held to the limit one by one.
            Piece::Rows(block) if self.tally.is_some() && block.width() > self.columns => {
                return Err(Full::Cells);
            }
            Piece::Rows(block) => match &mut self.open {
                Some(sheet) => sheet.block.append(block)?,
                None => return Err(Full::Gone),
            },
            Piece::Merged(merged) => {
                if let Some(sheet) = &mut self.open {
                    let most = Merged::MOST.saturating_sub(sheet.merged.len());
                    sheet.merged.extend(merged.into_iter().take(most));
                }
            }
            Piece::Problem(problem) => self.tell(problem),
            Piece::Spoilt(problem) => {
                self.open = None;
                self.tell(problem);
            }
            Piece::Void(problem) => {
                self.read = ReadFile::default();
                self.open = None;
                self.tell(problem);
            }
            Piece::SheetEnds => self.close(),
            Piece::End => {
                self.open = None;
                self.ended = true;
            }
        }
        Ok(())
    }

    fn tell(&mut self, mut problem: Problem) {
        problem.place.file = self.file.to_owned();
        self.read.problems.push(problem);
    }

    /// The sheet under way is whole; one that holds nothing is none.
    fn close(&mut self) {
        let Some(Sheet { name, counts_from_1904, block, merged }) = self.open.take() else { return };
        if !block.rows.is_empty() {
            let name = Arc::new(SheetName { file: self.file.to_owned(), sheet: name });
            self.read.tables.push(Table::of(name, counts_from_1904, block).with_merged(merged));
        }
    }

    /// What was read so far; an unfinished sheet is none.
    pub(super) fn finished(self) -> ReadFile {
        self.read
    }

    /// What was read; `None` where the pieces stopped before their end.
    pub(super) fn whole(self) -> Option<ReadFile> {
        self.ended.then_some(self.read)
    }
}
