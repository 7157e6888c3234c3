//! A rule file with its signs as they are meant: without those that nobody sees, and with a backtick where an accent begins
//! what one ends. Each takes the place of what stands there, so that all places stay what they are.

use super::code_and_texts::{Part, parts};
use super::source::{Cause, Slip, Source};
use crate::problem::steers;

/// The most signs that are put right one after another.
const MOST: usize = 20;

/// What is told of such signs, and the file as it is meant; `None` where there are none.
pub(super) fn put_right(source: &Source) -> Option<(Vec<Slip>, Source)> {
    let mut letters = source.letters.clone();
    let mut slips = without_unseen(source, &mut letters);
    for _ in 0..MOST {
        let meant = parts(&letters).1.into_iter().find_map(|slip| match slip.cause.clone() {
            Cause::WrittenFor(stretch, meant) => Some((slip, stretch, meant)),
            _ => None,
        });
        let Some((slip, stretch, meant)) = meant else { break };
        stretch.zip(meant.chars()).for_each(|(at, letter)| letters[at] = letter);
        slips.push(slip);
    }
    let text: String = letters.into_iter().collect();
    (!slips.is_empty()).then(|| (slips, Source::new(source.file.clone(), &text, source.last.clone())))
}

/// Takes the signs out of the code that nobody sees: what stands behind one in its word moves up. The first of each line
/// is told.
fn without_unseen(source: &Source, letters: &mut [char]) -> Vec<Slip> {
    if !letters.iter().any(|letter| is_unseen(*letter)) {
        return Vec::new();
    }
    let parts = parts(letters).0;
    let is_of_word = |letter: char| letter.is_alphanumeric() || letter == '_' || is_unseen(letter);
    let mut slips: Vec<Slip> = Vec::new();
    let mut at = 0;
    while at < letters.len() {
        if parts[at] != Part::Code || !is_unseen(letters[at]) {
            at += 1;
            continue;
        }
        let line = source.line_and_column(at).0;
        if slips.last().is_none_or(|slip| source.line_and_column(slip.at).0 != line) {
            let what = "a sign stands here that nobody sees";
            slips.push(Slip::new(at, what, "delete it, or type the line anew").marking(1));
        }
        let rest = &mut letters[at..];
        // What colours a terminal has more signs behind it (ECMA-48, 5.4).
        if let ['\u{1b}', '[', behind @ ..] = rest {
            let last = behind.iter().position(|letter| ('@'..='~').contains(letter));
            rest[1..2 + last.map_or(0, |last| last + 1)].fill('\u{1b}');
        }
        let end = rest.iter().position(|letter| !is_of_word(*letter)).unwrap_or(rest.len());
        let seen: Vec<char> = rest[..end].iter().copied().filter(|letter| !is_unseen(*letter)).collect();
        let seen = seen.into_iter().chain(std::iter::repeat(' '));
        rest[..end].iter_mut().zip(seen).for_each(|(letter, meant)| *letter = meant);
        at += end;
    }
    slips
}

/// Whether a sign shows nothing where it stands, and is no blank or line end either.
fn is_unseen(letter: char) -> bool {
    (steers(letter) && !letter.is_ascii_whitespace()) || matches!(letter, '\u{200c}' | '\u{200d}')
}
