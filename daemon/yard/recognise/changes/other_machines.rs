//! Rows of a log that name machines of which it knew nothing, and say all else as before: as after a find and replace in
//! the marks.

use std::collections::{BTreeMap, BTreeSet};

use super::exchanged;
use super::moved::Moved;
use super::values::{self, Altered, NEARLY_ALL};
use super::{Change, ColumnRead, Lasts, MatchedRows, Side, Terms, column_in_words};
use crate::problem::Problem;
use crate::yard::Field;

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
    let mut altered = Altered::default();
    let mut became: BTreeSet<(String, String)> = BTreeSet::new();
    let mut replaced: BTreeMap<(String, String), usize> = BTreeMap::new();
    let mut of_one_form = 0;
    for (earlier, later) in rows.pairs() {
        let both = (values::said(earlier, was, before, terms), values::said(later, column, now, terms));
        let (Some(said), Some(says)) = both else { continue };
        let is_other = !had.contains(&says);
        altered.count(is_other);
        if is_other {
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

/// Where in a name its letters and figures stand.
fn form(name: &str) -> Vec<bool> {
    name.chars().map(|letter| letter.is_ascii_digit()).collect()
}

/// What of a name has become something else, and what.
fn replacement(said: &str, says: &str) -> (String, String) {
    let (said, says): (Vec<char>, Vec<char>) = (said.chars().collect(), says.chars().collect());
    let shorter = said.len().min(says.len());
    let alike = |pair: &(&char, &char)| pair.0 == pair.1;
    let front = said.iter().zip(&says).take_while(alike).count();
    let back = said.iter().rev().zip(says.iter().rev()).take_while(alike).count().min(shorter - front);
    let middle = |name: &[char]| name[front..name.len() - back].iter().collect();
    (middle(&said), middle(&says))
}
