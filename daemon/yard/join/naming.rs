//! Tells the machines apart that rows are about: by frame number, stock number and mark, and what clashes there.

use std::collections::BTreeMap;
use std::fmt;

use super::first_cell;
use crate::origin::{Entry, Origin};
use crate::problem::{Problem, counted};
use crate::yard::{FrameNumber, Identity, KnownAs, MachineId, Mark, StockNumber};

/// What a row calls its machine, without the cells.
pub(super) type Names<'r> = (Option<&'r FrameNumber>, Option<&'r StockNumber>, Option<&'r Mark>);

/// What a row calls its machine, without the cells.
pub(super) fn names(identity: &Identity) -> Names<'_> {
    let Identity { mark, frame_no, stock_no } = identity;
    (
        frame_no.as_ref().map(|frame_no| &frame_no.value),
        stock_no.as_ref().map(|stock_no| &stock_no.value),
        mark.as_ref().map(|mark| &mark.value),
    )
}

/// Whose name it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Known {
    /// One machine's, by its number.
    One(usize),
    /// More than one machine claims it.
    Several,
}

/// Which names of a row are doubted.
#[derive(Debug, Clone, Copy)]
pub(super) struct Doubted {
    pub(super) stock_no: bool,
    pub(super) mark: bool,
}

/// The names of all machines.
pub(super) struct Naming<'r> {
    pub(super) frames: BTreeMap<&'r FrameNumber, Known>,
    pub(super) stocks: BTreeMap<&'r StockNumber, Known>,
    pub(super) marks: BTreeMap<&'r Mark, Known>,
    /// The stock numbers by what is left of them without leading zeros.
    pub(super) without_zeros: BTreeMap<&'r str, Vec<&'r StockNumber>>,
    /// Of each machine whether its frame number is known.
    pub(super) has_frame: Vec<bool>,
    /// The names that machines had before, and no row gives now.
    again: BTreeMap<MachineId, Known>,
}

impl<'r> Naming<'r> {
    /// Tells the machines apart that rows are about, and tells of names that several of them claim.
    ///
    /// Rows with the same frame number are one machine. So are rows that share a stock number, and then those that
    /// share a mark, unless two frame numbers stand against it: a mark can move, a frame number cannot. The
    /// machine of each row comes second; `None` for a row whose every name several other machines claim.
    pub(super) fn of(
        identities: &[&'r Identity],
        problems: &mut Vec<Problem>,
    ) -> (Naming<'r>, Vec<Option<usize>>) {
        let mut groups = Groups::new(identities);
        let frames = rows_by(identities, |identity| identity.frame_no.as_ref());
        for rows in frames.values() {
            groups.unite(rows);
        }
        let (stocks, mut clashes) =
            groups
                .unite_unless_framed_apart(identities, "stock number", |identity| identity.stock_no.as_ref());
        let (marks, more) =
            groups.unite_unless_framed_apart(identities, "mark", |identity| identity.mark.as_ref());
        clashes.extend(more);
        problems.append(&mut clashes);

        let is_several = |name: Option<bool>| name.is_none_or(|several| several);
        let mut numbers: BTreeMap<usize, usize> = BTreeMap::new();
        let mut has_frame = Vec::new();
        let mut machine_of_row = vec![None; identities.len()];
        for (row, identity) in identities.iter().enumerate() {
            let root = groups.root(row);
            let (_, stock_no, mark) = names(identity);
            let nameless = is_several(stock_no.map(|stock_no| stocks[stock_no].1))
                && is_several(mark.map(|mark| marks[mark].1));
            if groups.frame[root].is_none() && nameless {
                problems.extend(undecided(identity));
                continue;
            }
            let number = *numbers.entry(root).or_insert_with(|| {
                has_frame.push(groups.frame[root].is_some());
                has_frame.len() - 1
            });
            machine_of_row[row] = Some(number);
        }
        let known = |(row, several): (usize, bool)| match machine_of_row[row] {
            Some(number) if !several => Known::One(number),
            _ => Known::Several,
        };
        let mut without_zeros: BTreeMap<&str, Vec<&StockNumber>> = BTreeMap::new();
        for stock_no in stocks.keys() {
            without_zeros.entry(stock_no.without_zeros()).or_default().push(stock_no);
        }
        let naming = Naming {
            without_zeros,
            frames: frames.into_iter().map(|(name, rows)| (name, known((rows[0], false)))).collect(),
            stocks: stocks.into_iter().map(|(name, found)| (name, known(found))).collect(),
            marks: marks.into_iter().map(|(name, found)| (name, known(found))).collect(),
            has_frame,
            again: BTreeMap::new(),
        };
        (naming, machine_of_row)
    }

    /// Lets what machines were known by before name them still, where no row gives such a name today.
    pub(super) fn know_again(
        &mut self,
        known_as: &[KnownAs],
        identities: &[&Identity],
        machine_of_row: &[Option<usize>],
    ) {
        if known_as.is_empty() {
            return;
        }
        let named = |(identity, machine): (&&Identity, &Option<usize>)| {
            MachineId::each(identity).map(|name| (name, *machine)).collect::<Vec<_>>()
        };
        let listed: BTreeMap<MachineId, Option<usize>> =
            identities.iter().zip(machine_of_row).flat_map(named).collect();
        for KnownAs { was, by, .. } in known_as.iter().filter(|known| !listed.contains_key(&known.was)) {
            let Some(machine) = listed.get(by).copied().flatten() else { continue };
            let known = self.again.entry(was.clone()).or_insert(Known::One(machine));
            if *known != Known::One(machine) {
                *known = Known::Several;
            }
        }
    }

    /// Whose a name was before, that no row gives now.
    pub(super) fn known_again(&self, kind: &str, name: &str) -> Option<Known> {
        if self.again.is_empty() {
            return None;
        }
        self.again.get(&MachineId::kept(&format!("{kind} {name}"))).copied()
    }

    /// The one stock number that is listed and differs from this one, which is not, by leading zeros only.
    pub(super) fn meant_by(&self, stock_no: &StockNumber) -> Option<&'r StockNumber> {
        match self.alike_but_for_zeros(stock_no) {
            [one] if !self.stocks.contains_key(stock_no) => Some(one),
            _ => None,
        }
    }

    /// The stock numbers that are listed and differ from this one by leading zeros at the most.
    pub(super) fn alike_but_for_zeros(&self, stock_no: &StockNumber) -> &[&'r StockNumber] {
        self.without_zeros.get(stock_no.without_zeros()).map_or(&[], Vec::as_slice)
    }

    /// How many machines there are.
    pub(super) fn count(&self) -> usize {
        self.has_frame.len()
    }

    /// Which names of a row are not its machine's for sure: several machines claim them, and this one has no frame
    /// number to stand on.
    pub(super) fn doubted(&self, machine: usize, identity: &Identity) -> Doubted {
        let (_, stock_no, mark) = names(identity);
        let is_shared = |known: Option<&Known>| !self.has_frame[machine] && known == Some(&Known::Several);
        Doubted {
            stock_no: is_shared(stock_no.and_then(|stock_no| self.stocks.get(stock_no))),
            mark: is_shared(mark.and_then(|mark| self.marks.get(mark))),
        }
    }
}

/// The rows that have each name.
fn rows_by<'r, T: Ord>(
    identities: &[&'r Identity],
    name: impl Fn(&'r Identity) -> Option<&'r Entry<T>>,
) -> BTreeMap<&'r T, Vec<usize>> {
    let mut rows: BTreeMap<&T, Vec<usize>> = BTreeMap::new();
    for (row, identity) in identities.iter().enumerate() {
        if let Some(name) = name(identity) {
            rows.entry(&name.value).or_default().push(row);
        }
    }
    rows
}

/// Rows that are about one machine, as far as is known (a union-find).
struct Groups<'r> {
    parent: Vec<usize>,
    /// The frame number of each root.
    frame: Vec<Option<&'r FrameNumber>>,
}

/// The names of one kind, each with a row that has it and whether several machines claim it.
type Claims<'r, T> = BTreeMap<&'r T, (usize, bool)>;

impl<'r> Groups<'r> {
    fn new(identities: &[&'r Identity]) -> Groups<'r> {
        Groups {
            parent: (0..identities.len()).collect(),
            frame: identities.iter().map(|identity| names(identity).0).collect(),
        }
    }

    fn root(&mut self, row: usize) -> usize {
        let mut root = row;
        while self.parent[root] != root {
            self.parent[root] = self.parent[self.parent[root]];
            root = self.parent[root];
        }
        root
    }

    fn unite(&mut self, rows: &[usize]) {
        for pair in rows.windows(2) {
            let (kept, joined) = (self.root(pair[0]), self.root(pair[1]));
            self.frame[kept] = self.frame[kept].or(self.frame[joined]);
            self.parent[joined] = kept;
        }
    }

    /// Unites the rows that share a name, unless two frame numbers stand against it, which is a problem.
    ///
    /// The names are gone through in their own order, so that the order of the rows decides nothing.
    fn unite_unless_framed_apart<T: Ord + fmt::Display>(
        &mut self,
        identities: &[&'r Identity],
        kind: &str,
        name: impl Fn(&'r Identity) -> Option<&'r Entry<T>>,
    ) -> (Claims<'r, T>, Vec<Problem>) {
        let (mut claims, mut problems) = (BTreeMap::new(), Vec::new());
        for (value, rows) in rows_by(identities, &name) {
            let mut cells: BTreeMap<&FrameNumber, &Origin> = BTreeMap::new();
            for row in &rows {
                let root = self.root(*row);
                let (Some(frame_no), Some(entry)) = (self.frame[root], name(identities[*row])) else {
                    continue;
                };
                let cell = cells.entry(frame_no).or_insert(&entry.origin);
                *cell = (*cell).min(&entry.origin);
            }
            if cells.len() < 2 {
                self.unite(&rows);
            } else {
                problems.extend(clash(kind, &value.to_string(), &cells));
            }
            claims.insert(value, (rows[0], cells.len() >= 2));
        }
        (claims, problems)
    }
}

/// A name that machines with different frame numbers claim, at the last of their cells.
fn clash(kind: &str, value: &str, cells: &BTreeMap<&FrameNumber, &Origin>) -> Option<Problem> {
    let mut claims: Vec<(&Origin, &FrameNumber)> =
        cells.iter().map(|(frame_no, cell)| (*cell, *frame_no)).collect();
    claims.sort();
    let (cell, frame_no) = claims.pop()?;
    let (other, other_frame_no) = claims.first()?;
    let what = format!("{} have the {kind} {value}", counted(claims.len() + 1, "machine"));
    let help = format!(
        "Correct the wrong one: here it stands for frame number {frame_no}, at {other} for frame number {other_frame_no}."
    );
    Some(Problem::error(cell, what, help).with_value(value))
}

/// A row about a machine whose every name other machines claim.
fn undecided(identity: &Identity) -> Option<Problem> {
    let what = "it cannot be told which machine this row is about: several have its mark or stock number";
    let help = "Add the frame number; until then this row counts for none of them.";
    Some(Problem::error(first_cell(identity)?, what, help).with_value(identity.shown()))
}
