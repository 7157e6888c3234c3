//! Marks that were handed on: a customer's private plate that goes from one machine to the next one. What was done under it
//! before is the former machine's still.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::known_as::{Row, is_same_machine, rows};
use super::{MachineId, Records};

/// A mark that another machine has now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HandedOn {
    /// The mark.
    pub mark: MachineId,
    /// Whose it was, by a name that does not change with the mark.
    pub from: Former,
    /// Whose it is.
    pub to: MachineId,
    /// The first day on which the list says so.
    pub on: Date,
}

/// Whose a mark was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Former {
    /// This machine's, which is listed still.
    Machine(MachineId),
    /// Another machine's, and nobody can tell which of today's.
    Unknown,
    /// No machine's of the last list.
    NotListed,
}

/// The marks that a machine of a list has now, which was written on that day, and had not before.
///
/// That it is the same machine its frame number or stock number says, where nothing in its row is against it.
pub fn handed_on(before: &Records, now: &Records, on: Date) -> Vec<HandedOn> {
    let (were, are) = (Listed::of(before), Listed::of(now));
    let mut found = Vec::new();
    for is in rows(now) {
        let (Some(mark), Some(was)) = (mark(is), were.same(is)) else { continue };
        if self::mark(was) == Some(mark.clone()) || !is_same_machine(was, is) {
            continue;
        }
        let Some(to) = lasting(is).next() else { continue };
        let from = match were.by_mark.get(&mark) {
            None => Former::NotListed,
            Some(former) => former
                .and_then(|was| Some((was, are.same(was)?)))
                .filter(|(was, is)| is_same_machine(*was, *is))
                .and_then(|(was, _)| lasting(was).next())
                .filter(|from| *from != to)
                .map_or(Former::Unknown, Former::Machine),
        };
        found.push(HandedOn { mark, from, to, on });
    }
    found
}

/// The rows of a list by their names; `None` under a name that several have.
struct Listed<'r> {
    by_mark: BTreeMap<MachineId, Option<Row<'r>>>,
    by_lasting: BTreeMap<MachineId, Option<Row<'r>>>,
}

impl<'r> Listed<'r> {
    fn of(records: &'r Records) -> Listed<'r> {
        let mut listed = Listed { by_mark: BTreeMap::new(), by_lasting: BTreeMap::new() };
        for row in rows(records) {
            if let Some(name) = mark(row) {
                listed.by_mark.entry(name).and_modify(|there| *there = None).or_insert(Some(row));
            }
            for name in lasting(row) {
                listed.by_lasting.entry(name).and_modify(|there| *there = None).or_insert(Some(row));
            }
        }
        listed
    }

    /// The row with the frame number or stock number of this one.
    fn same(&self, row: Row<'_>) -> Option<Row<'r>> {
        lasting(row).find_map(|name| *self.by_lasting.get(&name)?)
    }
}

fn is_mark(name: &MachineId) -> bool {
    name.as_str().starts_with("mark ")
}

fn mark((identity, _): Row<'_>) -> Option<MachineId> {
    MachineId::each(identity).find(is_mark)
}

/// The names that stay when the mark goes.
fn lasting((identity, _): Row<'_>) -> impl Iterator<Item = MachineId> {
    MachineId::each(identity).filter(|name| !is_mark(name))
}
