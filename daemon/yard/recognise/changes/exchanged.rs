//! Two columns that have exchanged their headers: each says what the other one said in the same rows, be it nothing.

use std::collections::HashMap;

use super::matched_rows::in_both;
use super::moved::{Column, LEAST_ROWS, Moved};
use super::row_marks::RowMarks;
use super::values::{MOST, SOME};
use super::{Change, ColumnRead, Lasts, Side, Terms, column_in_words};
use crate::problem::Problem;

/// A column in both exports.
type Both<'s> = (&'s ColumnRead, &'s ColumnRead);

/// Two columns of which each says what the other one said.
pub(super) fn find(columns: &[Column<'_>], now: &Side<'_>, terms: &Terms<'_>) -> Vec<Moved> {
    let others: Vec<&Column<'_>> = columns.iter().filter(|column| column.altered() > 0).collect();
    let both: Vec<Both<'_>> = others.iter().map(|column| (column.was, column.now)).collect();
    exchanges(&both, now, terms, |one, other| {
        let pairs = others[one].cells.iter().zip(&others[other].cells);
        // A blank cell shows it as well; two that are equal show nothing.
        let shows = |((one_was, _), (other_was, _)): &(&(u64, u64), &(u64, u64))| one_was != other_was;
        let (mut rows, mut exchanged) = (0usize, 0usize);
        for ((one_was, one_is), (other_was, other_is)) in pairs.filter(shows) {
            rows += 1;
            exchanged += usize::from(one_is == other_was && other_is == one_was);
        }
        (exchanged, rows)
    })
}

/// The same in a log, of which several rows may be of one machine and day: a row is there again once the cells of the two
/// columns are exchanged, and else it is not.
pub(super) fn find_in_log(before: &Side<'_>, now: &Side<'_>, terms: &Terms<'_>) -> Vec<Moved> {
    let places: Vec<(usize, usize)> =
        before.headers.iter().filter_map(|(index, _)| in_both(before, now, *index)).collect();
    let mut had: HashMap<u64, usize> = HashMap::new();
    for row in before.body().iter() {
        *had.entry(RowMarks::of(row, places.iter().map(|(was, _)| *was)).whole()).or_default() += 1;
    }
    let rows: Vec<RowMarks> =
        now.body().iter().map(|row| RowMarks::of(row, places.iter().map(|(_, is)| *is))).collect();
    let columns = before.read_as.columns.iter().filter_map(|was| same(was, now));
    let place = |both: &Both<'_>| places.iter().position(|(_, is)| *is == both.1.index);
    let (columns, at): (Vec<Both<'_>>, Vec<usize>) =
        columns.filter_map(|both| Some((both, place(&both)?))).unzip();
    exchanges(&columns, now, terms, |one, other| rows_exchanged((at[one], at[other]), &rows, &had))
}

/// The pairs of columns that have exchanged their headers, where `count` gives for two of them how many rows show it, and of
/// how many.
fn exchanges(
    columns: &[Both<'_>],
    now: &Side<'_>,
    terms: &Terms<'_>,
    count: impl Fn(usize, usize) -> (usize, usize),
) -> Vec<Moved> {
    let mut moved: Vec<Moved> = Vec::new();
    for (place, one) in columns.iter().enumerate() {
        for (further, other) in columns.iter().enumerate().skip(place + 1) {
            let is_told = |column: &Both<'_>| {
                moved.iter().any(|it| it.columns.contains(&(column.0.index, column.1.index)))
            };
            if is_told(one) || is_told(other) {
                continue;
            }
            let is_known = terms.is_known(&exchange_key(one.1, other.1));
            let (least, share) = if is_known { (1, SOME) } else { (LEAST_ROWS, MOST) };
            let (exchanged, rows) = count(place, further);
            if exchanged >= least && exchanged as f64 >= share * rows as f64 {
                moved.push(exchange((*one, *other), (exchanged, rows), now, terms));
            }
        }
    }
    moved
}

/// The column under the same header now, where it is read as the same.
pub(super) fn same<'s>(was: &'s ColumnRead, now: &'s Side<'_>) -> Option<Both<'s>> {
    let [place] = now.places(&was.header)[..] else { return None };
    now.column(place).filter(|column| column.field == was.field).map(|column| (was, column))
}

/// How many rows of so many are there again once two columns are exchanged, and say something else in each of them.
fn rows_exchanged(
    (one, other): (usize, usize),
    now: &[RowMarks],
    had: &HashMap<u64, usize>,
) -> (usize, usize) {
    let mut taken: HashMap<u64, usize> = HashMap::new();
    let (mut rows, mut exchanged) = (0, 0);
    for row in now.iter().filter(|row| row.cells[one] != row.cells[other]) {
        rows += 1;
        let said = row.exchanged(one, other);
        let Some(there) = had.get(&said) else { continue };
        let taken = taken.entry(said).or_default();
        if *taken < *there {
            *taken += 1;
            exchanged += 1;
        }
    }
    (exchanged, rows)
}

fn exchange_key(one: &ColumnRead, other: &ColumnRead) -> String {
    let mut headers = [one.header.as_str(), other.header.as_str()];
    // Whichever of the two stands first.
    headers.sort_unstable();
    format!("exchanged {} / {}", headers[0], headers[1])
}

fn exchange(
    (one, other): (Both<'_>, Both<'_>),
    (exchanged, rows): (usize, usize),
    now: &Side<'_>,
    terms: &Terms<'_>,
) -> Moved {
    let (first, second) = (one.1, other.1);
    let what = format!(
        "in {exchanged} of {rows} rows `{}` in {} and `{}` in {} say what the other one said before, as if their headers \
         had been exchanged; what the same rows said before stands",
        first.header,
        column_in_words(first.index),
        second.header,
        column_in_words(second.index)
    );
    let key = exchange_key(first, second);
    let problem = Problem::error(now.table.whole(), what, terms.look_at(&key, &[first, second]));
    Moved {
        change: Change { key, lasts: Lasts::Held, problem },
        columns: [one, other].map(|(was, is)| (was.index, is.index)).to_vec(),
        named: vec![first.header.clone(), second.header.clone()],
    }
}
