//! What a condition asks: of which value, and on which side of which figure it must lie.

use std::cell::Cell;
use std::collections::BTreeSet;
use std::rc::Rc;

use jiff::civil::Date;
use rhai::{ASTNode, Dynamic, Expr, FnCallExpr, Stmt};

use super::known::{Left, Question};
use super::plausible::{is_no_deadline, is_whole};
use crate::rules::compared_texts::read_as;
use crate::rules::names::{Body, Names};
use crate::rules::quantity;
use crate::rules::reference::day_written;
use crate::rules::value::Value;
use crate::units::Days;

/// How deep an expression is followed, and a name to what it was given; nobody reads more.
const DEEPEST: usize = 24;
/// The most values and sums of one function that are looked at; of the rest nothing is said. A name that stands for two of
/// another, and that for two of a third, would be more than anybody can wait for.
const LOOKS: usize = 20_000;
/// The longest that a value is when it is written out, in bytes; nobody reads a longer one.
const WRITTEN: usize = 1_000;

/// In what a value is counted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::rules) enum Scale {
    Number,
    Days,
    Months,
    Length,
    Pace,
    Volume,
    /// Yes or no, and words.
    Said,
}

impl Scale {
    /// How the scale stands before a value's name, so that two of them never mix.
    pub(super) fn sign(self) -> &'static str {
        match self {
            Scale::Number => "number",
            Scale::Days => "days",
            Scale::Months => "months",
            Scale::Length => "length",
            Scale::Pace => "pace",
            Scale::Volume => "volume",
            Scale::Said => "said",
        }
    }
}

/// What a name of the owner's stands for.
#[derive(Clone, Copy)]
enum Own<'a> {
    /// What `let` gave it.
    Given(&'a Expr),
    /// Something of its own, which is told apart by a number.
    Itself(usize),
}

/// The names that can be seen from a place in a function.
pub(super) struct Sight<'a> {
    names: &'a Names,
    own: Vec<(&'a str, Own<'a>)>,
    /// The names that are given another value somewhere: nothing is known of them.
    changed: BTreeSet<String>,
    count: usize,
    /// How many values and sums may still be looked at.
    looks: Cell<usize>,
}

/// A sum of one value less another, with a figure: `machine.today + 14.days`.
#[derive(Default)]
struct Sum {
    more: Option<String>,
    less: Option<String>,
    figure: i64,
    /// Months, which are no fixed figure: they make a day of a day.
    months: i64,
    /// The value that they are added to, on whichever side it stands.
    months_after: Option<String>,
    scale: Option<Scale>,
}

impl<'a> Sight<'a> {
    /// What can be seen where a function begins.
    pub(super) fn of(body: &'a Body, names: &'a Names) -> Sight<'a> {
        let mut changed = BTreeSet::new();
        body.tree.walk(&mut |nodes: &[ASTNode<'_>]| {
            if let Some(ASTNode::Stmt(Stmt::Assignment(assignment))) = nodes.last()
                && let Expr::Variable(name, _, _) = &assignment.1.lhs
            {
                changed.insert(name.1.to_string());
            }
            true
        });
        let mut sight = Sight { names, own: Vec::new(), changed, count: 0, looks: Cell::new(LOOKS) };
        body.parameters.iter().for_each(|name| sight.add(name, None));
        sight
    }

    /// How many names are seen.
    pub(super) fn count(&self) -> usize {
        self.own.len()
    }

    /// Forgets the names of a block that ends.
    pub(super) fn only(&mut self, count: usize) {
        self.own.truncate(count);
    }

    /// Sees one more name, which stands for what it was given, if that is known.
    pub(super) fn add(&mut self, name: &'a str, given: Option<&'a Expr>) {
        self.count += 1;
        self.own.push((name, given.map_or(Own::Itself(self.count), Own::Given)));
    }

    fn own(&self, name: &str) -> Option<Own<'a>> {
        self.own.iter().rev().find(|(known, _)| *known == name).map(|(_, own)| *own)
    }

    /// What an expression stands for, where it is a name that was given something.
    pub(super) fn meant<'e>(&self, expression: &'e Expr) -> &'e Expr
    where
        'a: 'e,
    {
        let mut meant = expression;
        for _ in 0..DEEPEST {
            let Expr::Variable(name, _, _) = meant else { break };
            match self.own(&name.1) {
                Some(Own::Given(given)) if !self.changed.contains(name.1.as_str()) => meant = given,
                _ => break,
            }
        }
        meant
    }

    /// The question that a condition asks, where it is one by itself.
    pub(super) fn question(&self, condition: &Expr) -> Option<Question> {
        let condition = self.meant(condition);
        if let Expr::FnCall(call, _) = condition
            && let ([left, right], true) = (&*call.args, call.is_operator_call())
        {
            return self.comparison(&call.name, left, right);
        }
        let mut needs = Vec::new();
        if let Some((of, days)) = self.looks_ahead(condition, &mut needs) {
            return Some(Question {
                of,
                yes: vec![Left::Figure(i64::MIN, days)],
                no: vec![Left::Figure(days.checked_add(1)?, i64::MAX)],
                needs: of_facts(needs),
            });
        }
        let of = key(Scale::Said, &self.written(condition, &mut needs, 0)?);
        let (yes, no) = (vec![Left::yes_or_no(true)], vec![Left::yes_or_no(false)]);
        Some(Question { of, yes, no, needs: of_facts(needs) })
    }

    /// `service.likely_within(14.days)`: which day, and how many days ahead at most.
    fn looks_ahead(&self, condition: &Expr, needs: &mut Vec<String>) -> Option<(Rc<str>, i64)> {
        let (first, links) = links(condition)?;
        let (Expr::MethodCall(call, _), before) = links.split_last()? else { return None };
        let ([within], "likely_within" | "perhaps_within") = (&*call.args, call.name.as_str()) else {
            return None;
        };
        let (days, scale) = self.figure(within)?;
        let of = self.chain(first, before, needs, 0)?;
        (scale == Scale::Days).then(|| (key(Scale::Days, &format!("{of}.{}()", call.name)), days))
    }

    fn comparison(&self, sign: &str, left: &Expr, right: &Expr) -> Option<Question> {
        let mut needs = Vec::new();
        for (value, word) in [(left, right), (right, left)] {
            if let Some(Value::Text(word)) = self.constant(word) {
                let of = key(Scale::Said, &self.written(value, &mut needs, 0)?);
                let word: Rc<str> = read_as(&word).collect::<String>().into();
                let (is, is_not) = (vec![Left::Word(Rc::clone(&word))], vec![Left::OtherWord(vec![word])]);
                let (yes, no) = match sign {
                    "==" => (is, is_not),
                    "!=" => (is_not, is),
                    _ => return None,
                };
                return Some(Question { of, yes, no, needs: of_facts(needs) });
            }
        }
        let left = self.sum(left, &mut needs, 0)?;
        let difference = left.and(self.sum(right, &mut needs, 0)?.turned())?;
        let (of, figure, sign) = difference.against_nought(sign)?;
        let (below, above) = (figure.checked_sub(1)?, figure.checked_add(1)?);
        let (less, more) = (Left::Figure(i64::MIN, below), Left::Figure(above, i64::MAX));
        let (at_most, at_least) = (Left::Figure(i64::MIN, figure), Left::Figure(figure, i64::MAX));
        let (is, is_not) = (vec![Left::Figure(figure, figure)], vec![less.clone(), more.clone()]);
        let (yes, no) = match sign {
            "<" => (vec![less], vec![at_least]),
            "<=" => (vec![at_most], vec![more]),
            ">" => (vec![more], vec![at_most]),
            ">=" => (vec![at_least], vec![less]),
            "==" => (is, is_not),
            "!=" => (is_not, is),
            _ => return None,
        };
        let (yes, no) = if is_whole(&of) { (in_whole(yes), in_whole(no)) } else { (yes, no) };
        Some(Question { of, yes, no, needs: of_facts(needs) })
    }

    /// Whether the same value stands on both sides of a comparison, which then says nothing of it:
    /// `machine.clock * 2 > machine.clock`.
    pub(super) fn is_on_both_sides(&self, left: &Expr, right: &Expr) -> bool {
        let mut needs = Vec::new();
        let (times, times_other) = (self.without_times(left), self.without_times(right));
        let values = (self.written(times, &mut needs, 0), self.written(times_other, &mut needs, 0));
        if matches!(&values, (Some(one), Some(other)) if one == other) {
            return !self.is_figure(times);
        }
        let sums = self.sum(left, &mut needs, 0).zip(self.sum(right, &mut needs, 0));
        sums.is_some_and(|(one, other)| {
            one.more.is_some() && one.more == other.more && one.less == other.less
        })
    }

    /// What is multiplied by a plain number, or the expression itself.
    fn without_times<'e>(&self, expression: &'e Expr) -> &'e Expr
    where
        'a: 'e,
    {
        let meant = self.meant(expression);
        let Expr::FnCall(call, _) = meant else { return meant };
        let ([left, right], "*") = (&*call.args, call.name.as_str()) else { return meant };
        let is_number = |side: &Expr| self.figure(side).is_some_and(|(_, scale)| scale == Scale::Number);
        match (is_number(left), is_number(right)) {
            (false, true) => self.meant(left),
            (true, false) => self.meant(right),
            _ => meant,
        }
    }

    /// Whether a day of an answer is one by which nobody can act.
    pub(super) fn is_no_deadline(&self, day: &Expr) -> bool {
        let Some(sum) = self.sum(day, &mut Vec::new(), 0) else { return false };
        sum.scale == Some(Scale::Days) && is_no_deadline(sum.more.is_none(), sum.figure, sum.months)
    }

    /// A sum or a difference of values and figures.
    fn sum(&self, expression: &Expr, needs: &mut Vec<String>, depth: usize) -> Option<Sum> {
        let expression = self.meant(expression);
        self.look(depth)?;
        if let Some((figure, scale)) = self.figure(expression) {
            let is_months = scale == Scale::Months;
            return Some(if is_months {
                Sum { months: figure, scale: Some(Scale::Days), ..Sum::default() }
            } else {
                Sum { figure, scale: Some(scale), ..Sum::default() }
            });
        }
        if let Expr::FnCall(call, _) = expression
            && let ([left, right], "+" | "-") = (&*call.args, call.name.as_str())
        {
            let left = self.sum(left, needs, depth + 1)?;
            let right = self.sum(right, needs, depth + 1)?;
            return left.and(if call.name == "-" { right.turned() } else { right });
        }
        Some(Sum { more: Some(self.written(expression, needs, depth)?), ..Sum::default() })
    }

    /// A value as the same value is always written; the plain facts in it, as `has` asks for them, are noted.
    fn written(&self, expression: &Expr, needs: &mut Vec<String>, depth: usize) -> Option<String> {
        self.look(depth)?;
        self.written_out(self.meant(expression), needs, depth).filter(|written| written.len() <= WRITTEN)
    }

    /// Notes that one more value is looked at; `None` where that is one too many, or too deep.
    fn look(&self, depth: usize) -> Option<()> {
        let left = self.looks.get().checked_sub(1).filter(|_| depth <= DEEPEST)?;
        self.looks.set(left);
        Some(())
    }

    fn written_out(&self, expression: &Expr, needs: &mut Vec<String>, depth: usize) -> Option<String> {
        if let Some((figure, scale)) = self.figure(expression) {
            return Some(format!("{} {figure}", scale.sign()));
        }
        if let Some(value) = self.constant(expression) {
            return Some(format!("{value:?}"));
        }
        match expression {
            Expr::Variable(name, _, _) if self.changed.contains(name.1.as_str()) => None,
            Expr::Variable(name, _, _) => match self.own(&name.1)? {
                Own::Itself(number) => Some(format!("{}#{number}", name.1)),
                Own::Given(_) => None,
            },
            Expr::Dot(..) => {
                let (first, links) = links(expression)?;
                self.chain(first, &links, needs, depth)
            }
            Expr::FnCall(call, _) => {
                Some(format!("{}({})", call.name, self.in_brackets(call, needs, depth)?))
            }
            Expr::Coalesce(sides, _) => {
                // What stands behind `??` is asked for only where the first is missing.
                let sides: Option<Vec<_>> =
                    sides.iter().map(|side| self.written(side, &mut Vec::new(), depth + 1)).collect();
                Some(format!("({})", sides?.join(" ?? ")))
            }
            _ => None,
        }
    }

    /// A chain of dots.
    fn chain(&self, first: &Expr, links: &[&Expr], needs: &mut Vec<String>, depth: usize) -> Option<String> {
        let first = self.written(first, needs, depth + 1)?;
        links.iter().try_fold(first, |held, link| self.link(held, link, needs, depth + 1))
    }

    /// One link of a chain of dots.
    fn link(&self, held: String, link: &Expr, needs: &mut Vec<String>, depth: usize) -> Option<String> {
        match link {
            Expr::Property(name, _) => {
                let name = name.2.as_str();
                let is_view = |held: &str| held.ends_with(".has") || held.ends_with(".maybe");
                if !is_view(&held) && !["has", "maybe"].contains(&name) {
                    needs.push(format!("{held}.has.{name}"));
                }
                Some(format!("{held}.{name}"))
            }
            Expr::MethodCall(call, _) => {
                let name = &call.name;
                let brackets: Option<Vec<_>> =
                    call.args.iter().map(|argument| self.written(argument, needs, depth)).collect();
                Some(format!("{held}.{name}({})", brackets?.join(", ")))
            }
            _ => None,
        }
    }

    fn in_brackets(&self, call: &FnCallExpr, needs: &mut Vec<String>, depth: usize) -> Option<String> {
        let given: Option<Vec<_>> =
            call.args.iter().map(|argument| self.written(argument, needs, depth + 1)).collect();
        given.map(|given| given.join(", "))
    }

    /// Whether an expression names a limit that is nought, itself or by what `let` gave a name: so set it switches off what
    /// it decides.
    pub(super) fn names_nought(&self, side: &Expr) -> bool {
        self.names_such(side, 0, &|name| {
            let value = self.names.values.get(name).and_then(Value::of);
            value.and_then(|value| figure(&value)).is_some_and(|(figure, _)| figure == 0)
        })
    }

    /// Whether an expression names a limit.
    pub(super) fn names_a_limit(&self, side: &Expr) -> bool {
        self.names_such(side, 0, &|name| self.names.values.contains_key(name))
    }

    fn names_such(&self, side: &Expr, depth: usize, is_such: &dyn Fn(&str) -> bool) -> bool {
        let mut found = false;
        side.walk(&mut Vec::new(), &mut |nodes| {
            if let Some(ASTNode::Expr(Expr::Variable(name, _, _))) = nodes.last()
                && self.look(depth).is_some()
            {
                found |= match self.own(&name.1) {
                    Some(Own::Given(given)) => self.names_such(given, depth + 1, is_such),
                    Some(Own::Itself(_)) => false,
                    None => is_such(&name.1),
                };
            }
            !found
        });
        found
    }

    /// Whether an expression is a fixed figure.
    pub(super) fn is_figure(&self, side: &Expr) -> bool {
        self.figure(side).is_some()
    }

    /// A fixed figure in the smallest step of its scale.
    fn figure(&self, side: &Expr) -> Option<(i64, Scale)> {
        let decimal = match side {
            Expr::DynamicConstant(number, _) => Some(&**number),
            Expr::Variable(name, _, _) if self.own(&name.1).is_none() => {
                self.names.values.get(name.1.as_str())
            }
            _ => None,
        };
        match decimal.filter(|number| number.is_decimal()) {
            Some(number) => quantity::thousandths(number).ok().map(|figure| (figure, Scale::Number)),
            None => figure(&self.constant(side)?),
        }
    }

    /// The value of a constant, or of a number with its unit.
    fn constant(&self, side: &Expr) -> Option<Value<'static>> {
        let number = |side: &Expr| match side {
            Expr::IntegerConstant(number, _) => Some(Dynamic::from(*number)),
            Expr::DynamicConstant(number, _) => Some(Dynamic::clone(number)),
            _ => None,
        };
        match side {
            Expr::Variable(name, _, _) if self.own(&name.1).is_none() => {
                self.names.values.get(name.1.as_str()).and_then(Value::of)
            }
            Expr::StringConstant(text, _) => Some(Value::from(text.to_string())),
            Expr::Dot(pair, _, _) => match &pair.rhs {
                Expr::Property(unit, _) => quantity::in_unit(&number(&pair.lhs)?, &unit.2),
                _ => None,
            },
            Expr::FnCall(call, _) => match (call.name.as_str(), &*call.args) {
                ("date", [Expr::StringConstant(day, _)]) => day_written(day).ok().map(Value::from),
                ("-", [only]) => match self.constant(only)? {
                    Value::Whole(number) => number.checked_neg().map(Value::Whole),
                    _ => None,
                },
                _ => None,
            },
            _ => Value::of(&number(side)?),
        }
    }
}

impl Sum {
    fn turned(self) -> Sum {
        let months = if self.months_after.is_some() { self.months } else { -self.months };
        Sum { more: self.less, less: self.more, figure: -self.figure, months, ..self }
    }

    /// Two sums together, where that is again one value less another.
    fn and(self, other: Sum) -> Option<Sum> {
        if self.scale.zip(other.scale).is_some_and(|(one, other)| one != other) {
            return None;
        }
        if self.months != 0 && other.months != 0 {
            return None;
        }
        let months = if self.months == 0 { other.months } else { self.months };
        let mut months_after = self.months_after.or(other.months_after);
        if months != 0 && months_after.is_none() {
            let day = if self.months == 0 { &self.more } else { &other.more };
            months_after.clone_from(day);
        }
        let (mut more, mut less) = (vec![self.more, other.more], vec![self.less, other.less]);
        more.retain(Option::is_some);
        less.retain(Option::is_some);
        if let (Some(at), 0) = (more.iter().position(|one| less.contains(one)), months) {
            let one = more.remove(at);
            less.retain(|other| *other != one);
        }
        if more.len() > 1 || less.len() > 1 {
            return None;
        }
        Some(Sum {
            more: more.pop().flatten(),
            less: less.pop().flatten(),
            figure: self.figure.checked_add(other.figure)?,
            months,
            months_after,
            scale: self.scale.or(other.scale),
        })
    }

    /// The sum against nought as one value against a figure, and the sign between them.
    fn against_nought(self, sign: &str) -> Option<(Rc<str>, i64, &str)> {
        let scale = self.scale.unwrap_or(Scale::Days);
        match (self.more, self.less) {
            // How many months after one day the other is reached is a value of its own.
            (Some(more), Some(less)) if self.months != 0 => {
                let months = |from: &str, to: &str| key(Scale::Months, &format!("after {from} up to {to}"));
                // Between two counts of months lie days, which are a step of their own: each month is two.
                let figure = self.months.checked_mul(2)?;
                match self.months_after {
                    _ if self.figure != 0 => None,
                    Some(after) if after == more => Some((months(&more, &less), figure, turned(sign))),
                    Some(after) if after == less => Some((months(&less, &more), figure, sign)),
                    _ => None,
                }
            }
            _ if self.months != 0 => None,
            (Some(more), None) => Some((key(scale, &more), -self.figure, sign)),
            (None, Some(less)) => Some((key(scale, &less), self.figure, turned(sign))),
            (Some(more), Some(less)) if more < less => {
                Some((key(scale, &format!("{more} less {less}")), -self.figure, sign))
            }
            (Some(more), Some(less)) => {
                Some((key(scale, &format!("{less} less {more}")), self.figure, turned(sign)))
            }
            (None, None) => None,
        }
    }
}

/// What is left of a count: between two whole numbers there is none.
fn in_whole(left: Vec<Left>) -> Vec<Left> {
    /// A whole number in thousandths.
    const ONE: i64 = 1_000;
    let whole = |left: Left| match left {
        Left::Figure(low, high) => {
            let up = low.checked_add(ONE - 1).map_or(low, |low| low.div_euclid(ONE) * ONE);
            let down = if high == i64::MAX { high } else { high.div_euclid(ONE) * ONE };
            // A fraction itself is told of as a figure that nothing comes to.
            let up = if low == i64::MIN { low } else { up };
            if up <= down { Left::Figure(up, down) } else { Left::Figure(low, high) }
        }
        word => word,
    };
    left.into_iter().map(whole).collect()
}

/// What a chain of dots begins with, and what stands behind each of its dots.
pub(super) fn links(chain: &Expr) -> Option<(&Expr, Vec<&Expr>)> {
    let Expr::Dot(pair, _, _) = chain else { return None };
    let mut links = Vec::new();
    let mut rest = &pair.rhs;
    while let Expr::Dot(pair, _, _) = rest {
        links.push(&pair.lhs);
        rest = &pair.rhs;
    }
    links.push(rest);
    Some((&pair.lhs, links))
}

/// The sign as it is read from the right.
fn turned(sign: &str) -> &str {
    match sign {
        "<" => ">",
        "<=" => ">=",
        ">" => "<",
        ">=" => "<=",
        other => other,
    }
}

fn key(scale: Scale, written: &str) -> Rc<str> {
    format!("{}:{written}", scale.sign()).into()
}

/// The facts that are needed, as `has` asks for each.
fn of_facts(needs: Vec<String>) -> Vec<Rc<str>> {
    needs.iter().map(|need| key(Scale::Said, need)).collect()
}

/// A figure in the smallest step of its scale; `None` where it has none.
pub(in crate::rules) fn figure(value: &Value<'_>) -> Option<(i64, Scale)> {
    Some(match value {
        Value::Whole(number) => (number.checked_mul(1_000)?, Scale::Number),
        Value::Days(Days(days)) => (*days, Scale::Days),
        Value::Months(months) => (months.0, Scale::Months),
        Value::Day(day) => (Days::between(Date::constant(1970, 1, 1), *day).0, Scale::Days),
        Value::Length(length) => (length.distance.tenth_millimetres(), Scale::Length),
        Value::Pace(pace) => (pace.speed.tenth_millimetres_an_hour(), Scale::Pace),
        Value::Volume(volume) => ((volume.litres() * 1_000.0).round() as i64, Scale::Volume),
        _ => return None,
    })
}
