//! What a function looked at, noted without a copy until it is known to be wanted.

use std::collections::BTreeSet;

use crate::origin::{Evidence, Origin};
use crate::reckon::Missing;
use crate::rules::facts::Known;
use crate::rules::value::{Shown, Value};

/// What shows a fact, with its value where that is a part of it.
type Seen<'a> = (Shown<'a>, Value<'a>);

/// The facts that were looked at, or looked for in vain.
pub(in crate::rules) enum Notes<'a> {
    /// While it is asked whether a rule applies, and to what: the facts that are not known, each once.
    Lacking(Vec<String>),
    /// While it is judged: what shows the facts that are known.
    Seen(Vec<Seen<'a>>),
}

impl<'a> Notes<'a> {
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
            && !seen.iter().any(|(shown_by, _)| shown_by.is(&known.shown_by))
        {
            // The value of a cell is a part of what shows it.
            let in_cell = matches!(known.shown_by, Shown::Cell(..));
            let value = if in_cell { known.value.clone() } else { Value::Nothing };
            seen.push((known.shown_by.clone(), value));
        }
    }

    /// Notes a fact that is not known.
    pub(super) fn note_lacking(&mut self, missing: Missing) {
        if let Notes::Lacking(lacking) = self {
            for fact in missing.0 {
                if !lacking.contains(&fact) {
                    lacking.push(fact);
                }
            }
        }
    }

    /// What shows the facts that were seen, and the facts that were asked for in vain: each once, in the order in which
    /// they were looked at.
    pub(in crate::rules) fn noted(self, room: &mut Room<'a>) -> (Vec<Evidence>, Vec<String>) {
        let seen = match self {
            Notes::Lacking(lacking) => return (Vec::new(), lacking),
            Notes::Seen(seen) => seen,
        };
        let most = seen.iter().map(|(shown_by, _)| shown_by.count()).sum();
        let mut all = Each::new(most, &mut room.marks);
        for (shown_by, value) in &seen {
            match shown_by {
                Shown::Cell(what, origin) => all.add(room.cells.evidence(what, origin, value)),
                Shown::Sum(evidence) => evidence.iter().for_each(|evidence| all.add(evidence)),
                Shown::Sums(evidence) => evidence.iter().for_each(|evidence| all.add(evidence)),
                Shown::Plain => {}
            }
        }
        let in_order = all.in_order;
        room.seen = seen;
        (in_order, Vec::new())
    }
}

/// Evidence, each once, in the order in which it comes.
struct Each<'r> {
    in_order: Vec<Evidence>,
    /// What tells most of them apart, in the same order.
    marks: &'r mut Vec<u64>,
    sorted: BTreeSet<Evidence>,
}

impl Each<'_> {
    /// So many are compared with each other; more are sorted.
    const FEW: usize = 64;

    fn new(most: usize, marks: &mut Vec<u64>) -> Each<'_> {
        marks.clear();
        Each { in_order: Vec::with_capacity(most), marks, sorted: BTreeSet::new() }
    }

    fn add(&mut self, evidence: &Evidence) {
        let mark = mark(evidence);
        let is_known = if self.in_order.len() < Each::FEW {
            let mut alike = self.marks.iter().zip(&self.in_order).filter(|(known, _)| **known == mark);
            alike.any(|(_, known)| known == evidence)
        } else {
            if self.sorted.is_empty() {
                self.sorted.extend(self.in_order.iter().cloned());
            }
            !self.sorted.insert(evidence.clone())
        };
        if !is_known {
            self.in_order.push(evidence.clone());
            self.marks.push(mark);
        }
    }
}

/// Its cell or, where it has none, how long its words are: the same of two that are the same.
fn mark(evidence: &Evidence) -> u64 {
    match &evidence.origin {
        Some(origin) => u64::from(origin.row) << 32 | u64::from(origin.column),
        None => ((evidence.what.len() as u64) << 32) + evidence.value.len() as u64,
    }
}

/// What the rules that are asked about one machine use one after the other.
#[derive(Default)]
pub(in crate::rules) struct Room<'a> {
    /// The values of names; those that another function left behind mean nothing.
    pub(super) names: Vec<Value<'a>>,
    /// Room for notes.
    seen: Vec<Seen<'a>>,
    /// Room for what tells evidence apart.
    marks: Vec<u64>,
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
