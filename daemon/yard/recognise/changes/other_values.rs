//! What a machine is, whose it is, and how far and how fast a ride went does not change for most of them in a day: a column
//! that says so of the same rows holds something else.

use std::collections::{BTreeMap, BTreeSet};

use super::meanings;
use super::moved::Moved;
use super::other_marks;
use super::values::{self, Altered};
use super::{Change, ColumnRead, Header, Lasts, MatchedRows, Side, Terms, column_in_words};
use crate::problem::Problem;
use crate::yard::field::Shape;
use crate::yard::{Field, RecordKind};

/// Looks for columns that say other things in most of the same rows; those of which is told already are left out.
pub(super) fn find<'s>(
    before: &'s Side<'_>,
    now: &'s Side<'_>,
    terms: &Terms<'_>,
    told: &[usize],
) -> Vec<Moved> {
    let is_log = before.read_as.kind != Some(RecordKind::Machine);
    let rows = MatchedRows::of(before, now, &[]);
    let is_asked = |was: &&ColumnRead| {
        // In a log each column is asked about by the rest of the row, and the marks of a list by themselves.
        if is_log {
            values::stands_in_a_log(was.field)
        } else {
            was.field != Field::Mark && values::stands(was.field) && !rows.are_matched_by(was.index)
        }
    };
    let pair = |was: &'s ColumnRead| {
        let now = now.read_as.columns.iter().find(|now| now.field == was.field)?;
        let is_same = Header::new(&was.header).is_same(&Header::new(&now.header));
        // What the machines are numbered with may be new where nothing but the rest tells that they are the same.
        let is_certain = !was.field.is_identity() || rows.are_matched_by_identity(before);
        (is_same && is_certain && !told.contains(&now.index)).then_some((was, now))
    };
    let asked = before.read_as.columns.iter().filter(is_asked).filter_map(pair);
    let found = asked.filter_map(|(was, column)| {
        // That its figures count in another unit the owner has said.
        let is_of_unit = terms.is_known(&meanings::unit_key(column)) && terms.unit_said_of(column).is_some();
        // Of several rides of a machine on one day the rest of the row tells which is which.
        let by_rest = is_log.then(|| MatchedRows::alike_but(before, now, &[was.index]));
        let by_rest = by_rest.filter(|by_rest| by_rest.pairs().count() > rows.pairs().count());
        let altered = other_values((before, was), (now, column), by_rest.as_ref().unwrap_or(&rows), terms);
        let is_certain = if terms.is_known(&key(column)) {
            altered.speak_against()
        } else {
            altered.rows >= least_rows(was.field) && altered.are_most() && !is_of_unit
        };
        is_certain.then(|| of_column((was, column), altered, now, terms))
    });
    let mut found: Vec<Moved> = found.collect();
    let is_told = |place: usize| told.contains(&place) || found.iter().any(|one| has_place(one, place));
    let of_marks = (!is_log).then(|| other_marks::find(before, now, terms, is_told)).flatten();
    found.extend(of_marks);
    found
}

fn has_place(one: &Moved, place: usize) -> bool {
    one.columns.iter().any(|(_, is)| *is == place)
}

/// Fewer rows show nothing, though all of them changed.
fn least_rows(field: Field) -> usize {
    /// Two customers may well have another telephone within a week, and no two machines another customer. Our decision.
    const OF_TELEPHONES: usize = 3;
    /// What was done, when and by whom is put right by hand in all of a few rows. Our decision.
    const OF_EVENTS: usize = 5;
    match field {
        Field::Telephone => OF_TELEPHONES,
        Field::Day | Field::Done | Field::Item | Field::By | Field::OilUsed | Field::Grade => OF_EVENTS,
        _ => 0,
    }
}

fn other_values(
    (before, was): (&Side<'_>, &ColumnRead),
    (now, column): (&Side<'_>, &ColumnRead),
    rows: &MatchedRows<'_>,
    terms: &Terms<'_>,
) -> Altered {
    let mut altered = Altered::default();
    let mut became: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for (earlier, later) in rows.pairs() {
        let said = (values::said(earlier, was, before, terms), values::said(later, column, now, terms));
        let (Some(said), Some(says)) = said else { continue };
        let is_rounded = said.parse().ok().zip(says.parse().ok());
        let is_rounded = is_rounded
            .filter(|_| was.is_distance())
            .is_some_and(|(said, says)| values::is_rounded_alike((was, column), said, says));
        let is_other = !is_rounded && !values::is_alike(&said, &says, was.field.shape());
        altered.count(is_other);
        if is_other {
            became.entry(said).or_default().insert(says);
        }
    }
    let is_in_words = matches!(was.field.shape(), Shape::Words | Shape::Anything);
    let is_renamed =
        is_in_words && is_reworded(&became, altered) && !signs_for_another(&became, (before, was), terms);
    if is_renamed { Altered::default() } else { altered }
}

/// Whether a signature has become that of somebody else who signs in the sheet, too: nobody is called by another one's name.
fn signs_for_another(
    became: &BTreeMap<String, BTreeSet<String>>,
    (before, was): (&Side<'_>, &ColumnRead),
    terms: &Terms<'_>,
) -> bool {
    let is_signature = |field: Field| matches!(field, Field::InspectionBy | Field::QualityBy);
    if !is_signature(was.field) {
        return false;
    }
    let columns: Vec<&ColumnRead> =
        before.read_as.columns.iter().filter(|column| is_signature(column.field)).collect();
    let signed = before.body().iter().flat_map(|row| {
        columns
            .iter()
            .filter_map(move |column| values::said(row, column, before, terms))
            .collect::<Vec<String>>()
    });
    let signed: BTreeSet<String> = signed.collect();
    let mut pairs = became.iter().flat_map(|(said, says)| says.iter().map(move |says| (said, says)));
    pairs.any(|(said, says)| signed.contains(says) && !may_be_one_person(said, says))
}

/// Whether one name may be the other one's first letters, or the initials of it.
fn may_be_one_person(one: &str, other: &str) -> bool {
    /// Initials are so long at the most.
    const INITIALS: usize = 3;
    let (short, long) = if one.len() < other.len() { (one, other) } else { (other, one) };
    let mut letters = long.chars();
    let are_in_it = short.chars().all(|letter| letters.any(|other| other == letter));
    long.starts_with(short)
        || (short.chars().count() <= INITIALS && short.chars().next() == long.chars().next() && are_in_it)
}

/// Whether somebody has only called things by another name: one value that all rows had, or few values of which each
/// has become one other.
fn is_reworded(became: &BTreeMap<String, BTreeSet<String>>, altered: Altered) -> bool {
    /// On the average so many rows say the same thing. Our decision.
    const ROWS_A_VALUE: usize = 2;
    let is_one_for_one = became.values().all(|values| values.len() == 1);
    became.len() < 2 || (is_one_for_one && ROWS_A_VALUE * became.len() <= altered.others)
}

pub(super) fn key(column: &ColumnRead) -> String {
    format!("other values {}", column.header)
}

pub(super) fn of_column(
    (was, column): (&ColumnRead, &ColumnRead),
    altered: Altered,
    now: &Side<'_>,
    terms: &Terms<'_>,
) -> Moved {
    let what = format!(
        "{} of {} rows have another {} in {} `{}` than before; what they said before stands",
        altered.others,
        altered.rows,
        column.field.name(),
        column_in_words(column.index),
        column.header
    );
    let key = key(column);
    let problem = Problem::error(now.table.whole(), what, terms.look_at(&key, &[column]));
    Moved {
        change: Change { key, lasts: Lasts::Held, problem },
        columns: vec![(was.index, column.index)],
        named: vec![column.header.clone()],
    }
}
