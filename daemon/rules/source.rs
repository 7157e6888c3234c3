//! A rule file's text, and the drawing of a place in it.

use std::collections::BTreeMap;
use std::ops::Range;

use rhai::Position;

use super::put_back;
use crate::problem::{Place, Problem, Severity, Spot, counted, excerpt};

/// The most slips of one file that are told: more than anybody corrects before the file is looked at anew.
const SLIPS: usize = 100;
/// The longest piece of a file that is quoted in a sentence: a whole page of it would hide what is said.
const QUOTED: usize = 300;

/// One rule file as it was read.
pub(super) struct Source {
    /// The file's path as problems show it: `rules/mot-due.rhai`.
    pub(super) file: String,
    /// The whole text, without a byte-order mark and with plain line ends.
    pub(super) text: String,
    /// The text by characters, since places count characters.
    pub(super) letters: Vec<char>,
    /// For each line, the character at which it begins.
    lines: Vec<usize>,
    /// The texts of this rule that were good.
    pub(super) last: Vec<String>,
}

/// Something wrong at a stretch of a rule file, in characters from its start.
#[derive(Clone)]
pub(super) struct Slip {
    /// The first character.
    pub(super) at: usize,
    /// How many characters; 0 marks the word that stands there.
    pub(super) length: usize,
    /// What is wrong.
    pub(super) what: String,
    /// What to write.
    pub(super) help: String,
    /// What the vetters are to know of it beside its words, which are for people.
    pub(super) cause: Cause,
}

/// What the vetters know of a slip, so that none of them reads the words of another.
#[derive(Clone, Default)]
pub(super) enum Cause {
    /// Nothing that matters to others.
    #[default]
    Itself,
    /// A stretch is written otherwise than it is meant, which is as told here.
    WrittenFor(Range<usize>, String),
    /// A sentence does not end behind what is marked.
    NoSemicolon,
    /// What should end a stretch is not there.
    NotEnded,
    /// A bracket is missing that opens, so that the one behind it seems to close nothing.
    NotOpened,
    /// The same of the one that opens the list of examples.
    NoList,
    /// A brace is missing before what is marked, so that the one that closes it ends more than it should.
    NoBrace,
    /// A bracket closes nothing.
    ClosesNothing,
    /// The rule goes on behind an answer.
    AnswerLost,
    /// Nothing has this name; with the one that may be meant.
    NothingCalled(String, Option<String>),
}

impl Slip {
    /// Something wrong with the word at a place.
    pub(super) fn new(at: usize, what: impl Into<String>, help: impl Into<String>) -> Slip {
        Slip { at, length: 0, what: what.into(), help: help.into(), cause: Cause::Itself }
    }

    /// The same with so many characters marked.
    pub(super) fn marking(self, length: usize) -> Slip {
        Slip { length, ..self }
    }

    /// The same with what the vetters are to know of it.
    pub(super) fn of(self, cause: Cause) -> Slip {
        Slip { cause, ..self }
    }

    /// The same, where some text is meant by a stretch.
    pub(super) fn written_for(self, stretch: Range<usize>, text: impl Into<String>) -> Slip {
        self.of(Cause::WrittenFor(stretch, text.into()))
    }
}

impl Source {
    /// A file's text, ready to be read.
    pub(super) fn new(file: String, text: &str, last: Vec<String>) -> Source {
        let text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n").replace('\r', "\n");
        let letters: Vec<char> = text.chars().collect();
        let starts = letters.iter().enumerate().filter(|(_, letter)| **letter == '\n').map(|(at, _)| at + 1);
        let lines = std::iter::once(0).chain(starts).collect();
        Source { file, text, letters, lines, last }
    }

    /// The character at a position of the language's reader; the file's start where it has none.
    pub(super) fn at(&self, position: Position) -> usize {
        let line = position.line().unwrap_or(1).saturating_sub(1);
        let column = position.position().unwrap_or(1).saturating_sub(1);
        let start = self.lines.get(line).copied().unwrap_or(self.letters.len());
        (start + column).min(self.letters.len())
    }

    /// The characters of the line that one stands in, without its end.
    pub(super) fn line_of(&self, at: usize) -> Range<usize> {
        let at = at.min(self.letters.len());
        let start = self.lines[self.lines.partition_point(|start| *start <= at) - 1];
        let end = self.letters[at..].iter().position(|letter| *letter == '\n');
        start..end.map_or(self.letters.len(), |length| at + length)
    }

    /// The line that a character stands in.
    pub(super) fn line(&self, at: usize) -> String {
        self.letters[self.line_of(at)].iter().collect()
    }

    /// Line and column of a character, both from 1.
    pub(super) fn line_and_column(&self, at: usize) -> (usize, usize) {
        let line = self.lines.partition_point(|start| *start <= at).max(1);
        (line, at - self.lines[line - 1] + 1)
    }

    /// The word or number that begins at a character; one character where neither does.
    pub(super) fn word_at(&self, at: usize) -> String {
        let rest = &self.letters[at.min(self.letters.len())..];
        let word: String =
            rest.iter().take_while(|letter| letter.is_alphanumeric() || **letter == '_').collect();
        if word.is_empty() { rest.iter().take(1).collect() } else { word }
    }

    /// A slip as a problem that knows its place.
    pub(super) fn problem(&self, slip: Slip) -> Problem {
        let (line, column) = self.line_and_column(slip.at);
        let length = if slip.length > 0 { slip.length } else { self.word_at(slip.at).chars().count() };
        let spot = Spot::Text { line, column, excerpt: excerpt(&self.text, line, column, length) };
        let place = Place { file: self.file.clone(), sheet: None, spot };
        let help = match &slip.cause {
            Cause::NothingCalled(name, near) => put_back::offered(name, near.as_deref(), &self.last),
            _ => None,
        };
        Problem::error(place, readable(slip.what), readable(help.unwrap_or(slip.help)))
    }

    /// All slips of the file by their places, each once; of very many, that there are more.
    pub(super) fn problems(&self, mut slips: Vec<Slip>) -> Vec<Problem> {
        slips.sort_by(|left, right| (left.at, &left.what).cmp(&(right.at, &right.what)));
        slips.dedup_by(|left, right| (left.at, &left.what) == (right.at, &right.what));
        let more = slips.len().saturating_sub(SLIPS);
        slips.truncate(SLIPS);
        let mut problems: Vec<Problem> = slips.into_iter().map(|slip| self.problem(slip)).collect();
        if more > 0 {
            let what = format!("there are {} more in this file", counted(more, "slip"));
            let help = "correct those above first; the others are told then";
            problems.push(Problem::error(Place::file(&self.file), what, help));
        }
        problems
    }

    /// What is only to be known of the file, by its places.
    pub(super) fn notes(&self, slips: Vec<Slip>) -> Vec<Problem> {
        let note = |problem: Problem| Problem { severity: Severity::Note, ..problem };
        self.problems(slips).into_iter().map(note).collect()
    }

    /// Some stretches of the text, in their order, each at its line and column, so that places stay what they are.
    ///
    /// Some characters are read as something else: they have been told of, and would otherwise be told of again.
    pub(super) fn only(
        &self,
        stretches: &[std::ops::Range<usize>],
        read_as: &BTreeMap<usize, String>,
    ) -> String {
        let mut text = String::new();
        let (mut line, mut column) = (1, 1);
        for stretch in stretches {
            let (first_line, first_column) = self.line_and_column(stretch.start);
            while line < first_line {
                text.push('\n');
                (line, column) = (line + 1, 1);
            }
            while column < first_column {
                text.push(' ');
                column += 1;
            }
            for at in stretch.clone() {
                let letter = self.letters[at];
                match read_as.get(&at) {
                    Some(other) => text.push_str(other),
                    None => text.push(letter),
                }
                (line, column) = if letter == '\n' { (line + 1, 1) } else { (line, column + 1) };
            }
        }
        text
    }
}

/// A sentence about a slip, of which a very long one keeps beginning and end: in between stands what it quotes.
fn readable(sentence: String) -> String {
    let length = sentence.chars().count();
    if length <= 2 * QUOTED {
        return sentence;
    }
    let start: String = sentence.chars().take(QUOTED).collect();
    let end: String = sentence.chars().skip(length - QUOTED / 3).collect();
    format!("{start} \u{2026} {end}")
}
