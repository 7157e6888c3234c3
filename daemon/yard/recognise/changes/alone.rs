//! A column of a log that was sorted or shifted alone: most rows are there again with all their cells the same but the
//! machine, the day or the check.

use std::collections::HashSet;

use super::matched_rows::squeezed;
use super::moved::Moved;
use super::values::{NEARLY_ALL, SOME};
use super::{Change, ColumnRead, Lasts, MatchedRows, Side, Terms, column_in_words};
use crate::problem::Problem;
use crate::yard::Field;

/// Fewer rows may be slips that were put right. Our decision.
const LEAST_ROWS: usize = 3;

/// More than this share of the rows is most of them. Our decision.
const HALF: f64 = 0.5;

/// Whether a column of a log may be looked at so: what else a row says is what the row is known by.
pub(super) fn is_asked(before: &Side<'_>, column: &ColumnRead) -> bool {
    before.is_log() && (column.field.is_identity() || matches!(column.field, Field::Day | Field::Item))
}

/// Looks for such a column.
pub(super) fn find(before: &Side<'_>, now: &Side<'_>, terms: &Terms<'_>) -> Option<Moved> {
    let asked: Vec<&ColumnRead> =
        before.read_as.columns.iter().filter(|column| is_asked(before, column)).collect();
    let found = asked.into_iter().filter_map(|was| {
        let [place] = now.places(&was.header)[..] else { return None };
        let column = now.column(place).filter(|column| column.field == was.field)?;
        of_column((before, was), (now, column), terms)
    });
    // Where two may be it, it is the one in which more rows are others.
    found.max_by_key(|(count, _)| *count).map(|(_, moved)| moved)
}

fn of_column(
    (before, was): (&Side<'_>, &ColumnRead),
    (now, column): (&Side<'_>, &ColumnRead),
    terms: &Terms<'_>,
) -> Option<(usize, Moved)> {
    let key = format!("alone {}", column.header);
    let is_known = terms.is_known(&key);
    let rows = MatchedRows::alike_but(before, now, &[was.index]);
    let all = before.body().len().min(now.body().len());
    let pairs =
        rows.pairs().map(|(one, other)| (squeezed(one.cell(was.index)), squeezed(other.cell(column.index))));
    let others: Vec<(String, String)> = pairs.filter(|(said, says)| said != says).collect();
    let share = others.len() as f64 / all.max(1) as f64;
    let is_most = others.len() >= LEAST_ROWS && share > HALF;
    if !(is_most || (is_known && share >= SOME))
        || !(is_known || (say_what_others_said(&others, before, was) && know_their_rows(&rows, before, was)))
    {
        return None;
    }
    let what = format!(
        "in {} of {all} rows {} `{}` says what other rows said before, and the rest of the row is the same, as after a \
         sort without the rest; what the same rows said before stands",
        others.len(),
        column_in_words(column.index),
        column.header
    );
    let problem = Problem::error(now.table.whole(), what, terms.look_at(&key, &[column]));
    let moved = Moved {
        change: Change { key, lasts: Lasts::Held, problem },
        columns: vec![(was.index, column.index)],
        named: vec![column.header.clone()],
    };
    Some((others.len(), moved))
}

/// Whether the rest of a row is more than one thing that tells rows apart: else that one may have been moved as well.
fn know_their_rows(rows: &MatchedRows<'_>, before: &Side<'_>, was: &ColumnRead) -> bool {
    let rest = before.headers.iter().map(|(index, _)| *index).filter(|index| *index != was.index);
    let differs = |index: &usize| {
        let said: HashSet<String> = rows.pairs().map(|(row, _)| squeezed(row.cell(*index))).collect();
        said.len() > 1
    };
    rest.filter(differs).count() > 1
}

/// Whether changed cells say now what other rows said, and not all one thing. One that is blank was shifted off the end.
fn say_what_others_said(others: &[(String, String)], before: &Side<'_>, was: &ColumnRead) -> bool {
    let all: HashSet<String> = before.body().iter().map(|row| squeezed(row.cell(was.index))).collect();
    let filled: Vec<&String> = others.iter().map(|(_, says)| says).filter(|says| !says.is_empty()).collect();
    let known = filled.iter().filter(|says| all.contains(**says)).count();
    let said: HashSet<&String> =
        others.iter().map(|(said, _)| said).filter(|said| !said.is_empty()).collect();
    let says: HashSet<&&String> = filled.iter().collect();
    filled.len() + 1 >= others.len()
        && known as f64 >= NEARLY_ALL * filled.len() as f64
        && says.len() > 1
        && says.len() as f64 >= HALF * said.len() as f64
}
