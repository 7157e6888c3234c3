//! Two lists of machines of which one has lost the leading zeros of its stock numbers: they are the same machines.

use std::collections::{BTreeMap, BTreeSet};

use crate::origin::{Entry, Origin};
use crate::problem::{Problem, counted};
use crate::yard::{Identity, MachineRow, StockNumber};

/// One spelling of a stock number: the cells that have it.
type Spelled<'r> = BTreeMap<&'r StockNumber, Vec<(&'r Identity, &'r Origin)>>;

/// Gives the rows of one list the stock numbers of the other one, where two spellings differ by leading zeros only, each
/// stands in its own sheet, and no mark or frame number speaks against it. It is said once for each file.
pub(super) fn put_back(rows: &mut [(Identity, MachineRow)], problems: &mut Vec<Problem>) {
    let mut alike: BTreeMap<&str, Spelled<'_>> = BTreeMap::new();
    for (identity, _) in rows.iter() {
        let Some(Entry { value, origin }) = &identity.stock_no else { continue };
        let spelled = alike.entry(value.without_zeros()).or_default();
        spelled.entry(value).or_default().push((identity, origin));
    }
    let mut meant: BTreeMap<StockNumber, StockNumber> = BTreeMap::new();
    let mut files: BTreeMap<String, BTreeMap<Origin, (StockNumber, StockNumber)>> = BTreeMap::new();
    for spelled in alike.into_values().filter(are_one_machine) {
        // The one with more zeros is the number as it was given.
        let Some((whole, _)) = spelled.iter().max_by_key(|(number, _)| number.as_str().len()) else {
            continue;
        };
        for (short, cells) in spelled.iter().filter(|(number, _)| *number != whole) {
            meant.insert((*short).clone(), (*whole).clone());
            for (_, cell) in cells {
                let of_file = files.entry(cell.name.file.clone()).or_default();
                of_file.insert((*cell).clone(), ((*short).clone(), (*whole).clone()));
            }
        }
    }
    for (identity, _) in rows.iter_mut() {
        let Some(entry) = &mut identity.stock_no else { continue };
        if let Some(whole) = meant.get(&entry.value) {
            entry.value = whole.clone();
        }
    }
    problems.extend(files.into_values().filter_map(of_file));
}

/// Whether two spellings are of one machine: each in a sheet of its own, and nothing that both rows name differs.
fn are_one_machine(spelled: &Spelled<'_>) -> bool {
    let mut sides = spelled.values();
    let (Some(one), Some(other), None) = (sides.next(), sides.next(), sides.next()) else { return false };
    let sheets = |side: &[(&Identity, &Origin)]| -> BTreeSet<_> {
        side.iter().map(|(_, cell)| cell.name.clone()).collect()
    };
    let agree = |(one, other): (&Identity, &Identity)| {
        let [mark, frame_no, _] = one.names();
        let [other_mark, other_frame_no, _] = other.names();
        let same = |one: Option<&str>, other: Option<&str>| one.is_none() || other.is_none() || one == other;
        same(mark, other_mark) && same(frame_no, other_frame_no)
    };
    let mut pairs = one.iter().flat_map(|(one, _)| other.iter().map(move |(other, _)| (*one, *other)));
    sheets(one).is_disjoint(&sheets(other)) && pairs.all(agree)
}

/// What is said of a file.
fn of_file(cells: BTreeMap<Origin, (StockNumber, StockNumber)>) -> Option<Problem> {
    let (cell, (written, listed)) = cells.first_key_value()?;
    let what = format!(
        "the stock number {written} is taken for {listed}, which another list has and which differs by leading zeros only"
    );
    let help = format!(
        "Write it alike in both sheets, in cells of text; {} of this file read so.",
        counted(cells.len(), "row")
    );
    Some(Problem::note(cell, what, help).with_value(written.to_string()))
}
