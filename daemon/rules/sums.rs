//! The sums of two values, in one table for both ways of running a rule.

use jiff::civil::Date as Day;
use rhai::{Engine, INT as Whole};

use super::quantity::{Given, Length, Pace, misuse};
use super::value::Value;
use crate::units::{Days, Distance, Months, Speed, months_after, months_before};

/// The sign of a sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sign {
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `*`
    Times,
}

/// From each line of the table: what the language is taught, and how two values outside it are summed.
macro_rules! sums {
    ($($name:ident $sign:literal: $left:ident $left_type:ident, $right:ident $right_type:ident => $sum:expr;)*) => {
        /// Teaches an engine the sums.
        pub(super) fn register(engine: &mut Engine) {
            $(engine.register_fn($sign, |$left: $left_type, $right: $right_type| -> Given<_> { $sum });)*
            engine
                .register_fn("-", |days: Days| counted(days.0.checked_neg()).map(Days))
                .register_fn("-", |months: Months| counted(months.0.checked_neg()).map(Months));
        }

        /// The sum of two values; `None` where they make none, or one beyond what can be counted.
        pub(super) fn sum(sign: Sign, left: &Value<'_>, right: &Value<'_>) -> Option<Value<'static>> {
            match (sign, left, right) {
                $((Sign::$name, Value::$left_type($left), Value::$right_type($right)) => {
                    let sum = |$left: $left_type, $right: $right_type| -> Given<_> { $sum };
                    sum(*$left, *$right).ok().map(Value::from)
                })*
                // The language's own; it stops where they overflow.
                (Sign::Plus, Value::Whole(left), Value::Whole(right)) => left.checked_add(*right).map(Value::Whole),
                (Sign::Minus, Value::Whole(left), Value::Whole(right)) => left.checked_sub(*right).map(Value::Whole),
                (Sign::Times, Value::Whole(left), Value::Whole(right)) => left.checked_mul(*right).map(Value::Whole),
                (Sign::Plus, Value::Text(left), Value::Text(right)) => Some(format!("{left}{right}").into()),
                _ => None,
            }
        }
    };
}

#[rustfmt::skip]
sums! {
    Plus "+": left Length, right Length => Ok(joined(left, right, left.distance + right.distance));
    Minus "-": left Length, right Length => Ok(joined(left, right, left.distance - right.distance));
    Times "*": length Length, times Whole => multiplied(length, times);
    Times "*": times Whole, length Length => multiplied(length, times);
    Plus "+": left Pace, right Pace => Ok(Pace { speed: added(left.speed, right.speed, 1), ..left });
    Minus "-": left Pace, right Pace => Ok(Pace { speed: added(left.speed, right.speed, -1), ..left });
    Plus "+": left Days, right Days => counted(left.0.checked_add(right.0)).map(Days);
    Minus "-": left Days, right Days => counted(left.0.checked_sub(right.0)).map(Days);
    Times "*": days Days, times Whole => counted(days.0.checked_mul(times)).map(Days);
    Times "*": times Whole, days Days => counted(days.0.checked_mul(times)).map(Days);
    Plus "+": left Months, right Months => counted(left.0.checked_add(right.0)).map(Months);
    Minus "-": left Months, right Months => counted(left.0.checked_sub(right.0)).map(Months);
    Times "*": months Months, times Whole => counted(months.0.checked_mul(times)).map(Months);
    Times "*": times Whole, months Months => counted(months.0.checked_mul(times)).map(Months);
    Plus "+": day Day, days Days => calendar(days.after(day));
    Plus "+": days Days, day Day => calendar(days.after(day));
    Minus "-": day Day, days Days => calendar(days.before(day));
    Plus "+": day Day, months Months => calendar(months_after(day, months));
    Plus "+": months Months, day Day => calendar(months_after(day, months));
    Minus "-": day Day, months Months => calendar(months_before(day, months));
    Minus "-": later Day, earlier Day => Ok(Days::between(earlier, later));
}

/// A distance made of two: in the unit of the first, and an estimate where either is.
fn joined(left: Length, right: Length, distance: Distance) -> Length {
    Length { distance, unit: left.unit, estimated: left.estimated || right.estimated }
}

fn multiplied(length: Length, times: Whole) -> Given<Length> {
    let measure = counted(length.distance.tenth_millimetres().checked_mul(times))?;
    Ok(Length { distance: Distance::from_tenth_millimetres(measure), ..length })
}

fn added(left: Speed, right: Speed, sign: i64) -> Speed {
    let sum = left.tenth_millimetres_an_hour().saturating_add(sign * right.tenth_millimetres_an_hour());
    Speed::from_tenth_millimetres_an_hour(sum)
}

fn calendar<T>(found: Option<T>) -> Given<T> {
    match found {
        Some(found) => Ok(found),
        None => misuse("this day lies beyond the calendar", "use a smaller count of days or months"),
    }
}

fn counted(found: Option<i64>) -> Given<i64> {
    match found {
        Some(found) => Ok(found),
        None => misuse("this number is too large", "use a smaller one"),
    }
}
