//! What nobody has decided of a sheet, as the letter and `setup` say it, each point once with what to do.

use super::agreement::NOTHING;
use super::header::Header;
use super::{Certainty, ColumnRead, LEAVE_UNREAD, LeftOut, ReadAs};
use crate::origin::Origin;
use crate::problem::Problem;
use crate::sheets::Table;
use crate::yard::field::Shape;
use crate::yard::{Field, RecordKind};

/// How an open point is settled.
const SETTLE: &str = "Run `tickover setup`, which asks, or";

/// The kinds in a sentence: `a reading or a ride`.
pub(super) fn either(kinds: &[RecordKind]) -> String {
    let names: Vec<String> = kinds.iter().map(|kind| format!("a {}", kind.name())).collect();
    names.join(" or ")
}

/// Nothing tells which of these kinds the rows are. To take rides for readings would spoil every clock, and to take
/// readings for rides would pass a machine that nobody has ridden.
pub(super) fn of_kind(table: &Table, header_row: usize, kinds: &[RecordKind]) -> Problem {
    let rows: Vec<String> = kinds.iter().map(|kind| format!("`rows = \"{}\"`", kind.name())).collect();
    let what = format!("nothing tells whether a row of this sheet is {}, so it is not read", either(kinds));
    let help = format!("{SETTLE} agree {} for it in tickover.toml. {LEAVE_UNREAD}", rows.join(" or "));
    Problem::error(&table.origin(table.row(header_row), 0), what, help)
}

/// Nothing tells whether the work of a sheet that is named after what is booked was done.
pub(super) fn of_bookings(table: &Table, header_row: usize) -> Problem {
    let what = "this sheet is named after what is booked, and nothing in it says that its work was done, so it is not read";
    let help = format!(
        "{SETTLE} agree `rows = \"job\"` for it in tickover.toml if it was, on the day of its row. {LEAVE_UNREAD}"
    );
    Problem::error(&table.origin(table.row(header_row), 0), what, help)
}

/// That no column of a sheet of machines tells when one goes to its customer, nor may be the one; `None` of any other
/// sheet. A shop that has several such sheets may tell it in another.
pub fn no_handover(table: &Table, read_as: &ReadAs) -> Option<Problem> {
    let is_told = read_as.columns.iter().any(|column| column.field == Field::Handover)
        || read_as.left_out.iter().any(|column| column.may_be.contains(&Field::Handover));
    if is_told || read_as.kind != Some(RecordKind::Machine) {
        return None;
    }
    let what = "no column tells when a machine goes to its customer, so nothing is said of the checks before its handover";
    let help = "If the shop hands them over, put the day into a column `Handover`, or agree in tickover.toml which column it \
                is; if it only services, write `hands_over = false` below [shop] there.";
    Some(Problem::note(table.whole(), what, help))
}

/// The columns of which it is not settled what they are, and the dates of which nothing tells how they read.
pub(super) fn of_columns(table: &Table, header_row: usize, read_as: &ReadAs) -> Vec<Problem> {
    let cell = |index: usize| table.origin(table.row(header_row), index);
    if !read_as.columns.iter().any(|column| column.field.is_identity()) {
        let names_one = |column: &&LeftOut| column.may_be.iter().any(|field| field.is_identity());
        let may_name_one = read_as.left_out.iter().filter(names_one);
        return may_name_one.map(|column| of_identity(&cell(column.index), column)).collect();
    }
    let is_open = |column: &&ColumnRead| column.certainty == Certainty::Likely && column.is_borne_out;
    let likely = read_as.columns.iter().filter(is_open).map(|column| {
        let what =
            format!("this column is read as the {}, which is likely and not sure", column.field.name());
        let help = format!("{SETTLE} agree in tickover.toml what it is.");
        Problem::note(&cell(column.index), what, help).with_value(column.header.clone())
    });
    let is_item = |column: &&LeftOut| column.may_be == [Field::CheckItem];
    let items = items(table, &read_as.left_out.iter().filter(is_item).collect::<Vec<_>>());
    let may_be = read_as.left_out.iter().filter(|column| !column.may_be.is_empty() && !is_item(column));
    let left_out = may_be.map(|column| {
        let help = format!("{SETTLE} agree in tickover.toml what it is, or that it is nothing.");
        let what = format!("this column is left out: {}", column.why);
        let problem = Problem::note(&cell(column.index), what, help).with_value(column.header.clone());
        Problem { hides_what_is_due: column.may_be.iter().any(|field| hides_what_is_due(*field)), ..problem }
    });
    order(table, header_row, read_as).into_iter().chain(items).chain(likely).chain(left_out).collect()
}

/// That the one column which may tell the machines of a sheet has a header that does not say so.
fn of_identity(cell: &Origin, column: &LeftOut) -> Problem {
    let name = column.may_be.first().map_or("", |field| field.name());
    let what = format!(
        "no column tells which machine a row is about, so the sheet is not read; this one may be the {name}"
    );
    let help = format!(
        "{SETTLE} write `\"{}\" = \"{name}\"` below this sheet's [sheet.columns] in tickover.toml. {LEAVE_UNREAD}",
        column.header
    );
    Problem::error(cell, what, help).with_value(column.header.clone())
}

/// That figures stand under the names of months, which are no log.
pub(super) fn of_months(
    table: &Table,
    header_row: usize,
    headers: &[Header],
    months: &[usize],
) -> Option<Problem> {
    let (first, last) = (*months.first()?, *months.last()?);
    let named: Vec<String> = months.iter().map(|column| format!("`{}`", headers[*column].shown)).collect();
    let what = format!(
        "the columns {} are not read: figures a month do not say on which day a clock was read",
        named.join(", ")
    );
    let help = format!(
        "Keep what the clocks showed in a log with a row for each reading, with columns such as Reg, Date and Mileage. Until \
         then `\"{}\" = \"clock\"` below this sheet's [sheet.columns] in tickover.toml reads the newest one; write \
         `\"{}\" = \"{NOTHING}\"`, a line for each, if they are none.",
        headers[last].shown, headers[first].shown
    );
    Some(Problem::error(&table.origin(table.row(header_row), first), what, help))
}

/// That a sheet has a column for each month, as a pivot table does: it says on no day what was done or read.
pub(super) fn of_a_month_a_column(table: &Table) -> Problem {
    let what = "this sheet has a column for each month, and so says on no day what was done or what a clock showed: it \
                is not read";
    let help = format!(
        "Save the list that it was made from instead, with a row for each visit or reading, and columns such as Reg, Date, \
         Work done and Mileage. {LEAVE_UNREAD}"
    );
    Problem::error(table.whole(), what, help)
}

/// Whether nobody can tell what is due while a column that may be the field is not read: the days, the clock, what was
/// checked, what was done, and which fuel went in.
fn hides_what_is_due(field: Field) -> bool {
    field.is_what_due_hangs_on()
        || field.is_identity()
        || field.shape() == Shape::Result
        || matches!(
            field,
            Field::Done | Field::LastServiceDone | Field::Day | Field::Clock | Field::ClockDay | Field::Grade
        )
}

/// That columns which are named after what is checked are not read, once a sheet: a check that nobody reads may have
/// failed.
fn items(table: &Table, items: &[&LeftOut]) -> Option<Problem> {
    let first = &items.first()?.header;
    let named: Vec<String> = items.iter().map(|column| format!("`{}`", column.header)).collect();
    let (which, verb) = match items {
        [_] => ("column", "is"),
        _ => ("columns", "are"),
    };
    let what = format!(
        "the {which} {} {verb} not read, and may hold checks of the machine, which may have failed",
        named.join(", ")
    );
    let help = format!(
        "Run `tickover setup`, which asks, or write `\"{first}\" = \"{}\"` below this sheet's [sheet.columns] in \
         tickover.toml, a line for each; if it is none, `\"{first}\" = \"{NOTHING}\"`.",
        Field::CheckItem.name()
    );
    Some(Problem { hides_what_is_due: true, ..Problem::note(table.whole(), what, help) })
}

/// One word for all columns whose days rest on the shop's setting.
fn order(table: &Table, header_row: usize, read_as: &ReadAs) -> Option<Problem> {
    let is_undecided = |column: &&ColumnRead| column.undecided.is_some();
    let doubtful = read_as.columns.iter().filter(is_undecided).find(|column| column.contrary.is_some());
    let first = doubtful.or(read_as.columns.iter().find(is_undecided))?;
    let text = first.undecided.as_ref()?;
    let what = match &first.contrary {
        Some(contrary) => format!(
            "nothing tells which of day and month comes first in dates such as `{text}`, and `{contrary}` speaks \
             against what the shop's setting says: neither it nor those are read until it is settled"
        ),
        None => format!(
            "nothing tells which of day and month comes first in dates such as `{text}`: they are read as the \
             shop's setting says, and a due day may be months out"
        ),
    };
    let help = format!(
        "{SETTLE} write `dates = \"day first\"` or `dates = \"month first\"` below this sheet's \
                        `rows` in tickover.toml."
    );
    let cell = table.origin(table.row(header_row), first.index);
    let mut undecided = read_as.columns.iter().filter(|column| column.undecided.is_some());
    let hides_what_is_due =
        undecided.any(|column| column.field.is_what_due_hangs_on() || column.field == Field::Day);
    let problem = Problem::note(&cell, what, help).with_value(first.header.clone());
    Some(Problem { hides_what_is_due, ..problem })
}
