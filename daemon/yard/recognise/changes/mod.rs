//! What has changed in the columns of a sheet since its last export, and how it is read all the same.
//!
//! Headers name columns: one that has only moved is read on. Whatever else has changed is said, and a column is read
//! only where it is certain what it is.

mod absent;
mod exchanged;
mod failed_at_once;
mod fallen;
mod filled_marks;
mod held;
mod leaps;
mod losses;
mod matched_rows;
mod meanings;
mod moved;
mod moved_days;
mod new_checks;
mod of_its_time;
mod one_writing;
mod orders;
mod other_machines;
mod other_marks;
mod other_values;
mod renamed_or_gone;
mod row_marks;
mod said_right;
mod sorted_alone;
mod turned;
mod values;

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::header::Header;
use super::{Amendments, ColumnRead, ReadAs, open_points, recognise, recognise_amended};
use crate::origin::column_name;
use crate::problem::{Problem, Spot};
use crate::settings::{AgreedSheet, DateOrder};
use crate::sheets::{Rows, Table};
use crate::units::DistanceUnit;
use matched_rows::MatchedRows;

/// How a sheet is read but for what its last export tells.
#[derive(Debug, Clone, Copy)]
pub struct Terms<'a> {
    /// What was agreed of it.
    pub agreed: Option<&'a AgreedSheet>,
    /// Which of day and month comes first where nothing else tells.
    pub shop_order: DateOrder,
    /// What the shop's clocks count in where nothing else tells.
    pub clock_unit: DistanceUnit,
    /// The keys of the changes that an earlier round has found, each with the day on which it was first seen.
    pub known: &'a BTreeMap<String, Date>,
    /// The day on which the earlier export was written.
    pub before: Date,
    /// The day on which they are compared.
    pub today: Date,
    /// Whether what the owner has said to be right counts already.
    pub heeds_right: bool,
    /// Whether the earlier export is kept from before what is known, and is not simply the last one.
    pub is_kept: bool,
}

/// For how long a change is compared with the export before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lasts {
    /// It is told, and the new export is what the next one is compared with.
    Once,
    /// Until it has stayed so for some days.
    ForDays,
    /// Until it is undone or agreed in the settings.
    UntilAgreed,
    /// As long, and what is doubtful is not used: the export before it is kept as long, too.
    Held,
    /// The owner has said that it is right. It is noted while the export before it is still compared with.
    SaidRight,
    /// As long, and it is not said: nothing is read otherwise by it, but the export before it tells how.
    Unsaid,
}

/// One thing that has changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What it is known by from day to day.
    pub key: String,
    /// For how long it is one.
    pub lasts: Lasts,
    /// What to say of it.
    pub problem: Problem,
}

/// How a sheet is read beside its last export.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Compared {
    /// Its columns.
    pub read_as: ReadAs,
    /// What has changed.
    pub changes: Vec<Change>,
    /// Whether its rows are none any more that it had before, so that only the last export tells what it said.
    pub is_lost: bool,
    /// The sheet with the last values of columns whose new ones are not taken.
    pub stand_in: Option<Table>,
}

/// One of the two exports.
struct Side<'a> {
    table: &'a Table,
    read_as: &'a ReadAs,
    header_row: usize,
    /// The columns with a header, from left to right.
    headers: Vec<(usize, Header)>,
}

impl<'a> Side<'a> {
    /// Whether its rows are events, and not machines.
    fn is_log(&self) -> bool {
        self.read_as.is_log()
    }

    fn of(table: &'a Table, read_as: &'a ReadAs) -> Option<Side<'a>> {
        let read = read_as.columns.iter().map(|column| (column.index, &column.header));
        let left_out = read_as.left_out.iter().map(|column| (column.index, &column.header));
        let mut headers: Vec<_> =
            read.chain(left_out).map(|(index, header)| (index, Header::new(header))).collect();
        headers.sort_by_key(|(index, _)| *index);
        Some(Side { table, read_as, header_row: read_as.header_row?, headers })
    }

    /// The columns with that header.
    fn places(&self, header: &str) -> Vec<usize> {
        let wanted = Header::new(header);
        let is_it = |other: &Header| other.shown == wanted.shown || other.is_same(&wanted);
        self.headers.iter().filter(|(_, other)| is_it(other)).map(|(index, _)| *index).collect()
    }

    fn has(&self, header: &Header) -> bool {
        self.headers.iter().any(|(_, other)| other.shown == header.shown || other.is_same(header))
    }

    fn header(&self, index: usize) -> &str {
        self.headers.iter().find(|(at, _)| *at == index).map_or("", |(_, header)| header.shown.as_str())
    }

    /// The rows below the headers.
    fn body(&self) -> Rows<'a> {
        self.table.rows().part(self.header_row + 1..)
    }

    fn column(&self, index: usize) -> Option<&'a ColumnRead> {
        self.read_as.columns.iter().find(|column| column.index == index)
    }
}

/// Reads a sheet beside its last export, which is read by the same settings but for what they say of the new one alone.
pub fn compare(before: &Table, now: &Table, terms: &Terms<'_>) -> Compared {
    let mut read_before = recognise(before, terms.agreed, terms.shop_order);
    let read_now = recognise(now, terms.agreed, terms.shop_order);
    let of_orders = of_its_time::read_in_its_order(&mut read_before, (now, &read_now), terms);
    let of_units = of_its_time::read_in_its_units((before, &mut read_before), (now, &read_now), terms);
    let Some(side_before) = Side::of(before, &read_before).filter(|side| side.read_as.kind.is_some()) else {
        return Compared { read_as: read_now, ..Compared::default() };
    };
    if read_now.kind.is_none() || read_now.kind != read_before.kind {
        return lost(now, &read_before, read_now);
    }
    let Some(side_now) = Side::of(now, &read_now) else {
        return lost(now, &read_before, read_now);
    };
    let found = renamed_or_gone::find(&side_before, &side_now, terms);
    let mut changes = [of_orders, of_units, found.changes].concat();
    let mut read_as = if found.amendments == Amendments::default() {
        read_now
    } else {
        let amendments = Amendments { kind: read_before.kind, ..found.amendments };
        recognise_amended(now, terms.agreed, terms.shop_order, &amendments)
    };
    if let Some(change) = names_no_machine(&read_before, &read_as, now, &changes) {
        let read_as = ReadAs { header_row: read_as.header_row, ..ReadAs::default() };
        return Compared { read_as, changes: vec![change], is_lost: true, stand_in: None };
    }
    let meanings::Watched { changes: of_meanings, held, held_cells, shifted, moved, .. } =
        meanings::watch(&side_before, now, &mut read_as, terms, found.held);
    let held = held::with_partners(&side_before, &mut read_as, held);
    let told: Vec<usize> = held.iter().chain(&moved).map(|(was, _)| *was).collect();
    let absent = absent::find(&side_before, now, &mut read_as, terms, (&found.kept, &told));
    let of_cells: BTreeSet<(usize, usize)> = held_cells.iter().map(|cell| (cell.was, cell.place)).collect();
    let held_cells = [held_cells, absent.cells].concat();
    // What a column says that has moved as a whole is told with what shows it.
    let is_of_moved = |change: &Change| {
        let mut columns = moved.iter().chain(&of_cells);
        columns.any(|(was, _)| change.key == renamed_or_gone::values_key(side_before.header(*was)))
    };
    let is_of_absent = |change: &Change| absent.changes.iter().any(|emptied| emptied.key == change.key);
    changes.retain(|change| !is_of_moved(change) && !is_of_absent(change));
    changes.extend(of_meanings);
    changes.extend(absent.changes);
    if let Some(header_row) = read_as.header_row {
        // An order of day and month that the last export proved is open no more.
        read_as.open = open_points::of_columns(now, header_row, &read_as);
    }
    read_as.problems.retain(|problem| !is_told(problem, &found.told_columns));
    read_as.open.retain(|problem| !is_told(problem, &found.told_columns));
    let stands_in = !held.is_empty() || !held_cells.is_empty();
    let stand_in = stands_in
        .then(|| {
            let stands = held::Stands { columns: &held, cells: &held_cells, shifted: &shifted };
            held::with_last_values(&side_before, now, &read_as, stands)
        })
        .flatten();
    let (stand_in, without_value) = stand_in.unzip();
    read_as.held = [without_value.unwrap_or_default(), absent.unknown].concat();
    Compared { read_as, changes, is_lost: false, stand_in }
}

/// That the columns are gone which told which machine a row is about.
fn names_no_machine(before: &ReadAs, read_as: &ReadAs, now: &Table, changes: &[Change]) -> Option<Change> {
    let has_name = |column: &&ColumnRead| column.field.is_identity();
    let was = before.columns.iter().find(has_name)?;
    if read_as.columns.iter().any(|column| column.field.is_identity()) {
        return None;
    }
    let what = format!(
        "the column `{}` is gone, and nothing tells which machine a row is about; the sheet is not read",
        was.header
    );
    let of_column =
        changes.iter().find(|change| change.key == renamed_or_gone::gone_key(was.field, &was.header));
    let said =
        of_column.map(|change| change.problem.help.as_str()).filter(|help| help.starts_with("If it is"));
    let help = said.map_or_else(
        || {
            let line = line("its header", was.field.name());
            format!("Export it again with this column. If another one has its place now, write {line} in tickover.toml.")
        },
        |help| format!("Export it again with this column, or look at what may be it now. {help}"),
    );
    Some(Change {
        key: format!("no {}", was.field.name()),
        lasts: Lasts::UntilAgreed,
        problem: Problem::error(now.whole(), what, help),
    })
}

/// Whether a problem is that of a column's header of which is told already.
fn is_told(problem: &Problem, columns: &[usize]) -> bool {
    match problem.place.spot {
        Spot::Cell { column, .. } => columns.contains(&(column as usize)),
        Spot::Whole | Spot::Text { .. } => false,
    }
}

/// The sheet as one whose rows are not what they were.
fn lost(now: &Table, before: &ReadAs, read_now: ReadAs) -> Compared {
    let was = before.kind.map_or("row", |kind| kind.name());
    let mut read_as = ReadAs { header_row: read_now.header_row, ..ReadAs::default() };
    let (what, key) = match read_now.kind {
        Some(kind) => {
            let what = format!(
                "a row of this sheet was a {was}, and looks like a {} now; it is not read",
                kind.name()
            );
            (what, format!("kind {}", kind.name()))
        }
        None => {
            read_as.problems = read_now.problems;
            let cause = read_as.problems.pop().map(|problem| problem.what);
            (
                cause.unwrap_or_else(|| "nothing tells any more what the rows of this sheet are".to_owned()),
                "kind".to_owned(),
            )
        }
    };
    let help = format!(
        "Export it again with the headers that it had. If it is meant, agree in tickover.toml what its rows are: \
         `rows = \"{}\"`.",
        read_now.kind.map_or("nothing", |kind| kind.name())
    );
    let change = Change { key, lasts: Lasts::UntilAgreed, problem: Problem::error(now.whole(), what, help) };
    Compared { read_as, changes: vec![change], is_lost: true, stand_in: None }
}

/// A column as people find it: `column C`.
fn column_in_words(index: usize) -> String {
    format!("column {}", column_name(u32::try_from(index).unwrap_or(u32::MAX)))
}

/// A note of what is read otherwise now: what is due may hang on it, so it stands at the top of the letter.
fn at_the_top(note: Problem) -> Problem {
    Problem { hides_what_is_due: true, ..note }
}

/// The line of `tickover.toml` that agrees what a column is.
fn line(header: &str, field: &str) -> String {
    format!("`\"{}\" = \"{field}\"`", header.replace('\\', "\\\\").replace('"', "\\\""))
}
