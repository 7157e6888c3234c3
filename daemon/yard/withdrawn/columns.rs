//! By which columns a sheet's records are told, and whether a column is read today as it was: what a whole column has lost
//! is no correction of a single cell.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::settings::DateOrder;
use crate::sheets::{Rows, Table};
use crate::yard::cells;
use crate::yard::days::ColumnOrder;
use crate::yard::outcome_words;
use crate::yard::{ColumnRead, Field, ReadAs, Record, RecordKind, parts};

/// So few filled cells may well be emptied one by one. Our decision.
const LEAST_FILLED: usize = 3;

/// So many, and most of all, are emptied by the export and by nobody's hand. Our decision.
const LEAST_LOST: usize = 5;
const MOST: f64 = 0.6;

/// What a column is, whatever its place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ToldBy {
    /// What it is taken for.
    field: String,
    /// Its header, where that is the check that it tells of, or others are taken for the same.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    header: String,
    /// What its figures and days are read by.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    meaning: String,
}

impl ToldBy {
    fn of(column: &ColumnRead, read_as: &ReadAs) -> ToldBy {
        let is_of_field = |other: &&ColumnRead| other.field == column.field;
        let is_one_of_many =
            column.field == Field::CheckItem || read_as.columns.iter().filter(is_of_field).count() > 1;
        let meaning = &column.meaning;
        let unit = meaning.distance_unit.map(|unit| format!("{unit:?}"));
        let order = first_of(meaning.order).map(|order| format!("{order:?}"));
        ToldBy {
            field: column.field.name().to_owned(),
            header: if is_one_of_many { column.header.clone() } else { String::new() },
            meaning: format!(
                "{} {:?} {}",
                unit.unwrap_or_default(),
                meaning.speed_unit,
                order.unwrap_or_default()
            ),
        }
    }

    /// Whether both are taken for the same.
    fn is_of(&self, other: &ToldBy) -> bool {
        (&self.field, &self.header) == (&other.field, &other.header)
    }

    /// Whether figures and days are read alike. The days of a workbook have no order, so that any is theirs.
    fn is_read_as(&self, other: &ToldBy) -> bool {
        let parts = |told_by: &ToldBy| {
            told_by.meaning.rsplit_once(' ').map(|(units, order)| (units.to_owned(), order.to_owned()))
        };
        match (parts(self), parts(other)) {
            (Some((units, order)), Some((other_units, other_order))) => {
                units == other_units && (order == other_order || order.is_empty() || other_order.is_empty())
            }
            _ => self.meaning == other.meaning,
        }
    }

    /// What of a machine's row it belongs to: its first service, its second ride, one of its checks.
    fn group(&self) -> Option<Group<'_>> {
        let field = Field::ALL.iter().find(|field| field.name() == self.field)?;
        Some((field.event()?, &self.header))
    }
}

/// What a value of a machine's row belongs to.
pub(super) type Group<'w> = (&'static str, &'w str);

/// By which column each value of a record is told: `day`, `clock`, `result`.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Witness(BTreeMap<String, ToldBy>);

impl Witness {
    /// Whether nobody noted it.
    pub fn is_unknown(&self) -> bool {
        self.0.is_empty()
    }

    /// The same, with the columns of what is told no more as they were known before.
    #[must_use]
    pub fn with_what_was_known(&self, before: &Witness) -> Witness {
        let mut columns = before.0.clone();
        columns.extend(self.0.iter().map(|(what, column)| (what.clone(), column.clone())));
        Witness(columns)
    }

    pub(super) fn column(&self, what: &str) -> Option<&ToldBy> {
        self.0.get(what)
    }

    pub(super) fn group(&self) -> Option<Group<'_>> {
        self.0.values().find_map(ToldBy::group)
    }
}

/// One column of today's sheet.
#[derive(Debug)]
struct Column {
    told_by: ToldBy,
    place: u32,
    filled: usize,
}

/// The columns of a sheet as they are read today.
#[derive(Debug)]
pub struct ColumnsRead {
    /// What its rows are.
    pub(super) kind: Option<RecordKind>,
    columns: Vec<Column>,
    /// The cells, by row number and column, whose words are not taken.
    held: HashSet<(u32, u32)>,
    /// Whether most cells that say whether a job was done cannot be read, so that a row may stand and say nothing.
    is_outcome_unclear: bool,
    /// The witnesses that were asked for, since most rows have the same.
    known: HashMap<Vec<(&'static str, u32)>, Arc<Witness>>,
}

impl ColumnsRead {
    /// The columns that are read of a sheet.
    pub fn of(table: &Table, read_as: &ReadAs) -> ColumnsRead {
        let place = |index: usize| u32::try_from(index).unwrap_or(u32::MAX);
        let column = |column: &ColumnRead| Column {
            told_by: ToldBy::of(column, read_as),
            place: place(column.index),
            filled: filled(table, read_as, column.index),
        };
        let held = read_as.held.iter().copied().chain(days_unread(table, read_as));
        ColumnsRead {
            kind: read_as.kind,
            columns: read_as.columns.iter().map(column).collect(),
            held: held.map(|(row, column)| (row, place(column))).collect(),
            is_outcome_unclear: is_outcome_unclear(table, read_as),
            known: HashMap::new(),
        }
    }

    /// By which of them a record of today is told. What stands in no column that is read, such as a check's name in its
    /// header, is nobody's cell.
    pub fn witness(&mut self, record: &Record) -> Arc<Witness> {
        let places: Vec<_> = parts(record).into_iter().map(|part| (part.what, part.cell.column)).collect();
        let columns = &self.columns;
        let witness = self.known.entry(places).or_insert_with_key(|places| {
            let column = |(what, place): &(&str, u32)| {
                let column = columns.iter().find(|column| column.place == *place)?;
                Some(((*what).to_owned(), column.told_by.clone()))
            };
            Arc::new(Witness(places.iter().filter_map(column).collect()))
        });
        Arc::clone(witness)
    }

    /// What a record of today belongs to in its machine's row.
    pub(super) fn group(&self, record: &Record) -> Option<Group<'_>> {
        parts(record).into_iter().find_map(|part| {
            let column = self.columns.iter().find(|column| column.place == part.cell.column)?;
            column.told_by.group()
        })
    }

    fn column(&self, told_by: &ToldBy) -> Option<&Column> {
        self.columns.iter().find(|column| column.told_by.is_of(told_by))
    }

    /// Whether a column is taken in a row for what it was then, however its figures and days are read: a blank is one by any
    /// order or unit.
    pub(super) fn is_there(&self, told_by: &ToldBy, row: Option<u32>) -> bool {
        let is_held = |column: &Column| row.is_some_and(|row| self.held.contains(&(row, column.place)));
        self.column(told_by).is_some_and(|column| !is_held(column))
    }

    /// Whether a column is read in a row as it was then.
    pub(super) fn is_read(&self, told_by: &ToldBy, row: Option<u32>) -> bool {
        self.is_there(told_by, row)
            && self.column(told_by).is_some_and(|column| column.told_by.is_read_as(told_by))
    }

    /// Whether a row of a log would say all that it says.
    pub(super) fn are_rows_clear(&self) -> bool {
        !self.is_outcome_unclear
    }

    /// Whether a column that has lost so many of its values is emptied as a whole.
    pub(super) fn is_emptied(&self, told_by: &ToldBy, lost: usize) -> bool {
        let Some(column) = self.column(told_by) else { return true };
        let had = lost + column.filled;
        let is_blank = column.filled == 0 && lost >= LEAST_FILLED;
        is_blank || (lost >= LEAST_LOST && lost as f64 >= MOST * had as f64)
    }
}

/// How many cells of a column have something in them.
fn filled(table: &Table, read_as: &ReadAs, column: usize) -> usize {
    body(table, read_as).map_or(0, |body| body.iter().filter(|row| !row.cell(column).is_blank()).count())
}

/// The cells of days that are not read because nobody knows which of day and month comes first: they are not blank.
fn days_unread<'t>(table: &'t Table, read_as: &'t ReadAs) -> impl Iterator<Item = (u32, usize)> + 't {
    let is_open = |column: &&ColumnRead| column.holds_days() && first_of(column.meaning.order).is_none();
    read_as.columns.iter().filter(is_open).flat_map(move |column| {
        let rows = body(table, read_as).into_iter().flat_map(|body| body.iter());
        let unread = rows.filter(|row| cells::day(row.cell(column.index), &column.meaning).is_err());
        unread.map(|row| (row.number, column.index))
    })
}

fn body<'t>(table: &'t Table, read_as: &ReadAs) -> Option<Rows<'t>> {
    let end = read_as.ends_before.unwrap_or(usize::MAX).min(table.rows().len());
    Some(table.rows().part((read_as.header_row? + 1).min(end)..end))
}

/// Whether most cells of a column that says whether a job was done say neither.
fn is_outcome_unclear(table: &Table, read_as: &ReadAs) -> bool {
    let outcome = read_as.columns.iter().find(|column| column.field == Field::Outcome);
    let Some((column, rows)) = outcome.zip(body(table, read_as)) else { return false };
    let cells = rows.iter().map(|row| row.cell(column.index)).filter(|cell| !cell.is_blank());
    let (unclear, clear): (Vec<_>, Vec<_>) = cells.partition(|cell| outcome_words::was_done(*cell).is_err());
    unclear.len() >= LEAST_FILLED && unclear.len() as f64 >= MOST * (unclear.len() + clear.len()) as f64
}

/// Which of day and month comes first; `None` where some days are read so and some are not.
fn first_of(order: ColumnOrder) -> Option<DateOrder> {
    match order {
        ColumnOrder::Settled(order) | ColumnOrder::Expected(order) => Some(order),
        ColumnOrder::Mixed | ColumnOrder::Doubtful(_) => None,
    }
}
