//! A rule's own examples: a machine made of a few facts, and what the rule must say of it.

use std::sync::Arc;

use jiff::civil::Date;
use rhai::{Dynamic, Engine, Expr, FnCallExpr, ImmutableString, Map, NativeCallContext, Position, Stmt};

use super::example_keys::{self, Key, Shape};
use super::machine_in_hand::About;
use super::quantity::{Given, Misuse, misuse, sort_of, words_of};
use super::reference::{day_written, not_a_day};
use super::sandbox::EXAMPLES;
use super::sort_of_value::Sort;
use super::vet::Vet;
use crate::findings::{Section, Verdict};
use crate::problem::nearest;
use crate::reckon::stand;
use crate::settings::Practice;
use crate::yard::Machine;

pub(super) use super::example_keys::keys;

/// What an example can expect, in the words of a rule file.
pub(super) const OUTCOMES: [&str; 9] = [
    "ring",
    "keep in yard",
    "book in",
    "bench",
    "fix sheet",
    "clear",
    "too long ago",
    "cannot tell",
    "does not apply",
];

/// One example of a rule.
#[derive(Clone)]
pub(super) struct Example {
    /// What it shows, in the owner's words.
    pub(super) name: String,
    /// What the rule must say; empty until `.expect(...)` was read.
    pub(super) expected: String,
    /// Where it stands.
    pub(super) position: Position,
    /// The machine, or the yard, as it stands on the example's day.
    pub(super) about: About,
}

/// What a rule said of an example: of several answers the one that matters most.
pub(super) fn outcome<'a>(verdicts: impl Iterator<Item = &'a Verdict>) -> &'static str {
    let rank = |verdict: &Verdict| match verdict {
        Verdict::Raised(raised) => (0, Some(raised.section)),
        Verdict::CannotTell { .. } => (1, None),
        Verdict::TooLongAgo => (2, None),
        Verdict::Clear => (3, None),
    };
    match verdicts.map(rank).min() {
        Some((_, Some(section))) => match section {
            Section::KeepInTheYard => "keep in yard",
            Section::RingToday => "ring",
            Section::BookIn => "book in",
            Section::OnTheBench => "bench",
            Section::PutTheSheetRight => "fix sheet",
        },
        Some((1, None)) => "cannot tell",
        Some((2, None)) => "too long ago",
        Some(_) => "clear",
        None => "does not apply",
    }
}

/// Teaches an engine `given(...)` and `.expect(...)`.
pub(super) fn register(engine: &mut Engine) {
    engine.register_fn(
        "given",
        |context: NativeCallContext<'_>, name: ImmutableString, facts: Map| -> Given<Example> {
            Ok(Example {
                name: name.to_string(),
                expected: String::new(),
                position: context.call_position(),
                about: about(facts)?,
            })
        },
    );
    engine.register_fn("expect", |example: &mut Example, outcome: ImmutableString| -> Given<Example> {
        if !OUTCOMES.contains(&outcome.as_str()) {
            return misuse(format!("an example cannot expect \"{outcome}\""), one_of(&outcome, &OUTCOMES));
        }
        Ok(Example { expected: outcome.to_string(), ..example.clone() })
    });
}

/// What the facts of an example describe: a machine or, where they list machines or who is gone, a yard.
fn about(facts: Map) -> Given<About> {
    if is_of_yard(facts.keys().map(|name| name.as_str())) {
        return Ok(About::Yard(Arc::new(example_keys::yard(facts)?)));
    }
    let (machine, today) = example_keys::machine(facts)?;
    let standing = stand(&machine, &Practice::default(), today);
    Ok(About::Machine(Arc::new(machine), Arc::new(standing)))
}

/// Whether an example with these keys is one of a yard.
fn is_of_yard<'k>(mut keys: impl Iterator<Item = &'k str>) -> bool {
    keys.any(|name| matches!(name, "machines" | "gone" | "sheets"))
}

/// The examples that a constant's value holds, or what is wrong with it.
pub(super) fn read(value: &Dynamic) -> Result<Vec<Example>, (Option<Position>, String, String)> {
    let help = || "write EXAMPLES = [ given(\"...\", #{ ... }).expect(\"ring\"), ... ];".to_owned();
    let Ok(items) = value.as_array_ref() else {
        return Err((None, format!("EXAMPLES is {}, not a list", words_of(value)), help()));
    };
    if items.len() > EXAMPLES {
        let (what, help) = too_many(items.len());
        return Err((None, what, help.to_owned()));
    }
    let mut examples = Vec::new();
    for item in items.iter() {
        let Some(example) = item.read_lock::<Example>() else {
            return Err((None, format!("EXAMPLES holds {}", words_of(item)), help()));
        };
        if example.expected.is_empty() {
            let what = format!("the example \"{}\" expects nothing", example.name);
            return Err((
                Some(example.position),
                what,
                "write `.expect(\"ring\")` or the like after it".to_owned(),
            ));
        }
        examples.push(example.clone());
    }
    Ok(examples)
}

/// That a rule has more examples than are read.
fn too_many(count: usize) -> (String, &'static str) {
    let what = format!("this rule has {count} examples, and may have {EXAMPLES}");
    (what, "keep those that show where the answer changes")
}

/// Walks the written examples, so that a misspelt key is marked where it stands.
pub(super) fn vet(vet: &mut Vet<'_>, statements: &[Stmt]) {
    for statement in statements {
        let Stmt::Var(variable, _, _) = statement else { continue };
        let Expr::Array(items, _) = &variable.1 else {
            vet.expression(&variable.1);
            continue;
        };
        if items.len() > EXAMPLES {
            let (what, help) = too_many(items.len());
            vet.slip(vet.source.at(variable.0.pos), what, help);
            continue;
        }
        for item in items {
            match item {
                Expr::Dot(pair, _, _) => {
                    example(vet, &pair.lhs);
                    if let Expr::MethodCall(call, position) = &pair.rhs {
                        expectation(vet, call, vet.source.at(*position));
                    }
                }
                other => example(vet, other),
            }
        }
    }
}

fn expectation(vet: &mut Vet<'_>, call: &FnCallExpr, at: usize) {
    if call.name != "expect" {
        let what = format!("an example has no `{}(...)`", call.name);
        return vet.slip(at, what, "write `.expect(\"ring\")` or the like");
    }
    if let Some(Expr::Variable(name, _, position)) = call.args.first() {
        let at = vet.source.at(*position);
        let outcome = name.1.replace('_', " ");
        return vet.slip(at, format!("`{}` is not in quotes", name.1), format!("write \"{outcome}\""));
    }
    if let Some(Expr::Array(_, position)) = call.args.first() {
        let help = "write it without the `[` and `]`: `.expect(\"clear\")`";
        return vet.slip(vet.source.at(*position), "an example expects one answer, and this is a list", help);
    }
    if let Some(Expr::StringConstant(outcome, position)) = call.args.first()
        && !OUTCOMES.contains(&outcome.as_str())
    {
        let at = vet.source.at(*position);
        vet.slip(at, format!("an example cannot expect \"{outcome}\""), one_of(outcome, &OUTCOMES));
    }
}

fn example(vet: &mut Vet<'_>, written: &Expr) {
    match written {
        Expr::FnCall(call, _) if call.name == "given" && call.args.len() == 2 => match &call.args[1] {
            Expr::Map(entries, _) => {
                let of_yard = is_of_yard(entries.0.iter().map(|(key, _)| key.name.as_str()));
                let keys = if of_yard { example_keys::YARD } else { example_keys::ALL };
                for (key, value) in &entries.0 {
                    entry(vet, keys, &key.name, vet.source.at(key.pos), value);
                }
            }
            other => {
                vet.expression(other);
            }
        },
        Expr::Map(_, position) => {
            let help = "write `given(\"what it shows\", #{ ... })`";
            vet.slip(vet.source.at(*position), "an example needs its name", help);
        }
        other => {
            vet.expression(other);
        }
    }
}

/// One key of an example with its value, against the table of keys.
fn entry(vet: &mut Vet<'_>, allowed: &[Key], name: &str, at: usize, value: &Expr) {
    let Some(key) = allowed.iter().find(|key| key.name == name) else {
        let (what, help) = example_keys::no_such(allowed, name);
        return vet.slip(at, what, help);
    };
    let place = vet.place(value);
    match (key.shape, value) {
        (Shape::Rows(inner), Expr::Array(items, _)) => rows(vet, inner, items),
        (Shape::Rows(inner), Expr::Variable(name, _, _)) => {
            vet.expression(value);
            let names = vet.names;
            if let Some(Expr::Array(items, _)) = names.first_listed(&name.1) {
                rows(vet, inner, items);
            }
        }
        (Shape::One(Sort::Day), Expr::StringConstant(text, _)) => {
            if day_written(text).is_err() {
                let Misuse { what, help } = not_a_day(text);
                vet.slip(place, what, help);
            }
        }
        (Shape::One(Sort::OneOf(words)), Expr::StringConstant(text, _)) => {
            if !words.contains(&text.as_str()) {
                vet.slip(place, format!("`{name}` is never \"{text}\""), one_of(text, words));
            }
        }
        (Shape::One(asked), value) => one(vet, name, asked, value),
        (_, value) => {
            vet.expression(value);
        }
    }
}

/// A value of a sort that is asked for.
fn one(vet: &mut Vet<'_>, name: &str, asked: Sort, value: &Expr) {
    let place = vet.place(value);
    let sort = vet.expression(value);
    if sort.fits(asked) {
        return;
    }
    let (is, asks) = (sort.words(), asked.words());
    let Some((constant, at)) = vet.constant(value) else {
        let number = match value {
            Expr::Dot(pair, _, _) => &pair.lhs,
            other => other,
        };
        let written = match number {
            Expr::IntegerConstant(number, _) => number.to_string(),
            _ => "40".to_owned(),
        };
        let what = format!("`{name}` asks for {asks}, and this is {is}");
        return vet.slip(place, what, help_with(asked, &written));
    };
    // It is wrong where it is set, and is told of once.
    if vet.names.is_first(constant) {
        let what = format!("`{constant}` is {is}, and `{name}` of an example asks for {asks}");
        vet.slip(at, what, help_with(asked, "40"));
    }
}

/// The rows of a list, also those that are constants.
fn rows(vet: &mut Vet<'_>, inner: &[Key], rows: &[Expr]) {
    let names = vet.names;
    for row in rows {
        let written = match row {
            Expr::Variable(name, _, _) => names.first_listed(&name.1),
            row => Some(row),
        };
        let Some(Expr::Map(entries, _)) = written else { continue };
        for (key, value) in &entries.0 {
            entry(vet, inner, &key.name, vet.source.at(key.pos), value);
        }
    }
}

/// Which of some words is meant.
fn one_of(text: &str, words: &[&str]) -> String {
    match nearest(text, words.iter().copied()) {
        Some(near) => format!("write \"{near}\" if that is what you mean"),
        None => format!(
            "write one of {}",
            words.iter().map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(", ")
        ),
    }
}

fn help_with(asked: Sort, number: &str) -> String {
    match (asked, asked.unit()) {
        (Sort::Day, _) => "write the day in quotes: \"2026-03-02\"".to_owned(),
        (_, Some(unit)) => format!("write the unit: `{number}.{unit}`"),
        (Sort::YesNo, _) => "write `true` or `false`".to_owned(),
        (Sort::Text, _) => "write it in quotes".to_owned(),
        _ => format!("write {}", asked.words()),
    }
}

/// Refuses a value of the wrong sort while an example is being made.
pub(super) fn wrong_value<T>(name: &str, asked: Sort, value: &Dynamic) -> Given<T> {
    if let (Sort::OneOf(words), Sort::Text) = (asked, sort_of(value)) {
        let text = value.to_string();
        return misuse(format!("`{name}` is never \"{text}\""), one_of(&text, words));
    }
    if sort_of(value) == asked {
        return misuse(format!("`{name}` cannot be {}", words_of(value)), "write it as the sheets do");
    }
    if asked == Sort::Whole && value.is_decimal() {
        return misuse(
            format!("`{name}` asks for a whole number, not {value}"),
            "write it without a point, to the nearest",
        );
    }
    let number = if value.is_int() { value.to_string() } else { "40".to_owned() };
    misuse(format!("`{name}` asks for {}, not {}", asked.words(), words_of(value)), help_with(asked, &number))
}

/// The day of an example.
pub(super) type On = (Machine, Date);
