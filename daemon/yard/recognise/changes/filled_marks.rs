//! Rows of a log that have the mark of the row above or below now, and say all else as before: as after a mark that was
//! filled down over others.

use std::collections::{BTreeMap, BTreeSet};

use super::exchanged;
use super::moved::Moved;
use super::other_marks::{is_near, runs_on};
use super::{Change, ColumnRead, Lasts, MatchedRows, Side, Terms, column_in_words, values};
use crate::problem::Problem;
use crate::yard::Field;

/// Fewer rows that stand together, or fewer that stand apart and are of fewer machines, may be put right in a day's work.
/// Our decision.
const LEAST_ROWS: usize = 3;
const LEAST_APART: usize = 5;
const LEAST_MACHINES: usize = 3;

/// Looks for columns of marks, frame numbers or stock numbers that were filled, and for what else was with them.
pub(super) fn find(before: &Side<'_>, now: &Side<'_>, terms: &Terms<'_>) -> Option<Moved> {
    // Without a day many rows of other machines are alike.
    before.read_as.columns.iter().find(|column| column.field == Field::Day)?;
    let of_machine: Vec<(&ColumnRead, &ColumnRead)> = before
        .read_as
        .columns
        .iter()
        .filter(|column| goes_with_the_machine(column.field))
        .filter_map(|was| exchanged::same(was, now))
        .collect();
    let asked: Vec<usize> = of_machine.iter().map(|(was, _)| was.index).collect();
    let rows = MatchedRows::alike_but(before, now, &asked);
    let names: Vec<_> = of_machine
        .iter()
        .filter(|(was, _)| was.field.is_identity())
        .filter_map(|columns| {
            let became = became(*columns, (before, now), &rows, terms);
            let filled = filled(&became, terms.is_known(&key(columns.1)));
            (!filled.is_empty()).then_some((columns.1, filled))
        })
        .collect();
    let (_, most) = names.iter().max_by_key(|(_, filled)| filled.len())?;
    let is_filled = |row: u32| names.iter().any(|(_, filled)| filled.contains(&row));
    let is_other = |(was, column): &&(&ColumnRead, &ColumnRead)| {
        let mut filled = rows.pairs().filter(|(_, later)| is_filled(later.number));
        filled.any(|(earlier, later)| {
            values::said(earlier, was, before, terms) != values::said(later, column, now, terms)
        })
    };
    let columns = of_machine.iter().filter(is_other).map(|(was, column)| (was.index, column.index)).collect();
    let named: Vec<&ColumnRead> = names.iter().map(|(column, _)| *column).collect();
    let headers: Vec<String> =
        named.iter().map(|column| format!("{} `{}`", column_in_words(column.index), column.header)).collect();
    let what = format!(
        "{} of {} rows name another machine than before in {}, as after a fill down, and say all else as before; what the \
         same rows said before stands",
        most.len(),
        rows.pairs().count(),
        headers.join(" and ")
    );
    let key = key(named[0]);
    let problem = Problem::error(now.table.whole(), what, terms.look_at(&key, &named));
    Some(Moved {
        change: Change { key, lasts: Lasts::Held, problem },
        columns,
        named: named.iter().map(|column| column.header.clone()).collect(),
    })
}

fn key(column: &ColumnRead) -> String {
    format!("filled {}", column.header)
}

/// Whether a field of a log's row is another one where its machine is.
fn goes_with_the_machine(field: Field) -> bool {
    field.is_identity() || field.is_of_the_machine() || matches!(field, Field::Customer | Field::Telephone)
}

/// A row with what names its machine, and what it said before where that is no other writing of it.
struct Named {
    row: u32,
    says: String,
    said: Option<String>,
}

/// The rows that name a machine, in their order.
fn became(
    (was, column): (&ColumnRead, &ColumnRead),
    (before, now): (&Side<'_>, &Side<'_>),
    rows: &MatchedRows<'_>,
    terms: &Terms<'_>,
) -> Vec<Named> {
    let mut said: BTreeMap<u32, String> = rows
        .pairs()
        .filter_map(|(earlier, later)| Some((later.number, values::said(earlier, was, before, terms)?)))
        .collect();
    let named = now.body().iter().filter_map(|row| {
        let says = values::said(row, column, now, terms)?;
        let said = said.remove(&row.number).filter(|said| *said != says && !is_near(said, &says));
        Some(Named { row: row.number, says, said })
    });
    named.collect()
}

/// The rows that were filled. Of what is known from an earlier round one that is left shows that it is so still.
fn filled(rows: &[Named], is_known: bool) -> BTreeSet<u32> {
    let mut filled = BTreeSet::new();
    for run in rows.chunk_by(|above, row| runs_on(&above.says, &row.says)) {
        let changed: Vec<(&Named, &String)> = changed(run);
        let is_series = run.iter().any(|row| row.says != run[0].says);
        let machines: BTreeSet<&String> = changed.iter().map(|(_, said)| *said).collect();
        let are_of_one_form = || changed.iter().all(|(row, said)| form(said) == form(&row.says));
        let is_fill = changed.len() >= LEAST_ROWS && are_several(&machines);
        // A log may begin to call its machines by the numbers of the shop.
        if (is_fill || (is_known && run.len() > 1)) && (!is_series || are_of_one_form()) {
            filled.extend(changed.iter().map(|(row, _)| row.row));
        }
    }
    let mut apart: BTreeMap<&String, Vec<(&Named, &String)>> = BTreeMap::new();
    for one in changed(rows) {
        apart.entry(&one.0.says).or_default().push(one);
    }
    for changed in apart.values().filter(|changed| changed.len() >= LEAST_APART) {
        let machines: BTreeSet<&String> = changed.iter().map(|(_, said)| *said).collect();
        if machines.len() >= LEAST_MACHINES {
            filled.extend(changed.iter().map(|(row, _)| row.row));
        }
    }
    filled
}

fn changed(rows: &[Named]) -> Vec<(&Named, &String)> {
    rows.iter().filter_map(|row| Some((row, row.said.as_ref()?))).collect()
}

/// Whether these are names of several machines: one may well have had two, a stock number and then a mark, or a mark and
/// a slip of it, and all of them be put right.
fn are_several(names: &BTreeSet<&String>) -> bool {
    let are_two = |one: &String, other: &String| form(one) == form(other) && !is_near(one, other);
    names.len() >= LEAST_MACHINES || names.iter().any(|one| names.iter().any(|other| are_two(one, other)))
}

/// Where in a name its letters and figures stand.
pub(super) fn form(name: &str) -> Vec<bool> {
    name.chars().map(|letter| letter.is_ascii_digit()).collect()
}
