//! The least piece of a function that cannot be read, left open, so that all around it is read and vetted.
//!
//! A letter that names nothing in the file stands for what was meant: of its value nothing is known, so that nothing is
//! told of it. What decides keeps its braces, and what has a name keeps it.

use std::collections::BTreeSet;
use std::ops::Range;

use super::code_and_texts::Part;
use super::mends::ReadAs;
use super::outline::Outline;
use super::source::Source;

/// A letter that is no word of the file.
pub(super) fn letter(source: &Source) -> Option<char> {
    let words: BTreeSet<&str> = source
        .text
        .split(|letter: char| !letter.is_alphanumeric() && letter != '_')
        .filter(|word| word.len() == 1)
        .collect();
    ('a'..='z').rev().find(|letter| !words.contains(letter.to_string().as_str()))
}

/// What to read around a place of a function's body, where some piece around it can be left open.
pub(super) fn around(
    at: usize,
    body: &Range<usize>,
    letter: char,
    source: &Source,
    outline: &Outline,
) -> Option<ReadAs> {
    if !body.contains(&at) {
        return None;
    }
    let walk = Walk { body, source, outline };
    let start = walk.start(at)?;
    let (end, ended_by) = walk.end(start, at)?;
    let open = walk.open(start..end, ended_by)?;
    let mut stand_in = letter.to_string();
    match open.stands_for {
        StandsFor::Value if ended_by == Ends::Line => stand_in.push(';'),
        StandsFor::Value => {}
        StandsFor::Nothing => stand_in.clear(),
    }
    let first = open.piece.start;
    (stand_in.len() <= open.piece.len()).then(|| {
        let text = stand_in.chars().chain(std::iter::repeat(' ')).map(String::from);
        let is_in_line = |at: &usize| source.letters[*at] != '\n';
        (first..open.piece.end).filter(is_in_line).zip(text).collect()
    })
}

/// The line of a text that is not closed, and what to read in it, where it is one sentence of a function.
pub(super) fn line(
    at: usize,
    source: &Source,
    parts: &[Part],
    letter: Option<char>,
) -> Option<(Range<usize>, ReadAs)> {
    let line = source.line_of(at);
    let is_code = |at: &usize| parts[*at] != Part::Blank;
    let first = line.clone().find(is_code)?;
    let before = (0..first).rfind(is_code).filter(|at| parts[*at] == Part::Code)?;
    let next = (line.end..parts.len()).find(is_code)?;
    let indent =
        |at: usize| source.letters[source.line_of(at)].iter().take_while(|it| it.is_whitespace()).count();
    let begins_anew = source.letters[next].is_ascii_alphabetic() && indent(next) <= indent(first);
    let is_alone = ";{}".contains(source.letters[before]) && (source.letters[next] == '}' || begins_anew);
    // What decides goes on in its braces.
    let word = source.word_at(first);
    if !is_alone || first == line.start || ["if", "else", "}"].contains(&word.as_str()) {
        return None;
    }
    let letter = letter?;
    let behind = first + word.chars().count();
    let value = match word.as_str() {
        "let" => (behind..at).find(|at| source.letters[*at] == '=')? + 1,
        _ => first,
    };
    let kept = (first..value).map(|at| (at, source.letters[at].to_string()));
    let ends = if source.letters[next] == '}' && word != "let" { "" } else { ";" };
    let read_as = kept.chain([(value, letter.to_string()), (value + 1, ends.to_owned())]);
    (value + 1 < line.end).then(|| (line.clone(), read_as.collect()))
}

/// What ends a piece.
#[derive(Clone, Copy, PartialEq)]
enum Ends {
    /// A `;`.
    Sentence,
    /// The `{` of what it decides.
    Opened,
    /// The `}` of the braces that it stands in, or the end of the function.
    Closed,
    /// Its line: a sentence begins behind it.
    Line,
}

/// What is left open of a piece.
struct Open {
    piece: Range<usize>,
    stands_for: StandsFor,
}

/// What is read in its place.
enum StandsFor {
    /// Some value.
    Value,
    /// Nothing: it says something by itself.
    Nothing,
}

/// A look at what stands around a place.
struct Walk<'a> {
    body: &'a Range<usize>,
    source: &'a Source,
    outline: &'a Outline,
}

impl Walk<'_> {
    /// The sign of code at a place.
    fn sign(&self, at: usize) -> Option<char> {
        self.outline.is_sign(at).then(|| self.source.letters[at])
    }

    /// Where the piece begins that a place is in: behind what ends another, outside all round brackets.
    fn start(&self, at: usize) -> Option<usize> {
        let mut depth = 0_usize;
        let mut start = self.body.start;
        for place in (self.body.start..at).rev() {
            match self.sign(place) {
                Some(')' | ']') => depth += 1,
                Some('(' | '[') => depth = depth.saturating_sub(1),
                Some(';' | '{' | '}') if depth == 0 => {
                    start = place + 1;
                    break;
                }
                // Braces within brackets: too much to tell what stands where.
                Some(';' | '{' | '}') => return None,
                _ => {}
            }
        }
        (start..self.body.end).find(|at| self.outline.is_code(*at))
    }

    /// Where the piece ends that begins at a place and holds another, and by what.
    fn end(&self, start: usize, at: usize) -> Option<(usize, Ends)> {
        let mut depth = 0_usize;
        for place in start..self.body.end {
            match self.sign(place) {
                Some('(' | '[') => depth += 1,
                Some(')' | ']') => depth = depth.checked_sub(1)?,
                Some(';' | '{' | '}') if depth > 0 => return None,
                Some(';') if place >= at => return Some((place, Ends::Sentence)),
                Some('{') if place >= at => return Some((place, Ends::Opened)),
                Some('}') if place >= at => return Some((place, Ends::Closed)),
                _ if place >= at && depth == 0 && self.begins_behind(start, place) => {
                    return Some((place, Ends::Line));
                }
                _ => {}
            }
        }
        (depth == 0).then_some((self.body.end, Ends::Closed))
    }

    /// Whether a line ends at a place, and the next is no farther to the right than the piece and begins with a word that
    /// does not go on with it.
    fn begins_behind(&self, start: usize, place: usize) -> bool {
        let (source, letters) = (self.source, &self.source.letters);
        if letters[place] != '\n' {
            return false;
        }
        let Some(next) = (place..self.body.end).find(|at| self.outline.is_code(*at)) else { return false };
        let indent = |at: usize| {
            let line = source.line_of(at);
            letters[line].iter().take_while(|letter| letter.is_whitespace()).count()
        };
        let goes_on = ["and", "or", "else", "is", "in"].contains(&source.word_at(next).as_str());
        letters[next].is_ascii_alphabetic() && !goes_on && indent(next) <= indent(start)
    }

    /// What of a piece can be left open.
    fn open(&self, piece: Range<usize>, ended_by: Ends) -> Option<Open> {
        let word = self.source.word_at(piece.start);
        let value_behind = |at: usize| {
            let first = (at..piece.end).find(|at| self.outline.is_code(*at))?;
            Some(Open { piece: first..piece.end, stands_for: StandsFor::Value })
        };
        let behind = piece.start + word.chars().count();
        let opens = ended_by == Ends::Opened;
        match word.as_str() {
            "else" if opens => {
                let second = (behind..piece.end).find(|at| self.outline.is_code(*at))?;
                let is_if = self.source.word_at(second) == "if";
                if is_if { value_behind(second + "if".len()) } else { None }
            }
            "if" if opens => value_behind(behind),
            "let" => {
                let equals = self.single_equals(&piece)?;
                let name = self.source.letters[behind..equals].iter().collect::<String>();
                let is_name = |letter: char| letter.is_ascii_alphanumeric() || letter == '_';
                if name.trim().chars().all(is_name) && !opens { value_behind(equals + 1) } else { None }
            }
            // What has a brace behind it may be anything.
            _ if opens => None,
            "return" => value_behind(behind),
            "if" | "else" => Some(Open { piece, stands_for: StandsFor::Nothing }),
            _ => match self.single_equals(&piece) {
                Some(equals) => value_behind(equals + 1),
                None => Some(Open { piece, stands_for: StandsFor::Value }),
            },
        }
    }

    /// The first `=` of a piece that does not compare.
    fn single_equals(&self, piece: &Range<usize>) -> Option<usize> {
        let is = |at: usize, signs: &str| self.sign(at).is_some_and(|sign| signs.contains(sign));
        piece.clone().find(|at| is(*at, "=") && !is(at + 1, "=>") && !is(at.wrapping_sub(1), "=<>!"))
    }
}
