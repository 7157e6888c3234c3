//! What a function looked at, noted without a copy until it is known to be wanted.

use std::collections::BTreeSet;

use crate::origin::{Evidence, Origin};
use crate::rules::facts::{Known, Lack};
use crate::rules::value::{Shown, Value};

/// What shows a fact, with its value where that is a part of it.
type Seen<'a> = (Shown<'a>, Value<'a>);

/// The facts that were looked at, or looked for in vain.
pub(in crate::rules) enum Notes<'a> {
    /// While it is asked whether a rule applies, and to what: the facts that are not known.
    Lacking(Vec<Lack<'a>>),
    /// While it is judged: what shows the facts that are known.
    Seen(Vec<Seen<'a>>),
}

impl<'a> Notes<'a> {
    /// The notes of a question whether a rule applies, or to what.
    pub(in crate::rules) fn of_asking(room: &mut Room<'a>) -> Notes<'a> {
        let mut lacking = std::mem::take(&mut room.lacking);
        lacking.clear();
        Notes::Lacking(lacking)
    }

    /// The notes of a judgement of something that this shows.
    pub(in crate::rules) fn of_judging(shown_by: &'a [Evidence], room: &mut Room<'a>) -> Notes<'a> {
        let mut seen = std::mem::take(&mut room.seen);
        seen.clear();
        if !shown_by.is_empty() {
            seen.push((Shown::Sum(shown_by), Value::Nothing));
        }
        Notes::Seen(seen)
    }

    /// Notes a fact that is known.
    pub(super) fn note(&mut self, known: &Known<'a>) {
        if let Notes::Seen(seen) = self
            && !matches!(known.shown_by, Shown::Plain)
            && !seen.iter().any(|(shown_by, _)| shown_by.is(known.shown_by))
        {
            // The value of a cell is a part of what shows it.
            let in_cell = matches!(known.shown_by, Shown::Cell(..));
            let value = if in_cell { known.value.clone() } else { Value::Nothing };
            seen.push((known.shown_by, value));
        }
    }

    /// Notes a fact that is not known.
    pub(super) fn note_lacking(&mut self, lack: Lack<'a>) {
        if let Notes::Lacking(lacking) = self {
            lacking.push(lack);
        }
    }

    /// What shows the facts that were seen: each once, in the order in which they were looked at.
    pub(in crate::rules) fn seen(self, room: &mut Room<'a>) -> Vec<Evidence> {
        let Notes::Seen(seen) = self else { return Vec::new() };
        let mut all = Each::of(seen.iter().map(|(shown_by, _)| shown_by.count()).sum());
        for (shown_by, value) in &seen {
            match shown_by {
                Shown::Plain => {}
                Shown::Cell(what, origin) => all.add(room.cells.evidence(what, origin, value)),
                Shown::Sum(evidence) => all.add_all(evidence),
                others => others.of_sums().for_each(|evidence| all.add(evidence)),
            }
        }
        room.seen = seen;
        all.in_order
    }

    /// The facts that were asked for in vain, in the trade's words: each once, in the order in which they were asked for.
    pub(in crate::rules) fn lacking(self, room: &mut Room<'a>) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        let Notes::Lacking(lacking) = self else { return names };
        for name in lacking.iter().flat_map(Lack::names) {
            if !names.iter().any(|known| known == name) {
                names.push(name.to_owned());
            }
        }
        room.lacking = lacking;
        names
    }
}

/// Evidence, each once, in the order in which it comes.
struct Each {
    in_order: Vec<Evidence>,
    sorted: BTreeSet<Evidence>,
}

impl Each {
    /// So many are compared with each other; more are sorted.
    const FEW: usize = 64;

    fn of(most: usize) -> Each {
        Each { in_order: Vec::with_capacity(most), sorted: BTreeSet::new() }
    }

    fn add_all(&mut self, evidence: &[Evidence]) {
        evidence.iter().for_each(|evidence| self.add(evidence));
    }

    fn add(&mut self, evidence: &Evidence) {
        let is_known = if self.in_order.len() < Each::FEW {
            self.in_order.contains(evidence)
        } else {
            if self.sorted.is_empty() {
                self.sorted.extend(self.in_order.iter().cloned());
            }
            !self.sorted.insert(evidence.clone())
        };
        if !is_known {
            self.in_order.push(evidence.clone());
        }
    }
}

/// What the rules that are asked about one machine use one after the other.
#[derive(Default)]
pub(in crate::rules) struct Room<'a> {
    /// The values of names; those that another function left behind mean nothing.
    pub(super) names: Vec<Value<'a>>,
    /// Room for notes of what is known.
    seen: Vec<Seen<'a>>,
    /// Room for notes of what is not.
    lacking: Vec<Lack<'a>>,
    /// The evidence of cells.
    cells: Cells<'a>,
}

/// The evidence of the cells of a machine's own row, made once for all rules that look at them.
#[derive(Default)]
struct Cells<'a>(Vec<(&'static str, &'a Origin, Evidence)>);

impl<'a> Cells<'a> {
    fn evidence(&mut self, what: &'static str, origin: &'a Origin, value: &Value<'_>) -> &Evidence {
        let is_it = |(known, cell, _): &(&'static str, &'a Origin, Evidence)| {
            std::ptr::eq(*known, what) && std::ptr::eq(*cell, origin)
        };
        let place = self.0.iter().position(is_it).unwrap_or_else(|| {
            let shown = value.printed().unwrap_or_default();
            self.0.push((what, origin, Evidence::of(what, shown, origin)));
            self.0.len() - 1
        });
        &self.0[place].2
    }
}
