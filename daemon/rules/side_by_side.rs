//! Two words or signs that stand side by side where one is meant, or where a dot, a bracket or another sign belongs between.

use std::ops::Range;

use super::language_errors::number_that_ends;
use super::meant_signs;
use super::outline::Outline;
use super::reference::WORDS;
use super::sort_of_value::Kind;
use super::source::{Cause, Slip, Source};
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
    if letter(end).is_ascii_digit()
        && let Some(unit) = other_names::unit(behind)
    {
        return Some(no_dot(at, &format!("{}.{unit}", number_that_ends(end, source)), None));
    }
    let joined = format!("{before}_{behind}");
    if is_behind_a_dot(&joined) {
        let slip = Slip::new(at, "this is one word", format!("write `{joined}`"));
        return Some(slip.written_for(before_at..at + behind.chars().count(), joined));
    }
    let is_thing = Kind::named(before).is_some();
    let fact = if letter(at) == ',' { source.word_at(at + 1) } else { behind.to_owned() };
    if is_thing && token != "," && is_behind_a_dot(&fact) {
        let stands_between = if letter(at) == ',' { at } else { end + 1 };
        let slip = Slip::new(at, "a dot is missing before this", format!("write `{before}.{fact}`"));
        return Some(slip.written_for(stands_between..stands_between + 1, "."));
    }
    if matches!(letter(at), '"' | '`') && source.letters.get(before_at.wrapping_sub(1)) == Some(&'.') {
        let word = WORDS.iter().find(|word| word.name == before && word.written.contains("(\""))?;
        let help = format!("write `{}`", word.written);
        return Some(Slip::new(at, "brackets are missing around this text", help).of(Cause::NotOpened));
    }
    if token == "," && letter(at) == ';' {
        let slip = Slip::new(at, "this `;` does not part what a list holds", "write `,` in its place");
        return Some(slip.written_for(at..at + 1, ","));
    }
    // The first name of the next fact: `today: "2026-03-02". clock: 5.miles`.
    let point = outline.code_before(before_at).filter(|at| letter(*at) == '.');
    if let (true, Some(point)) = (token == "}" && letter(at) == ':', point) {
        let slip =
            Slip::new(point, "this point does not part what an example is given", "write `,` in its place");
        return Some(slip.written_for(point..point + 1, ","));
    }
    None
}

/// A comma where a sentence ends, or behind the first example of a list that is not opened.
pub(super) fn comma(at: usize, source: &Source) -> Option<Slip> {
    let slip = |what: &str, help: &str| Some(Slip::new(at, what, help).marking(1));
    match source.line(at).trim_start().split([' ', '(']).next() {
        Some("const" | "let") => {
            slip("this `,` does not end what it stands behind", "write `;` in its place")
        }
        Some("given") => {
            let help = "write `[` behind `EXAMPLES =`, and `]` before the `;` that ends it";
            Some(Slip::new(at, "examples stand in a list", help).marking(1).of(Cause::NoList))
        }
        _ => None,
    }
}

/// The sign that some words behind an `is` stand for: `is at least`, `is not`, `is more than`.
pub(super) fn compared_in_words(at: usize, source: &Source) -> Option<Slip> {
    let rest: String = source.letters[at..].iter().take(40).collect();
    let words: Vec<&str> = rest.split_whitespace().take(4).collect();
    let (sign, count) = match words.strip_prefix(&["is"])? {
        ["at", "least", ..] => (">=", 3),
        ["not", "less" | "under" | "below", "than", ..] => (">=", 4),
        ["not", "less" | "under" | "below", ..] => (">=", 3),
        ["at", "most", ..] => ("<=", 3),
        ["not", "more" | "over" | "above", "than", ..] => ("<=", 4),
        ["not", "more" | "over" | "above", ..] => ("<=", 3),
        ["equal", "to", ..] => ("==", 3),
        [word, "than", ..] => (meant_signs::sign_of(word)?, 3),
        [word, ..] => (meant_signs::sign_of(word)?, 2),
        [] => return None,
    };
    let blanks = rest.char_indices().filter(|(_, letter)| *letter == ' ');
    let is_plain = rest.is_ascii() && !rest.contains("  ");
    let end = blanks.map(|(blank, _)| blank).nth(count - 1).filter(|_| is_plain);
    let help = format!("write `{sign}` in place of these words");
    Some(with_signs(at, help, at..at + end.unwrap_or(0), sign))
}

/// What is said of an `=` that does not compare.
pub(super) fn single_equals(at: usize, source: &Source) -> Slip {
    let before = source.letters[..at].iter().rposition(|letter| !letter.is_whitespace());
    if let Some(sign) = before.map(|before| source.letters[before]).filter(|sign| "<>!=".contains(*sign)) {
        return Slip::new(at, "a blank stands in this sign", format!("write `{sign}=`")).marking(1);
    }
    let behind = source.letters[at + 1..].iter().position(|letter| !letter.is_whitespace());
    let word = behind.map(|behind| source.word_at(at + 1 + behind).to_lowercase()).unwrap_or_default();
    let help = match word.as_str() {
        "no" | "false" => "take it and the word behind it away, and write `not` before the fact",
        "yes" | "true" => "take it and the word behind it away: the fact alone asks whether it is so",
        _ => "write `==`",
    };
    let slip = Slip::new(at, "a single `=` does not compare", help).marking(1);
    if ["no", "false", "yes", "true"].contains(&word.as_str()) {
        slip
    } else {
        slip.written_for(at..at + 1, "==")
    }
}

/// What is said where a number stands beside its unit; with what to read in place of something, where it is that alone.
pub(super) fn no_dot(at: usize, written: &str, meant: Option<(Range<usize>, &str)>) -> Slip {
    let slip = Slip::new(at, "the dot before the unit is missing", format!("write `{written}`"));
    match meant {
        Some((stretch, sign)) => slip.written_for(stretch, sign),
        None => slip,
    }
}

/// What is said of words that compare; with those that stand for the sign.
pub(super) fn with_signs(at: usize, help: String, words: Range<usize>, sign: &str) -> Slip {
    Slip::new(at, "a rule compares with signs", help).written_for(words, sign)
}

fn is_behind_a_dot(name: &str) -> bool {
    facts::all().any(|fact| fact.name == name)
        || WORDS.iter().any(|word| word.on.is_some() && word.name == name)
}
