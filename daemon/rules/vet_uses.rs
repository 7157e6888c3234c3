//! What an owner gives a name and then does not use: an answer that is lost, a limit that does nothing, a function that
//! calls itself.

use rhai::{Expr, Stmt};

use super::names::Names;
use super::outline::{Outline, What};
use super::reference::WORDS;
use super::sandbox::CALL_DEPTH;
use super::sort_of_value::{Kind, Sort};
use super::source::{Slip, Source};
use super::uses::{Given, Named, Uses, is_asked};
use super::vet_unused;

/// What is wrong, and what may be meant.
#[derive(Default)]
pub(super) struct Unused {
    pub(super) slips: Vec<Slip>,
    pub(super) notes: Vec<Slip>,
}

/// Looks through a file all of which could be read.
pub(super) fn look(source: &Source, outline: &Outline, names: &Names) -> Unused {
    let uses = Uses::of(source, outline, names);
    let mut found = Unused::default();
    let hidden: Vec<&str> =
        uses.names.iter().filter(|named| named.hides.is_some()).map(|named| named.name).collect();
    for named in &uses.names {
        match named.hides {
            Some(hidden) => found.slips.push(hides(source, named, &uses.names[hidden])),
            None if hidden.contains(&named.name) => {}
            None if !named.counts => unused(source, outline, names, &uses, named, &mut found),
            None => {}
        }
    }
    found.slips.extend(match uses.circle() {
        Some(way) => Some(calls_itself(&way)),
        None => uses.too_deep(CALL_DEPTH).map(|at| {
            let what = format!("functions call each other more than {CALL_DEPTH} deep here");
            slip(at, what, "put what they do into fewer functions")
        }),
    });
    found
}

fn slip(at: usize, what: impl Into<String>, help: impl Into<String>) -> Slip {
    Slip::new(at, what.into(), help.into())
}

/// A `let`, or what stands in brackets, that has the name of a limit at the top.
fn hides(source: &Source, named: &Named<'_>, hidden: &Named<'_>) -> Slip {
    let (name, line) = (named.name, source.line_and_column(hidden.at).0);
    let what = format!("line {line} sets `{name}` already, and that does nothing where this stands for it");
    let help = match named.given {
        Given::Let(_) => format!("take this line away and change line {line}, or give this one another name"),
        _ => "give this one another name, in the brackets and in the function".to_owned(),
    };
    slip(named.at, what, help)
}

/// A name that is used for nothing.
fn unused(
    source: &Source,
    outline: &Outline,
    names: &Names,
    uses: &Uses<'_>,
    named: &Named<'_>,
    found: &mut Unused,
) {
    let name = named.name;
    match named.given {
        Given::Let(value) if !uses.is_used(named) && is_answer(value, names) => {
            let what = format!("this answer gets lost, because nothing gives `{name}` back");
            let help =
                format!("write `return` in place of `let {name} =`, or `return {name};` where it is meant");
            found.slips.push(slip(named.at, what, help));
        }
        Given::Let(_) if !uses.is_used(named) => {
            let what = format!("nothing uses `{name}`, so that changing it changes nothing");
            found.notes.push(slip(named.at, what, "use it in the rule, or take it away"));
        }
        Given::Parameter(function) if !uses.is_used(named) && !is_asked(function) && !is_thing(name) => {
            let what = format!("`{function}` does not use its `{name}`, so that it does nothing");
            let help = "use it there, or take it out of these brackets and of each call";
            found.notes.push(slip(named.at, what, help));
        }
        Given::Constant if vet_unused::KNOWN.contains(&name) => {}
        Given::Constant => found.slips.extend(does_nothing(source, outline, uses, named)),
        _ => {}
    }
}

/// A limit at the top that is used for nothing, but is named: for a value that nobody uses, or in a text.
fn does_nothing(source: &Source, outline: &Outline, uses: &Uses<'_>, constant: &Named<'_>) -> Option<Slip> {
    let (name, line) = (constant.name, source.line_and_column(constant.at).0);
    let so = format!("so that `{name}` of line {line} does nothing");
    if let Some(other) = uses.used_for(constant) {
        let (own, help) = (other.name, "use it where the limit is to hold, or write the limit itself there");
        let what = match other.given {
            Given::Parameter(function) => format!("`{function}` does not use its `{own}`, {so}"),
            _ => format!("nothing uses `{own}`, {so}"),
        };
        return Some(slip(other.at, what, help));
    }
    if uses.is_used(constant) {
        return None;
    }
    let item = outline.items.iter().find(|item| item.name == name && matches!(item.what, What::Constant))?;
    let words = vet_unused::words(source, outline);
    let is_in_a_text = |at: &&usize| !item.whole.contains(at) && !outline.is_sign(**at);
    let at = words.get(name)?.iter().find(is_in_a_text)?;
    let what = format!("`{name}` would print just so, and not as the value, {so}");
    Some(slip(*at, what, format!("write `${{{name}}}` for its value, and use it in the rule")))
}

/// Whether a value is an answer, whatever way leads to it.
fn is_answer(value: &Expr, names: &Names) -> bool {
    match value {
        Expr::FnCall(call, _) => gives_an_answer(&call.name, names),
        Expr::Dot(pair, _, _) => is_answer(&pair.lhs, names),
        Expr::Stmt(block) => ends_in_an_answer(block.statements(), names),
        _ => false,
    }
}

fn ends_in_an_answer(statements: &[Stmt], names: &Names) -> bool {
    match statements.last() {
        Some(Stmt::Expr(value)) => is_answer(value, names),
        Some(Stmt::FnCall(call, _)) => gives_an_answer(&call.name, names),
        Some(Stmt::If(flow, _)) => {
            ends_in_an_answer(flow.body.statements(), names)
                || ends_in_an_answer(flow.branch.statements(), names)
        }
        Some(Stmt::Block(block)) => ends_in_an_answer(block.statements(), names),
        _ => false,
    }
}

/// Whether a call gives an answer.
fn gives_an_answer(called: &str, names: &Names) -> bool {
    let mut words = WORDS.iter().filter(|word| word.on.is_none() && word.gives == Sort::Answer);
    words.any(|word| word.name == called) || names.gives_an_answer(called)
}

/// Whether a name in brackets is that of a thing which is judged: nobody takes it for a limit.
fn is_thing(name: &str) -> bool {
    Kind::named(name).is_some()
}

/// A function that comes back to itself. No rule needs it, and one that never ends judges nothing.
fn calls_itself(way: &[(&str, usize)]) -> Slip {
    let (first, at) = way.last().copied().unwrap_or_default();
    let begun = way.first().map_or(first, |(name, _)| *name);
    let what = if way.len() == 1 {
        format!("`{begun}` calls itself here, and a function of a rule cannot")
    } else {
        format!("`{begun}` comes back to itself here, and a function of a rule cannot")
    };
    slip(at, what, "take this call away, or write what is to be done instead of it")
}
