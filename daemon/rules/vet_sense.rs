//! Conditions that can never hold, or always do: what an owner cannot have meant.

use rhai::Expr;

use super::vet::Vet;

/// A comparison as it is written.
struct Compared {
    /// What stands on the left, with all blanks taken out.
    left: String,
    sign: String,
    right: String,
    /// Whether the right side is a text in quotes.
    with_text: bool,
    at: usize,
}

/// Looks at the sides of an `and` or an `or` beside each other.
pub(super) fn sides(vet: &mut Vet<'_>, sides: &[Expr], all_must_hold: bool) {
    let compared: Vec<Compared> = sides.iter().filter_map(|side| compared(vet, side)).collect();
    for (place, one) in compared.iter().enumerate() {
        for other in &compared[..place] {
            if one.left != other.left || !one.with_text || !other.with_text || one.right == other.right {
                continue;
            }
            match (all_must_hold, one.sign.as_str(), other.sign.as_str()) {
                (true, "==", "==") => {
                    let what = format!("`{}` cannot be both at once, so this never holds", one.left);
                    vet.slip(one.at, what, "write `or` instead of `and`, or take one of the two away");
                }
                (false, "!=", "!=") => {
                    let what =
                        format!("`{}` is always other than one of the two, so this always holds", one.left);
                    vet.slip(one.at, what, "write `and` instead of `or`, or take one of the two away");
                }
                _ => {}
            }
        }
    }
}

/// Looks at the two sides of a comparison: the same on both says nothing.
pub(super) fn comparison(vet: &mut Vet<'_>, left: &Expr, right: &Expr, at: usize) {
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

fn compared(vet: &Vet<'_>, side: &Expr) -> Option<Compared> {
    let Expr::FnCall(call, _) = side else { return None };
    let ([left, right], true) = (&*call.args, call.is_operator_call()) else { return None };
    Some(Compared {
        left: written(vet, left)?,
        sign: call.name.to_string(),
        right: text(right).or_else(|| written(vet, right))?,
        with_text: text(right).is_some(),
        at: vet.place(left),
    })
}

fn text(side: &Expr) -> Option<String> {
    match side {
        Expr::StringConstant(text, _) => Some(text.to_string()),
        _ => None,
    }
}

/// A fact, or a name, as it is written; `None` for anything that is more than that.
fn written(vet: &Vet<'_>, side: &Expr) -> Option<String> {
    let is_plain = match side {
        Expr::Variable(..) => true,
        Expr::Dot(pair, _, _) => {
            matches!(pair.lhs, Expr::Variable(..)) && matches!(pair.rhs, Expr::Property(..))
        }
        _ => false,
    };
    if !is_plain {
        return None;
    }
    let at = vet.source.at(side.start_position());
    let rest = vet.source.letters[at.min(vet.source.letters.len())..].iter();
    Some(rest.take_while(|letter| letter.is_alphanumeric() || "_.".contains(**letter)).collect())
}
