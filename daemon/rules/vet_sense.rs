//! Conditions that can never hold, or always do: what an owner cannot have meant.

use rhai::Expr;

use super::compared_texts::same;
use super::vet::Vet;
use super::vet_limits;

/// A comparison as it is written.
struct Compared<'e> {
    /// What stands on the left, as it is written.
    left: String,
    sign: &'e str,
    right: &'e Expr,
    /// The text in quotes that the right side is, if it is one.
    text: Option<&'e str>,
    at: usize,
}

/// Looks at the sides of an `and` or an `or` beside each other.
pub(super) fn sides(vet: &mut Vet<'_>, sides: &[Expr], all_must_hold: bool) {
    let sides = flat(sides, all_must_hold);
    opposites(vet, &sides, all_must_hold);
    let compared: Vec<Compared<'_>> = sides.iter().filter_map(|side| compared(vet, side)).collect();
    for (place, one) in compared.iter().enumerate() {
        for other in compared[..place].iter().filter(|other| other.left == one.left) {
            let unlike = one.text.zip(other.text).is_some_and(|(one, other)| !same(one, other));
            let signs = (one.sign, other.sign);
            let shut_out =
                vet_limits::shut_out(all_must_hold, (other.sign, other.right), (one.sign, one.right), vet);
            let (what, help) = if all_must_hold && (shut_out || unlike && signs == ("==", "==")) {
                (
                    format!("`{}` cannot be both at once, so this never holds", one.left),
                    "write `or` instead of `and`, or take one of the two away",
                )
            } else if shut_out {
                (
                    format!("`{}` is always one of the two, so this always holds", one.left),
                    "write `and` instead of `or`, or take one of the two away",
                )
            } else if !all_must_hold && unlike && signs == ("!=", "!=") {
                (
                    format!("`{}` is always other than one of the two, so this always holds", one.left),
                    "write `and` instead of `or`, or take one of the two away",
                )
            } else {
                continue;
            };
            vet.slip(one.at, what, help);
        }
    }
}

/// The sides with those of the same sign within them: `a and b and c` may be two in one.
fn flat(sides: &[Expr], all_must_hold: bool) -> Vec<&Expr> {
    let mut found = Vec::new();
    for side in sides {
        match (side, all_must_hold) {
            (Expr::And(inner, _), true) | (Expr::Or(inner, _), false) => {
                found.extend(flat(inner.as_slice(), all_must_hold));
            }
            _ => found.push(side),
        }
    }
    found
}

/// What is asked for together with its opposite.
fn opposites(vet: &mut Vet<'_>, sides: &[&Expr], all_must_hold: bool) {
    for side in sides {
        let Expr::FnCall(call, _) = side else { continue };
        let ([denied], "!") = (&*call.args, call.name.as_str()) else { continue };
        let Some(name) = written(vet, denied) else { continue };
        if sides.iter().any(|other| written(vet, other).as_ref() == Some(&name)) {
            let held = if all_must_hold { "never" } else { "always" };
            let what = format!("this asks for `{name}` and for its opposite, so it {held} holds");
            vet.slip(vet.place(denied), what, "take one of the two away");
        }
    }
}

/// Looks at the two sides of a comparison: the same on both says nothing.
pub(super) fn comparison(vet: &mut Vet<'_>, sign: &str, left: &Expr, right: &Expr, at: usize) {
    vet_limits::comparison(vet, sign, left, right);
    let (Some(one), Some(other)) = (written(vet, left), written(vet, right)) else { return };
    if one == other {
        let what = format!("this compares `{one}` with itself");
        vet.slip(at, what, "write a limit, or another fact, on one of the two sides");
    }
}

/// Looks at the days behind an answer: each is given once, and of two the earlier first.
pub(super) fn days(vet: &mut Vet<'_>, rest: &Expr) {
    let mut seen: Vec<&str> = Vec::new();
    let mut rest = Some(rest);
    while let Some(held) = rest {
        let one;
        (one, rest) = match held {
            Expr::Dot(pair, _, _) => (&pair.lhs, Some(&pair.rhs)),
            last => (last, None),
        };
        let Expr::MethodCall(call, position) = one else { continue };
        let name = call.name.as_str();
        if seen.contains(&name) {
            let what = format!("`{name}` is given twice");
            vet.slip(vet.source.at(*position), what, "take one of the two away");
        }
        seen.push(name);
        if let ("between", [first, second]) = (name, &*call.args)
            && is_later(vet, first, second)
        {
            let help = "write the earlier one first: `.between(earliest, latest)`";
            vet.slip(vet.place(first), "the later day stands first", help);
        }
    }
}

/// Whether one day is written as something that is later than the other: the latest, or the other and some days.
fn is_later(vet: &Vet<'_>, one: &Expr, other: &Expr) -> bool {
    let Some(other) = written(vet, other) else { return false };
    match one {
        Expr::FnCall(call, _) if call.name == "+" => {
            call.args.first().and_then(|first| written(vet, first)).is_some_and(|first| first == other)
        }
        one => written(vet, one).is_some_and(|one| {
            let thing = one.strip_suffix(".latest");
            thing.is_some() && thing == other.strip_suffix(".earliest")
        }),
    }
}

fn compared<'e>(vet: &Vet<'_>, side: &'e Expr) -> Option<Compared<'e>> {
    let Expr::FnCall(call, _) = side else { return None };
    let ([left, right], true) = (&*call.args, call.is_operator_call()) else { return None };
    let text = match right {
        Expr::StringConstant(text, _) => Some(text.as_str()),
        _ => None,
    };
    Some(Compared { left: written(vet, left)?, sign: call.name.as_str(), right, text, at: vet.place(left) })
}

/// A fact, or a name, as it is written; `None` for anything that is more than that.
pub(super) fn written(vet: &Vet<'_>, side: &Expr) -> Option<String> {
    fn is_behind_a_dot(rest: &Expr) -> bool {
        match rest {
            Expr::Property(..) => true,
            Expr::Dot(pair, _, _) => is_behind_a_dot(&pair.lhs) && is_behind_a_dot(&pair.rhs),
            _ => false,
        }
    }
    let is_plain = match side {
        Expr::Variable(..) => true,
        Expr::Dot(pair, _, _) => matches!(pair.lhs, Expr::Variable(..)) && is_behind_a_dot(&pair.rhs),
        _ => false,
    };
    if !is_plain {
        return None;
    }
    let at = vet.source.at(side.start_position());
    let rest = vet.source.letters[at.min(vet.source.letters.len())..].iter();
    Some(rest.take_while(|letter| letter.is_alphanumeric() || "_.".contains(**letter)).collect())
}
