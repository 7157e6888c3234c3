//! The texts that a rule compares a fact with, beside what today's sheets hold: one that nothing holds may be mistyped.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::RuleBook;
use super::compared_texts::same;
use super::facts::{self, Fact};
use super::machine_in_hand::About;
use super::part::Part;
use super::sort_of_value::Sort;
use super::value::Value;
use crate::problem::{Problem, is_a_slip_of};
use crate::reckon::{Standing, WholeYard};
use crate::settings::words_of;
use crate::yard::Machine;

/// The most different texts of one fact that are looked through; a shop has some dozens of models.
const TEXTS: usize = 2_000;

/// The fact that says the model alone of a machine, and make and model of a fault that comes again.
const MODEL: &str = "model";

/// A text that a fact is compared with.
#[derive(Clone)]
pub(super) struct Compared {
    /// The fact.
    pub(super) fact: &'static Fact,
    /// The text.
    pub(super) text: String,
    /// Where it stands, with nothing said of it so far.
    pub(super) place: Problem,
}

/// The texts of some facts, by what and how each is called.
type Texts = BTreeMap<(&'static str, &'static str), BTreeSet<String>>;

impl RuleBook {
    /// Whether any rule compares a text that its fact might not have.
    pub fn compares_texts(&self) -> bool {
        self.rules().any(|rule| !rule.compared.is_empty())
    }

    /// What is to be said of each text that nothing holds today, while something holds nearly the same.
    pub fn texts_not_met(
        &self,
        machines: impl Iterator<Item = (Arc<Machine>, Arc<Standing>)>,
        yard: Arc<WholeYard>,
    ) -> Vec<Problem> {
        let compared: Vec<&Compared> = self.rules().flat_map(|rule| &rule.compared).collect();
        let mut texts = Texts::new();
        let machines = machines.map(|(machine, standing)| About::Machine(machine, standing));
        for about in machines.chain([About::Yard(yard)]) {
            compared.iter().for_each(|one| note(one.fact, &about, &mut texts));
        }
        compared.into_iter().filter_map(|one| told(one, texts.get(&named(one.fact))?)).collect()
    }
}

fn named(fact: &Fact) -> (&'static str, &'static str) {
    (fact.of.word(), fact.name)
}

/// Notes what a fact is of a machine or of the yard, or of each of its things.
fn note(fact: &'static Fact, about: &About, texts: &mut Texts) {
    let whole = Part { about, kind: about.kind(), place: 0 };
    let lists = facts::all().filter(|list| list.is == Sort::List(fact.of) && list.of == whole.kind);
    let things = lists.flat_map(|list| match (list.get)(whole, list.trade) {
        Ok(known) => match known.value {
            Value::List(kind, places) => places.into_iter().map(|place| whole.other(kind, place)).collect(),
            _ => Vec::new(),
        },
        Err(_) => Vec::new(),
    });
    let parts = (fact.of == whole.kind).then_some(whole).into_iter().chain(things);
    let known = texts.entry(named(fact)).or_default();
    for part in parts {
        if let Ok(found) = (fact.get)(part, fact.trade)
            && let Value::Text(text) = found.value
            && known.len() < TEXTS
        {
            known.insert(text.into_owned());
        }
    }
}

/// What is said of a text that is not among those of today, while one is nearly it.
fn told(compared: &Compared, texts: &BTreeSet<String>) -> Option<Problem> {
    let (of, name) = named(compared.fact);
    // Capitals and blanks are no slip of the hand that this is about.
    if texts.iter().any(|known| same(known, &compared.text)) {
        return None;
    }
    let near = texts.iter().find(|known| is_a_slip_of(known, &compared.text)).or_else(|| {
        texts.iter().find(|known| name == MODEL && is_with_or_without_make(known, &compared.text))
    })?;
    let mut problem = compared.place.clone();
    problem.what =
        format!("no `{of}.{name}` is \"{}\" in today's sheets, but one is \"{near}\"", compared.text);
    problem.help = format!("write \"{near}\" if that is what you mean");
    Some(problem)
}

/// Whether one of two models is the other with its make before it: `Marlow Spruce 125` and `Spruce 125`.
fn is_with_or_without_make(one: &str, other: &str) -> bool {
    let (one, other) = (words_of(one), words_of(other));
    let ends = |long: &[String], short: &[String]| !short.is_empty() && long.ends_with(short);
    one.len() != other.len() && (ends(&one, &other) || ends(&other, &one))
}
