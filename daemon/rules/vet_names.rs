//! What is meant by a name that there is not.

use rhai::{Dynamic, Expr};

use super::language_errors::as_figures;
use super::names::Role;
use super::outline::Outline;
use super::quantity::{UNITS, misuse_of_unit};
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

    /// The value of a constant is written into a function, but for what stands behind it with a dot: there it is not found.
    pub(super) fn named_before_a_dot(&mut self, before: &Expr, behind: &Expr) {
        let Expr::Variable(name, _, _) = before else { return };
        let name = name.1.as_str();
        let is_own = self.scope.iter().any(|(own, _)| own == name);
        let Some(value) = self.names.values.get(name).filter(|_| !is_own && self.role != Role::Constant)
        else {
            return;
        };
        let at = self.source.at(before.start_position());
        let (what, help) = match behind {
            Expr::Property(unit, _) if is_unit(&unit.2) => (
                format!("a unit stands behind a figure, and not behind a name such as `{name}`"),
                format!("write `{}` where `{name}` is set, and `{name}` alone here", as_set(value, &unit.2)),
            ),
            _ => (
                format!("nothing can stand with a dot behind `{name}`, which is set at the top"),
                "write its value itself here, with the rest behind it".to_owned(),
            ),
        };
        self.slip(at, what, help);
    }

    /// What a number becomes by the unit behind it.
    pub(super) fn unit(&mut self, name: &str, at: usize, written: Option<&Expr>) -> Sort {
        if let Some((_, sort)) = UNITS.iter().find(|(unit, _)| *unit == name) {
            let number = match written {
                Some(Expr::IntegerConstant(number, _)) => Dynamic::from(*number),
                Some(Expr::DynamicConstant(number, _)) => Dynamic::clone(number),
                _ => return *sort,
            };
            if let Some(misuse) = misuse_of_unit(&number, name) {
                self.slip(at, misuse.what, misuse.help);
            }
            return *sort;
        }
        let help = unit_meant(name, written);
        self.slip(at, format!("there is no unit `{name}`"), help);
        Sort::Unknown
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

    /// What the rule looks at.
    pub(super) fn whole(&self) -> Kind {
        let of_yard = self.scope.iter().any(|(_, sort)| *sort == Sort::Thing(Kind::Yard));
        if of_yard { Kind::Yard } else { Kind::Machine }
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
        if name == "machine" && self.whole() == Kind::Yard {
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
                let whole = self.whole().word();
                format!("write `fn judge({whole}, {name})`, beside a `fn each({whole})` that lists them")
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

/// A plain number with the unit that is meant.
fn as_set(value: &Dynamic, unit: &str) -> String {
    match value.as_int() {
        Ok(number) => numbers::written(&number.to_string(), unit),
        Err(_) => format!("14.{unit}"),
    }
}

/// Whether a word is a unit.
pub(super) fn is_unit(word: &str) -> bool {
    UNITS.iter().any(|(unit, _)| *unit == word)
}

/// What `each` can list of what a rule looks at.
pub(super) fn lists_of(whole: Kind) -> String {
    let lists = facts::all().filter(|fact| fact.of == whole && matches!(fact.is, Sort::List(_)));
    let lists: Vec<String> = lists.map(|fact| format!("`{}.{}`", whole.word(), fact.name)).collect();
    match lists.split_last() {
        Some((last, before)) if !before.is_empty() => format!("write {} or {last}", before.join(", ")),
        _ => format!("write {}", lists.join(", ")),
    }
}
