//! The rows of two exports that are the same row: of the same machine and day, or alike in all else.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::Side;
use crate::sheets::{Cell, Row};
use crate::yard::Field;

/// Fewer rows that are in both exports show nothing.
const LEAST_ROWS: usize = 2;

/// The share of equal values from which on a column is certain to be the same. Our decision: a day's work changes a few
/// clocks, and never most of them.
const CERTAIN_SHARE: f64 = 0.8;

/// Rows that are in both exports.
pub(super) struct MatchedRows<'a> {
    pairs: Vec<(Row<'a>, Row<'a>)>,
}

impl<'a> MatchedRows<'a> {
    /// Matches rows by the machine and the day that they name, else by all that is in both exports. What is asked about,
    /// a column of each, is left out of this.
    pub(super) fn of(before: &Side<'a>, now: &Side<'a>, asked: &[usize]) -> MatchedRows<'a> {
        let in_both = |index: &usize| match now.places(before.header(*index))[..] {
            [place] if before.places(before.header(*index)).len() == 1 => Some((*index, place)),
            _ => None,
        };
        let named = before.read_as.columns.iter().filter(|column| {
            (column.field.is_identity() || column.field == Field::Day) && !asked.contains(&column.index)
        });
        let named: Vec<(usize, usize)> = named.filter_map(|column| in_both(&column.index)).collect();
        let has_identity = named
            .iter()
            .any(|(index, _)| before.column(*index).is_some_and(|column| column.field.is_identity()));
        if has_identity {
            let matched = MatchedRows::by(before, now, &named);
            if matched.pairs.len() >= LEAST_ROWS {
                return matched;
            }
        }
        let all = before.headers.iter().map(|(index, _)| *index).filter(|index| !asked.contains(index));
        MatchedRows::by(before, now, &all.filter_map(|index| in_both(&index)).collect::<Vec<_>>())
    }

    fn by(before: &Side<'a>, now: &Side<'a>, columns: &[(usize, usize)]) -> MatchedRows<'a> {
        let (of_before, of_now): (Vec<usize>, Vec<usize>) = columns.iter().copied().unzip();
        let earlier = unique_rows(before, &of_before);
        let mut pairs: Vec<(Row<'a>, Row<'a>)> = unique_rows(now, &of_now)
            .into_iter()
            .filter_map(|(key, row)| Some((*earlier.get(&key)?, row)))
            .collect();
        pairs.sort_by_key(|(_, row)| row.number);
        MatchedRows { pairs }
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
            for row in side.table.rows().part(side.header_row + 1..).iter() {
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

/// The rows whose cells in these columns no other row has.
fn unique_rows<'a>(side: &Side<'a>, columns: &[usize]) -> HashMap<Vec<String>, Row<'a>> {
    let body = side.table.rows().part(side.header_row + 1..);
    let mut rows: HashMap<Vec<String>, Option<Row<'a>>> = HashMap::new();
    for row in body.iter() {
        let key: Vec<String> = columns.iter().map(|column| squeezed(row.cell(*column))).collect();
        if key.iter().any(|part| !part.is_empty()) {
            rows.entry(key).and_modify(|row| *row = None).or_insert(Some(row));
        }
    }
    rows.into_iter().filter_map(|(key, row)| Some((key, row?))).collect()
}

/// A cell's text without what programs write otherwise: case and blanks.
fn squeezed(cell: Cell<'_>) -> String {
    cell.shown().split_whitespace().collect::<String>().to_uppercase()
}
