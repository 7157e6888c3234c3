//! What is meant by a name that there is not.

use rhai::Expr;

use super::language_errors::as_figures;
use super::names::Role;
use super::outline::Outline;
use super::quantity::UNITS;
use super::reference::{WORDS, text_of};
use super::sort_of_value::{Kind, Sort};
use super::vet::Vet;
use super::{facts, numbers, other_names};
use crate::problem::nearest;

impl Vet<'_> {
    /// The constant that an expression names, and where its value stands.
    pub(super) fn constant<'e>(&self, expression: &'e Expr) -> Option<(&'e str, usize)> {
        let Expr::Variable(name, _, _) = expression else { return None };
        let name = name.1.as_str();
        let is_own = self.scope.iter().any(|(own, _)| own == name);
        self.names.places.get(name).filter(|_| !is_own).map(|place| (name, *place))
    }

    /// What stands for a name that is none: a fact without its machine, a word without its brackets or quotes.
    pub(super) fn as_it_is_meant(&self, name: &str, at: usize) -> Option<String> {
        if let Some(number) = numbers::of_words(name).filter(|_| self.is_before_a_unit(name, at)) {
            return Some(number.to_string());
        }
        if let Some(number) = as_figures(name).filter(|_| name.contains(|sign: char| sign.is_ascii_digit())) {
            return Some(number);
        }
        if let (Some(word), false) = (other_names::word(name), self.role == Role::Constant) {
            return Some(word.to_owned());
        }
        let before = at.checked_sub(2).filter(|dash| self.source.letters[dash + 1] == '-');
        if let Some(end) = before {
            let (_, first) = Outline::word_that_ends(self.source, end);
            let joined = format!("{first}_{name}");
            if facts::named(Kind::Machine, &joined).is_some() {
                return Some(joined);
            }
        }
        let word = WORDS.iter().find(|word| word.on.is_none() && word.name == name);
        let word = word.or_else(|| {
            let meant = other_names::answer(name)?;
            WORDS.iter().find(|word| word.on.is_none() && word.name == meant)
        });
        match (word, self.role) {
            (Some(word), Role::Constant) => Some(format!("\"{}\"", word.name.replace('_', " "))),
            (Some(word), _) => Some(word.written.to_owned()),
            (None, Role::Constant) => None,
            (None, _) => facts::named(Kind::Machine, name).map(|fact| format!("machine.{}", fact.name)),
        }
    }

    /// Whether a name stands behind two dots, or is the second half of a fact that is written with a dash: that is told of.
    pub(super) fn is_told_before_it(&self, name: &str, at: usize) -> bool {
        if at > 1 && self.source.letters[at - 2..at] == ['.', '.'] {
            return true;
        }
        let Some(end) = at.checked_sub(2).filter(|dash| self.source.letters[dash + 1] == '-') else {
            return false;
        };
        let (start, first) = Outline::word_that_ends(self.source, end);
        let joined = format!("{first}_{name}");
        facts::all().any(|fact| fact.name == joined) && self.slips.iter().any(|slip| slip.at == start)
    }

    /// Whether a dot and a unit stand behind a name.
    fn is_before_a_unit(&self, name: &str, at: usize) -> bool {
        let behind = at + name.chars().count();
        self.source.letters.get(behind) == Some(&'.') && is_unit(&self.source.word_at(behind + 1))
    }

    /// How `judge` calls the thing that is listed, where it has another name than that of its kind.
    pub(super) fn second_called(&self, kind: &str) -> Option<String> {
        let (second, sort) = self.scope.get(1)?;
        matches!(sort, Sort::Thing(listed) if listed.word() == kind && second != kind).then(|| second.clone())
    }

    /// What a text of figures is, as the name that was given something: nobody gives it a number by that.
    pub(super) fn number_in_quotes(&self, name: &str) -> Option<(usize, String)> {
        let text = self.names.values.get(name).and_then(text_of)?;
        let is_number =
            !text.is_empty() && text.chars().all(|letter| letter.is_ascii_digit() || letter == '_');
        let at = self.names.places.get(name).copied().filter(|_| is_number)?;
        Some((at, text))
    }

    /// Where to give a function the thing that it speaks of; a rule of the whole yard speaks of no machine.
    pub(super) fn in_brackets(&self, role: Role, name: &str) -> String {
        if name == "machine" && self.scope.iter().any(|(_, sort)| *sort == Sort::Thing(Kind::Yard)) {
            let facts = facts::all().filter(|fact| fact.of == Kind::Yard);
            let facts: Vec<String> = facts.map(|fact| format!("`yard.{}`", fact.name)).collect();
            return format!(
                "this rule looks at the whole yard, which has {}; write `fn judge(machine)` to look at one machine after another",
                facts.join(", ")
            );
        }
        match role {
            Role::AppliesTo | Role::Each | Role::Judge if name == "yard" => {
                "a rule looks at the whole yard with `fn judge(yard)`, and has `yard` in all its brackets"
                    .to_owned()
            }
            Role::AppliesTo => "write `fn applies_to(machine)`".to_owned(),
            Role::Each => "write `fn each(machine)`".to_owned(),
            Role::Judge if name == "machine" => {
                "write `machine` first in the brackets of `fn judge(...)`".to_owned()
            }
            Role::Judge => {
                format!("write `fn judge(machine, {name})`, beside a `fn each(machine)` that lists them")
            }
            Role::Helper => {
                format!("write `{name}` into the brackets of this function, and of each call of it")
            }
            Role::Constant => {
                "ask for facts inside a function; a constant is the same for all machines".to_owned()
            }
        }
    }
}

/// What to write for a unit that there is not, behind a number.
pub(super) fn unit_meant(name: &str, written: Option<&Expr>) -> String {
    let number = match written {
        Some(Expr::IntegerConstant(number, _)) => number.to_string(),
        _ => "500".to_owned(),
    };
    let near = nearest(name, UNITS.iter().map(|(unit, _)| *unit));
    match other_names::unit(name).or(near) {
        Some(near) => format!("write `{}` if that is what you mean", numbers::written(&number, near)),
        None if other_names::is_counted(name) => {
            format!("write the figure alone, since what is counted has no unit: `{number}`")
        }
        None => "write one of miles, km, mph, kmh, days, weeks, months, years, litres".to_owned(),
    }
}

/// Whether a word is a unit.
pub(super) fn is_unit(word: &str) -> bool {
    UNITS.iter().any(|(unit, _)| *unit == word)
}
