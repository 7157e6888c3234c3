//! What a machine was known by before its row said something else: a mark that is blank or mistyped for a day still names it.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use super::handbook::same_name;
use super::handed_on::{self, HandedOn};
use super::near_marks::slip_between;
use super::{Identity, MachineId, MachineRow, Record, Records, SameRest, Sureness};
use crate::origin::{Entry, Origin};

/// A name that no list of machines gives today, and the machine whose row gave it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct KnownAs {
    /// The name that it had.
    pub was: MachineId,
    /// By which name its row is found again, which stands in it today.
    pub by: MachineId,
    /// How sure that is; what is only likely counts for nothing.
    pub sureness: Sureness,
}

/// A list's row about a machine.
pub(super) type Row<'r> = (&'r Identity, &'r MachineRow);

/// The names that a list of machines gave once and does not give now, of machines that stand in it still.
///
/// A row is a machine's still where it shares a name with its earlier one and says nothing else of what the machine is and
/// whose; where it stands in its place and all but a slip in the one name is the same, with customer or handover; or where
/// all the rest of it is the same, as in no other row, and its name is new. Where a mark moves to another row that is not among
/// `handed_on`, or a row is written over with another machine, nothing is known of it. `same_rest` pairs the rows by their rest.
pub fn known_as(
    before: &Records,
    now: &Records,
    same_rest: impl Fn() -> SameRest,
    handed_on: &[HandedOn],
) -> Vec<KnownAs> {
    let moved_on = handed_on::marks(handed_on);
    let mut were: BTreeSet<MachineId> =
        rows(before).flat_map(|(identity, _)| MachineId::each(identity)).collect();
    were.retain(|name| !moved_on.contains(name));
    let now: Vec<Row<'_>> = rows(now).collect();
    let mut by_name: BTreeMap<MachineId, Vec<usize>> = BTreeMap::new();
    let mut by_place: BTreeMap<&Origin, usize> = BTreeMap::new();
    for (place, (identity, _)) in now.iter().enumerate() {
        for name in MachineId::each(identity) {
            by_name.entry(name).or_default().push(place);
        }
        by_place.extend(identity.cell().map(|cell| (cell, place)));
    }
    let by_rest = OnceCell::new();
    let of_rest = |was: Row<'_>| -> Option<(Row<'_>, Sureness)> {
        let by_rest = by_rest.get_or_init(|| by_rest_of(&now, &same_rest()));
        let (place, sureness) = *by_rest.get(&was.0.cell()?.row)?;
        is_another_name(was.0, now[place].0, &were).then_some((now[place], sureness))
    };
    let mut known = Vec::new();
    for was in rows(before) {
        let missing: Vec<MachineId> =
            MachineId::each(was.0).filter(|name| !by_name.contains_key(name)).collect();
        if missing.is_empty() {
            continue;
        }
        let shared = MachineId::each(was.0).filter_map(|name| Some((by_name.get(&name)?, name)));
        let shared: Vec<(&Vec<usize>, MachineId)> = shared.collect();
        let places: BTreeSet<usize> = shared.iter().flat_map(|(places, _)| (*places).clone()).collect();
        let by_its_rest = || {
            let (row, sureness) = of_rest(was)?;
            let is_its = |place: &usize| std::ptr::eq(now[*place].0, row.0);
            let by = shared.first().map(|(_, by)| by.clone()).or_else(|| MachineId::each(row.0).next())?;
            places.iter().all(is_its).then_some((by, sureness))
        };
        let by = match (places.first(), shared.first()) {
            (Some(place), Some((_, by))) if places.len() == 1 && is_one_machine(was, now[*place]) => {
                Some((by.clone(), Sureness::Named))
            }
            (None, None) => {
                let in_place = was.0.cell().and_then(|cell| by_place.get(cell)).map(|place| now[*place]);
                let slip = in_place.filter(|now| is_slip_in_row(was, *now));
                let by_slip = slip.and_then(|(identity, _)| MachineId::each(identity).next());
                by_slip.map(|by| (by, Sureness::Named)).or_else(by_its_rest)
            }
            _ => by_its_rest(),
        };
        if let Some((by, sureness)) = by {
            known.extend(missing.into_iter().map(|was| KnownAs { was, by: by.clone(), sureness }));
        }
    }
    known
}

/// By the number of an earlier row the row that says the rest as it did.
fn by_rest_of(now: &[Row<'_>], same_rest: &SameRest) -> BTreeMap<u32, (usize, Sureness)> {
    let pair = |(place, (identity, _)): (usize, &Row<'_>)| {
        let (before, sureness) = same_rest.before(identity.cell()?.row)?;
        Some((before, (place, sureness)))
    };
    now.iter().enumerate().filter_map(pair).collect()
}

/// Whether a row gives its machine another mark, and no number of it is against that: of two frame numbers, two stock
/// numbers or a mark that another row gave before it is another machine's row.
fn is_another_name(was: &Identity, now: &Identity, were: &BTreeSet<MachineId>) -> bool {
    let [_, frame_was, stock_was] = was.names();
    let [_, frame_is, stock_is] = now.names();
    let stands = |was: Option<&str>, is: Option<&str>| was.zip(is).is_none_or(|(was, is)| was == is);
    let own: BTreeSet<MachineId> = MachineId::each(was).collect();
    let is_new = MachineId::each(now).all(|name| own.contains(&name) || !were.contains(&name));
    stands(frame_was, frame_is) && stands(stock_was, stock_is) && is_new
}

/// The rows about machines.
pub(super) fn rows(records: &Records) -> impl Iterator<Item = Row<'_>> {
    records.records.iter().filter_map(|(identity, record)| match record {
        Record::Machine(row) => Some((identity, &**row)),
        _ => None,
    })
}

/// Whether two rows that share a name are about one machine: they share its frame number; or its other names are blank or a
/// slip apart, nothing in the rows says otherwise, and whose it is or since when says so. A stock number alone is given to
/// the next machine, and a mark one letter on is that one's.
fn is_one_machine((was, was_row): Row<'_>, (now, now_row): Row<'_>) -> bool {
    let [_, frame_was, _] = was.names();
    let [_, frame_is, _] = now.names();
    let has_its_frame = frame_was.is_some() && frame_was == frame_is;
    let are_slips = was.names().into_iter().zip(now.names()).all(|(was, now)| match (was, now) {
        (Some(was), Some(now)) => is_same_or_slip(was, now),
        _ => true,
    });
    let agreed = agreed(was_row, now_row);
    let [_, _, customer, registered, handover] = agreed;
    let is_its_own = [customer, registered, handover].contains(&Some(true)) || was_row == now_row;
    !agreed.contains(&Some(false)) && (has_its_frame || (are_slips && is_its_own))
}

/// Whether a row that has no name in common with the one that stood there says all else the same.
fn is_slip_in_row((was, was_row): Row<'_>, (now, now_row): Row<'_>) -> bool {
    let mut names = was.names().into_iter().zip(now.names());
    let is_near = |(was, now): (Option<&str>, Option<&str>)| match (was, now) {
        (Some(was), Some(now)) => is_same_or_slip(was, now),
        (None, None) => true,
        _ => false,
    };
    names.all(is_near) && was_row == now_row && (was_row.customer.is_some() || was_row.handover.is_some())
}

fn is_same_or_slip(one: &str, other: &str) -> bool {
    one == other || slip_between(one.as_bytes(), other.as_bytes()).is_some()
}

/// Of what a machine is and whose, whether two rows say the same; `None` where one of them says nothing.
pub(super) fn agreed(one: &MachineRow, other: &MachineRow) -> [Option<bool>; 5] {
    let words = |word: fn(&MachineRow) -> &Option<Entry<String>>| {
        Some(same_name(&word(one).as_ref()?.value, &word(other).as_ref()?.value))
    };
    let days = |day: fn(&MachineRow) -> &Option<Entry<jiff::civil::Date>>| {
        Some(day(one).as_ref()?.value == day(other).as_ref()?.value)
    };
    [
        words(|row| &row.make),
        words(|row| &row.model),
        words(|row| &row.customer),
        days(|row| &row.registered),
        days(|row| &row.handover),
    ]
}
