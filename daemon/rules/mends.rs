//! What is likely meant where something in a rule file cannot be read, so that what stands behind it can be, too.

use std::ops::Range;

use super::brackets::closer;
use super::source::{Cause, Slip, Source};

/// What is read in place of some characters, each with its place.
pub(super) type ReadAs = Vec<(usize, String)>;

/// How a file is read on where something is not closed.
pub(super) enum Mend {
    /// Without a line that says something by itself.
    LeaveOut(Range<usize>),
    /// As if a sign stood at a place: instead of a blank, or before the end of a line.
    Sign(usize, char),
}

/// The line of a character, without its end, where it says something by itself: an example, or an answer. Nothing else
/// hangs on it, so that it can be left out.
pub(super) fn line_alone(source: &Source, at: usize) -> Option<Range<usize>> {
    let line = source.line_of(at);
    let written: String = source.letters[line.clone()].iter().collect();
    let written = written.trim();
    let is_indented = source.letters.get(line.start).is_some_and(|letter| letter.is_whitespace());
    let begins = ["given(", "return ", "#{"].iter().any(|start| written.starts_with(start));
    let ends = written.ends_with(';') || written.ends_with(',');
    (is_indented && begins && ends).then_some(line)
}

/// The same of a character in the midst of its line: at its beginning or its end, the line beside it may be the wrong one.
pub(super) fn line_alone_within(source: &Source, at: usize) -> Option<Range<usize>> {
    let is_code = |at: &usize| !source.letters[*at].is_whitespace();
    let line = line_alone(source, at)?;
    let (first, last) = (line.clone().find(is_code)?, line.clone().rfind(is_code)?);
    (first < at && at < last).then_some(line)
}

/// What is likely meant by a bracket that is not closed in a stretch that begins with it.
pub(super) fn of_bracket(
    source: &Source,
    bracket: char,
    stretch: Range<usize>,
    is_code: impl Fn(usize) -> bool,
) -> Option<Mend> {
    if let Some(line) = line_alone(source, stretch.start) {
        return Some(Mend::LeaveOut(line));
    }
    let line = source.line_of(stretch.start);
    if bracket == '{' {
        return closed_by_indent(source, stretch, is_code);
    }
    // What decides stands in a line that ends with its `{`.
    let last = line.clone().rfind(|at| is_code(*at))?;
    let blank = last.checked_sub(1).filter(|at| source.letters[*at] == ' ')?;
    let opens = source.letters[last] == '{' && blank > stretch.start;
    opens.then(|| Mend::Sign(blank, closer(bracket)))
}

/// Where a brace ends by the indentation: before the next line that is no farther to the right than its own.
fn closed_by_indent(source: &Source, stretch: Range<usize>, is_code: impl Fn(usize) -> bool) -> Option<Mend> {
    let indent =
        |line: &Range<usize>| line.clone().take_while(|at| source.letters[*at].is_whitespace()).count();
    let own = source.line_of(stretch.start);
    let (own_indent, mut end) = (indent(&own), own.end);
    while end < source.letters.len() {
        let line = source.line_of(end + 1);
        let first = line.clone().find(|at| is_code(*at));
        if let Some(first) = first
            && indent(&line) <= own_indent
        {
            let closes = ")]}".contains(source.letters[first]);
            return (!closes).then_some(Mend::Sign(end, '}'));
        }
        end = line.end;
    }
    None
}

/// What to read in place of some characters where the language cannot read on and there is no doubt what is meant, as what
/// is said of it has it. It is as long as what it stands for, so that all other places stay what they are.
pub(super) fn of_reading(slip: &Slip, source: &Source) -> Option<ReadAs> {
    let letter = *source.letters.get(slip.at)?;
    if let Some(plain) = plain_sign(letter) {
        let line = source.line_of(slip.at);
        let same = line.filter(|at| plain_sign(source.letters[*at]) == Some(plain));
        return Some(same.map(|at| (at, plain.to_string())).collect());
    }
    let Cause::WrittenFor(stretch, meant) = &slip.cause else { return None };
    in_place_of(stretch, meant, source)
}

/// A text in place of a stretch, with the blank behind it or before it where it is longer by one; `None` where there is no
/// room for it.
fn in_place_of(stretch: &Range<usize>, meant: &str, source: &Source) -> Option<ReadAs> {
    let is_blank = |at: usize| source.letters.get(at) == Some(&' ');
    let is_of_word = |at: usize| source.letters.get(at).is_some_and(|letter| letter.is_alphanumeric());
    let is_word = meant.starts_with(char::is_alphabetic);
    let (mut start, mut end, length) = (stretch.start, stretch.end, meant.chars().count());
    if length == stretch.len() + 1 && !is_word && is_blank(end) {
        end += 1;
    } else if length == stretch.len() + 1 && start > 1 && is_blank(start - 1) && !is_of_word(start - 2) {
        start -= 1;
    }
    let meant = meant.chars().chain(std::iter::repeat(' ')).map(String::from);
    (!stretch.is_empty() && length <= end - start).then(|| (start..end).zip(meant).collect())
}

/// The sign of a keyboard that is meant by one of a word processor.
fn plain_sign(letter: char) -> Option<char> {
    match letter {
        '\u{201c}' | '\u{201d}' | '\u{201e}' => Some('"'),
        '\u{2013}' | '\u{2014}' => Some('-'),
        '\u{a0}' | '\u{202f}' | '\u{2007}' => Some(' '),
        '\u{d7}' => Some('*'),
        _ => None,
    }
}
