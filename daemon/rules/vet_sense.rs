//! What an owner cannot have meant in a comparison, a condition or the days of an answer, by itself.

use rhai::Expr;

use super::vet::Vet;

/// A condition that is the same for all machines: `true` or `false`.
pub(super) fn condition(vet: &mut Vet<'_>, condition: &Expr) {
    if let Expr::BoolConstant(holds, position) = condition {
        let what = if *holds { "this always holds" } else { "this never holds" };
        let help = "write a comparison instead, such as `machine.clock > 500.miles`";
        vet.slip(vet.source.at(*position), what, help);
    }
}

/// Looks at the two sides of a comparison: the same on both says nothing.
pub(super) fn comparison(vet: &mut Vet<'_>, left: &Expr, right: &Expr, at: usize) {
    if is_fixed(left) && is_fixed(right) {
        let help = "write a fact on one of the two sides, such as `machine.clock`";
        let what = "this compares two fixed values, so it is always the same";
        return vet.slip(vet.place(left), what, help);
    }
    let (Some(one), Some(other)) = (written(vet, left), written(vet, right)) else { return };
    if one == other {
        let what = format!("this compares `{one}` with itself");
        vet.slip(at, what, "write a limit, or another fact, on one of the two sides");
    }
}

/// Looks at the days behind an answer: only what is raised has any, each is given once, and of two the earlier first.
pub(super) fn days(vet: &mut Vet<'_>, answer: &Expr, rest: &Expr) {
    vet.named_before_a_dot(answer, rest);
    if let Expr::FnCall(call, position) = answer
        && ["clear", "too_long_ago", "cannot_tell"].contains(&call.name.as_str())
    {
        let what = format!("only what is raised has a day, and `{}` raises nothing", call.name);
        vet.slip(vet.source.at(*position), what, "take what stands behind it away, or raise something");
    }
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

/// Whether a side is a number, with its unit or without.
fn is_fixed(side: &Expr) -> bool {
    match side {
        Expr::IntegerConstant(..) | Expr::DynamicConstant(..) => true,
        Expr::Dot(pair, _, _) => is_fixed(&pair.lhs) && matches!(pair.rhs, Expr::Property(..)),
        Expr::FnCall(call, _) => call.name == "-" && call.args.len() == 1 && is_fixed(&call.args[0]),
        _ => false,
    }
}

/// A fact, or a name, as it is written; `None` for anything that is more than that.
fn written(vet: &Vet<'_>, side: &Expr) -> Option<String> {
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
