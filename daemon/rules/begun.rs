//! The constants and functions that begin somewhere in a rule file, whether or not they could be read to their end: using one
//! that was told not to be ended is no second slip.

use super::code_and_texts::begins_item;
use super::outline::Outline;
use super::source::Source;

/// The names of the constants that begin in a file.
pub(super) fn constants(source: &Source, outline: &Outline) -> Vec<String> {
    begun(source, outline, "const").map(|(_, name)| name).collect()
}

/// The first line of a function, where one of that name begins.
pub(super) fn first_line_of(function: &str, source: &Source, outline: &Outline) -> Option<String> {
    begun(source, outline, "fn").find(|(_, name)| name == function).map(|(at, _)| source.line(at))
}

/// Where something begins with a word at the start of a line, and its name.
fn begun<'a>(
    source: &'a Source,
    outline: &'a Outline,
    word: &'a str,
) -> impl Iterator<Item = (usize, String)> + 'a {
    let begins = move |at: &usize| {
        begins_item(&source.letters, *at) && outline.is_code(*at) && source.word_at(*at) == word
    };
    let name = move |at: usize| {
        let behind = &source.letters[at + word.len()..];
        let blanks = behind.iter().take_while(|letter| **letter == ' ').count();
        (at, source.word_at(at + word.len() + blanks))
    };
    (0..source.letters.len()).filter(begins).map(name)
}
