//! Which row speaks of which machine: by its frame number, its stock number or its mark, and what clashes there.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::fmt;

use super::{Log, first_cell};
use crate::origin::{Entry, Origin};
use crate::problem::{Problem, counted};
use crate::yard::{FrameNumber, Identity, Mark, StockNumber};

/// The most unknown or doubtful names that are told one by one; the rest is counted.
const DOUBTS_MOST: usize = 200;

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
enum Known {
    /// One machine's, by its number.
    One(usize),
    /// More than one machine claims it.
    Several,
}

/// Why a row of a log does not simply join a machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Doubt {
    /// No row about a machine has any of its names.
    Unknown,
    /// The only name it gives belongs to several machines.
    Shared,
    /// Its names belong to different machines.
    Contradiction,
}

/// Which names of a row are doubted.
#[derive(Debug, Clone, Copy)]
pub(super) struct Doubted {
    pub(super) stock_no: bool,
    pub(super) mark: bool,
}

/// The names of all machines.
pub(super) struct Naming<'r> {
    frames: BTreeMap<&'r FrameNumber, Known>,
    stocks: BTreeMap<&'r StockNumber, Known>,
    marks: BTreeMap<&'r Mark, Known>,
    /// Of each machine whether its frame number is known.
    has_frame: Vec<bool>,
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
        let naming = Naming {
            frames: frames.into_iter().map(|(name, rows)| (name, known((rows[0], false)))).collect(),
            stocks: stocks.into_iter().map(|(name, found)| (name, known(found))).collect(),
            marks: marks.into_iter().map(|(name, found)| (name, known(found))).collect(),
            has_frame,
        };
        (naming, machine_of_row)
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

    /// The machine of each row of the logs; rows that name none, or several, are told once for each name.
    ///
    /// Nothing is told of kept records: the sheets of today cannot be corrected for them.
    pub(super) fn machines_of_logs(&self, logs: &[Log], problems: &mut Vec<Problem>) -> Vec<Option<usize>> {
        let mut answers: HashMap<Names<'_>, (Option<usize>, Option<Doubt>)> = HashMap::new();
        let mut doubts: BTreeMap<(Doubt, Named), BTreeSet<&Origin>> = BTreeMap::new();
        let mut machines = Vec::with_capacity(logs.len());
        for log in logs {
            let (machine, doubt) =
                *answers.entry(names(&log.identity)).or_insert_with_key(|names| self.machine(*names));
            if let Some(doubt) = doubt.filter(|_| !log.is_kept)
                && let Some((name, cell)) = self.doubtful_name(doubt, &log.identity)
            {
                doubts.entry((doubt, name)).or_default().insert(cell);
            }
            machines.push(machine);
        }
        self.tell(doubts, problems);
        machines
    }

    /// The machine that names belong to, and what is doubtful about it.
    fn machine(&self, (frame_no, stock_no, mark): Names<'_>) -> (Option<usize>, Option<Doubt>) {
        let by_frame = frame_no.map(|frame_no| self.frames.get(frame_no).copied());
        let others = [
            stock_no.and_then(|stock_no| self.stocks.get(stock_no).copied()),
            mark.and_then(|mark| self.marks.get(mark).copied()),
        ];
        let ones: Vec<usize> = others
            .iter()
            .filter_map(|known| match known {
                Some(Known::One(machine)) => Some(*machine),
                Some(Known::Several) | None => None,
            })
            .collect();
        if let Some(Some(Known::One(machine))) = by_frame {
            let against = ones.iter().any(|other| *other != machine);
            return (Some(machine), against.then_some(Doubt::Contradiction));
        }
        let Some(machine) = ones.first().copied() else {
            let shared = others.contains(&Some(Known::Several));
            return (None, Some(if shared { Doubt::Shared } else { Doubt::Unknown }));
        };
        let other_frame = by_frame.is_some() && self.has_frame[machine];
        if other_frame || ones.iter().any(|other| *other != machine) {
            return (None, Some(Doubt::Contradiction));
        }
        (Some(machine), None)
    }

    /// What a message calls the machine of a doubtful row, and the cell that it points at: its mark where it has one.
    fn doubtful_name<'i>(&self, doubt: Doubt, identity: &'i Identity) -> Option<(Named, &'i Origin)> {
        let Identity { mark, frame_no, stock_no } = identity;
        let is_shared = |known: Option<&Known>| known == Some(&Known::Several);
        let names = [
            mark.as_ref().map(|mark| {
                let is_shared = is_shared(self.marks.get(&mark.value));
                ("mark", mark.value.to_string(), &mark.origin, is_shared)
            }),
            stock_no.as_ref().map(|stock_no| {
                let is_shared = is_shared(self.stocks.get(&stock_no.value));
                ("stock number", stock_no.value.to_string(), &stock_no.origin, is_shared)
            }),
            frame_no
                .as_ref()
                .map(|frame_no| ("frame number", frame_no.value.to_string(), &frame_no.origin, false)),
        ];
        let mut names: Vec<_> =
            names.into_iter().flatten().filter(|(.., shared)| *shared || doubt != Doubt::Shared).collect();
        if doubt != Doubt::Contradiction {
            names.truncate(1);
        }
        let words = names.iter().map(|(kind, value, ..)| format!("{kind} {value}")).collect::<Vec<_>>();
        let (_, value, cell, _) = names.into_iter().next()?;
        let name = Named {
            words: words.join(" and "),
            value,
            mark: mark.as_ref().map(|mark| mark.value.clone()),
            counts_by_frame: frame_no
                .as_ref()
                .is_some_and(|frame_no| self.frames.contains_key(&frame_no.value)),
        };
        Some((name, cell))
    }

    fn tell(&self, doubts: BTreeMap<(Doubt, Named), BTreeSet<&Origin>>, problems: &mut Vec<Problem>) {
        let mut doubts: Vec<_> = doubts.into_iter().collect();
        doubts.sort_by(|(one, cells), (other, other_cells)| {
            (cells.first(), one).cmp(&(other_cells.first(), other))
        });
        let more = doubts.split_off(doubts.len().min(DOUBTS_MOST));
        for ((doubt, name), cells) in doubts {
            let Some(first) = cells.first() else { continue };
            problems.push(self.problem(doubt, &name, first, cells.len()));
        }
        if let Some(first) = more.first().and_then(|(_, cells)| cells.first()) {
            let what = format!("{} belong to no machine for sure", counted(more.len(), "more name"));
            let help =
                "Put the first ones right, or list these machines; their rows count for none until then.";
            problems.push(Problem::error(*first, what, help));
        }
    }

    fn problem(&self, doubt: Doubt, name: &Named, first: &Origin, rows: usize) -> Problem {
        let (what, help) = match doubt {
            Doubt::Unknown => {
                let near = name.mark.as_ref().and_then(|mark| self.one_slip_away(mark));
                let near = near.map(|mark| format!("Did you mean {mark}? ")).unwrap_or_default();
                let what = format!("no machine that is listed has the {}", name.words);
                (
                    what,
                    format!("{near}Correct the cell, or list the machine; until then this counts for none"),
                )
            }
            Doubt::Shared => {
                let what = format!("the {} is claimed by several machines", name.words);
                (what, "Add the frame number; until then this counts for no machine".to_owned())
            }
            Doubt::Contradiction => {
                let counts =
                    if name.counts_by_frame { "for that of the frame number" } else { "for no machine" };
                let what = format!("the {} belong to different machines", name.words);
                (what, format!("Correct one of them; until then this counts {counts}"))
            }
        };
        let help = format!("{help} ({}).", counted(rows, "row"));
        Problem::error(first, what, help).with_value(name.value.clone())
    }

    /// The known mark that differs by one slip of the keyboard; `None` when there is none.
    ///
    /// Marks of one year look much alike, so that mere likeness would always propose one.
    fn one_slip_away(&self, mark: &Mark) -> Option<&'r Mark> {
        self.marks
            .keys()
            .copied()
            .find(|known| one_slip_apart(known.as_str().as_bytes(), mark.as_str().as_bytes()))
    }
}

/// What a doubt is about, as a message names it.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Named {
    words: String,
    value: String,
    mark: Option<Mark>,
    counts_by_frame: bool,
}

/// Whether one letter replaced, added or dropped, or two neighbours swapped, makes one word of the other.
pub(super) fn one_slip_apart(one: &[u8], other: &[u8]) -> bool {
    let same_before = one.iter().zip(other).take_while(|(left, right)| left == right).count();
    let (one, other) = (&one[same_before..], &other[same_before..]);
    let same_behind =
        one.iter().rev().zip(other.iter().rev()).take_while(|(left, right)| left == right).count();
    match (&one[..one.len() - same_behind], &other[..other.len() - same_behind]) {
        ([_], [_]) | ([], [_]) | ([_], []) => true,
        ([first, second], [swapped_first, swapped_second]) => {
            first == swapped_second && second == swapped_first
        }
        _ => false,
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
