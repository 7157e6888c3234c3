//! Limits that can never be met, or always are: what shuts itself out by the values that are written.

use std::cmp::Ordering;

use rhai::{Dynamic, Expr};

use super::quantity;
use super::value::Value;
use super::vet::Vet;
use super::vet_sense::written;

/// The facts that are counted or measured from nought.
const FROM_NOUGHT: [&str; 14] = [
    "clock",
    "clock_today",
    "distance_a_week",
    "due_distance",
    "engine_cc",
    "limit",
    "machines",
    "miles_a_gallon",
    "open_days_since",
    "signed",
    "signed_checks",
    "signer_count",
    "stage_top_speed",
    "top_speed",
];

/// No machine of a dealer's yard comes near it; our decision.
const FASTEST: i64 = 300;

/// A condition that is the same for all machines: `true` or `false`.
pub(super) fn condition(vet: &mut Vet<'_>, condition: &Expr) {
    if let Expr::BoolConstant(holds, position) = condition {
        let what = if *holds { "this always holds" } else { "this never holds" };
        let help = "write a comparison instead, such as `machine.clock > 500.miles`";
        vet.slip(vet.source.at(*position), what, help);
    }
}

/// A comparison with a value that nothing can come to.
pub(super) fn comparison(vet: &mut Vet<'_>, sign: &str, left: &Expr, right: &Expr) {
    let is_fixed = |side: &Expr| !matches!(side, Expr::Variable(..));
    let (one, other) = (value(vet, left), value(vet, right));
    if one.is_some() && other.is_some() && is_fixed(left) && is_fixed(right) {
        let help = "write a fact on one of the two sides, such as `machine.clock`";
        let what = "this compares two fixed values, so it is always the same";
        return vet.slip(vet.place(left), what, help);
    }
    for (side, value) in [(left, &one), (right, &other)] {
        let fastest = quantity::in_unit(&Dynamic::from(FASTEST), "mph");
        if let (Some(value @ Value::Pace(_)), Some(fastest)) = (value, fastest)
            && order(value, &fastest) == Some(Ordering::Greater)
        {
            let what = "no machine on the road is as fast as that";
            return vet.slip(vet.place(side), what, "look at the figure and its unit");
        }
    }
    for (fact, sign, limit) in [(left, sign, &other), (right, turned(sign), &one)] {
        let Some(fact_written) = written(vet, fact) else { continue };
        let name = fact_written.rsplit('.').next().unwrap_or_default();
        let is_fact = fact_written.contains('.') && FROM_NOUGHT.contains(&name);
        let Some(limit) = limit.as_ref().and_then(against_nought).filter(|_| is_fact) else { continue };
        let never =
            matches!((sign, limit), ("<", Ordering::Less | Ordering::Equal) | ("<=" | "==", Ordering::Less));
        if never {
            let what = format!("`{fact_written}` is never below nought, so this never holds");
            vet.slip(vet.place(fact), what, "turn the sign round, or write another limit");
        }
    }
}

/// Whether two comparisons of one thing leave nothing between them, or nothing beside them.
///
/// The signs stand between the thing and each of the two limits.
pub(super) fn shut_out(all_must_hold: bool, one: (&str, &Expr), other: (&str, &Expr), vet: &Vet<'_>) -> bool {
    let same = || {
        let (one, other) = (written(vet, one.1)?, written(vet, other.1)?);
        (one == other).then_some(Ordering::Equal)
    };
    let by_value = || order(&value(vet, one.1)?, &value(vet, other.1)?);
    let Some(order) = same().or_else(by_value) else { return false };
    let (low, high, order) = match (one.0, other.0) {
        (">" | ">=", "<" | "<=") => (one.0, other.0, order),
        ("<" | "<=", ">" | ">=") => (other.0, one.0, order.reverse()),
        _ => return false,
    };
    match order {
        Ordering::Greater => all_must_hold,
        Ordering::Less => !all_must_hold,
        Ordering::Equal if all_must_hold => low == ">" || high == "<",
        Ordering::Equal => low == ">=" || high == "<=",
    }
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

/// The value of a number, of one with a unit, or of a constant.
fn value(vet: &Vet<'_>, side: &Expr) -> Option<Value<'static>> {
    let number = |side: &Expr| match side {
        Expr::IntegerConstant(number, _) => Some(Dynamic::from(*number)),
        Expr::DynamicConstant(number, _) => Some(Dynamic::clone(number)),
        _ => None,
    };
    match side {
        Expr::Variable(name, _, _) => vet.limit(&name.1),
        Expr::Dot(pair, _, _) => match &pair.rhs {
            Expr::Property(unit, _) => quantity::in_unit(&number(&pair.lhs)?, &unit.2),
            _ => None,
        },
        Expr::FnCall(call, _) if call.name == "-" && call.args.len() == 1 => {
            negated(&value(vet, &call.args[0])?)
        }
        _ => Value::of(&number(side)?),
    }
}

fn negated(value: &Value<'static>) -> Option<Value<'static>> {
    match value {
        Value::Whole(number) => number.checked_neg().map(Value::Whole),
        _ => None,
    }
}

/// Where a number or a measure stands to nought.
fn against_nought(value: &Value<'static>) -> Option<Ordering> {
    let unit = match value {
        Value::Whole(number) => return Some(number.cmp(&0)),
        Value::Length(_) => "miles",
        Value::Pace(_) => "mph",
        _ => return None,
    };
    order(value, &quantity::in_unit(&Dynamic::from(0_i64), unit)?)
}

/// How two values of one sort stand to each other.
pub(super) fn order(one: &Value<'_>, other: &Value<'_>) -> Option<Ordering> {
    match (one, other) {
        (Value::Whole(one), Value::Whole(other)) => Some(one.cmp(other)),
        (Value::Days(one), Value::Days(other)) => one.partial_cmp(other),
        (Value::Months(one), Value::Months(other)) => one.partial_cmp(other),
        (Value::Day(one), Value::Day(other)) => Some(one.cmp(other)),
        (Value::Length(one), Value::Length(other)) => one.partial_cmp(other),
        (Value::Pace(one), Value::Pace(other)) => one.partial_cmp(other),
        _ => None,
    }
}
