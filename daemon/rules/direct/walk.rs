//! Walks a function's tree over the facts of a machine or the yard.

use std::cmp::Ordering;

use super::tree::{Comparison, Function, How, IN_BRACKETS, Link, Node, Word};
use super::{Ended, Notes};
use crate::findings::Verdict;
use crate::reckon::Missing;
use crate::rules::answer::Answer;
use crate::rules::compared_texts::compared;
use crate::rules::facts::{Fact, Found, Known};
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
    Missing(Missing),
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
    names.clear();
    names.extend([Some(whole), thing].into_iter().flatten().map(|part| Value::Thing(part.kind, part.place)));
    if names.len() != function.parameters {
        return None;
    }
    names.resize(function.names, Value::Nothing);
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
        self.steps += 1;
        if self.steps > STEPS {
            return Err(Stop::AskTheLanguage);
        }
        match node {
            Node::Constant(value) => Ok(borrowed(value)),
            Node::Name(place) => Ok(self.names[*place].clone()),
            Node::Text(pieces) => self.text(pieces),
            Node::Fact(name, how, facts) => match self.names[*name] {
                Value::Thing(kind, place) => self.fact(*how, facts, self.whole.other(kind, place)),
                _ => Err(Stop::AskTheLanguage),
            },
            Node::Chain { first, in_brackets, links } => self.chain(first, in_brackets, links),
            Node::Fallback(sides) => self.fallback(sides),
            Node::All(sides) => self.joined(sides, false),
            Node::Any(sides) => self.joined(sides, true),
            Node::Not(inner) => Ok(Value::YesNo(!self.yes_no(inner)?)),
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
            Node::Compare(comparison, sides) => {
                let (left, right) = (self.value(&sides[0])?, self.value(&sides[1])?);
                comparison.holds(&left, &right).map(Value::YesNo).ok_or(Stop::AskTheLanguage)
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
        }
    }

    fn yes_no(&mut self, node: &'a Node) -> Result<bool, Stop<'a>> {
        match self.value(node)? {
            Value::YesNo(yes) => Ok(yes),
            _ => Err(Stop::AskTheLanguage),
        }
    }

    /// `and` goes on while it is yes, `or` while it is no.
    fn joined(&mut self, sides: &'a [Node], ends_at: bool) -> Walked<'a> {
        for side in sides {
            if self.yes_no(side)? == ends_at {
                return Ok(Value::YesNo(ends_at));
            }
        }
        Ok(Value::YesNo(!ends_at))
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
            let made;
            let value = if let Node::Name(place) = piece {
                &self.names[*place]
            } else {
                made = self.value(piece)?;
                &made
            };
            text.push_str(&value.printed().ok_or(Stop::AskTheLanguage)?);
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
        let fact = facts.iter().find(|fact| fact.of == thing.kind).ok_or(Stop::AskTheLanguage)?;
        let found = (fact.get)(thing, fact.trade);
        match (how, found) {
            (How::Has, Ok(_)) => Ok(Value::YesNo(true)),
            (How::Plain, found) | (How::Maybe, found @ Ok(_)) => self.noted(found),
            (How::Has | How::Maybe, Err(missing)) => {
                self.notes.note_lacking(missing);
                Ok(if how == How::Has { Value::YesNo(false) } else { Value::Nothing })
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
            Word::Clear => return given_answer(Ok(Answer { verdict: Verdict::Clear })),
            Word::TooLongAgo => return given_answer(Ok(Answer { verdict: Verdict::TooLongAgo })),
            _ => {}
        }
        let mut given = [Value::Nothing, Value::Nothing];
        for (place, node) in given.iter_mut().zip(in_brackets) {
            *place = self.value(node)?;
        }
        Ok(match (word, given) {
            (Word::Raise(section), [Value::Text(text), _]) => given_answer(Answer::raise(*section, &text))?,
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
        Ok(answer) => Ok(Value::Answer(Box::new(answer))),
        Err(_) => Err(Stop::AskTheLanguage),
    }
}
