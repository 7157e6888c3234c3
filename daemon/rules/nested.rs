//! What is said of a sentence that is nested too deep: mostly a long chain, of which parts can be put together.

use super::outline::Outline;
use super::source::{Slip, Source};

/// From how many links on a sentence is told of as a chain: half of what the language bears, and more than a person reads.
const CHAIN: usize = 20;

/// What is said where the language cannot read on because of the depth.
pub(super) fn too_deep(at: usize, source: &Source, outline: &Outline) -> Slip {
    let slip = |what: String, help: &str| Slip::new(at, what, help);
    let is_code = |place: usize| outline.code_before(place + 1) == Some(place);
    let ends = |place: &usize| matches!(source.letters[*place], ';' | '{' | '}') && is_code(*place);
    let sentence = (0..at).rev().find(ends).map_or(0, |end| end + 1);
    let joined = ["or", "and"].map(|word| (count(source, outline, sentence..at, word), word));
    let (links, word) = joined.into_iter().max().unwrap_or_default();
    if links >= CHAIN {
        let what = format!("more is joined by `{word}` here than one sentence may hold");
        let help =
            format!("put brackets around each {CHAIN} of them: `(... {word} ...) {word} (... {word} ...)`");
        return slip(what, &help);
    }
    if count(source, outline, 0..at, "else") >= CHAIN {
        let help = "write each as an `if ... { return ...; }` by itself, without `else`";
        return slip("more `else if` follow each other here than one sentence may hold".to_owned(), help);
    }
    let help =
        "give a part of it a name: write `let part = ...;` before this sentence, and `part` in its place";
    slip("this sentence is nested too deep".to_owned(), help)
}

/// How often a word stands in a stretch of code.
fn count(source: &Source, outline: &Outline, stretch: std::ops::Range<usize>, word: &str) -> usize {
    let is_of_word = |letter: &char| letter.is_alphanumeric() || *letter == '_';
    let begins = |at: &usize| *at == 0 || !is_of_word(&source.letters[at - 1]);
    stretch.filter(|at| begins(at) && outline.may_name(*at) && source.word_at(*at) == word).count()
}
