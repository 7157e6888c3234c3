//! Rows of a log that name machines of which it knew nothing, and say all else as before: as after a find and replace in
//! the marks.

use std::collections::{BTreeMap, BTreeSet};

use super::exchanged;
use super::filled_marks::form;
use super::moved::Moved;
use super::values::{self, Altered, NEARLY_ALL, SOME};
use super::{Change, ColumnRead, Lasts, MatchedRows, Side, Terms, column_in_words};
use crate::problem::Problem;
use crate::sheets::Row;
use crate::yard::Field;
use crate::yard::near_marks::{Slip, slip_between};

/// Fewer rows, or rows of fewer machines, may be put right in a day's work. Our decision.
const LEAST_ROWS: usize = 5;
const LEAST_MACHINES: usize = 3;

/// Looks for a column of marks, frame numbers or stock numbers that says so.
pub(super) fn find(before: &Side<'_>, now: &Side<'_>, terms: &Terms<'_>) -> Option<Moved> {
    let mut names = before.read_as.columns.iter().filter(|column| column.field.is_identity());
    names.find_map(|was| {
        let (_, column) = exchanged::same(was, now)?;
        let key = format!("other machines {}", column.header);
        let altered = others((before, was), (now, column), terms, terms.is_known(&key))?;
        let what = format!(
            "{} of {} rows in {} `{}` name another machine than before, of which this log knew nothing, and say all else as \
             before; what the same rows said before stands",
            altered.others,
            altered.rows,
            column_in_words(column.index),
            column.header
        );
        let problem = Problem::error(now.table.whole(), what, terms.look_at(&key, &[column]));
        Some(Moved {
            change: Change { key, lasts: Lasts::Held, problem },
            columns: vec![(was.index, column.index)],
            named: vec![column.header.clone()],
        })
    })
}

/// How many of the same rows name such a machine; `None` where that may be a day's work.
fn others(
    (before, was): (&Side<'_>, &ColumnRead),
    (now, column): (&Side<'_>, &ColumnRead),
    terms: &Terms<'_>,
    is_known: bool,
) -> Option<Altered> {
    // Without a day many rows of other machines are alike.
    before.read_as.columns.iter().find(|column| column.field == Field::Day)?;
    let rows = MatchedRows::alike_but(before, now, &[was.index]);
    let had: BTreeSet<String> =
        before.body().iter().filter_map(|row| values::said(row, was, before, terms)).collect();
    let both = |(earlier, later): (Row<'_>, Row<'_>)| {
        Some((values::said(earlier, was, before, terms)?, values::said(later, column, now, terms)?))
    };
    let (stood, changed): (Vec<_>, Vec<_>) =
        rows.pairs().filter_map(both).partition(|(said, says)| said == says);
    let all = stood.len() + changed.len();
    let stood: BTreeSet<String> = stood.into_iter().map(|(says, _)| says).collect();
    let are_few = changed.len() as f64 <= SOME * all as f64;
    let is_put_right = |said: &str, says: &str| {
        // Signs that look alike are put right, mark by mark.
        let is_writing = slip_between(said.as_bytes(), says.as_bytes()) == Some(Slip::Usual);
        is_writing || (are_few && begins_as_others_do(said, says, &stood))
    };
    let mut altered = Altered { rows: all, others: 0 };
    let mut became: BTreeSet<(String, String)> = BTreeSet::new();
    let mut replaced: BTreeMap<(String, String), usize> = BTreeMap::new();
    let mut of_one_form = 0;
    for (said, says) in changed {
        if !had.contains(&says) && !is_put_right(&said, &says) {
            altered.others += 1;
            of_one_form += usize::from(form(&said) == form(&says));
            *replaced.entry(replacement(&said, &says)).or_default() += 1;
            became.insert((said, says));
        }
    }
    let least = if is_known { 1 } else { LEAST_ROWS };
    let are_nearly_all = |count: usize| count as f64 >= NEARLY_ALL * altered.others as f64;
    let are_many = became.len() >= LEAST_MACHINES && replaced.values().any(|count| are_nearly_all(*count));
    // A log may begin to call its machines by their marks, where it had their stock numbers.
    let are_most = became.len() > 1 && altered.are_most() && are_nearly_all(of_one_form);
    (altered.others >= least && (is_known || are_many || are_most)).then_some(altered)
}

/// What of a name has become something else, and what.
fn replacement(said: &str, says: &str) -> (String, String) {
    let (said, says): (Vec<char>, Vec<char>) = (said.chars().collect(), says.chars().collect());
    let middle =
        |name: &[char], (front, back): (usize, usize)| name[front..name.len() - back].iter().collect();
    let alike = alike(&said, &says);
    (middle(&said, alike), middle(&says, alike))
}

/// How many signs at the front and at the back two names have in common.
fn alike(said: &[char], says: &[char]) -> (usize, usize) {
    let shorter = said.len().min(says.len());
    let alike = |pair: &(&char, &char)| pair.0 == pair.1;
    let front = said.iter().zip(says).take_while(alike).count();
    let back = said.iter().rev().zip(says.iter().rev()).take_while(alike).count().min(shorter - front);
    (front, back)
}

/// Whether a name begins, as far as it has become another one, as names do that stood, and did not before: so a slip is put
/// right.
fn begins_as_others_do(said: &str, says: &str, stood: &BTreeSet<String>) -> bool {
    let (said, says): (Vec<char>, Vec<char>) = (said.chars().collect(), says.chars().collect());
    let (_, back) = alike(&said, &says);
    let begins = |name: &[char]| {
        let beginning: String = name[..name.len() - back].iter().collect();
        stood.range(beginning.clone()..).next().is_some_and(|name| name.starts_with(&beginning))
    };
    begins(&says) && !begins(&said)
}
