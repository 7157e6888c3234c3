//! Columns of a machine's sheet that are gone or were emptied, though much hangs on them: what names the machine in logs,
//! and its handover. What the same machines' rows said in them stands.

use std::collections::HashSet;

use super::held::HeldCell;
use super::renamed_or_gone::values_key;
use super::values::SOME;
use super::{Change, ColumnRead, Lasts, MatchedRows, ReadAs, Side, Terms, column_in_words, line};
use crate::problem::Problem;
use crate::sheets::{Cell, Row, Table};
use crate::yard::recognise::plain_values::is_plainly_a_day;
use crate::yard::recognise::shape::is_filled;
use crate::yard::{Field, RecordKind, cell_words};

/// One cell that was emptied may have been meant so. Our decision.
const LEAST_CELLS: usize = 2;

/// So many, and most of all, are emptied by the export and by nobody's hand. Our decision.
const LEAST_OF_MANY: usize = 5;
const MOST: f64 = 0.6;

/// What stands instead of such columns.
#[derive(Default)]
pub(super) struct Absent {
    pub(super) changes: Vec<Change>,
    /// The cells in which the last values stand.
    pub(super) cells: Vec<HeldCell>,
    /// The cells of rows that had none, by row and column: nobody knows what would stand there.
    pub(super) unknown: Vec<(u32, usize)>,
}

/// Whether the last values of a machine's column stand where it is gone: the same machines are known by another name.
pub(super) fn are_kept(before: &Side<'_>, now: &Side<'_>, was: &ColumnRead) -> bool {
    let is_asked = was.field.is_identity() || is_day(was.field);
    is_asked
        && before.read_as.kind == Some(RecordKind::Machine)
        && MatchedRows::of(before, now, &[was.index]).are_matched_by_identity(before)
}

fn is_day(field: Field) -> bool {
    matches!(field, Field::Handover | Field::Sold | Field::Registered)
}

/// Looks for such columns. Those in `gone` are told of already, and are read behind the sheet's last column; of those in
/// `told` it is known what stands in them.
pub(super) fn find(
    before: &Side<'_>,
    now: &Table,
    read_as: &mut ReadAs,
    terms: &Terms<'_>,
    (gone, told): (&[usize], &[usize]),
) -> Absent {
    let mut absent = Absent::default();
    let Some(side) = Side::of(now, read_as) else { return absent };
    let mut columns = Vec::new();
    let mut behind = now.rows().iter().map(|row| row.cells().count()).max().unwrap_or_default();
    let asked = before.read_as.columns.iter().filter(|was| !told.contains(&was.index));
    for was in asked.filter(|was| are_kept(before, &side, was)) {
        match side.read_as.columns.iter().find(|column| column.field == was.field) {
            Some(column) if column.header == was.header => {
                let Some(change) = emptied(before, (was, column), &side, terms) else { continue };
                columns.extend((change.lasts == Lasts::Held).then_some((was, column.index)));
                absent.changes.push(change);
            }
            None if gone.contains(&was.index) => {
                columns.push((was, behind));
                behind += 1;
            }
            _ => {}
        }
    }
    let asked: Vec<usize> = columns.iter().map(|(was, _)| was.index).collect();
    let rows = MatchedRows::of(before, &side, &asked);
    let known: HashSet<u32> = rows.pairs().map(|(_, later)| later.number).collect();
    for (was, place) in &columns {
        let blank = |row: &Row<'_>| says_none(row.cell(*place), was.field);
        let stands = rows.pairs().filter(|(_, later)| blank(later));
        let cell = |later: Row<'_>| HeldCell { row: later.number, was: was.index, place: *place };
        absent.cells.extend(stands.map(|(_, later)| cell(later)));
        if is_day(was.field) {
            let new = side.body().iter().filter(|row| blank(row) && !known.contains(&row.number));
            absent.unknown.extend(new.map(|row| (row.number, *place)));
        }
    }
    let is_there = |place: usize| read_as.columns.iter().any(|column| column.index == place);
    let behind: Vec<ColumnRead> = columns
        .into_iter()
        .filter(|(_, place)| !is_there(*place))
        .map(|(was, place)| ColumnRead { index: place, ..was.clone() })
        .collect();
    read_as.columns.extend(behind);
    absent
}

/// Whether a cell says nothing any more of what the column tells: it is blank, or where days stood it says yes or no.
fn says_none(cell: Cell<'_>, field: Field) -> bool {
    cell.is_blank()
        || (is_day(field) && !is_plainly_a_day(cell) && matches!(cell_words::flag(cell), Ok(Some(_))))
}

/// That the cells of a column are blank in the rows in which something stood.
fn emptied(
    before: &Side<'_>,
    (was, column): (&ColumnRead, &ColumnRead),
    now: &Side<'_>,
    terms: &Terms<'_>,
) -> Option<Change> {
    let rows = MatchedRows::of(before, now, &[was.index]);
    let had = rows.pairs().filter(|(earlier, _)| is_filled(earlier.cell(was.index)));
    let had: Vec<Cell<'_>> = had.map(|(_, later)| later.cell(column.index)).collect();
    let lost = had.iter().filter(|cell| says_none(**cell, was.field)).count();
    let are_blank = had.iter().all(|cell| cell.is_blank() || !says_none(*cell, was.field));
    let share = lost as f64 / had.len().max(1) as f64;
    let key = values_key(&was.header);
    let are_all = lost >= LEAST_CELLS && lost == had.len();
    let are_most = lost >= LEAST_OF_MANY && share >= MOST;
    if !(are_all || are_most || (terms.is_known(&key) && lost > 0 && share >= SOME)) {
        return None;
    }
    let what = format!(
        "{} `{}` ({}) {} now in {lost} of {} rows in which something stood: {}",
        column_in_words(column.index),
        was.header,
        was.field.name(),
        if are_blank { "is blank" } else { "says no day" },
        had.len(),
        meanwhile(was.field)
    );
    let right = terms.write(&[terms.right_line(&key, column)], &[column]);
    let help = format!(
        "Export it again with its values. If it is right that nothing stands there, {right}; until then this stands."
    );
    let is_right = terms.is_said_right(&key, [column.header.as_str()]);
    let lasts = if is_right { Lasts::SaidRight } else { Lasts::Held };
    Some(Change { key, lasts, problem: Problem::error(now.table.whole(), what, help) })
}

/// What counts while such a column is not there, as a phrase that follows a colon.
pub(super) fn meanwhile(field: Field) -> &'static str {
    match field {
        Field::Handover => "what the same rows said before stands, and of a new row no handover is known",
        Field::Sold => "what the same rows said before stands, and of a new row no sale is known",
        Field::Registered => {
            "what the same rows said before stands, and of a new row no registration is known"
        }
        _ => "what the same rows said before stands, and a new row may not be matched with its logs",
    }
}

/// What to do where it is right so.
pub(super) fn for_good(was: &ColumnRead, terms: &Terms<'_>) -> String {
    let nothing = line(&was.header, "nothing");
    format!("If it is not used any more, {}; until then this stands.", terms.write(&[nothing], &[was]))
}
