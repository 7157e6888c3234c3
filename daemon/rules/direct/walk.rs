//! Walks a function's tree over the facts of a machine or the yard.

use std::cmp::Ordering;

use super::tree::{Comparison, Function, How, IN_BRACKETS, Link, Node, Word};
use super::{Ended, Notes};
use crate::rules::answer::Answer;
use crate::rules::compared_texts::compared;
use crate::rules::facts::{Fact, Found, Known, Lack};
use crate::rules::part::Part;
use crate::rules::quantity::Given;
use crate::rules::reference::day_written;
use crate::rules::sandbox::{LIST, TEXT_BYTES};
use crate::rules::sums::{Sign, sum};
use crate::rules::value::Value;

/// The most steps: so far below the language's own limit that nothing gets through which that would stop.
const STEPS: usize = 1_000;

/// Why a walk did not go on to the end.
enum Stop<'a> {
    /// The function has its answer.
    Returned(Value<'a>),
    /// A fact is missing.
    Missing(Lack<'a>),
    /// This way does not know what comes of it.
    AskTheLanguage,
}

type Walked<'a> = Result<Value<'a>, Stop<'a>>;

/// A walk under way.
struct Walk<'a, 'n> {
    whole: Part<'a>,
    names: &'n mut Vec<Value<'a>>,
    notes: Notes<'a>,
    steps: usize,
}

/// Runs a function; `None` where the language must be asked.
pub(super) fn run<'a>(
    function: &'a Function,
    whole: Part<'a>,
    thing: Option<Part<'a>>,
    notes: Notes<'a>,
    names: &mut Vec<Value<'a>>,
) -> Option<Ended<'a>> {
    /// More names than most functions have.
    const USUAL: usize = 8;
    if 1 + usize::from(thing.is_some()) != function.parameters {
        return None;
    }
    // Each name is set before it is read, so what another function left behind may stay.
    if names.len() < function.names {
        names.resize(function.names.max(USUAL), Value::Nothing);
    }
    for (name, part) in names.iter_mut().zip([Some(whole), thing].into_iter().flatten()) {
        *name = Value::Thing(part.kind, part.place);
    }
    let mut walk = Walk { whole, names, notes, steps: 0 };
    let gave = match walk.block(&function.body) {
        Ok(value) | Err(Stop::Returned(value)) => Ok(value),
        Err(Stop::Missing(missing)) => Err(missing),
        Err(Stop::AskTheLanguage) => return None,
    };
    Some(Ended { gave, notes: walk.notes })
}

impl<'a> Walk<'a, '_> {
    fn block(&mut self, pieces: &'a [Node]) -> Walked<'a> {
        let mut last = Value::Nothing;
        for piece in pieces {
            last = self.value(piece)?;
        }
        Ok(last)
    }

    fn value(&mut self, node: &'a Node) -> Walked<'a> {
        self.step()?;
        match node {
            Node::Constant(value) => Ok(borrowed(value)),
            Node::Name(place) => Ok(self.names[*place].clone()),
            Node::Text(pieces) => self.text(pieces),
            Node::Fact(name, how, facts) => {
                let thing = self.thing(*name)?;
                self.fact(*how, facts, thing)
            }
            Node::Chain { first, in_brackets, links } => self.chain(first, in_brackets, links),
            Node::Fallback(sides) => self.fallback(sides),
            Node::Negative(inner) => {
                let negative = match self.value(inner)? {
                    Value::Whole(count) => count.checked_neg().map(Value::Whole),
                    value @ (Value::Days(_) | Value::Months(_)) => {
                        sum(Sign::Times, &value, &Value::Whole(-1))
                    }
                    _ => None,
                };
                negative.ok_or(Stop::AskTheLanguage)
            }
            Node::Sum(sign, sides) => {
                let (left, right) = (self.value(&sides[0])?, self.value(&sides[1])?);
                within_limits(sum(*sign, &left, &right).ok_or(Stop::AskTheLanguage)?)
            }
            Node::Word(word, in_brackets) => self.word(word, in_brackets),
            Node::If(condition, yes, no) => {
                let branch = if self.yes_no(condition)? { yes } else { no };
                self.block(branch)
            }
            Node::Block(pieces) => self.block(pieces),
            Node::Set(place, value) => {
                self.names[*place] = self.value(value)?;
                Ok(Value::Nothing)
            }
            Node::Return(value) => Err(match value {
                Some(value) => Stop::Returned(self.value(value)?),
                None => Stop::Returned(Value::Nothing),
            }),
            Node::All(_) | Node::Any(_) | Node::Not(_) | Node::Compare(..) => {
                self.yes_no(node).map(Value::YesNo)
            }
        }
    }

    /// The value of a piece that must be yes or no: conditions are most of a rule, and need no value for it.
    fn yes_no(&mut self, node: &'a Node) -> Result<bool, Stop<'a>> {
        self.step()?;
        match node {
            Node::All(sides) => self.joined(sides, false),
            Node::Any(sides) => self.joined(sides, true),
            Node::Not(inner) => Ok(!self.yes_no(inner)?),
            Node::Compare(comparison, sides) => {
                let (left, right) = (self.value(&sides[0])?, self.value(&sides[1])?);
                comparison.holds(&left, &right).ok_or(Stop::AskTheLanguage)
            }
            Node::Fact(name, How::Has, facts) => {
                let thing = self.thing(*name)?;
                self.has(facts, thing)
            }
            _ => match self.value(node)? {
                Value::YesNo(yes) => Ok(yes),
                _ => Err(Stop::AskTheLanguage),
            },
        }
    }

    fn step(&mut self) -> Result<(), Stop<'a>> {
        self.steps += 1;
        if self.steps > STEPS { Err(Stop::AskTheLanguage) } else { Ok(()) }
    }

    /// The thing that a name stands for.
    fn thing(&self, name: usize) -> Result<Part<'a>, Stop<'a>> {
        match self.names[name] {
            Value::Thing(kind, place) => Ok(self.whole.other(kind, place)),
            _ => Err(Stop::AskTheLanguage),
        }
    }

    /// `and` goes on while it is yes, `or` while it is no.
    fn joined(&mut self, sides: &'a [Node], ends_at: bool) -> Result<bool, Stop<'a>> {
        for side in sides {
            if self.yes_no(side)? == ends_at {
                return Ok(ends_at);
            }
        }
        Ok(!ends_at)
    }

    fn fallback(&mut self, sides: &'a [Node]) -> Walked<'a> {
        for side in sides {
            let value = self.value(side)?;
            if !matches!(value, Value::Nothing) {
                return Ok(value);
            }
        }
        Ok(Value::Nothing)
    }

    fn text(&mut self, pieces: &'a [Node]) -> Walked<'a> {
        /// As long as most sentences of a letter, with their figures.
        const USUAL: usize = 160;
        let mut text = String::with_capacity(USUAL);
        for piece in pieces {
            self.step()?;
            let printed = match piece {
                Node::Constant(value) => value.print_into(&mut text),
                Node::Name(place) => self.names[*place].print_into(&mut text),
                piece => self.value(piece)?.print_into(&mut text),
            };
            printed.ok_or(Stop::AskTheLanguage)?;
        }
        within_limits(Value::from(text))
    }

    fn chain(&mut self, first: &'a Node, in_brackets: &'a [Node], links: &'a [Link]) -> Walked<'a> {
        let mut given: [Value<'a>; IN_BRACKETS] = Default::default();
        for (place, node) in given.iter_mut().zip(in_brackets) {
            *place = self.value(node)?;
        }
        let mut given = given.into_iter();
        let mut next = || given.next().unwrap_or_default();
        let mut held = self.value(first)?;
        for link in links {
            held = match (link, held) {
                (Link::Fact(how, facts), Value::Thing(kind, place)) => {
                    self.fact(*how, facts, self.whole.other(kind, place))?
                }
                (Link::Question(question), Value::Thing(kind, place)) => {
                    let found = question.answer(self.whole.other(kind, place), &next());
                    self.noted(found.ok_or(Stop::AskTheLanguage)?)?
                }
                (Link::By, Value::Answer(answer)) => match next() {
                    Value::Day(day) => given_answer(answer.by(day))?,
                    _ => return Err(Stop::AskTheLanguage),
                },
                (Link::AtOnce, Value::Answer(answer)) => given_answer(answer.at_once())?,
                (Link::Between, Value::Answer(answer)) => match (next(), next()) {
                    (Value::Day(earliest), Value::Day(latest)) => {
                        given_answer(answer.between(earliest, latest))?
                    }
                    _ => return Err(Stop::AskTheLanguage),
                },
                _ => return Err(Stop::AskTheLanguage),
            };
        }
        Ok(held)
    }

    fn fact(&mut self, how: How, facts: &[&'static Fact], thing: Part<'a>) -> Walked<'a> {
        if how == How::Has {
            return self.has(facts, thing).map(Value::YesNo);
        }
        match (how, found(facts, thing)?) {
            (How::Maybe, Err(lack)) if !lack.is_unjudged() => {
                self.notes.note_lacking(lack);
                Ok(Value::Nothing)
            }
            (_, found) => self.noted(found),
        }
    }

    /// Whether a fact is known.
    fn has(&mut self, facts: &[&'static Fact], thing: Part<'a>) -> Result<bool, Stop<'a>> {
        match found(facts, thing)? {
            Ok(_) => Ok(true),
            Err(lack) if lack.is_unjudged() => Err(Stop::Missing(lack)),
            Err(lack) => {
                self.notes.note_lacking(lack);
                Ok(false)
            }
        }
    }

    /// Takes a fact's value, and notes what shows it.
    fn noted(&mut self, found: Found<'a>) -> Walked<'a> {
        let known: Known<'a> = found.map_err(Stop::Missing)?;
        self.notes.note(&known);
        within_limits(known.value)
    }

    fn word(&mut self, word: &'a Word, in_brackets: &'a [Node]) -> Walked<'a> {
        match word {
            Word::Clear => return Ok(Value::Answer(Answer::Clear)),
            Word::TooLongAgo => return Ok(Value::Answer(Answer::TooLongAgo)),
            _ => {}
        }
        let mut given = [Value::Nothing, Value::Nothing];
        for (place, node) in given.iter_mut().zip(in_brackets) {
            *place = self.value(node)?;
        }
        Ok(match (word, given) {
            (Word::Raise(section), [Value::Text(text), _]) => {
                given_answer(Answer::raise(*section, text.into_owned()))?
            }
            (Word::CannotTell, [Value::Text(fact), _]) => given_answer(Ok(Answer::cannot_tell(&fact)))?,
            (Word::Date, [Value::Text(day), _]) => {
                Value::Day(day_written(&day).map_err(|_| Stop::AskTheLanguage)?)
            }
            (Word::Earlier, [Value::Day(one), Value::Day(other)]) => Value::Day(one.min(other)),
            (Word::Later, [Value::Day(one), Value::Day(other)]) => Value::Day(one.max(other)),
            _ => return Err(Stop::AskTheLanguage),
        })
    }
}

impl Comparison {
    /// Whether it holds; `None` where the two cannot be compared.
    fn holds(self, left: &Value<'_>, right: &Value<'_>) -> Option<bool> {
        let order = match (left, right) {
            (Value::Whole(left), Value::Whole(right)) => left.cmp(right),
            (Value::Text(left), Value::Text(right)) => compared(left, right),
            (Value::Day(left), Value::Day(right)) => left.cmp(right),
            (Value::Days(left), Value::Days(right)) => left.cmp(right),
            (Value::Months(left), Value::Months(right)) => left.cmp(right),
            (Value::Volume(left), Value::Volume(right)) => left.cmp(right),
            (Value::Length(left), Value::Length(right)) => left.partial_cmp(right)?,
            (Value::Pace(left), Value::Pace(right)) => left.partial_cmp(right)?,
            (Value::YesNo(left), Value::YesNo(right))
                if matches!(self, Comparison::Same | Comparison::Other) =>
            {
                left.cmp(right)
            }
            _ => return None,
        };
        Some(match self {
            Comparison::Same => order == Ordering::Equal,
            Comparison::Other => order != Ordering::Equal,
            Comparison::Less => order == Ordering::Less,
            Comparison::AtMost => order != Ordering::Greater,
            Comparison::More => order == Ordering::Greater,
            Comparison::AtLeast => order != Ordering::Less,
        })
    }
}

/// A fact of that kind of thing, looked up.
fn found<'a>(facts: &[&'static Fact], thing: Part<'a>) -> Result<Found<'a>, Stop<'a>> {
    let fact = facts.iter().find(|fact| fact.of == thing.kind).ok_or(Stop::AskTheLanguage)?;
    Ok((fact.get)(thing, fact.trade))
}

/// A constant's value, without a copy of its text.
fn borrowed<'a>(value: &'a Value<'static>) -> Value<'a> {
    match value {
        Value::Text(text) => Value::from(&**text),
        value => value.clone(),
    }
}

/// Leaves to the language what nears its limits.
fn within_limits(value: Value<'_>) -> Walked<'_> {
    let within = match &value {
        Value::Text(text) => text.len() <= TEXT_BYTES,
        Value::List(_, places) => places.len() <= LIST,
        _ => true,
    };
    if within { Ok(value) } else { Err(Stop::AskTheLanguage) }
}

fn given_answer<'a>(answer: Given<Answer>) -> Walked<'a> {
    match answer {
        Ok(answer) => Ok(Value::Answer(answer)),
        Err(_) => Err(Stop::AskTheLanguage),
    }
}
