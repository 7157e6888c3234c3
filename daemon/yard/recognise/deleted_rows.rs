//! A column that says which rows were deleted, as a database keeps them: no field of ours, and never dropped unsaid.

use super::assign::{Assigned, Columns};
use crate::problem::{Problem, counted};
use crate::yard::no_work_header::NoWorkHeader;
use crate::yard::{RecordKind, cell_words};

/// Words by which such a column is headed.
const DELETED: [&str; 5] = ["deleted", "archived", "inactive", "void", "voided"];

/// The word by which one is headed that says the opposite.
const KEPT: &str = "active";

impl Columns<'_> {
    /// That rows are marked as deleted by a column that nothing has taken, while they count like the others.
    ///
    /// Those of a log of jobs count as no work done, and are told of so.
    pub(super) fn deleted_rows(&self, kind: RecordKind, assigned: &[Assigned]) -> Option<Problem> {
        let (column, is_deleted_by) = self.open_columns(assigned).into_iter().find_map(|column| {
            if kind == RecordKind::Job && NoWorkHeader::of(&self.headers[column].shown).is_some() {
                return None;
            }
            let mut words = self.headers[column].words();
            words.retain(|word| !matches!(word.as_str(), "is" | "was" | "flag"));
            let [word] = words.as_slice() else { return None };
            let is_deleted_by = DELETED.contains(&word.as_str());
            (is_deleted_by || word == KEPT).then_some((column, is_deleted_by))
        })?;
        let rows = self.table.rows().part(self.header_row + 1..);
        let is_deleted = |flag: Option<bool>| flag == Some(is_deleted_by);
        let mut deleted =
            rows.iter().filter(|row| cell_words::flag(row.cell(column)).is_ok_and(is_deleted)).peekable();
        let cell = self.table.origin(*deleted.peek()?, column);
        let count = deleted.count();
        let header = &self.headers[column].shown;
        let (verb, counts) = if count == 1 { ("is", "it counts") } else { ("are", "they count") };
        let what = format!(
            "{} {verb} marked as deleted by `{header}`, which is not read: {counts} like the others",
            counted(count, "row")
        );
        let help = format!(
            "Export the sheet without the rows that are deleted. If they are to count, write `\"{header}\" = \"nothing\"` below \
             this sheet's [sheet.columns] in tickover.toml."
        );
        Some(Problem::note(&cell, what, help))
    }
}
