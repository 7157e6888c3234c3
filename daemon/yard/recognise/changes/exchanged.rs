//! Two columns that have exchanged their headers: each says what the other one said in the same rows, be it nothing.

use std::collections::HashMap;

use super::matched_rows::{in_both, mark_of_row, squeezed};
use super::moved::{Column, LEAST_ROWS, Moved};
use super::values::{MOST, SOME};
use super::{Change, ColumnRead, Lasts, MatchedRows, Side, Terms, column_in_words};
use crate::problem::Problem;
use crate::yard::RecordKind;
use crate::yard::field::Shape;

/// A column in both exports.
type Both<'s> = (&'s ColumnRead, &'s ColumnRead);

/// Two columns of which each says what the other one said.
pub(super) fn find(columns: &[Column<'_>], now: &Side<'_>, terms: &Terms<'_>) -> Vec<Moved> {
    let others: Vec<&Column<'_>> = columns.iter().filter(|column| is_altered(column)).collect();
    let mut moved: Vec<Moved> = Vec::new();
    for (place, one) in others.iter().enumerate() {
        for other in &others[place + 1..] {
            let is_told = |column: &Column<'_>| moved.iter().any(|it| it.columns.contains(&column.places()));
            if is_told(one) || is_told(other) {
                continue;
            }
            let is_known = terms.is_known(&exchange_key(one.now, other.now));
            let (least, share) = if is_known { (1, SOME) } else { (LEAST_ROWS, MOST) };
            let pairs = one.cells.iter().zip(&other.cells);
            // A blank cell shows it as well; two that are equal show nothing.
            let shows = |((one_was, _), (other_was, _)): &(&(u64, u64), &(u64, u64))| one_was != other_was;
            let (mut rows, mut exchanged) = (0usize, 0usize);
            for ((one_was, one_is), (other_was, other_is)) in pairs.filter(shows) {
                rows += 1;
                exchanged += usize::from(one_is == other_was && other_is == one_was);
            }
            if exchanged >= least && exchanged as f64 >= share * rows as f64 {
                moved.push(exchange(
                    ((one.was, one.now), (other.was, other.now)),
                    (exchanged, rows),
                    now,
                    terms,
                ));
            }
        }
    }
    moved
}

/// Whether any of its cells says something else.
fn is_altered(column: &Column<'_>) -> bool {
    column.cells.iter().any(|(was, is)| was != is)
}

/// The same in a log, of which several rows may be of one machine and day: a row is there again once the cells of the two
/// columns are exchanged, and else it is not.
pub(super) fn find_in_log(before: &Side<'_>, now: &Side<'_>, terms: &Terms<'_>) -> Vec<Moved> {
    let is_log = before.read_as.kind.is_some_and(|kind| kind != RecordKind::Machine);
    let all = before.body().len().min(now.body().len());
    // Mostly the rows are what they were, and there is nothing to look for.
    if !is_log || MatchedRows::alike_but(before, now, &[]).pairs().count() as f64 > (1.0 - SOME) * all as f64
    {
        return Vec::new();
    }
    let places: Vec<(usize, usize)> =
        before.headers.iter().filter_map(|(index, _)| in_both(before, now, *index)).collect();
    let mut had: HashMap<u64, usize> = HashMap::new();
    for row in before.body().iter() {
        *had.entry(mark_of_row(row, places.iter().map(|(was, _)| *was))).or_default() += 1;
    }
    let columns: Vec<Both<'_>> = before.read_as.columns.iter().filter_map(|was| same(was, now)).collect();
    let mut moved: Vec<Moved> = Vec::new();
    for (number, one) in columns.iter().enumerate() {
        for other in &columns[number + 1..] {
            let is_told = |column: &Both<'_>| {
                moved.iter().any(|it| it.columns.contains(&(column.0.index, column.1.index)))
            };
            if is_told(one) || is_told(other) {
                continue;
            }
            let (exchanged, rows) = rows_exchanged((one.1.index, other.1.index), now, &places, had.clone());
            let is_known = terms.is_known(&exchange_key(one.1, other.1));
            let (least, share) = if is_known { (1, SOME) } else { (LEAST_ROWS, MOST) };
            if exchanged >= least && exchanged as f64 >= share * rows as f64 {
                moved.push(exchange((*one, *other), (exchanged, rows), now, terms));
            }
        }
    }
    moved
}

/// The column under the same header now, where it is read as the same. A result, and what it is the result of, is looked
/// at otherwise.
fn same<'s>(was: &'s ColumnRead, now: &'s Side<'_>) -> Option<Both<'s>> {
    let [place] = now.places(&was.header)[..] else { return None };
    let column = now.column(place).filter(|column| column.field == was.field)?;
    (was.field.shape() != Shape::Result).then_some((was, column))
}

/// How many rows of so many are there again once two columns are exchanged, and say something else in each of them.
fn rows_exchanged(
    (one, other): (usize, usize),
    now: &Side<'_>,
    places: &[(usize, usize)],
    mut had: HashMap<u64, usize>,
) -> (usize, usize) {
    let turned = |place: usize| match place {
        place if place == one => other,
        place if place == other => one,
        place => place,
    };
    let (mut rows, mut exchanged) = (0, 0);
    for row in now.body().iter() {
        if squeezed(row.cell(one)) == squeezed(row.cell(other)) {
            continue;
        }
        rows += 1;
        let said = mark_of_row(row, places.iter().map(|(_, is)| turned(*is)));
        if let Some(left) = had.get_mut(&said).filter(|left| **left > 0) {
            *left -= 1;
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
