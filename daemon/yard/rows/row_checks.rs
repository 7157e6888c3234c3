//! The checks that a row names, each with its result: in a column of its own, as an item of a log, or as a job.

use super::{RowReader, undated};
use crate::origin::Entry;
use crate::yard::cells::{self, Unread};
use crate::yard::named_checks::is_passed_check;
use crate::yard::{Check, CheckResult, ColumnRead, Field, Job, Record, cell_words, result_words};
use jiff::civil::{Date, Time};

/// A check of a machine's row, from the columns of its result, its day and who signed. A day without a column for
/// the result means passed; a blank never does.
pub(super) fn signed_check(
    row: &mut RowReader<'_, '_>,
    [result, day, by]: [Field; 3],
    item: &str,
) -> Option<Record> {
    let mut by = row.text(by);
    let day_read = row.read(day, cells::day);
    let (result, day) = match (row.cell(result), row.cell(day)) {
        (Some((_, column)), _) => {
            let result = check_result(row, column);
            let day = day_read.unwrap_or_default().or_else(|| day_in_result(row, column));
            by = by.or_else(|| initials_in_result(row, column));
            (result, day)
        }
        (None, Some((_, column))) => {
            let day = day_read.ok()?;
            let result = if day.is_some() { CheckResult::Passed } else { CheckResult::NotDone };
            (Came { result: Entry::new(result, row.origin(column)), remark: None, time: None }, day)
        }
        (None, None) => return None,
    };
    let item = Entry::new(item.to_owned(), result.result.origin.clone());
    Some(result.of(item, day, by))
}

/// How a check came out, as its cell says it.
struct Came {
    result: Entry<CheckResult>,
    remark: Option<String>,
    time: Option<Time>,
}

impl Came {
    fn of(self, item: Entry<String>, day: Option<Entry<Date>>, by: Option<Entry<String>>) -> Record {
        let Came { result, remark, time } = self;
        Record::Check(Check { day, time, item, result, remark, by })
    }
}

/// A result. What is not understood is told, and is kept as unclear: a check that nobody can read is no pass.
fn check_result(row: &mut RowReader<'_, '_>, column: &ColumnRead) -> Came {
    let said = result_words::said(row.cell_of(column), column.meaning.signs);
    match said.unread {
        Some(unread) => row.tell(column, unread),
        None if said.result == CheckResult::Unclear => row.tell_sign(column),
        None => {}
    }
    Came { result: Entry::new(said.result, row.origin(column)), remark: said.remark, time: None }
}

/// The day that stands where a result is due.
fn day_in_result(row: &RowReader<'_, '_>, column: &ColumnRead) -> Option<Entry<Date>> {
    let signed = cell_words::signed_day(row.cell_of(column));
    let cell = signed.as_ref().map_or(row.cell_of(column), |(day, _)| *day);
    let day = cells::day(cell, &column.meaning).ok().flatten();
    // A plain 1 or 0 is a yes or no and lies far outside the days that count.
    day.map(|day| Entry::new(day, row.origin(column)))
}

/// The initials that stand behind a day where a result is due.
fn initials_in_result(row: &RowReader<'_, '_>, column: &ColumnRead) -> Option<Entry<String>> {
    let (_, initials) = cell_words::signed_day(row.cell_of(column))?;
    Some(Entry::new(initials, row.origin(column)))
}

/// The check that a job names, where it says that it was passed: on a day that nobody knows, it shows nothing of the machine
/// as it is handed over.
pub(super) fn passed_check(job: &Record) -> Option<Record> {
    let Record::Job(Job { day, done, by, .. }) = job else { return None };
    let result = if day.is_some() { CheckResult::Passed } else { CheckResult::Undated };
    let result = Entry::new(result, done.origin.clone());
    let check =
        Check { day: day.clone(), time: None, item: done.clone(), result, remark: None, by: by.clone() };
    is_passed_check(&done.value).then_some(Record::Check(check))
}

/// A row of a check sheet: one item with its result, or a column for each item.
pub(super) fn checks(row: &mut RowReader<'_, '_>, records: &mut Vec<Record>) {
    const NO_ITEM: Unread = Unread {
        what: "has no item beside it",
        help: "Write which item was checked, such as brakes or quality check.",
    };
    let day = row.day(Field::Day);
    let time = row.cell(Field::Day).and_then(|(cell, _)| cells::time(cell)).filter(|_| day.is_some());
    let by = row.text(Field::By);
    let item = row.text(Field::Item);
    if let Some((cell, column)) = row.cell(Field::Result) {
        let whole_sheet = row.sheet.item_of_sheet.map(|item| Entry::new(item.to_owned(), row.origin(column)));
        match item.or(whole_sheet) {
            Some(item) => {
                let came = Came { time, ..check_result(row, column) };
                let day = day.clone().or_else(|| day_in_result(row, column));
                records.push(undated::unless_dated(row, came.of(item, day, by.clone())));
            }
            None if !cell.is_blank() => row.tell(column, NO_ITEM),
            None => {}
        }
    }
    checks_of_columns(row, day, by, records);
}

/// The items that have a column each.
pub(super) fn checks_of_columns(
    row: &mut RowReader<'_, '_>,
    day: Option<Entry<Date>>,
    by: Option<Entry<String>>,
    records: &mut Vec<Record>,
) {
    for column in row.sheet.columns.iter().filter(|column| column.field == Field::CheckItem) {
        let item = Entry::new(column.header.clone(), row.sheet.header_origin(column.index));
        let came = check_result(row, column);
        let day = day.clone().or_else(|| day_in_result(row, column));
        records.push(undated::unless_row_is_machines(row, came.of(item, day, by.clone())));
    }
}
