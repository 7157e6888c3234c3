//! What a machine was known by before its row said something else: a mark that is blank or mistyped for a day still names it.

use std::collections::{BTreeMap, BTreeSet};

use super::handbook::same_name;
use super::near_marks::slip_between;
use super::{Identity, MachineId, MachineRow, Record, Records};
use crate::origin::{Entry, Origin};

/// A name that no list of machines gives today, and the machine whose row gave it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct KnownAs {
    /// The name that it had.
    pub was: MachineId,
    /// By which name its row is found again, which stands in it today.
    pub by: MachineId,
}

/// A list's row about a machine.
type Row<'r> = (&'r Identity, &'r MachineRow);

/// The names that a list of machines gave once and does not give now, of machines that stand in it still.
///
/// A row is a machine's still where it shares a name with its earlier one and says nothing else of what the machine is and
/// whose; or where it stands in its place and all but a slip in the one name is the same, with customer or handover. Where
/// a mark moves to another row, or a row is written over with another machine, nothing is known of it.
pub fn known_as(before: &Records, now: &Records) -> Vec<KnownAs> {
    let now: Vec<Row<'_>> = rows(now).collect();
    let mut by_name: BTreeMap<MachineId, Vec<usize>> = BTreeMap::new();
    let mut by_place: BTreeMap<&Origin, usize> = BTreeMap::new();
    for (place, (identity, _)) in now.iter().enumerate() {
        for name in MachineId::each(identity) {
            by_name.entry(name).or_default().push(place);
        }
        by_place.extend(identity.cell().map(|cell| (cell, place)));
    }
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
        let by = match (places.first(), shared.first()) {
            (Some(place), Some((_, by))) if places.len() == 1 && is_one_machine(was, now[*place]) => {
                Some(by.clone())
            }
            (None, None) => was
                .0
                .cell()
                .and_then(|cell| by_place.get(cell))
                .map(|place| now[*place])
                .filter(|now| is_slip_in_row(was, *now))
                .and_then(|(identity, _)| MachineId::each(identity).next()),
            _ => None,
        };
        if let Some(by) = by {
            known.extend(missing.into_iter().map(|was| KnownAs { was, by: by.clone() }));
        }
    }
    known
}

fn rows(records: &Records) -> impl Iterator<Item = Row<'_>> {
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
fn agreed(one: &MachineRow, other: &MachineRow) -> [Option<bool>; 5] {
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
