//! Finds the machine of each row of a log by the names that it gives, and tells of names that nobody can place.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::Log;
use super::naming::{Known, Names, Naming, names};
use crate::origin::Origin;
use crate::problem::{Problem, counted};
use crate::yard::near_marks::slip_between;
use crate::yard::{FrameNumber, Identity, Mark, StockNumber};

/// The most unknown or doubtful names that are told one by one; the rest is counted.
const DOUBTS_MOST: usize = 200;

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

/// What a doubt is about, as a message names it.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Named {
    words: String,
    value: String,
    mark: Option<Mark>,
    counts_by_frame: bool,
}

impl<'r> Naming<'r> {
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
        problems.extend(self.lost_zeros(logs));
        machines
    }

    /// Once for each file, that its stock numbers were taken for listed ones that differ by leading zeros only.
    fn lost_zeros(&self, logs: &[Log]) -> Vec<Problem> {
        let mut files: BTreeMap<&str, BTreeMap<&Origin, (&StockNumber, &StockNumber)>> = BTreeMap::new();
        for log in logs.iter().filter(|log| !log.is_kept) {
            let Some(entry) = &log.identity.stock_no else { continue };
            if let Some(listed) = self.meant_by(&entry.value) {
                let file = entry.origin.name.file.as_str();
                files.entry(file).or_default().insert(&entry.origin, (&entry.value, listed));
            }
        }
        let of_file = |cells: BTreeMap<&Origin, (&StockNumber, &StockNumber)>| {
            let (cell, (written, listed)) = cells.first_key_value()?;
            let what = format!(
                "the stock number {written} is taken for {listed}, which is listed and differs by leading zeros only"
            );
            let help = format!(
                "Write it alike in both sheets, in cells of text; {} of this file read so.",
                counted(cells.len(), "row")
            );
            Some(Problem::note(*cell, what, help).with_value(written.to_string()))
        };
        files.into_values().filter_map(of_file).collect()
    }

    /// The machine that a row's names belong to.
    pub(super) fn machine_of(&self, identity: &Identity) -> Option<usize> {
        self.machine(names(identity)).0
    }

    /// The machine that names belong to, and what is doubtful about it.
    fn machine(&self, (frame_no, stock_no, mark): Names<'_>) -> (Option<usize>, Option<Doubt>) {
        let by_frame = frame_no.map(|frame_no| {
            self.frames.get(frame_no).copied().or_else(|| self.known_again("frame", frame_no.as_str()))
        });
        let others = [
            stock_no.and_then(|stock_no| {
                let listed = self.stocks.get(self.meant_by(stock_no).unwrap_or(stock_no)).copied();
                listed.or_else(|| self.known_again("stock", stock_no.as_str()))
            }),
            mark.and_then(|mark| {
                self.marks.get(mark).copied().or_else(|| self.known_again("mark", mark.as_str()))
            }),
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
            if let Some(machine) = self.by_any_name(stock_no, mark).filter(|_| !shared && frame_no.is_none())
            {
                return (Some(machine), None);
            }
            return (None, Some(if shared { Doubt::Shared } else { Doubt::Unknown }));
        };
        let other_frame = by_frame.is_some() && self.has_frame[machine];
        if other_frame || ones.iter().any(|other| *other != machine) {
            return (None, Some(Doubt::Contradiction));
        }
        (Some(machine), None)
    }

    /// The machine of a row that has another name of it in the column of marks or stock numbers, where it has but one: not
    /// every machine has a plate.
    fn by_any_name(&self, stock_no: Option<&StockNumber>, mark: Option<&Mark>) -> Option<usize> {
        let written = match (stock_no, mark) {
            (Some(stock_no), None) => stock_no.as_str(),
            (None, Some(mark)) => mark.as_str(),
            _ => return None,
        };
        let known = [
            StockNumber::new(written).and_then(|stock_no| self.stocks.get(&stock_no).copied()),
            Mark::new(written).and_then(|mark| self.marks.get(&mark).copied()),
            FrameNumber::new(written).and_then(|frame_no| self.frames.get(&frame_no).copied()),
        ];
        match known.into_iter().flatten().collect::<Vec<_>>()[..] {
            [Known::One(machine)] => Some(machine),
            _ => None,
        }
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
                let near = name.mark.as_ref().map(|mark| self.nearest_marks(mark)).unwrap_or_default();
                let near = if near.is_empty() {
                    self.several_but_for_zeros(name).unwrap_or_default()
                } else {
                    format!("Did you mean {}? ", near.join(" or "))
                };
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

    /// That several stock numbers differ from an unknown one by leading zeros only, as the beginning of the help.
    fn several_but_for_zeros(&self, name: &Named) -> Option<String> {
        let stock_no = StockNumber::new(&name.value).filter(|_| name.mark.is_none())?;
        let alike = self.alike_but_for_zeros(&stock_no);
        let named: Vec<String> = alike.iter().map(ToString::to_string).collect();
        (alike.len() > 1).then(|| format!("Without leading zeros it may be {}. ", named.join(" or ")))
    }

    /// The known marks that one slip makes of an unknown one, those of the usual slips before any others; none where they
    /// are too many to choose from.
    fn nearest_marks(&self, mark: &Mark) -> Vec<String> {
        /// More are no help. Our decision.
        const NAMED_MOST: usize = 3;
        let slips = |known: &&Mark| slip_between(known.as_str().as_bytes(), mark.as_str().as_bytes());
        let Some(least) = self.marks.keys().copied().filter_map(|known| slips(&known)).min() else {
            return Vec::new();
        };
        let nearest = self.marks.keys().copied().filter(|known| slips(known) == Some(least));
        let named: Vec<String> = nearest.map(ToString::to_string).collect();
        if named.len() > NAMED_MOST { Vec::new() } else { named }
    }
}
