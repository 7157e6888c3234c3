//! What every rule must have, and what nothing in a rule asks for.

use super::frame::EXAMPLES;
use super::names::Names;
use super::outline::{Item, Outline, What};
use super::source::{Slip, Source};
use super::vet_unused;
use crate::problem::nearest;

/// What a file lacks.
#[derive(Default)]
pub(super) struct Lacks {
    /// What keeps it from judging, or from judging as it is meant.
    pub(super) judging: Vec<Slip>,
    /// What is only printed, so that its examples can be tried without it.
    pub(super) printed: Vec<Slip>,
}

/// What the file of a rule lacks, beside what has been told of it. What may stand in a stretch that could not be read is not told to be missing.
pub(super) fn lacks(source: &Source, outline: &Outline, names: &Names, told: &[Slip]) -> Lacks {
    let mut lacks = Lacks::default();
    if outline.items.is_empty() {
        if outline.slips.is_empty() {
            lacks.judging.push(empty(source));
        }
        return lacks;
    }
    let words = vet_unused::words(source, outline);
    let unused = vet_unused::unused(source, outline);
    let is_there = |name: &str| {
        let is_known = names.constants.contains_key(name) || names.functions.contains_key(name);
        is_known || words.contains_key(name)
    };
    let at_the_top = |what: &str, help: &str| Slip::new(0, what, help).marking(1);
    for (name, example) in [("TITLE", "\"First service\""), ("WHY", "\"...\"")] {
        if !is_there(name) && !is_mistyped(outline, &unused, name) {
            let help = format!("write `const {name} = {example};` at its top");
            lacks.printed.push(at_the_top(&format!("the rule has no {name}"), &help));
        }
    }
    for name in vet_unused::KNOWN {
        if let Some(item) = mistyped(&unused, name).filter(|_| !is_there(name)) {
            let what = format!("nothing asks for `{}`", item.name);
            let help = format!("write `{name}`, if that is what you mean");
            let slip = Slip::new(item.name_at, what, help);
            if name == EXAMPLES { &mut lacks.judging } else { &mut lacks.printed }.push(slip);
        }
    }
    if !is_there("judge") {
        lacks.judging.push(no_judge(outline, names));
    }
    let is_empty = names.values.get(EXAMPLES).is_some_and(|value| {
        let written = outline.items.iter().any(|item| item.name == EXAMPLES && !item.mended);
        written && value.as_array_ref().is_ok_and(|list| list.is_empty())
    });
    if is_empty || (!is_there(EXAMPLES) && !is_mistyped(outline, &unused, EXAMPLES)) {
        let help = "write at least one into `const EXAMPLES = [ ... ];`, so that a slip shows at once";
        let written = outline.items.iter().find(|item| item.name == EXAMPLES);
        let slip = at_the_top("the rule has no example", help);
        lacks.judging.push(match written {
            Some(item) => Slip { at: item.name_at, length: 0, ..slip },
            None => slip,
        });
    }
    for slip in vet_unused::slips(outline, names, &unused) {
        // One that is taken for a misspelt name has been told of as that.
        if !lacks.judging.iter().chain(&lacks.printed).chain(told).any(|known| known.at == slip.at) {
            lacks.judging.push(slip);
        }
    }
    lacks
}

fn empty(source: &Source) -> Slip {
    let blank = source.text.trim().is_empty();
    let what = if blank { "the file is empty" } else { "the file holds nothing but comments" };
    let help = "write a rule into it, starting from a copy of one that works, or delete the file";
    Slip::new(0, what, help)
}

fn no_judge(outline: &Outline, names: &Names) -> Slip {
    let what = "the rule has no `judge`".to_owned();
    let near = nearest("judge", names.functions.keys().map(String::as_str));
    let meant = outline.items.iter().find(|item| near == Some(item.name.as_str()));
    match meant {
        Some(meant) => {
            let help = format!("write `judge` instead of `{}`", meant.name);
            Slip::new(meant.name_at, what, help)
        }
        None => {
            let help = "write `fn judge(machine) { ... }`, ending with `clear()`".to_owned();
            Slip::new(0, what, help).marking(1)
        }
    }
}

/// A constant that nothing uses and that is none of those every rule has, where one of these has nearly its name.
fn mistyped<'o>(unused: &[&'o Item], name: &str) -> Option<&'o Item> {
    let other = |item: &&Item| {
        matches!(item.what, What::Constant) && !vet_unused::KNOWN.contains(&item.name.as_str())
    };
    unused.iter().copied().filter(other).find(|item| nearest(&item.name, [name]).is_some())
}

/// Whether something has nearly such a name, be it read to its end or not.
fn is_mistyped(outline: &Outline, unused: &[&Item], name: &str) -> bool {
    let unfinished = outline.unfinished.iter().any(|other| nearest(other, [name]).is_some());
    unfinished || mistyped(unused, name).is_some()
}
