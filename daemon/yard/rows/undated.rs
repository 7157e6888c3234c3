//! Checks of a log that stand beside no day: what passed at some time shows nothing of the machine as it is handed over.

use super::RowReader;
use crate::origin::Origin;
use crate::problem::{Problem, counted};
use crate::yard::recognise::open_day;
use crate::yard::{CheckResult, Field, ReadAs, Record, RecordKind};

/// Why the day of a check is not known, for all of a sheet.
pub(super) enum Why {
    /// Nobody has said whether this column is it.
    Unanswered(String),
    /// The sheet has days, and not in these rows.
    NotInRow,
    /// No column tells it.
    NoColumn,
}

impl Why {
    /// `None` where checks without a day count: in a sheet with a row for each machine, and where the shop says so.
    pub(super) fn of(read_as: &ReadAs) -> Option<Why> {
        if read_as.kind != Some(RecordKind::Check) || read_as.undated_checks_count == Some(true) {
            return None;
        }
        let has = |field: Field| read_as.columns.iter().any(|column| column.field == field);
        match open_day(read_as) {
            Some(column) => Some(Why::Unanswered(column.header.clone())),
            None if has(Field::Day) => Some(Why::NotInRow),
            None => has(Field::Result).then_some(Why::NoColumn),
        }
    }

    /// What is told once of a sheet in which such checks stand.
    pub(super) fn problem(&self, first: &Origin, count: usize) -> Problem {
        /// The line by which they count all the same.
        const COUNT: &str =
            "write `undated_checks_count = true` into this sheet's [[sheet]] in tickover.toml";
        let by = if count == 1 { "this cell".to_owned() } else { counted(count, "cell") };
        let (why, help) = match self {
            Why::Unanswered(header) => (
                format!(
                    "nobody has said whether `{header}` is the day of these checks, and no other column tells it"
                ),
                format!(
                    "Run `tickover setup`, which asks, or write `\"{header}\" = \"day\"` below this sheet's [sheet.columns] \
                     in tickover.toml."
                ),
            ),
            Why::NotInRow => (
                "no day can be read beside a check".to_owned(),
                format!(
                    "Write in each row on which day it was checked. If such checks are to count all the same, {COUNT}."
                ),
            ),
            Why::NoColumn => (
                "no column tells on which day these checks were done".to_owned(),
                format!(
                    "Put the day into a column `Date`. If each row is of the machine as it stands now, {COUNT}; `tickover \
                     setup` asks it, too."
                ),
            ),
        };
        let problem = Problem::note(first, format!("{why}: by {by} no check is passed"), help);
        Problem { hides_what_is_due: true, ..problem }
    }
}

/// The same of a check in a column of its own, but where no column tells days: each row is of the machine as it stands then.
pub(super) fn unless_row_is_machines(row: &mut RowReader<'_, '_>, record: Record) -> Record {
    match row.sheet.undated {
        Some(Why::Unanswered(_) | Why::NotInRow) => unless_dated(row, record),
        Some(Why::NoColumn) | None => record,
    }
}

/// A check that passed on a day that nobody knows, as one without a day; any other as it is.
pub(super) fn unless_dated(row: &mut RowReader<'_, '_>, mut record: Record) -> Record {
    if let Record::Check(check) = &mut record
        && check.day.is_none()
        && check.result.value == CheckResult::Passed
        && row.sheet.undated.is_some()
    {
        check.result.value = CheckResult::Undated;
        row.complaints.undated.get_or_insert_with(|| (check.result.origin.clone(), 0)).1 += 1;
    }
    record
}
