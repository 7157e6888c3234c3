//! Machines of a list that have other marks now: a batch of them may be corrected in a morning, and what only a slip of the
//! spreadsheet makes is held.

use std::collections::{BTreeMap, BTreeSet};

use super::exchanged;
use super::moved::Moved;
use super::other_values::{key, of_column};
use super::values::{self, Altered};
use super::{ColumnRead, MatchedRows, Side, Terms};
use crate::yard::Field;

/// Fewer marks may be those of other machines, or run on from the row above, by somebody's hand. Our decision.
const LEAST_MARKS: usize = 3;

/// Of fewer machines most may well have new marks in a day's work. Our decision.
const LEAST_ROWS: usize = 8;

/// So many signs are put right in a mark that was mistyped. Our decision.
const SIGNS: usize = 2;

/// What marks have become, machine by machine.
#[derive(Default)]
struct Became {
    /// Those of machines of which something else says that they are the same.
    altered: Altered,
    /// Those of them that another machine had before.
    exchanged: usize,
    /// Those of them that are the mark of the row above or below once more, or the next of its numbers.
    filled: usize,
    /// All that are no other writing of what they were.
    replaced: Altered,
}

/// Looks whether the marks of a list were filled down, exchanged among its rows, or replaced in most of them, where the
/// machines are the same by their other numbers.
pub(super) fn find(
    before: &Side<'_>,
    now: &Side<'_>,
    terms: &Terms<'_>,
    is_told: impl Fn(usize) -> bool,
) -> Option<Moved> {
    let was = before.read_as.columns.iter().find(|column| column.field == Field::Mark)?;
    let columns = exchanged::same(was, now).filter(|(_, column)| !is_told(column.index))?;
    let rows = MatchedRows::of(before, now, &[was.index]);
    let is_named_else = rows.are_matched_by_identity(before);
    let Became { altered, exchanged, filled, mut replaced } = became(columns, (before, now), &rows, terms);
    if !is_named_else {
        // Marks that were sorted without the rest are told of as cells that moved.
        if exchanged > filled {
            return None;
        }
        // By nothing but the mark are the logs' rows known to be the machine's.
        replaced = altered;
    }
    let (least, are_replaced) = if terms.is_known(&key(columns.1)) {
        (1, replaced.speak_against())
    } else {
        (LEAST_MARKS, replaced.rows >= LEAST_ROWS && replaced.are_most())
    };
    let told = if are_replaced { replaced } else { altered };
    (exchanged >= least || filled >= least || are_replaced).then(|| of_column(columns, told, now, terms))
}

fn became(
    columns: (&ColumnRead, &ColumnRead),
    (before, now): (&Side<'_>, &Side<'_>),
    rows: &MatchedRows<'_>,
    terms: &Terms<'_>,
) -> Became {
    let (was, column) = columns;
    let shows_it = |column: &&ColumnRead| {
        matches!(column.field, Field::FrameNumber | Field::Customer | Field::Telephone)
    };
    let showing: Vec<(&ColumnRead, &ColumnRead)> =
        before.read_as.columns.iter().filter(shows_it).filter_map(|was| exchanged::same(was, now)).collect();
    let had: BTreeSet<String> =
        before.body().iter().filter_map(|row| values::said(row, was, before, terms)).collect();
    let listed = now.body();
    let listed: BTreeMap<u32, String> =
        listed.iter().filter_map(|row| Some((row.number, values::said(row, column, now, terms)?))).collect();
    let is_filled = |row: u32, mark: &str| {
        let above = row.checked_sub(1).and_then(|row| listed.get(&row));
        let below = listed.get(&(row + 1));
        above.is_some_and(|above| runs_on(above, mark)) || below.is_some_and(|below| runs_on(mark, below))
    };
    let mut became = Became::default();
    for (earlier, later) in rows.pairs() {
        let both = |(was, column): (&ColumnRead, &ColumnRead)| {
            values::said(earlier, was, before, terms).zip(values::said(later, column, now, terms))
        };
        let Some((said, says)) = both(columns) else { continue };
        let stands = |columns| both(columns).is_some_and(|(said, says)| said == says);
        let is_other = said != says && showing.iter().any(|columns| stands(*columns));
        became.altered.count(is_other);
        became.exchanged += usize::from(is_other && had.contains(&says));
        became.filled += usize::from(is_other && is_filled(later.number, &says));
        became.replaced.count(!is_near(&said, &says));
    }
    became
}

/// Whether a mark is the one above it once more, or the next of its numbers.
pub(super) fn runs_on(above: &str, mark: &str) -> bool {
    let (above, mark) = (parts(above), parts(mark));
    let is_next = |one: &str, next: &str| {
        let figure = |part: &str| part.parse::<u64>().ok();
        figure(one).zip(figure(next)).is_some_and(|(one, next)| one.checked_add(1) == Some(next))
    };
    let mut others = above.iter().zip(&mark).filter(|(one, next)| one != next);
    let other = others.next();
    above.len() == mark.len() && others.next().is_none() && other.is_none_or(|(one, next)| is_next(one, next))
}

/// The letters and the figures of a mark, in their order.
fn parts(mark: &str) -> Vec<String> {
    let letters: Vec<char> = mark.chars().collect();
    let stretches = letters.chunk_by(|one, next| one.is_ascii_digit() == next.is_ascii_digit());
    stretches.map(String::from_iter).collect()
}

/// Whether one mark is another writing of the other: one or two of its signs are others, too many or left out.
pub(super) fn is_near(one: &str, other: &str) -> bool {
    strsim::levenshtein(one, other) <= SIGNS
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_runs_on_from_the_same_one_and_from_the_one_with_the_number_before() {
        assert!(runs_on("AB12CDE", "AB12CDE"));
        assert!(runs_on("AB12CDE", "AB13CDE"));
        assert!(runs_on("ABC999", "ABC1000"));
        assert!(!runs_on("AB12CDE", "AB14CDE"));
        assert!(!runs_on("AB12CDE", "AB13CDF"));
        assert!(!runs_on("AB13CDE", "AB12CDE"));
    }

    #[test]
    fn a_mark_of_which_one_or_two_signs_are_others_is_another_writing_of_it() {
        for near in ["AB12CDE", "AB12CED", "A812CD3", "AB12CD", "AAB12CDE"] {
            assert!(is_near("AB12CDE", near), "{near}");
        }
        for other in ["AB12FGH", "XY12CED", "AB1", ""] {
            assert!(!is_near("AB12CDE", other), "{other}");
        }
    }
}
