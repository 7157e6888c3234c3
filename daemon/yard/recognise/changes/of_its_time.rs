//! The export from before a change is read by what counted in its time: a line that says what figures count in now says
//! nothing of those that stood there then.

use super::meanings::{Pair, unit_key};
use super::turned::turned_key;
use super::{Change, ColumnRead, Lasts, MatchedRows, ReadAs, Side, Terms, at_the_top};
use crate::problem::Problem;
use crate::settings::DateOrder;
use crate::sheets::Table;
use crate::units::DistanceUnit;
use crate::yard::days::ColumnOrder;

const ORDERS: [DateOrder; 2] = [DateOrder::DayFirst, DateOrder::MonthFirst];
const UNITS: [DistanceUnit; 2] = [DistanceUnit::Miles, DistanceUnit::Kilometres];

/// What is noted of a column whose figures counted in that unit before a change that the owner has agreed.
fn before_key(unit: DistanceUnit, column: &ColumnRead) -> String {
    format!("{} before {}", unit.plural(), column.header)
}

/// What a column counted in before a change that the owner has agreed, where that is noted and the export from before it
/// is still the one that is compared.
pub(super) fn noted_unit(column: &ColumnRead, terms: &Terms<'_>) -> Option<DistanceUnit> {
    UNITS.into_iter().filter(|_| terms.is_kept).find(|unit| terms.is_known(&before_key(*unit, column)))
}

/// Which of day and month came first in a column before a change that the owner has agreed, in the same way.
pub(super) fn noted_order(column: &ColumnRead, terms: &Terms<'_>) -> Option<DateOrder> {
    let mut orders = ORDERS.into_iter().filter(|_| terms.is_kept);
    orders.find(|order| terms.is_known(&order_before_key(*order, column)))
}

fn order_before_key(order: DateOrder, column: &ColumnRead) -> String {
    format!("{} before {}", order.written(), column.header)
}

/// Has the days of the earlier export be read in the order of their time where they do not prove it themselves, and gives
/// what is to be noted of it.
pub(super) fn read_in_its_order(
    read_before: &mut ReadAs,
    (now, read_now): (&Table, &ReadAs),
    terms: &Terms<'_>,
) -> Vec<Change> {
    let mut changes = Vec::new();
    for column in read_now.columns.iter().filter(|column| column.holds_days()) {
        let agreed = || {
            let said = terms.order_said_of(column).filter(|_| terms.is_kept)?;
            terms.is_known(&turned_key(said, column)).then_some(said.other())
        };
        let Some(order) = noted_order(column, terms).or_else(agreed) else { continue };
        let is_it = |was: &&mut ColumnRead| was.field == column.field && was.header == column.header;
        for was in read_before.columns.iter_mut().filter(is_it) {
            if was.proven_order.is_none() {
                was.meaning.order = ColumnOrder::Settled(order);
            }
        }
        let what = format!("the dates in `{}` had the {} before", column.header, order.written());
        let problem = at_the_top(Problem::note(now.whole(), what, ""));
        changes.push(Change { key: order_before_key(order, column), lasts: Lasts::SaidRight, problem });
    }
    changes
}

/// Has the columns of the earlier export count in what they counted in then, and gives what is to be noted of it.
pub(super) fn read_in_its_units(
    (before, read_before): (&Table, &mut ReadAs),
    (now, read_now): (&Table, &ReadAs),
    terms: &Terms<'_>,
) -> Vec<Change> {
    let is_known = |column: &&ColumnRead| {
        column.is_distance() && (noted_unit(column, terms).is_some() || terms.is_known(&unit_key(column)))
    };
    let known: Vec<&ColumnRead> = read_now.columns.iter().filter(is_known).collect();
    if known.is_empty() {
        return Vec::new();
    }
    let (Some(side), Some(side_now)) = (Side::of(before, read_before), Side::of(now, read_now)) else {
        return Vec::new();
    };
    let unit_of = |column: &ColumnRead| {
        let was = side
            .read_as
            .columns
            .iter()
            .find(|was| was.field == column.field && was.header == column.header)?;
        let agreed = || {
            let rows = MatchedRows::of(&side, &side_now, &[was.index]);
            let pair = Pair::of((&side, &side_now), (was, column), terms, rows);
            let said = terms.unit_said_of(column).filter(|_| terms.is_kept)?;
            pair.unit_stays_changed().filter(|now| *now == said).map(DistanceUnit::other)
        };
        Some((was.index, noted_unit(column, terms).or_else(agreed)?))
    };
    let units: Vec<_> = known.iter().map(|column| unit_of(column)).collect();
    let mut changes = Vec::new();
    for (column, unit) in known.into_iter().zip(units) {
        let Some((index, unit)) = unit else { continue };
        for was in read_before.columns.iter_mut().filter(|was| was.index == index) {
            was.meaning.distance_unit = Some(unit);
        }
        let what = format!("the distances in `{}` were in {} before", column.header, unit.plural());
        let problem = at_the_top(Problem::note(now.whole(), what, ""));
        changes.push(Change { key: before_key(unit, column), lasts: Lasts::SaidRight, problem });
    }
    changes
}
