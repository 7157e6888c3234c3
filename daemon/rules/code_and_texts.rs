//! Tells what is code in a rule file from blanks, comments and texts, also where one of them is never closed.

use super::meant_signs::unclosed;
use super::source::Slip;

/// What a character is part of.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Part {
    Blank,
    Code,
    Quoted,
}

/// Tells code from blanks, comments and texts; a text that is never closed is a slip.
///
/// Where a backtick is missing, the next text is taken for code and the code behind it for a text, down to the end of
/// the file. So the first text that goes over the end of its line is taken for the one that is not closed.
pub(super) fn parts(letters: &[char]) -> (Vec<Part>, Vec<Slip>) {
    /// The most texts that are told of as not closed.
    const UNCLOSED: usize = 20;
    let mut ending = Vec::new();
    loop {
        let (parts, slips, long) = parts_with(letters, &ending);
        match long {
            Some(at) if ending.len() < UNCLOSED => ending.push(at),
            _ => return (parts, slips),
        }
    }
}

/// The same, where the texts in backticks that begin at some places end with their lines; and, where the last of them
/// is never closed, the first that does not end with its line.
fn parts_with(letters: &[char], ending: &[usize]) -> (Vec<Part>, Vec<Slip>, Option<usize>) {
    let mut parts = vec![Part::Code; letters.len()];
    let mut slips = Vec::new();
    let (mut first_long, mut is_open) = (None, false);
    let mut at = 0;
    while at < letters.len() {
        let next = letters.get(at + 1).copied();
        let (end, part) = match letters[at] {
            letter if letter.is_whitespace() => (at + 1, Part::Blank),
            '/' if next == Some('/') => (line_end(letters, at), Part::Blank),
            '/' if next == Some('*') => {
                let (end, closed) = comment_end(letters, at);
                if !closed {
                    slips.push(Slip::new(at, "this comment is not closed", "write */ at its end").marking(2));
                }
                // What begins a constant or a function is read again, since nobody writes that into a comment's lines.
                let end = if closed { end } else { item_begins(letters, at) };
                (end, Part::Blank)
            }
            quote @ ('"' | '`') => {
                let in_line = quote == '"' || ending.contains(&at);
                let (end, closed) = if in_line && quote == '`' {
                    (line_end(letters, at), false)
                } else {
                    text_end(letters, at, quote)
                };
                if !in_line && letters[at..end].contains(&'\n') {
                    first_long.get_or_insert(at);
                }
                is_open |= !closed && !in_line;
                if !closed {
                    slips.push(unclosed(letters, at, quote));
                }
                (end, Part::Quoted)
            }
            _ => (at + 1, Part::Code),
        };
        parts[at..end].fill(part);
        at = end;
    }
    (parts, slips, first_long.filter(|_| is_open))
}

/// Which characters may be of a name: those of code, and those of a text in backticks, which may hold values.
pub(super) fn may_name(letters: &[char], parts: &[Part]) -> Vec<bool> {
    let mut quote = None;
    let may = parts.iter().zip(letters).map(|(part, letter)| {
        quote = if *part == Part::Quoted { quote.or(Some(*letter)) } else { None };
        *part == Part::Code || quote == Some('`')
    });
    may.collect()
}

pub(super) fn line_end(letters: &[char], from: usize) -> usize {
    letters[from..].iter().position(|letter| *letter == '\n').map_or(letters.len(), |length| from + length)
}

/// Where the next line begins that begins a constant or a function.
fn item_begins(letters: &[char], from: usize) -> usize {
    (from + 1..letters.len()).find(|at| begins_item(letters, *at)).unwrap_or(letters.len())
}

/// Whether a line begins at a character, and with it a constant or a function.
pub(super) fn begins_item(letters: &[char], at: usize) -> bool {
    let begins = |word: &str| letters[at..].iter().take(word.len()).copied().eq(word.chars());
    (at == 0 || letters[at - 1] == '\n') && (begins("const ") || begins("fn "))
}

/// The end of a comment, which may hold others, and whether it was closed.
fn comment_end(letters: &[char], from: usize) -> (usize, bool) {
    let mut depth = 0;
    let mut at = from;
    while at + 1 < letters.len() {
        match (letters[at], letters[at + 1]) {
            ('/', '*') => {
                depth += 1;
                at += 2;
            }
            ('*', '/') => {
                depth -= 1;
                at += 2;
                if depth == 0 {
                    return (at, true);
                }
            }
            _ => at += 1,
        }
    }
    (letters.len(), false)
}

/// The end of a text, and whether it was closed. A text in `"` ends with its line, one in backticks may go on and
/// holds values between `${` and `}`.
fn text_end(letters: &[char], from: usize, quote: char) -> (usize, bool) {
    let mut at = from + 1;
    let mut depth = 0;
    while at < letters.len() {
        match letters[at] {
            '\\' if quote == '"' => at += 1,
            '\n' if quote == '"' => return (at, false),
            '$' if quote == '`' && depth == 0 && letters.get(at + 1) == Some(&'{') => {
                depth = 1;
                at += 1;
            }
            '{' if depth > 0 => depth += 1,
            '}' if depth > 0 => depth -= 1,
            letter if letter == quote && depth == 0 => return (at + 1, true),
            _ => {}
        }
        at += 1;
    }
    (letters.len(), false)
}
