//! The values of a rule as they are by themselves, outside the language, and what shows them.

use std::borrow::Cow;

use jiff::civil::Date;
use rhai::Dynamic;

use super::answer::Answer;
use super::quantity::{Length, Pace};
use super::sort_of_value::Kind;
use crate::origin::{Evidence, Origin};
use crate::reckon::OpenCheck;
use crate::units::{Days, Months, Volume, write_day};

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
    Answer(Answer),
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
    pub(super) fn printed(&self) -> Option<String> {
        /// Few are longer than a day or a mark.
        const USUAL: usize = 16;
        let mut text = String::with_capacity(USUAL);
        self.print_into(&mut text)?;
        Some(text)
    }

    /// Adds the value to a text that prints it; `None` where it cannot be printed.
    pub(super) fn print_into(&self, text: &mut String) -> Option<()> {
        match self {
            Value::Text(words) => text.push_str(words),
            Value::Whole(number) => text.push_str(&number.to_string()),
            Value::Day(day) => write_day(*day, text),
            Value::Days(days) => text.push_str(&days.to_string()),
            Value::Months(months) => text.push_str(&months.to_string()),
            Value::Length(length) => length.print_into(text),
            Value::Pace(pace) => pace.speed.write_in(pace.unit, text),
            Value::Volume(volume) => text.push_str(&volume.to_string()),
            Value::Nothing | Value::YesNo(_) | Value::Thing(..) | Value::List(..) | Value::Answer(_) => {
                return None;
            }
        }
        Some(())
    }
}

/// What shows a value.
#[derive(Debug, Clone, Copy)]
pub(super) enum Shown<'a> {
    /// Nothing is needed.
    Plain,
    /// The value stands in that cell, and is called so in the trade.
    Cell(&'static str, &'a Origin),
    /// What a sum rests on.
    Sum(&'a [Evidence]),
    /// What two sums rest on.
    Sums(&'a [Evidence], &'a [Evidence]),
    /// What open checks rest on, and then a sum.
    Checks(&'a [OpenCheck], &'a [Evidence]),
}

impl<'a> Shown<'a> {
    /// Gives each piece of evidence for a value.
    pub(super) fn each(self, value: &Value<'_>, mut note: impl FnMut(Cow<'a, Evidence>)) {
        if let Shown::Cell(what, origin) = self {
            note(Cow::Owned(Evidence::of(what, value.printed().unwrap_or_default(), origin)));
        }
        self.of_sums().for_each(|evidence| note(Cow::Borrowed(evidence)));
    }

    /// The evidence of the sums in it.
    pub(super) fn of_sums(self) -> impl Iterator<Item = &'a Evidence> {
        let (checks, first, second): (&[OpenCheck], &[Evidence], &[Evidence]) = match self {
            Shown::Plain | Shown::Cell(..) => (&[], &[], &[]),
            Shown::Sum(evidence) => (&[], evidence, &[]),
            Shown::Sums(one, other) => (&[], one, other),
            Shown::Checks(checks, others) => (checks, others, &[]),
        };
        checks.iter().flat_map(|check| &check.shown_by).chain(first).chain(second)
    }

    /// How many pieces of evidence that are at most; of checks, at least.
    pub(super) fn count(self) -> usize {
        match self {
            Shown::Plain => 0,
            Shown::Cell(..) => 1,
            Shown::Sum(evidence) => evidence.len(),
            Shown::Sums(one, other) => one.len() + other.len(),
            Shown::Checks(checks, others) => checks.len() + others.len(),
        }
    }

    /// Whether it is the very same, for sure.
    pub(super) fn is(self, other: Shown<'_>) -> bool {
        match (self, other) {
            (Shown::Cell(what, origin), Shown::Cell(other, others)) => {
                std::ptr::eq(origin, others) && std::ptr::eq(what, other)
            }
            (Shown::Sum(evidence), Shown::Sum(other)) => std::ptr::eq(evidence, other),
            (Shown::Sums(one, two), Shown::Sums(other, others)) => {
                std::ptr::eq(one, other) && std::ptr::eq(two, others)
            }
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
