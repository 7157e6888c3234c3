//! Columns whose cells stand elsewhere now: below another one's header, or in other rows. The same cells show it, of
//! whatever they tell.

use std::collections::HashSet;
use std::hash::{DefaultHasher, Hash, Hasher};

use super::exchanged;
use super::matched_rows::squeezed;
use super::sorted_alone;
use super::values::{self, MOST, NEARLY_ALL, SOME};
use super::{Change, ColumnRead, Lasts, MatchedRows, Side, Terms};
use crate::problem::Problem;
use crate::sheets::Cell;
use crate::yard::Field;
use crate::yard::field::Shape;

/// Of so many rows the cells are compared; more show no more of what most of them say.
const COMPARED_ROWS: usize = 2_000;

/// Fewer rows that say what others said may be one slip that was put right. Our decision.
pub(super) const LEAST_ROWS: usize = 2;

/// The share of the columns which are others at once that shows the rows to be others, and not the columns. Our decision.
const HALF: f64 = 0.5;

/// Columns that are known by each other to have moved.
pub(super) struct Moved {
    pub(super) change: Change,
    /// Their places, before and now.
    pub(super) columns: Vec<(usize, usize)>,
    /// The headers of those that the owner is asked about.
    pub(super) named: Vec<String>,
}

/// Looks for columns that have exchanged their headers, and for those that were sorted without the rest. Of what is
/// known from an earlier round less shows that it is so still. Of the columns in `told` it is told already.
pub(super) fn find(
    before: &Side<'_>,
    now: &Side<'_>,
    terms: &Terms<'_>,
    told: &[(usize, usize)],
) -> Vec<Moved> {
    let rows = MatchedRows::of(before, now, &[]);
    let mut columns = columns(before, now, &rows);
    columns.retain(|column| !told.contains(&column.places()));
    let mut moved = exchanged::find(&columns, now, terms);
    if before.is_log() && !MatchedRows::are_mostly_alike(before, now) {
        moved.extend(exchanged::find_in_log(before, now, terms));
    }
    // What is noted is another thing from one day to the next.
    let is_told = |column: &&Column<'_>| {
        column.was.field == Field::Note || moved.iter().any(|one| one.columns.contains(&column.places()))
    };
    let rest: Vec<&Column<'_>> = columns.iter().filter(|column| !is_told(column)).collect();
    moved.extend(sorted(&rest, (before, now), &rows, terms));
    moved
}

/// A column under the same header in both exports, with what the same rows say in it: nought where that is nothing.
pub(super) struct Column<'s> {
    pub(super) was: &'s ColumnRead,
    pub(super) now: &'s ColumnRead,
    pub(super) cells: Vec<(u64, u64)>,
}

impl Column<'_> {
    pub(super) fn places(&self) -> (usize, usize) {
        (self.was.index, self.now.index)
    }

    fn filled(&self) -> impl Iterator<Item = (u64, u64)> {
        self.cells.iter().copied().filter(|(was, is)| *was != 0 && *is != 0)
    }

    fn others(&self) -> impl Iterator<Item = (u64, u64)> {
        self.filled().filter(|(was, is)| was != is)
    }

    /// Whether the rows that are filled in both exports mostly say something else.
    fn says_other_things(&self, is_known: bool) -> bool {
        let others = self.others().count();
        let share = if is_known { SOME } else { MOST };
        others >= LEAST_ROWS && others as f64 >= share * self.filled().count() as f64
    }

    /// How many cells are others, blank ones too.
    pub(super) fn altered(&self) -> usize {
        self.cells.iter().filter(|(was, is)| was != is).count()
    }

    /// Whether its values are all there still, and stand in other rows: also in those that said nothing.
    fn stands_elsewhere(&self, is_known: bool) -> bool {
        let (least, share, again) = if is_known { (1, SOME, SOME) } else { (LEAST_ROWS, MOST, NEARLY_ALL) };
        let filled = self.cells.iter().filter(|(was, _)| *was != 0).count();
        let left: Vec<u64> =
            self.cells.iter().filter(|(was, is)| *was != 0 && was != is).map(|(was, _)| *was).collect();
        let came = self.cells.iter().filter(|(was, is)| *is != 0 && was != is).map(|(_, is)| *is);
        let came: HashSet<u64> = came.collect();
        let said: HashSet<u64> = self.cells.iter().map(|(was, _)| *was).collect();
        let are_there = left.iter().filter(|value| came.contains(value)).count();
        let are_known = came.iter().filter(|value| said.contains(value)).count();
        left.iter().collect::<HashSet<_>>().len() >= least
            && left.len() as f64 >= share * filled as f64
            && are_there as f64 >= again * left.len() as f64
            && are_known as f64 >= again * came.len() as f64
    }

    /// Whether the cells that have changed, however few, say each what another one of them said. What goes on from day to
    /// day, or is put off, may come to what others were; but not all of it, and nothing be left of what was.
    fn is_exchanged_among_rows(&self) -> bool {
        /// So many may have one among them that says something new. Our decision.
        const ONE_IN: usize = 8;
        let others: Vec<(u64, u64)> = self.cells.iter().copied().filter(|(was, is)| was != is).collect();
        let goes_on = matches!(self.was.field, Field::ClockDay | Field::Handover);
        // Of a clock it is told by what it rose and fell.
        self.was.field != Field::Clock
            && sorted_alone::stand_elsewhere(&others, if goes_on { 0 } else { others.len() / ONE_IN })
    }

    /// Whether what it says now is what other rows said before, each its own.
    fn says_what_others_said(&self, before: &Side<'_>, is_known: bool) -> bool {
        if self.is_exchanged_among_rows() {
            return true;
        }
        // A result is another one every day.
        if self.was.field.shape() == Shape::Result {
            return false;
        }
        if self.stands_elsewhere(is_known) {
            return true;
        }
        if !self.says_other_things(is_known) {
            return false;
        }
        let nearly_all = if is_known { SOME } else { NEARLY_ALL };
        let kept =
            |pick: fn(&(u64, u64)) -> u64| self.filled().map(|pair| pick(&pair)).collect::<HashSet<u64>>();
        // Where all rows say one thing now, they were filled, and not sorted.
        if (kept(|pair| pair.1).len() as f64) < nearly_all * kept(|pair| pair.0).len() as f64 {
            return false;
        }
        let all: HashSet<u64> = before.body().iter().map(|row| mark_of(row.cell(self.was.index))).collect();
        let from_others = self.others().filter(|(_, is)| all.contains(is)).count();
        from_others as f64 >= nearly_all * self.others().count() as f64
    }
}

/// The columns that are compared.
fn columns<'s>(before: &'s Side<'_>, now: &'s Side<'_>, rows: &MatchedRows<'_>) -> Vec<Column<'s>> {
    let is_compared = |was: &&ColumnRead| !rows.are_matched_by(was.index);
    let of = |was: &'s ColumnRead| {
        let (_, now) = exchanged::same(was, now)?;
        let pairs = rows.pairs().take(COMPARED_ROWS);
        let cells =
            pairs.map(|(earlier, later)| (mark_of(earlier.cell(was.index)), mark_of(later.cell(now.index))));
        Some(Column { was, now, cells: cells.collect() })
    };
    before.read_as.columns.iter().filter(is_compared).filter_map(of).collect()
}

/// A number for what a cell says; nought for nothing.
pub(super) fn mark_of(cell: Cell<'_>) -> u64 {
    let text = squeezed(cell);
    let mut hasher = DefaultHasher::new();
    text.hash(&mut hasher);
    if text.is_empty() { 0 } else { hasher.finish() | 1 }
}

/// What sorted columns are known by, before their headers; and what parts those.
const SORTED: &str = "sorted ";
const PARTED: &str = " / ";
/// What other rows beside the column that names them are known by, before its header.
const BESIDE: &str = "sorted beside ";

/// Whether an earlier round has found a column sorted.
fn is_known_as_sorted(header: &str, terms: &Terms<'_>) -> bool {
    let mut known = terms.known.keys().filter_map(|key| key.strip_prefix(SORTED));
    known.any(|headers| headers.split(PARTED).any(|known| known == header))
}

/// Columns of which each row says what another row said.
fn sorted(
    columns: &[&Column<'_>],
    (before, now): (&Side<'_>, &Side<'_>),
    rows: &MatchedRows<'_>,
    terms: &Terms<'_>,
) -> Option<Moved> {
    let key_column = before.read_as.columns.iter().find(|column| rows.are_matched_by(column.index));
    let beside_key = key_column.map(|key| format!("{BESIDE}{}", key.header));
    let are_known = beside_key.as_ref().is_some_and(|key| terms.is_known(key));
    let is_known = |column: &Column<'_>| are_known || is_known_as_sorted(&column.now.header, terms);
    let sorted: Vec<&&Column<'_>> =
        columns.iter().filter(|column| column.says_what_others_said(before, is_known(column))).collect();
    // Clocks and days of work go on, and come to what others were.
    let shows_it = |column: &&&Column<'_>| {
        values::stands_in_its_row(column.was.field) || column.is_exchanged_among_rows()
    };
    if !sorted.iter().any(shows_it) {
        return None;
    }
    let count = sorted.iter().map(|column| column.altered()).max()?;
    let compared = columns.iter().filter(|column| differs_by_row(column)).count();
    let are_rows = are_known || (sorted.len() > 1 && sorted.len() as f64 > HALF * compared as f64);
    let (what, moved, named) = match key_column.filter(|_| are_rows) {
        Some(key) => (
            format!("`{}` stands beside what other rows said before", key.header),
            all_but_keys(before, now, rows),
            vec![key],
        ),
        None if is_a_pair_of_handovers(&sorted) && !sorted.iter().all(|column| is_known(column)) => {
            return None;
        }
        None => {
            let headers: Vec<String> =
                sorted.iter().map(|column| format!("`{}`", column.now.header)).collect();
            let verb = if let [_] = headers[..] { "says" } else { "say" };
            let moved = sorted.iter().map(|column| column.places()).collect();
            let named = sorted.iter().map(|column| column.now).collect();
            (format!("{} {verb} what other rows said before", headers.join(", ")), moved, named)
        }
    };
    let all = rows.pairs().take(COMPARED_ROWS).count();
    let what = format!(
        "in {count} of {all} rows {what}, as after a sort without the rest; what the same rows said before stands"
    );
    let headers: Vec<String> = named.iter().map(|column| column.header.clone()).collect();
    let key = match beside_key.filter(|_| are_rows) {
        Some(key) => key,
        None => format!("{SORTED}{}", headers.join(PARTED)),
    };
    let problem = Problem::error(now.table.whole(), what, terms.look_at(&key, &named));
    Some(Moved { change: Change { key, lasts: Lasts::Held, problem }, columns: moved, named: headers })
}

/// Whether rows can be told apart by what stands in a column.
fn differs_by_row(column: &Column<'_>) -> bool {
    column.filled().map(|(was, _)| was).collect::<HashSet<u64>>().len() > 1
}

/// Whether it is but the handovers of two rows, which their customers may have exchanged between them.
fn is_a_pair_of_handovers(sorted: &[&&Column<'_>]) -> bool {
    /// As many rows as one customer's wish moves about. Our decision.
    const PAIR: usize = 2;
    match sorted {
        [column] => column.was.field == Field::Handover && column.altered() <= PAIR,
        _ => false,
    }
}

/// Every column but those that name the row.
fn all_but_keys(before: &Side<'_>, now: &Side<'_>, rows: &MatchedRows<'_>) -> Vec<(usize, usize)> {
    let columns = before.read_as.columns.iter().filter(|column| !rows.are_matched_by(column.index));
    let places = columns.filter_map(|was| match now.places(&was.header)[..] {
        [place] if now.column(place).is_some_and(|column| column.field == was.field) => {
            Some((was.index, place))
        }
        _ => None,
    });
    places.collect()
}
