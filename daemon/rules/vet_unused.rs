//! Constants and functions that nothing asks for: an owner changes such a limit, and nothing changes.

use std::collections::BTreeMap;

use super::frame::ASKED;
use super::names::Names;
use super::outline::{Item, Outline, What};
use super::source::{Slip, Source};
use crate::problem::{is_a_slip_of, nearest};

/// The functions that nothing calls, beside those that are asked from outside, and the constants that nothing uses and
/// that are one letter from one that is: whoever changes such a limit changes nothing.
pub(super) fn slips(outline: &Outline, names: &Names, unused: &[&Item]) -> Vec<Slip> {
    let is_there = |name: &str| outline.items.iter().any(|item| item.name == name);
    let slip = |at: usize, what: String, help: String| Slip::new(at, what, help);
    // One that is taken for a misspelt name is told of as that.
    let is_meant = |item: &&Item| names.is_told(|told| is_a_slip_of(&item.name, told));
    let is_asked = |name: &str| ASKED.contains(&name) || KNOWN.contains(&name);
    unused
        .iter()
        .filter(|item| !is_asked(&item.name) && !is_meant(item))
        .filter_map(|item| match item.what {
            What::Constant => {
                let others = outline.items.iter().map(|item| item.name.as_str()).chain(KNOWN);
                let mut others = others.filter(|other| *other != item.name);
                let meant = others.find(|other| is_a_slip_of(&item.name, other))?;
                Some(slip(
                    item.name_at,
                    format!("nothing uses `{}`, so that changing it changes nothing", item.name),
                    format!("write `{meant}` if that is what you mean, or take it away"),
                ))
            }
            What::Function { .. } => Some(slip(
                item.name_at,
                format!("nothing calls `{}`", item.name),
                match nearest(&item.name, ASKED.into_iter().filter(|name| !is_there(name))) {
                    Some(near) => format!("write `{near}` if that is what you mean"),
                    None => "call it, or take it away".to_owned(),
                },
            )),
        })
        .collect()
}

/// The other constants that nothing uses: most likely what was asked of them was taken out, and they were left behind.
pub(super) fn notes(source: &Source, outline: &Outline) -> Vec<Slip> {
    let constants = unused(source, outline).into_iter().filter(|item| matches!(item.what, What::Constant));
    constants
        .filter(|item| !KNOWN.contains(&item.name.as_str()))
        .map(|item| {
            Slip::new(
                item.name_at,
                format!("nothing uses `{}`, so that changing it changes nothing", item.name),
                "use it in the rule, or take it away",
            )
        })
        .collect()
}

/// The constants that are asked for from outside.
pub(super) const KNOWN: [&str; 4] = ["TITLE", "WHY", "CAUTION", "EXAMPLES"];

/// What nothing else in the file names.
pub(super) fn unused<'o>(source: &Source, outline: &'o Outline) -> Vec<&'o Item> {
    let words = words(source, outline);
    let is_unused = |item: &&Item| {
        let used = |places: &Vec<usize>| places.iter().any(|at| !item.whole.contains(at));
        !words.get(&item.name).is_some_and(used)
    };
    outline.items.iter().filter(is_unused).collect()
}

/// The words of the code, each with its places; a text in backticks may hold values, one in `"` holds none.
pub(super) fn words(source: &Source, outline: &Outline) -> BTreeMap<String, Vec<usize>> {
    let mut words: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    let is_of_word = |at: usize| source.letters[at].is_alphanumeric() || source.letters[at] == '_';
    let mut at = 0;
    while at < source.letters.len() {
        let start = at;
        at += 1;
        if !is_of_word(start) || !outline.may_name(start) {
            continue;
        }
        while at < source.letters.len() && is_of_word(at) {
            at += 1;
        }
        words.entry(source.letters[start..at].iter().collect()).or_default().push(start);
    }
    words
}
