//! Finds the kept records that today's sheets have put right: in the cell that said so now stands something else.
//!
//! A row that moved, went, or rolled out of an export is no correction: what stands in its place was known before.

use std::cell::OnceCell;
use std::collections::{BTreeMap, HashMap, HashSet};

use super::records::{Content, kind};
use crate::origin::{Origin, SheetName};
use crate::yard::{Correction, Identity, Record, Records, is_put_back};

/// A kept record that today's sheets do not say.
pub(super) struct Unsaid {
    pub(super) id: i64,
    pub(super) content: Content,
    pub(super) last_seen: String,
    /// Whether its sheet has taken it back.
    pub(super) is_withdrawn: bool,
    /// Whether its sheet need not say it any more.
    pub(super) is_let_go: bool,
    /// The number of its witness.
    pub(super) witness: Option<i64>,
    pub(super) said: (Identity, Record),
}

/// What today's sheets say, with its content.
pub(super) type SaidToday<'c> = (Content, &'c (Identity, Record));

/// A sheet, and what a row of it calls its machine.
type Named<'c> = (&'c SheetName, [Option<&'c str>; 3]);

/// When something that the ledger knows was last seen, and whether its sheet has taken it back since.
pub(super) type LastSeen<'l> = (&'l str, bool);

/// A check that the ledger has seen before.
struct KnownCheck<'c> {
    said: SaidToday<'c>,
    last_seen: String,
    /// Whether its sheet has taken it back since, and says it again now.
    is_withdrawn: bool,
}

/// What today's sheets say, beside what the ledger knows.
pub(super) struct Today<'c> {
    current: &'c Records,
    /// What the ledger has not seen before, by sheet and row.
    new: HashMap<(&'c SheetName, u32), Vec<SaidToday<'c>>>,
    /// What it has seen.
    known: Vec<&'c (Identity, Record)>,
    /// The checks among that by sheet and row.
    known_checks: HashMap<(&'c SheetName, u32), Vec<KnownCheck<'c>>>,
    /// When each sheet was last read before, as far as what it still says shows.
    last_read: HashMap<&'c SheetName, String>,
    /// The machines of what it has seen, by kind; asked for seldom.
    machines_known: OnceCell<HashSet<(Named<'c>, Option<&'static str>)>>,
    /// The machines that rows about the machine itself name; asked for seldom.
    machines_listed: OnceCell<HashSet<Named<'c>>>,
}

impl<'c> Today<'c> {
    /// Asks of each content when it was last seen; `None` for one that the ledger does not know.
    pub(super) fn new<'l>(
        current: &'c Records,
        contents: impl Iterator<Item = SaidToday<'c>>,
        last_seen: impl Fn(&Content) -> Option<LastSeen<'l>>,
    ) -> Today<'c> {
        let mut today = Today {
            current,
            new: HashMap::new(),
            known: Vec::new(),
            known_checks: HashMap::new(),
            last_read: HashMap::new(),
            machines_known: OnceCell::new(),
            machines_listed: OnceCell::new(),
        };
        for (content, said) in contents {
            let Some(cell) = said.0.cell() else { continue };
            match last_seen(&content) {
                None => today.new.entry((&cell.name, cell.row)).or_default().push((content, said)),
                Some(last_seen) => today.take_known((content, said), cell, last_seen),
            }
        }
        today
    }

    fn take_known(&mut self, said: SaidToday<'c>, cell: &'c Origin, (day, is_withdrawn): LastSeen<'_>) {
        self.known.push(said.1);
        if matches!(said.1.1, Record::Check(_)) {
            let in_row = self.known_checks.entry((&cell.name, cell.row)).or_default();
            in_row.push(KnownCheck { said, last_seen: day.to_owned(), is_withdrawn });
        }
        match self.last_read.get_mut(&*cell.name) {
            Some(last) if last.as_str() >= day => {}
            Some(last) => day.clone_into(last),
            None => _ = self.last_read.insert(&cell.name, day.to_owned()),
        }
    }

    /// The day before which nothing that is put right was last seen; `None` when nothing can have been.
    pub(super) fn since(&self) -> Option<&str> {
        let rows = self.new.keys().chain(self.known_checks.keys());
        let sheets = rows.map(|(sheet, _)| self.last_read.get(sheet).map_or("", String::as_str));
        sheets.min()
    }

    /// The kept records that were put right, each with what it says now.
    pub(super) fn corrections(&self, unsaid: &[Unsaid]) -> BTreeMap<i64, Content> {
        if self.new.is_empty() && self.known_checks.is_empty() {
            return BTreeMap::new();
        }
        let mut last_read: HashMap<&SheetName, &str> =
            self.last_read.iter().map(|(sheet, day)| (*sheet, day.as_str())).collect();
        for kept in unsaid {
            if let Some(cell) = kept.said.0.cell() {
                let last = last_read.entry(&cell.name).or_default();
                *last = (*last).max(&kept.last_seen);
            }
        }
        let (mut corrections, mut taken) = (BTreeMap::new(), HashSet::new());
        for kept in unsaid {
            let Some(cell) = kept.said.0.cell() else { continue };
            // What was gone already when the sheet was last read has not been put right since.
            if last_read.get(&*cell.name).is_some_and(|last| *last != kept.last_seen) {
                continue;
            }
            let new = self.new.get(&(&*cell.name, cell.row)).into_iter().flatten();
            let put_right = new
                .filter(|(content, now)| !taken.contains(content) && self.puts_right(&kept.said, now))
                .map(|(content, _)| *content)
                .min();
            if let Some(content) = put_right.or_else(|| self.put_back(kept, &taken)) {
                taken.insert(content);
                corrections.insert(kept.id, content);
            }
        }
        corrections
    }

    /// The content of the check that stands again where a bad one stood for a while.
    fn put_back(&self, kept: &Unsaid, taken: &HashSet<Content>) -> Option<Content> {
        let cell = kept.said.0.cell()?;
        let known = self.known_checks.get(&(&*cell.name, cell.row))?.iter();
        let is_back = |check: &&KnownCheck<'_>| {
            // What the sheet has said beside the bad one is no other reading of that row; on one day it shows by its
            // having been taken back that it was not.
            let was_gone = check.last_seen < kept.last_seen || check.is_withdrawn;
            let (content, now) = check.said;
            was_gone && !taken.contains(&content) && is_put_back(&kept.said, now)
        };
        known.filter(is_back).map(|check| check.said.0).min()
    }

    /// Whether what a row says now is what it said before, with one thing put right.
    fn puts_right(&self, was: &(Identity, Record), now: &(Identity, Record)) -> bool {
        match Correction::between(was, now) {
            None => false,
            Some(Correction::Day | Correction::Value) => true,
            // In a sheet with one row a machine the row of another may have moved to its place.
            Some(Correction::Machine) => !self.lists_machine(&was.0),
            // A sheet that says more of the machine than this is a log, and does not overwrite.
            Some(Correction::LaterDay) => self.knows_more_of(now),
        }
    }

    /// Whether a row about the machine itself names it so, in the sheet that the names are from.
    fn lists_machine(&self, identity: &Identity) -> bool {
        let listed = self.machines_listed.get_or_init(|| {
            let machines = self.current.records.iter().filter(|(_, record)| kind(record).is_none());
            machines.filter_map(|(identity, _)| named(identity)).collect()
        });
        named(identity).is_some_and(|named| listed.contains(&named))
    }

    /// Whether the sheet says more of this kind of the machine that it had said before.
    fn knows_more_of(&self, (identity, record): &(Identity, Record)) -> bool {
        let known = self.machines_known.get_or_init(|| {
            let known = self.known.iter();
            known.filter_map(|(identity, record)| Some((named(identity)?, kind(record)))).collect()
        });
        named(identity).is_some_and(|named| known.contains(&(named, kind(record))))
    }
}

fn named(identity: &Identity) -> Option<Named<'_>> {
    Some((&*identity.cell()?.name, identity.names()))
}
