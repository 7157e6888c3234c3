//! Which columns of a sheet are read as they were: what a whole column has lost is no correction of a single cell.

use std::collections::BTreeMap;

use super::SheetSide;
use crate::settings::DateOrder;
use crate::yard::days::ColumnOrder;
use crate::yard::{ColumnRead, Field, ReadAs, Record, parts};

/// So few filled cells may well be emptied one by one. Our decision.
const LEAST_FILLED: usize = 3;

/// So many, and most of all, are emptied by the export and by nobody's hand. Our decision.
const LEAST_LOST: f64 = 5.0;
const MOST: f64 = 0.6;

/// The columns of the one export that the other has, too, and in which something stands still.
pub(super) struct Columns<'s> {
    before: &'s SheetSide<'s>,
    now: &'s SheetSide<'s>,
    read_on: BTreeMap<u32, bool>,
}

/// What a value of a machine's row belongs to: its first service, its second ride, one of its checks.
pub(super) type Group<'s> = (&'static str, &'s str);

impl<'s> Columns<'s> {
    pub(super) fn of(before: &'s SheetSide<'s>, now: &'s SheetSide<'s>) -> Columns<'s> {
        let mut columns = Columns { before, now, read_on: BTreeMap::new() };
        for was in &before.read_as.columns {
            let index = u32::try_from(was.index).unwrap_or(u32::MAX);
            let is_read_on = columns.is_read_on(was);
            columns.read_on.insert(index, is_read_on);
        }
        columns
    }

    /// Whether a column of the earlier export is read as it was, so that a blank in it is somebody's.
    pub(super) fn are_read_on(&self, column: u32) -> bool {
        // What stands in no column that is read, such as a check's name in its header, is nobody's cell.
        self.read_on.get(&column).copied().unwrap_or(true)
    }

    fn is_read_on(&self, was: &ColumnRead) -> bool {
        let same = |now: &&ColumnRead| {
            now.field == was.field && (!now.field.may_have_many_columns() || now.header == was.header)
        };
        let Some(now) = self.now.read_as.columns.iter().find(same) else { return false };
        let (meant, means) = (&was.meaning, &now.meaning);
        let is_meant_so = meant.distance_unit == means.distance_unit
            && meant.speed_unit == means.speed_unit
            && first_of(meant.order) == first_of(means.order);
        is_meant_so && !self.is_emptied(was.index, now.index)
    }

    fn is_emptied(&self, was: usize, now: usize) -> bool {
        let (had, rows) = filled(self.before, was);
        let (left, rows_now) = filled(self.now, now);
        if had >= LEAST_FILLED && left == 0 {
            return true;
        }
        let expected = had as f64 / rows.max(1) as f64 * rows_now as f64;
        let lost = expected - left as f64;
        lost >= LEAST_LOST && lost >= MOST * expected
    }

    /// What a record of a machine's row in the earlier export belongs to.
    pub(super) fn group_before(&self, record: &Record) -> Option<Group<'s>> {
        group(self.before.read_as, record)
    }

    /// The same of one in the new export.
    pub(super) fn group_now(&self, record: &Record) -> Option<Group<'s>> {
        group(self.now.read_as, record)
    }
}

/// How many cells of a column have something in them, and how many rows there are.
fn filled(side: &SheetSide<'_>, column: usize) -> (usize, usize) {
    let Some(header_row) = side.read_as.header_row else { return (0, 0) };
    let end = side.read_as.ends_before.unwrap_or(usize::MAX).min(side.table.rows().len());
    let body = side.table.rows().part((header_row + 1).min(end)..end);
    (body.iter().filter(|row| !row.cell(column).is_blank()).count(), body.len())
}

/// Which of day and month comes first; `None` where some days are read so and some are not.
fn first_of(order: ColumnOrder) -> Option<DateOrder> {
    match order {
        ColumnOrder::Settled(order) | ColumnOrder::Expected(order) => Some(order),
        ColumnOrder::Mixed | ColumnOrder::Doubtful(_) => None,
    }
}

fn group<'s>(read_as: &'s ReadAs, record: &Record) -> Option<Group<'s>> {
    parts(record).into_iter().find_map(|part| {
        let is_it = |column: &&ColumnRead| column.index == part.cell.column as usize;
        let column = read_as.columns.iter().find(is_it)?;
        let header = if column.field == Field::CheckItem { column.header.as_str() } else { "" };
        Some((column.field.event()?, header))
    })
}
