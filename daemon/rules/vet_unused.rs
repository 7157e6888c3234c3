//! Constants and functions that nothing asks for: an owner changes such a limit, and nothing changes.

use std::collections::BTreeMap;

use super::outline::{Outline, What};
use super::source::{Slip, Source};
use crate::problem::nearest;

/// What nothing in the file uses, beside the names that are asked for from outside.
pub(super) fn slips(source: &Source, outline: &Outline, asked: &[&str], known: &[&str]) -> Vec<Slip> {
    let words = words(source, outline);
    let unused = outline.items.iter().filter(|item| {
        let used = |places: &Vec<usize>| places.iter().any(|at| !item.whole.contains(at));
        !asked.contains(&item.name.as_str())
            && !known.contains(&item.name.as_str())
            && !words.get(&item.name).is_some_and(used)
    });
    let is_there = |name: &str| outline.items.iter().any(|item| item.name == name);
    let slip = |at: usize, what: String, help: String| Slip { at, length: 0, what, help };
    unused
        .map(|item| match item.what {
            What::Constant => slip(
                item.name_at,
                format!("nothing uses `{}`, so that changing it changes nothing", item.name),
                "use it in the rule, or take it away".to_owned(),
            ),
            What::Function { .. } => slip(
                item.name_at,
                format!("nothing calls `{}`", item.name),
                match nearest(&item.name, asked.iter().copied().filter(|name| !is_there(name))) {
                    Some(near) => format!("write `{near}` if that is what you mean"),
                    None => "call it, or take it away".to_owned(),
                },
            ),
        })
        .collect()
}

/// The words of the code, each with its places; a text in backticks may hold values, one in `"` holds none.
fn words(source: &Source, outline: &Outline) -> BTreeMap<String, Vec<usize>> {
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
