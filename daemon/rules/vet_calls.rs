//! What may stand in a function's brackets and on the two sides of a sign.

use rhai::{Expr, FnCallExpr, Position};

use super::answer::LONGEST;
use super::compared_texts::same;
use super::facts::Fact;
use super::meant_signs::day_of_figures;
use super::other_names;
use super::quantity::Misuse;
use super::reference::{WORDS, Word, day_written, not_a_day};
use super::sort_of_value::{Kind, Sort};
use super::value::Value;
use super::vet::Vet;
use super::vet_names::is_unit;
use super::vet_sense;
use crate::problem::{counted, is_a_slip_of, nearest};

/// One side of a sign.
pub(super) struct Operand<'a> {
    /// Its sort.
    pub(super) sort: Sort,
    /// Where it stands.
    pub(super) at: usize,
    /// The fact that it is, where it is one.
    pub(super) fact: Option<&'static Fact>,
    /// As it is written.
    pub(super) written: &'a Expr,
}

/// A call that stands by itself.
pub(super) fn function(vet: &mut Vet<'_>, call: &FnCallExpr, at: usize) -> Sort {
    let name = call.name.as_str();
    if let Some(takes) = vet.names.functions.get(name).copied() {
        let mut given = Vec::new();
        for argument in &*call.args {
            let sort = vet.expression(argument);
            let place = vet.place(argument);
            given.push(vet.settled(sort, place));
        }
        if takes != call.args.len() {
            let what = format!("`{name}` takes {}, not {}", counted(takes, "value"), call.args.len());
            vet.slip(at, what, "give it exactly what its `fn` line names");
            return Sort::Unknown;
        }
        return vet.follow(name, given);
    }
    if let Some(word) = WORDS.iter().find(|word| word.on.is_none() && word.name == name) {
        return arguments(vet, word, call, at);
    }
    for argument in &*call.args {
        vet.expression(argument);
    }
    let standing = WORDS.iter().filter(|word| word.on.is_none()).map(|word| word.name);
    let near = nearest(name, standing.chain(vet.names.functions.keys().map(String::as_str)));
    let near = other_names::answer(name).or(near);
    let help = match near {
        _ if is_unit(name) || is_unit(&name.to_lowercase()) => {
            let number = match call.args.first() {
                Some(Expr::IntegerConstant(number, _)) => number.to_string(),
                _ => "14".to_owned(),
            };
            format!("write a number and a dot before a unit: `{number}.{}`", name.to_lowercase())
        }
        _ if other_names::word(name).is_some() => {
            format!("write `{}`", other_names::word(name).unwrap_or_default())
        }
        Some(near) => format!("write `{near}(...)` if that is what you mean"),
        None => "look it up in what `tickover rules words` lists".to_owned(),
    };
    vet.slip(at, format!("there is no `{name}(...)`"), help);
    Sort::Unknown
}

/// A call on a value.
pub(super) fn method(vet: &mut Vet<'_>, held: Sort, call: &FnCallExpr, position: Position) -> Sort {
    let at = vet.source.at(position);
    let name = call.name.as_str();
    let found =
        WORDS.iter().find(|word| word.name == name && word.on.is_some_and(|on| held == on || held.is_open()));
    if let Some(word) = found {
        return arguments(vet, word, call, at);
    }
    // What stands in the brackets of `has(...)` is a fact that belongs behind a dot.
    for argument in call.args.iter().filter(|_| !["has", "maybe"].contains(&name)) {
        vet.expression(argument);
    }
    if held.is_open() {
        return Sort::Unknown;
    }
    let possible = WORDS.iter().filter(|word| word.on == Some(held)).map(|word| word.name);
    let help = match (nearest(name, possible), held) {
        (_, Sort::Thing(kind)) if super::facts::named(kind, name).is_some() => {
            format!("`{name}` is a fact: write it without brackets")
        }
        (_, Sort::Thing(_)) if ["has", "maybe"].contains(&name) => {
            format!("write a dot, and no brackets: `machine.{name}.clock`")
        }
        (Some(near), _) => format!("write `.{near}(...)` if that is what you mean"),
        (None, Sort::Answer) if is_a_slip_of(name, "by") => {
            "write `.by(...)` if that is what you mean".to_owned()
        }
        _ => "look it up in what `tickover rules words` lists".to_owned(),
    };
    vet.slip(at, format!("{} has no `{name}(...)`", held.words()), help);
    Sort::Unknown
}

fn arguments(vet: &mut Vet<'_>, word: &Word, call: &FnCallExpr, at: usize) -> Sort {
    if call.args.len() != word.takes.len() {
        let what =
            format!("`{}` takes {}, not {}", word.name, counted(word.takes.len(), "value"), call.args.len());
        vet.slip(at, what, format!("write it as `{}`", word.written.trim_start_matches('.')));
        return word.gives;
    }
    if let ("date", [written]) = (word.name, &*call.args)
        && let Some((text, at)) = vet.text_written(written)
        && day_written(&text).is_err()
    {
        let Misuse { what, help } = not_a_day(&text);
        vet.slip(at, what, help);
    }
    if let ([text], None, Sort::Answer) = (&*call.args, word.on, word.gives)
        && let length = vet.least_length(text)
        && length > LONGEST
    {
        let what = format!("this answer is {length} characters long at least, and {LONGEST} are the most");
        vet.slip(at, what, "make it shorter: it is read on a telephone");
    }
    let place = format!("`{}`", word.name);
    for (argument, asked) in call.args.iter().zip(word.takes) {
        let sort = vet.expression(argument);
        let at = vet.place(argument);
        vet.wants(*asked, sort, at, &place);
    }
    if let [Expr::StringConstant(text, position)] = &*call.args
        && text.trim().is_empty()
        && (word.gives, word.on) == (Sort::Answer, None)
    {
        let (what, help) = if word.name == "cannot_tell" {
            ("this names no fact", "write which one is missing: `cannot_tell(\"MOT certificate\")`")
        } else {
            ("an answer without a text helps nobody", "write who should do what, and why")
        };
        vet.slip(vet.source.at(*position), what, help);
    }
    word.gives
}

/// A sign between two values, or before one.
pub(super) fn operator(vet: &mut Vet<'_>, sign: &str, sides: &[Operand<'_>], at: usize) -> Sort {
    match sides {
        [only] => one_sided(vet, sign, only),
        [left, right] => match sign {
            "==" | "!=" | "<" | "<=" | ">" | ">=" => {
                comparison(vet, left, right, at);
                vet_sense::comparison(vet, left.written, right.written, at);
                Sort::YesNo
            }
            "+" | "-" | "*" => sum(vet, sign, left, right, at),
            "&" if left.sort.is_text() || right.sort.is_text() => {
                let help = "put the value into the text: `` `... ${machine.clock} ...` ``";
                vet.slip(at, "a rule has no `&`", help);
                Sort::Text
            }
            "&" | "|" => {
                let meant = if sign == "&" { "and" } else { "or" };
                vet.slip(at, format!("a rule has no `{sign}`"), format!("write `{meant}`"));
                // It binds closer than the comparisons beside it, so that those would be wrong for want of brackets.
                Sort::Unknown
            }
            "/" if day_of_figures(at, vet.source).is_some() => {
                if let Some((start, day)) = day_of_figures(at, vet.source)
                    && !vet.source.letters[start..at].contains(&'/')
                {
                    let help = format!(
                        "write it in quotes, the year first: `date(\"{day}\")`, and in an example \"{day}\""
                    );
                    vet.slip(start, "these numbers are divided, and no day", help);
                }
                Sort::Unknown
            }
            _ => {
                let help =
                    if sign == ".." { "write one dot" } else { "write ==, !=, <, <=, >, >=, +, - or *" };
                vet.slip(at, format!("a rule has no `{sign}`"), help);
                Sort::Unknown
            }
        },
        _ => Sort::Unknown,
    }
}

fn one_sided(vet: &mut Vet<'_>, sign: &str, only: &Operand<'_>) -> Sort {
    match sign {
        "!" if only.sort.fits(Sort::YesNo) => Sort::YesNo,
        "!" => {
            let what = format!("`not` asks for yes or no, and this is {}", only.sort.words());
            vet.slip(only.at, what, "put the comparison in brackets: `not (machine.kind == \"moped\")`");
            Sort::Unknown
        }
        "-" if only.sort.is_number()
            || matches!(only.sort, Sort::Days | Sort::Months)
            || only.sort.is_open() =>
        {
            only.sort
        }
        _ => {
            vet.slip(only.at, format!("`{sign}` does not work before {}", only.sort.words()), "take it away");
            Sort::Unknown
        }
    }
}

fn comparison(vet: &mut Vet<'_>, left: &Operand<'_>, right: &Operand<'_>, at: usize) {
    for (one, other) in [(left, right), (right, left)] {
        if let (Some(fact), Sort::Text, Expr::StringConstant(text, position)) =
            (one.fact, one.sort, other.written)
        {
            let at = vet.source.at(*position);
            vet.names.compares(fact, text, at);
        }
    }
    for (one, other) in [(left, right), (right, left)] {
        if let (Some(fact), Expr::StringConstant(text, position)) = (one.fact, other.written)
            && one.sort.is_text()
            && text.trim().is_empty()
        {
            let at = vet.source.at(*position);
            let help = format!("ask whether it is known: `{}.has.{}`", fact.of.word(), fact.name);
            return vet.slip(at, "no fact is ever blank: where nothing is written, it is not known", help);
        }
    }
    for (one, other) in [(left, right), (right, left)] {
        if let (Sort::OneOf(words), Expr::StringConstant(text, position)) = (one.sort, other.written)
            && !words.iter().any(|word| same(text, word))
        {
            let help = match nearest(text, words.iter().copied()) {
                Some(near) => format!("write \"{near}\""),
                None => format!("write one of {}", words.join(", ")),
            };
            let at = vet.source.at(*position);
            return vet.slip(at, format!("this is never \"{text}\""), help);
        }
    }
    let things = |sort: Sort| {
        matches!(sort, Sort::Thing(_) | Sort::Has(_) | Sort::Maybe(_) | Sort::List(_) | Sort::Answer)
    };
    if things(left.sort) || things(right.sort) {
        let thing = if things(left.sort) { left } else { right };
        vet.slip(thing.at, format!("{} cannot be compared", thing.sort.words()), "name one fact of it");
    } else if let Some((at, text)) = number_in_quotes(vet, left, right) {
        let what = "this is a text, and not a plain number";
        vet.slip(at, what, format!("write `{text}`, without quotes"));
    } else if !left.sort.fits(right.sort) && !right.sort.is_open() && is_first(vet, left, right) {
        let help = comparison_help(left, right);
        let are_counts =
            matches!((left.sort, right.sort), (Sort::Days, Sort::Months) | (Sort::Months, Sort::Days));
        if (help == SAME_SORT || are_counts) && constant_is_wrong(vet, left, right, at) {
            return;
        }
        let what = format!("cannot compare {} with {}", left.sort.words(), right.sort.words());
        let marked = if left.sort.is_number() {
            left.at
        } else if right.sort.is_number() {
            right.at
        } else {
            at
        };
        vet.slip(marked, what, help);
    }
}

fn comparison_help(left: &Operand<'_>, right: &Operand<'_>) -> String {
    for (quantity, number) in [(left, right), (right, left)] {
        if let (Some(unit), true) = (quantity.sort.unit(), number.sort.is_number()) {
            return unit_help(number, unit);
        }
    }
    match (left.sort, right.sort) {
        (Sort::YesNo, _) if is_comparison(left.written) => {
            "write two comparisons: `machine.clock > 300.miles and machine.clock < 500.miles`".to_owned()
        }
        (Sort::Days, Sort::Months) | (Sort::Months, Sort::Days) => {
            "add the months to a day and compare days: `machine.today > machine.sold + 1.month`".to_owned()
        }
        (Sort::Day, Sort::Days | Sort::Months) | (Sort::Days | Sort::Months, Sort::Day) => {
            "add it to a day: `machine.today > machine.sold + 14.days`".to_owned()
        }
        (_, Sort::Text) if matches!(right.written, Expr::StringConstant(text, _) if text.trim().is_empty()) => {
            "ask whether it is known: `machine.has.clock`".to_owned()
        }
        (Sort::YesNo, Sort::Text) => match right.written {
            Expr::StringConstant(text, _) if matches!(text.to_lowercase().as_str(), "false" | "no") => {
                "write `false`, without quotes".to_owned()
            }
            _ => "write `true`, without quotes".to_owned(),
        },
        (Sort::Day, Sort::Text) | (Sort::Text, Sort::Day) => {
            "write the day as `date(\"2026-03-02\")`".to_owned()
        }
        (Sort::Day, number) | (number, Sort::Day) if number.is_number() => {
            "write the day as `date(\"2026-03-02\")`".to_owned()
        }
        _ => SAME_SORT.to_owned(),
    }
}

/// What is told where nothing better is known.
const SAME_SORT: &str = "compare two values of the same sort";

/// Whether one of two values that cannot be compared is a constant, which is then told of where it is set: the other is a
/// fact, and what a fact is cannot be changed.
fn constant_is_wrong(vet: &mut Vet<'_>, left: &Operand<'_>, right: &Operand<'_>, at: usize) -> bool {
    let (constant, place, is, other) = match (vet.constant(left.written), vet.constant(right.written)) {
        (Some((name, place)), None) => (name, place, left.sort, right.sort),
        (None, Some((name, place))) => (name, place, right.sort, left.sort),
        _ => return false,
    };
    let line = vet.source.line_and_column(at).0;
    let (is, meant) = (is.words(), other.words());
    let what = format!("`{constant}` is {is}, and line {line} compares it with {meant}");
    let months = vet.names.values.get(constant).and_then(Value::of);
    let help = match (other.unit(), months) {
        // Whoever counts months means thirty days by each.
        (Some("days"), Some(Value::Months(months))) => {
            format!("write {meant} behind it, such as `{}.days`", months.0.saturating_mul(30))
        }
        (Some(unit), _) => format!("write {meant} behind it, such as `14.{unit}`"),
        (None, _) => format!("write {meant} behind it, or compare it with {is}"),
    };
    vet.slip(place, what, help);
    true
}

pub(super) fn is_comparison(written: &Expr) -> bool {
    matches!(written, Expr::FnCall(call, _) if ["<", "<=", ">", ">=", "==", "!="].contains(&call.name.as_str()))
}

/// The constant of a comparison with a number that is one in quotes, and where it is set.
fn number_in_quotes(vet: &Vet<'_>, left: &Operand<'_>, right: &Operand<'_>) -> Option<(usize, String)> {
    [(left, right), (right, left)].into_iter().find_map(|(number, text)| match text.written {
        Expr::Variable(name, _, _) if number.sort.is_number() && text.sort.is_text() => {
            vet.number_in_quotes(&name.1)
        }
        _ => None,
    })
}

/// Whether a constant that one side names has not been told of as wrong; what is no constant is told of each time.
fn is_first(vet: &Vet<'_>, left: &Operand<'_>, right: &Operand<'_>) -> bool {
    [left, right].into_iter().all(|side| match side.written {
        Expr::Variable(name, _, _) if side.sort.is_number() || side.sort.is_text() => {
            !vet.names.constants.contains_key(name.1.as_str()) || vet.names.is_first(&name.1)
        }
        _ => true,
    })
}

/// Which unit to write, and where.
fn unit_help(number: &Operand<'_>, unit: &str) -> String {
    match number.written {
        Expr::IntegerConstant(number, _) => format!("write the unit: `{number}.{unit}`"),
        Expr::Variable(name, _, _) => {
            format!("write the unit where `{}` is set, such as `14.{unit}`", name.1)
        }
        _ => format!("write the unit, such as `14.{unit}`"),
    }
}

fn sum(vet: &mut Vet<'_>, sign: &str, left: &Operand<'_>, right: &Operand<'_>, at: usize) -> Sort {
    use Sort::{Day, Days, Distance, Months, Speed, Text, Whole};
    if left.sort.is_open() || right.sort.is_open() {
        return Sort::Unknown;
    }
    match (left.sort, sign, right.sort) {
        (one, _, other) if one.is_number() && other.is_number() => {
            if one == Whole && other == Whole {
                Whole
            } else {
                Sort::Decimal
            }
        }
        (Distance, "+" | "-", Distance) => Distance,
        (Speed, "+" | "-", Speed) => Speed,
        (Days, "+" | "-", Days) => Days,
        (Months, "+" | "-", Months) => Months,
        (Day, "+" | "-", Days | Months) | (Days | Months, "+", Day) => Day,
        (Day, "-", Day) => Days,
        (quantity @ (Distance | Days | Months), "*", Whole)
        | (Whole, "*", quantity @ (Distance | Days | Months)) => quantity,
        (one, "+", other) if one.is_text() && other.is_text() => Text,
        _ if !is_first(vet, left, right) => Sort::Unknown,
        (one, sign, other) => {
            let what = match sign {
                "+" => format!("cannot add {} and {}", one.words(), other.words()),
                "-" => format!("cannot take {} from {}", other.words(), one.words()),
                _ => format!("cannot multiply {} by {}", one.words(), other.words()),
            };
            let help = if let (Day, Text, Expr::Variable(name, _, _)) = (one, other, right.written) {
                format!("write a count of days where `{}` is set, such as `14.days`", name.1)
            } else if one.is_text() || other.is_text() {
                "put the value into the text: `` `... ${machine.clock} ...` ``".to_owned()
            } else if sign == "*" {
                "multiply by a whole number, or write the sum's result as a limit of its own".to_owned()
            } else if let (Some(unit), true) = (one.unit(), other.is_number()) {
                unit_help(right, unit)
            } else if one == Day && other.is_number() {
                unit_help(right, "days")
            } else {
                "use two values that go together, such as a day and `14.days`".to_owned()
            };
            vet.slip(at, what, help);
            Sort::Unknown
        }
    }
}

/// The sort of a second parameter that is named after a kind of thing; `machine` is one too.
pub(super) fn sort_of_parameter(name: &str) -> Sort {
    Kind::named(name).map_or(Sort::Unknown, Sort::Thing)
}
