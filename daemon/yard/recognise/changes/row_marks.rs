//! What each cell of a row is known by, so that a row with some of its cells elsewhere is known without a look at the rest.

use std::hash::{DefaultHasher, Hash, Hasher};

use super::moved::mark_of;
use crate::sheets::Row;

/// A row by the marks of its cells in some columns, in the order in which these are given.
pub(super) struct RowMarks {
    pub(super) cells: Vec<u64>,
    sum: u64,
}

impl RowMarks {
    pub(super) fn of(row: Row<'_>, columns: impl Iterator<Item = usize>) -> RowMarks {
        let cells: Vec<u64> = columns.map(|column| mark_of(row.cell(column))).collect();
        let sum = cells
            .iter()
            .enumerate()
            .fold(0, |sum: u64, (place, mark)| sum.wrapping_add(mark_at(place, *mark)));
        RowMarks { cells, sum }
    }

    pub(super) fn whole(&self) -> u64 {
        self.sum
    }

    /// The row but for some of its cells.
    pub(super) fn without(&self, places: impl Iterator<Item = usize>) -> u64 {
        places.fold(self.sum, |sum, place| sum.wrapping_sub(mark_at(place, self.cells[place])))
    }

    /// The row with two of its cells exchanged.
    pub(super) fn exchanged(&self, one: usize, other: usize) -> u64 {
        let come = mark_at(one, self.cells[other]).wrapping_add(mark_at(other, self.cells[one]));
        self.without([one, other].into_iter()).wrapping_add(come)
    }

    pub(super) fn is_blank(&self) -> bool {
        self.cells.iter().all(|mark| *mark == 0)
    }
}

/// What a cell is known by at its place in the row.
fn mark_at(place: usize, mark: u64) -> u64 {
    let mut hasher = DefaultHasher::new();
    (place, mark).hash(&mut hasher);
    hasher.finish()
}
