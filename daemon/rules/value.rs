//! The values of a rule as they are by themselves, outside the language, and what shows them.

use std::borrow::Cow;

use jiff::civil::Date;
use rhai::Dynamic;

use super::answer::Answer;
use super::quantity::{Length, Pace};
use super::sort_of_value::Kind;
use crate::origin::{Evidence, Origin};
use crate::units::{Days, Months, Volume, shown_day};

/// A value of a rule; what it says in words may be borrowed from the machine or from the rule.
#[derive(Debug, Clone, Default)]
pub(super) enum Value<'a> {
    /// No value: a fact that is not known, or what a `let` leaves behind.
    #[default]
    Nothing,
    /// Yes or no.
    YesNo(bool),
    /// A whole number.
    Whole(i64),
    /// A text.
    Text(Cow<'a, str>),
    /// A day.
    Day(Date),
    /// A count of days.
    Days(Days),
    /// A count of months.
    Months(Months),
    /// A distance.
    Length(Length),
    /// A speed.
    Pace(Pace),
    /// A volume.
    Volume(Volume),
    /// The thing of that kind at that place.
    Thing(Kind, usize),
    /// The things of that kind at those places.
    List(Kind, Vec<usize>),
    /// An answer.
    Answer(Box<Answer>),
}

impl Value<'_> {
    /// The value of a constant, where it is one that is known outside the language.
    pub(super) fn of(value: &Dynamic) -> Option<Value<'static>> {
        if value.is_string() {
            return value.clone().into_string().ok().map(Value::from);
        }
        if let (Ok(yes), true) = (value.as_bool(), value.is_bool()) {
            return Some(Value::YesNo(yes));
        }
        if let (Ok(number), true) = (value.as_int(), value.is_int()) {
            return Some(Value::Whole(number));
        }
        let day = || value.clone().try_cast().map(Value::Day);
        let days = || value.clone().try_cast().map(Value::Days);
        let months = || value.clone().try_cast().map(Value::Months);
        let length = || value.clone().try_cast().map(Value::Length);
        let pace = || value.clone().try_cast().map(Value::Pace);
        let volume = || value.clone().try_cast().map(Value::Volume);
        day().or_else(days).or_else(months).or_else(length).or_else(pace).or_else(volume)
    }

    /// The value as a text prints it; `None` where it cannot be printed.
    pub(super) fn printed(&self) -> Option<Cow<'_, str>> {
        Some(match self {
            Value::Text(text) => Cow::Borrowed(text),
            Value::Whole(number) => number.to_string().into(),
            Value::Day(day) => shown_day(*day).into(),
            Value::Days(days) => days.to_string().into(),
            Value::Months(months) => months.to_string().into(),
            Value::Length(length) => length.to_string().into(),
            Value::Pace(pace) => pace.to_string().into(),
            Value::Volume(volume) => volume.to_string().into(),
            Value::Nothing | Value::YesNo(_) | Value::Thing(..) | Value::List(..) | Value::Answer(_) => {
                return None;
            }
        })
    }
}

/// What shows a value.
#[derive(Debug, Clone)]
pub(super) enum Shown<'a> {
    /// Nothing is needed.
    Plain,
    /// The value stands in that cell, and is called so in the trade.
    Cell(&'static str, &'a Origin),
    /// What a sum rests on.
    Sum(&'a [Evidence]),
    /// What several sums rest on.
    Sums(Vec<&'a Evidence>),
}

impl<'a> Shown<'a> {
    /// Gives each piece of evidence for a value.
    pub(super) fn each(&self, value: &Value<'_>, mut note: impl FnMut(Cow<'a, Evidence>)) {
        match self {
            Shown::Plain => {}
            Shown::Cell(what, origin) => {
                let shown = value.printed().unwrap_or_default();
                note(Cow::Owned(Evidence::of(*what, shown, origin)));
            }
            Shown::Sum(evidence) => evidence.iter().for_each(|evidence| note(Cow::Borrowed(evidence))),
            Shown::Sums(evidence) => evidence.iter().for_each(|evidence| note(Cow::Borrowed(*evidence))),
        }
    }

    /// How many pieces of evidence that are.
    pub(super) fn count(&self) -> usize {
        match self {
            Shown::Plain => 0,
            Shown::Cell(..) => 1,
            Shown::Sum(evidence) => evidence.len(),
            Shown::Sums(evidence) => evidence.len(),
        }
    }

    /// Whether it is the very same, for sure.
    pub(super) fn is(&self, other: &Shown<'_>) -> bool {
        match (self, other) {
            (Shown::Cell(what, origin), Shown::Cell(other, others)) => {
                std::ptr::eq(*origin, *others) && std::ptr::eq(*what, *other)
            }
            (Shown::Sum(evidence), Shown::Sum(other)) => std::ptr::eq(*evidence, *other),
            _ => false,
        }
    }
}

impl From<bool> for Value<'_> {
    fn from(yes: bool) -> Self {
        Value::YesNo(yes)
    }
}

impl<'a> From<&'a str> for Value<'a> {
    fn from(text: &'a str) -> Self {
        Value::Text(Cow::Borrowed(text))
    }
}

impl<'a> From<&'a String> for Value<'a> {
    fn from(text: &'a String) -> Self {
        Value::Text(Cow::Borrowed(text))
    }
}

impl From<String> for Value<'_> {
    fn from(text: String) -> Self {
        Value::Text(Cow::Owned(text))
    }
}

impl From<Date> for Value<'_> {
    fn from(day: Date) -> Self {
        Value::Day(day)
    }
}

impl From<Days> for Value<'_> {
    fn from(days: Days) -> Self {
        Value::Days(days)
    }
}

impl From<Months> for Value<'_> {
    fn from(months: Months) -> Self {
        Value::Months(months)
    }
}

impl From<Length> for Value<'_> {
    fn from(length: Length) -> Self {
        Value::Length(length)
    }
}

impl From<Pace> for Value<'_> {
    fn from(pace: Pace) -> Self {
        Value::Pace(pace)
    }
}
