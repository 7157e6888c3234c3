//! The rows of two exports that are the same row: of the same machine and day, or alike in all else.

use std::collections::{BTreeMap, BTreeSet, HashMap, VecDeque};
use std::hash::{DefaultHasher, Hash, Hasher};

use super::Side;
use super::one_writing::in_one_writing;
use super::values::SOME;
use crate::sheets::{Cell, Row, Rows};
use crate::yard::{ColumnRead, Field, RecordKind};

/// Fewer rows that are in both exports show nothing.
const LEAST_ROWS: usize = 2;

/// The share of equal values from which on a column is certain to be the same. Our decision: a day's work changes a few
/// clocks, and never most of them.
const CERTAIN_SHARE: f64 = 0.8;

/// Where fewer of the rows are the same by all that names them, a number or the day may have been given to other rows.
/// Our decision.
const ENOUGH_BY_ALL: f64 = 0.5;

/// The places, before and now, of a column that stands under one header in both exports, and once in each.
pub(super) fn in_both(before: &Side<'_>, now: &Side<'_>, index: usize) -> Option<(usize, usize)> {
    match now.places(before.header(index))[..] {
        [place] if before.places(before.header(index)).len() == 1 => Some((index, place)),
        _ => None,
    }
}

/// Rows that are in both exports.
pub(super) struct MatchedRows<'a> {
    pairs: Vec<(Row<'a>, Row<'a>)>,
    /// The columns, before and now, by which they are the same.
    keys: Vec<(usize, usize)>,
}

impl<'a> MatchedRows<'a> {
    /// Matches rows by the machine and the day that they name, else by all that is in both exports. What is asked about,
    /// columns of the earlier one, is left out of this.
    pub(super) fn of(before: &Side<'a>, now: &Side<'a>, asked: &[usize]) -> MatchedRows<'a> {
        let in_both = |index: usize| in_both(before, now, index);
        let read = |fits: &dyn Fn(Field) -> bool| -> Vec<(usize, usize)> {
            let columns = before.read_as.columns.iter();
            let fitting = columns.filter(|column| fits(column.field) && !asked.contains(&column.index));
            fitting.filter_map(|column| in_both(column.index)).collect()
        };
        let (identities, days) = (read(&Field::is_identity), read(&|field| field == Field::Day));
        if !identities.is_empty() {
            let by_all = MatchedRows::by(before, now, &[&identities[..], &days].concat());
            let fewer = before.body().len().min(now.body().len());
            let is_enough = by_all.pairs.len() as f64 >= ENOUGH_BY_ALL * fewer as f64;
            if by_all.pairs.len() >= LEAST_ROWS && (identities.len() == 1 || is_enough) {
                return by_all;
            }
            let alone = identities.iter().filter(|_| identities.len() > 1);
            let by_one = alone.map(|one| MatchedRows::by(before, now, &[&[*one][..], &days].concat()));
            if let Some(best) = most_alike([by_all].into_iter().chain(by_one), before, now) {
                return best;
            }
        }
        let all = before.headers.iter().map(|(index, _)| *index).filter(|index| !asked.contains(index));
        let alike = MatchedRows::by(before, now, &all.filter_map(in_both).collect::<Vec<_>>());
        if before.read_as.kind != Some(RecordKind::Machine) {
            return alike;
        }
        // The numbers of machines may be what has changed, and their clocks go on.
        let rest = read(&|field| !field.is_identity() && !goes_on(field));
        let by_rest = (rest.len() > 1).then(|| MatchedRows::by(before, now, &rest));
        let empty = MatchedRows { pairs: Vec::new(), keys: Vec::new() };
        most_alike([alike].into_iter().chain(by_rest), before, now).unwrap_or(empty)
    }

    /// The rows by which the values of one column are compared. Of what a log says anew of each event the rest of the row
    /// tells which is which, where that shows more.
    pub(super) fn of_column(before: &Side<'a>, now: &Side<'a>, was: &ColumnRead) -> MatchedRows<'a> {
        let rows = MatchedRows::of(before, now, &[was.index]);
        if !before.is_log() || !matches!(was.field, Field::Day | Field::Result | Field::Grade) {
            return rows;
        }
        let by_rest = MatchedRows::alike_but(before, now, &[was.index]);
        if by_rest.pairs.len() > rows.pairs.len() { by_rest } else { rows }
    }

    fn by(before: &Side<'a>, now: &Side<'a>, columns: &[(usize, usize)]) -> MatchedRows<'a> {
        let (of_before, of_now): (Vec<usize>, Vec<usize>) = columns.iter().copied().unzip();
        let earlier = unique_rows(before, &of_before);
        let mut pairs: Vec<(Row<'a>, Row<'a>)> = unique_rows(now, &of_now)
            .into_iter()
            .filter_map(|(key, row)| Some((*earlier.get(&key)?, row)))
            .collect();
        pairs.sort_by_key(|(_, row)| row.number);
        MatchedRows { pairs, keys: columns.to_vec() }
    }

    /// Whether the rows are mostly what they were, so that there is nothing to look for.
    pub(super) fn are_mostly_alike(before: &Side<'_>, now: &Side<'_>) -> bool {
        let all = before.body().len().min(now.body().len());
        MatchedRows::alike_but(before, now, &[]).pairs().count() as f64 > (1.0 - SOME) * all as f64
    }

    /// Matches rows by all that is in both exports but what is asked about, columns of the earlier one. Rows that are the
    /// same in that, too, are matched first; of several that are alike each is matched once, in their order.
    pub(super) fn alike_but(before: &Side<'a>, now: &Side<'a>, asked: &[usize]) -> MatchedRows<'a> {
        let all: Vec<(usize, usize)> =
            before.headers.iter().filter_map(|(index, _)| in_both(before, now, *index)).collect();
        let keys: Vec<(usize, usize)> =
            all.iter().copied().filter(|(index, _)| !asked.contains(index)).collect();
        let (mut earlier, mut later) = (filled_rows(before.body()), filled_rows(now.body()));
        let mut pairs = pair_off(&mut earlier, &mut later, &all);
        pairs.extend(pair_off(&mut earlier, &mut later, &keys));
        pairs.sort_by_key(|(_, row)| row.number);
        MatchedRows { pairs, keys }
    }

    /// Whether a column of the one export is certain to be a column of the other: the same rows say the same, and not
    /// only one thing.
    pub(super) fn says_the_same(&self, before: usize, now: usize) -> bool {
        let (mut filled, mut equal) = (0usize, Vec::new());
        for (earlier, later) in &self.pairs {
            let (earlier, later) = (earlier.cell(before), later.cell(now));
            if earlier.is_blank() {
                continue;
            }
            filled += 1;
            if squeezed(earlier) == squeezed(later) {
                equal.push(squeezed(later));
            }
        }
        let is_most = equal.len() as f64 >= CERTAIN_SHARE * filled as f64;
        equal.sort();
        let all = equal.len();
        equal.dedup();
        all >= LEAST_ROWS && is_most && equal.len() >= LEAST_ROWS
    }

    /// Whether the rows are the same by this column of the earlier export.
    pub(super) fn are_matched_by(&self, index: usize) -> bool {
        self.keys.iter().any(|(key, _)| *key == index)
    }

    /// Whether the rows are the same by a number of the machine.
    pub(super) fn are_matched_by_identity(&self, before: &Side<'_>) -> bool {
        let is_identity =
            |index: usize| before.column(index).is_some_and(|column| column.field.is_identity());
        self.keys.iter().any(|(key, _)| is_identity(*key))
    }

    /// The rows of the one export and of the other.
    pub(super) fn pairs(&self) -> impl Iterator<Item = (Row<'a>, Row<'a>)> {
        self.pairs.iter().copied()
    }

    /// Of each machine of a log the rows that it had, and those that are new.
    pub(super) fn new_rows(before: &Side<'a>, now: &Side<'a>) -> Vec<(Vec<Row<'a>>, Vec<Row<'a>>)> {
        let column = |side: &Side<'_>, is_it: &dyn Fn(Field) -> bool| {
            side.read_as.columns.iter().find(|column| is_it(column.field)).map(|column| column.index)
        };
        let columns = |side: &Side<'_>| {
            Some((column(side, &Field::is_identity)?, column(side, &|field| field == Field::Day)?))
        };
        let (Some(of_before), Some(of_now)) = (columns(before), columns(now)) else { return Vec::new() };
        let by_machine = |side: &Side<'a>, (machine, day): (usize, usize)| {
            let mut rows: BTreeMap<String, Vec<(String, Row<'a>)>> = BTreeMap::new();
            for row in side.body().iter() {
                let named = squeezed(row.cell(machine));
                if !named.is_empty() {
                    rows.entry(named).or_default().push((squeezed(row.cell(day)), row));
                }
            }
            rows
        };
        let mut earlier = by_machine(before, of_before);
        let both = by_machine(now, of_now).into_iter().filter_map(|(machine, rows)| {
            let had = earlier.remove(&machine)?;
            let days: BTreeSet<&String> = had.iter().map(|(day, _)| day).collect();
            let is_new = |(day, _): &(String, Row<'a>)| !days.contains(day);
            let new = rows.into_iter().filter(is_new).map(|(_, row)| row).collect();
            Some((had.into_iter().map(|(_, row)| row).collect(), new))
        });
        both.collect()
    }
}

/// Of several ways to match rows the one after which most cells are what they were; `None` where none matches any.
fn most_alike<'a>(
    ways: impl Iterator<Item = MatchedRows<'a>>,
    before: &Side<'a>,
    now: &Side<'a>,
) -> Option<MatchedRows<'a>> {
    let columns: Vec<(usize, usize)> = before
        .read_as
        .columns
        .iter()
        .filter_map(|column| Some((column.index, *now.places(&column.header).first()?)))
        .collect();
    let alike = |rows: &MatchedRows<'_>| {
        let equal = |(earlier, later): &(Row<'_>, Row<'_>)| {
            let is_equal = |(was, is): &&(usize, usize)| {
                !earlier.cell(*was).is_blank() && squeezed(earlier.cell(*was)) == squeezed(later.cell(*is))
            };
            columns.iter().filter(is_equal).count()
        };
        rows.pairs.iter().map(equal).sum::<usize>()
    };
    let enough = ways.filter(|rows| rows.pairs.len() >= LEAST_ROWS);
    let mut best: Option<(usize, MatchedRows<'a>)> = None;
    for rows in enough {
        let alike = alike(&rows);
        if best.as_ref().is_none_or(|(most, _)| alike > *most) {
            best = Some((alike, rows));
        }
    }
    best.map(|(_, rows)| rows)
}

/// Whether a field of a machine's row goes on from day to day, and shows little of which row it is.
fn goes_on(field: Field) -> bool {
    matches!(field, Field::Clock | Field::ClockDay | Field::Note)
}

fn filled_rows(body: Rows<'_>) -> Vec<Row<'_>> {
    body.iter().filter(|row| row.cells().any(|cell| !cell.is_blank())).collect()
}

/// Takes rows that say the same in these columns out of both lists, each with its like.
fn pair_off<'a>(
    earlier: &mut Vec<Row<'a>>,
    later: &mut Vec<Row<'a>>,
    columns: &[(usize, usize)],
) -> Vec<(Row<'a>, Row<'a>)> {
    let mut alike: HashMap<u64, VecDeque<Row<'a>>> = HashMap::new();
    for row in earlier.drain(..) {
        let said = mark_of_row(row, columns.iter().map(|(was, _)| *was));
        alike.entry(said).or_default().push_back(row);
    }
    let mut pairs = Vec::new();
    later.retain(|row| {
        let says = mark_of_row(*row, columns.iter().map(|(_, is)| *is));
        let like = alike.get_mut(&says).filter(|_| says != 0).and_then(VecDeque::pop_front);
        pairs.extend(like.map(|like| (like, *row)));
        like.is_none()
    });
    earlier.extend(alike.into_values().flatten());
    earlier.sort_by_key(|row| row.number);
    pairs
}

/// A number for what a row says in these columns; nought for nothing.
fn mark_of_row(row: Row<'_>, columns: impl Iterator<Item = usize>) -> u64 {
    let (mut hasher, mut is_filled) = (DefaultHasher::new(), false);
    for column in columns {
        let text = squeezed(row.cell(column));
        is_filled |= !text.is_empty();
        text.hash(&mut hasher);
    }
    if is_filled { hasher.finish() | 1 } else { 0 }
}

/// The rows whose cells in these columns no other row has.
fn unique_rows<'a>(side: &Side<'a>, columns: &[usize]) -> HashMap<Vec<String>, Row<'a>> {
    let body = side.body();
    let mut rows: HashMap<Vec<String>, Option<Row<'a>>> = HashMap::new();
    for row in body.iter() {
        let key: Vec<String> = columns.iter().map(|column| squeezed(row.cell(*column))).collect();
        if key.iter().any(|part| !part.is_empty()) {
            rows.entry(key).and_modify(|row| *row = None).or_insert(Some(row));
        }
    }
    rows.into_iter().filter_map(|(key, row)| Some((key, row?))).collect()
}

/// A cell's text without what programs write otherwise: case, blanks, and the signs that part a figure.
pub(super) fn squeezed(cell: Cell<'_>) -> String {
    in_one_writing(cell.shown().split_whitespace().collect::<String>().to_uppercase())
}
