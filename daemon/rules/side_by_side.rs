//! Two words or signs that stand side by side where one is meant, or where a dot, a bracket or another sign belongs between.

use super::language_errors::{NO_DOT, SINGLE_EQUALS, WITH_SIGNS, number_that_ends};
use super::meant_signs;
use super::outline::Outline;
use super::reference::WORDS;
use super::sort_of_value::Kind;
use super::source::{Slip, Source};
use super::{facts, other_names};

/// Two things between which the language misses a sign.
pub(super) struct Beside<'a> {
    /// The sign that it misses.
    pub(super) token: &'a str,
    /// The word that stands before, with its beginning.
    pub(super) before: (usize, &'a str),
    /// The last character before.
    pub(super) end: usize,
    /// The word that stands behind, with its beginning.
    pub(super) behind: (usize, &'a str),
}

/// What is meant by them, where it can be told.
pub(super) fn meant(beside: &Beside<'_>, source: &Source, outline: &Outline) -> Option<Slip> {
    let Beside { token, before: (before_at, before), end, behind: (at, behind) } = *beside;
    let letter = |at: usize| source.letters.get(at).copied().unwrap_or(' ');
    let slip =
        |at: usize, what: &str, help: String| Some(Slip { at, length: 0, what: what.to_owned(), help });
    if letter(end).is_ascii_digit()
        && let Some(unit) = other_names::unit(behind)
    {
        return slip(at, NO_DOT, format!("write `{}.{unit}`", number_that_ends(end, source)));
    }
    let joined = format!("{before}_{behind}");
    if is_behind_a_dot(&joined) {
        return slip(at, "this is one word", format!("write `{joined}`"));
    }
    let is_thing = Kind::named(before).is_some();
    let fact = if letter(at) == ',' { source.word_at(at + 1) } else { behind.to_owned() };
    if is_thing && token != "," && is_behind_a_dot(&fact) {
        return slip(at, "a dot is missing before this", format!("write `{before}.{fact}`"));
    }
    if matches!(letter(at), '"' | '`') && source.letters.get(before_at.wrapping_sub(1)) == Some(&'.') {
        let word = WORDS.iter().find(|word| word.name == before && word.written.contains("(\""))?;
        return slip(at, "brackets are missing around this text", format!("write `{}`", word.written));
    }
    if token == "," && letter(at) == ';' {
        return slip(at, "this `;` does not part what a list holds", "write `,` in its place".to_owned());
    }
    // The first name of the next fact: `today: "2026-03-02". clock: 5.miles`.
    let point = outline.code_before(before_at).filter(|at| letter(*at) == '.');
    if let (true, Some(point)) = (token == "}" && letter(at) == ':', point) {
        return slip(
            point,
            "this point does not part what an example is given",
            "write `,` in its place".to_owned(),
        );
    }
    None
}

/// What is said of a list that is not opened.
pub(super) const NO_LIST: &str = "examples stand in a list";

/// A comma where a sentence ends, or behind the first example of a list that is not opened.
pub(super) fn comma(at: usize, source: &Source) -> Option<Slip> {
    let slip =
        |what: &str, help: &str| Some(Slip { at, length: 1, what: what.to_owned(), help: help.to_owned() });
    match source.line(at).trim_start().split([' ', '(']).next() {
        Some("const" | "let") => {
            slip("this `,` does not end what it stands behind", "write `;` in its place")
        }
        Some("given") => slip(NO_LIST, "write `[` behind `EXAMPLES =`, and `]` before the `;` that ends it"),
        _ => None,
    }
}

/// The sign that some words behind an `is` stand for: `is at least`, `is not`, `is more than`.
pub(super) fn compared_in_words(at: usize, source: &Source) -> Option<Slip> {
    let rest: String = source.letters[at..].iter().take(40).collect();
    let words: Vec<&str> = rest.split_whitespace().take(4).collect();
    let words = words.strip_prefix(&["is"])?;
    let sign = match words {
        ["at", "least", ..] | ["not", "less" | "under" | "below", ..] => ">=",
        ["at", "most", ..] | ["not", "more" | "over" | "above", ..] => "<=",
        ["equal", "to", ..] => "==",
        [word, ..] => meant_signs::sign_of(word)?,
        [] => return None,
    };
    let help = format!("write `{sign}` in place of these words");
    Some(Slip { at, length: 0, what: WITH_SIGNS.to_owned(), help })
}

/// What is said of an `=` that does not compare.
pub(super) fn single_equals(at: usize, source: &Source) -> Slip {
    let before = source.letters[..at].iter().rposition(|letter| !letter.is_whitespace());
    if let Some(sign) = before.map(|before| source.letters[before]).filter(|sign| "<>!=".contains(*sign)) {
        let (what, help) = ("a blank stands in this sign".to_owned(), format!("write `{sign}=`"));
        return Slip { at, length: 1, what, help };
    }
    let what = SINGLE_EQUALS.to_owned();
    let behind = source.letters[at + 1..].iter().position(|letter| !letter.is_whitespace());
    let word = behind.map(|behind| source.word_at(at + 1 + behind).to_lowercase()).unwrap_or_default();
    let help = match word.as_str() {
        "no" | "false" => "take it and the word behind it away, and write `not` before the fact",
        "yes" | "true" => "take it and the word behind it away: the fact alone asks whether it is so",
        _ => "write `==`",
    };
    Slip { at, length: 1, what, help: help.to_owned() }
}

fn is_behind_a_dot(name: &str) -> bool {
    facts::all().any(|fact| fact.name == name)
        || WORDS.iter().any(|word| word.on.is_some() && word.name == name)
}
