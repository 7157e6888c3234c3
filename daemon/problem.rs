//! What is wrong with an input: what, where, and what to do; drawn here once, for terminal and letter.

use std::borrow::Cow;
use std::fmt;

use crate::origin::{Origin, cell_name};

/// How much a problem keeps from being done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Something was not read, not judged or not kept: a person must act, and the exit code says so.
    Error,
    /// Everything was read, but in a way that a person should know of.
    Note,
}

/// The spot inside a file that a problem is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Spot {
    /// The file or sheet as a whole.
    Whole,
    /// One cell: row from 1, column from 0.
    Cell {
        /// The row as the spreadsheet program numbers it, from 1.
        row: u32,
        /// The column, from 0 for A.
        column: u32,
    },
    /// A place in a text file: line and column from 1, in characters, with the marked excerpt already drawn.
    Text {
        /// The line, from 1.
        line: usize,
        /// The column in characters, from 1.
        column: usize,
        /// The line of the file with the place marked, drawn by [`excerpt`]; may be empty.
        excerpt: String,
    },
}

/// Where a problem is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The file, below the yard folder or as the person gave it.
    pub file: String,
    /// The worksheet, where the file is a workbook.
    pub sheet: Option<String>,
    /// Where in it.
    pub spot: Spot,
}

impl Place {
    /// A whole file.
    pub fn file(file: impl Into<String>) -> Place {
        Place { file: file.into(), sheet: None, spot: Spot::Whole }
    }

    /// The cell's name, such as `D14`, where the problem is about one.
    pub fn cell(&self) -> Option<String> {
        match self.spot {
            Spot::Cell { row, column } => Some(cell_name(row, column)),
            Spot::Whole | Spot::Text { .. } => None,
        }
    }
}

impl From<&Origin> for Place {
    fn from(origin: &Origin) -> Place {
        Place {
            file: origin.name.file.clone(),
            sheet: origin.name.sheet.clone(),
            spot: Spot::Cell { row: origin.row, column: origin.column },
        }
    }
}

impl fmt::Display for Place {
    /// `bikes.xlsx, Stock, D14` or `rules/mot-due.rhai:21:27`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&harmless(&self.file))?;
        if let Some(sheet) = &self.sheet {
            write!(formatter, ", {}", harmless(sheet))?;
        }
        match &self.spot {
            Spot::Whole => Ok(()),
            Spot::Cell { row, column } => write!(formatter, ", {}", cell_name(*row, *column)),
            Spot::Text { line, column, .. } => write!(formatter, ":{line}:{column}"),
        }
    }
}

/// One thing that is wrong with an input. Problems are collected, never thrown: the rest goes on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Problem {
    /// How much it keeps from being done.
    pub severity: Severity,
    /// Where it is.
    pub place: Place,
    /// What stood there, as written; empty where there is no single value.
    pub value: String,
    /// What is wrong, as a lower-case phrase without a full stop and without blame.
    pub what: String,
    /// What to do about it, as a short sentence in the imperative.
    pub help: String,
    /// Whether something due hangs on what could not be read, or not be told, so that nobody would miss it.
    pub hides_what_is_due: bool,
}

impl Problem {
    /// Something that could not be read, judged or kept.
    pub fn error(place: impl Into<Place>, what: impl Into<String>, help: impl Into<String>) -> Problem {
        Problem {
            severity: Severity::Error,
            place: place.into(),
            value: String::new(),
            what: what.into(),
            help: help.into(),
            hides_what_is_due: false,
        }
    }

    /// Something that was read, but that a person should know of.
    pub fn note(place: impl Into<Place>, what: impl Into<String>, help: impl Into<String>) -> Problem {
        Problem { severity: Severity::Note, ..Problem::error(place, what, help) }
    }

    /// The same problem, with the value that stood there.
    #[must_use]
    pub fn with_value(mut self, value: impl Into<String>) -> Problem {
        self.value = value.into();
        self
    }
}

impl fmt::Display for Problem {
    /// As the terminal shows it, in three parts:
    /// `error: the day is not a day` / ` --> jobs.csv, B14: 31/02/2026` / `help: ...`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let severity = match self.severity {
            Severity::Error => "error",
            Severity::Note => "note",
        };
        writeln!(formatter, "{severity}: {}", harmless(&self.what))?;
        write!(formatter, "  --> {}", self.place)?;
        if !self.value.is_empty() {
            write!(formatter, ": `{}`", harmless(&self.value))?;
        }
        writeln!(formatter)?;
        if let Spot::Text { excerpt, .. } = &self.place.spot
            && !excerpt.is_empty()
        {
            for line in excerpt.trim_end().split('\n') {
                writeln!(formatter, "{}", harmless(line))?;
            }
        }
        write!(formatter, "help: {}", harmless(&self.help))
    }
}

/// A text from outside on one line, with nothing in it that steers a terminal or turns the order of its signs: line
/// ends and tabs become one blank each, everything else that [`steers`] becomes `�`. Each sign stays one sign.
pub fn harmless(text: &str) -> Cow<'_, str> {
    if !text.contains(steers) {
        return Cow::Borrowed(text);
    }
    let shown = |letter| match letter {
        '\t' | '\n' | '\r' => ' ',
        letter if steers(letter) => char::REPLACEMENT_CHARACTER,
        letter => letter,
    };
    Cow::Owned(text.chars().map(shown).collect())
}

/// Whether a sign shows nothing itself, or steers what shows others: a control character, a line or paragraph
/// separator, one that turns the direction of writing (Unicode Standard Annex 9, section 2), or one without width.
pub fn steers(letter: char) -> bool {
    let turns = matches!(letter, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let separates = matches!(letter, '\u{2028}' | '\u{2029}');
    let has_no_width = matches!(letter, '\u{ad}' | '\u{200b}' | '\u{2060}' | '\u{feff}');
    letter.is_control() || turns || separates || has_no_width
}

/// A sentence's nouns with their count: `1 machine`, `12 machines`.
pub fn counted(count: usize, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}

/// The nearest of the allowed words to a mistyped one, for `did you mean`; `None` when nothing is near.
pub fn nearest<'a>(word: &str, allowed: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    /// Below this likeness (Jaro-Winkler, 0 to 1) a suggestion confuses more than it helps.
    const LIKE_ENOUGH: f64 = 0.8;
    /// No word of ours is half as long; to compare one of a whole page with each of them takes its time.
    const LONGEST: usize = 100;
    if word.len() > LONGEST {
        return None;
    }
    allowed
        .into_iter()
        .map(|candidate| (strsim::jaro_winkler(&word.to_lowercase(), &candidate.to_lowercase()), candidate))
        .filter(|(likeness, _)| *likeness >= LIKE_ENOUGH)
        .max_by(|left, right| left.0.total_cmp(&right.0))
        .map(|(_, candidate)| candidate)
}

/// Whether a word is another one with a letter or two amiss, whatever its capitals and underscores; one that is counted
/// otherwise (`ROW2`, `ROW3`) is meant so.
pub fn is_a_slip_of(word: &str, other: &str) -> bool {
    /// From so many letters on two may be amiss.
    const LONG: usize = 6;
    let figures = |word: &str| word.replace(|letter: char| !letter.is_ascii_digit(), "");
    if figures(word) != figures(other) {
        return false;
    }
    let plain = |word: &str| word.replace('_', "").to_lowercase();
    let (word, other) = (plain(word), plain(other));
    let letters = word.chars().count().min(other.chars().count());
    strsim::osa_distance(&word, &other) <= if letters < LONG { 1 } else { 2 }
}

/// A line of a text file with a stretch of it marked, as `Spot::Text` carries it.
///
/// `line` counts from 1, `column` and `length` are in characters, the column from 1. What the line holds is made
/// [`harmless`]; of one that is far too long for a screen, what stands around the mark is shown.
pub fn excerpt(text: &str, line: usize, column: usize, length: usize) -> String {
    /// The longest line that is shown whole: longer than anybody writes one.
    const WHOLE: usize = 200;
    /// How much of a longer one is shown before the mark, and from it on.
    const AROUND: usize = 60;
    let Some(written) = text.lines().nth(line.saturating_sub(1)) else { return String::new() };
    let margin = " ".repeat(line.to_string().len());
    let (mut at, mut length) = (column.saturating_sub(1), length.max(1));
    let all = written.chars().count();
    let shown = if all > WHOLE {
        let from = at.saturating_sub(AROUND);
        let cut: String = written.chars().skip(from).take(2 * AROUND).collect();
        let before = if from > 0 { "\u{2026}" } else { "" };
        let after = if all > from + 2 * AROUND { "\u{2026}" } else { "" };
        length = length.min(cut.chars().count().saturating_sub(at - from)).max(1);
        at = at - from + before.chars().count();
        format!("{before}{}{after}", harmless(&cut))
    } else {
        harmless(written).into_owned()
    };
    let (indent, marks) = (" ".repeat(at), "^".repeat(length));
    format!("{margin} |\n{line} | {shown}\n{margin} | {indent}{marks}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_would_steer_a_terminal_is_shown_as_a_mark_and_takes_one_place() {
        for (text, expected) in [
            ("caf\u{e9} 10W-40", "caf\u{e9} 10W-40"),
            ("a\tb\r\nc", "a b  c"),
            ("\u{1b}[31mred\u{7}\u{0}", "\u{fffd}[31mred\u{fffd}\u{fffd}"),
            ("\u{202e}txet\u{202c} \u{2066}\u{200f}\u{61c}", "\u{fffd}txet\u{fffd} \u{fffd}\u{fffd}\u{fffd}"),
            ("\u{9b}31m\u{2028}", "\u{fffd}31m\u{fffd}"),
            ("mach\u{ad}ine\u{200b}", "mach\u{fffd}ine\u{fffd}"),
        ] {
            assert_eq!(harmless(text), expected);
            assert_eq!(harmless(text).chars().count(), text.chars().count());
        }
    }

    #[test]
    fn a_name_with_a_letter_or_two_amiss_is_a_slip_of_the_other_and_one_that_is_counted_is_not() {
        for (word, other, expected) in [
            ("RING_AHED", "RING_AHEAD", true),
            ("RINGAHEAD", "RING_AHEAD", true),
            ("Ring_Ahead", "RING_AHEAD", true),
            ("BOOK_AHEAD", "RING_AHEAD", false),
            ("LOOK_BACK", "LOOK_AHEAD", false),
            ("FAR", "FRA", true),
            ("FAR", "FEW", false),
            ("ROW2", "ROW3", false),
        ] {
            assert_eq!(is_a_slip_of(word, other), expected, "{word}, {other}");
        }
    }

    #[test]
    fn of_a_line_that_goes_on_without_end_only_what_stands_around_the_mark_is_shown() {
        let text = format!("{}wrong{}", "a".repeat(300), "b".repeat(300));
        let (before, after) = ("a".repeat(60), "b".repeat(55));
        let expected = format!("  |\n1 | \u{2026}{before}wrong{after}\u{2026}\n  | {}^^^^^", " ".repeat(61));
        assert_eq!(excerpt(&text, 1, 301, 5), expected);
        assert_eq!(
            excerpt(&text, 1, 1, 900),
            format!("  |\n1 | {}\u{2026}\n  | {}", "a".repeat(120), "^".repeat(120))
        );
        assert_eq!(excerpt(&text, 1, 605, 1).lines().last().unwrap().len(), "  | ".len() + 61 + 1);
        assert!(excerpt(&text, 1, 605, 1).contains(&format!("| \u{2026}{}\n", "b".repeat(61))));
        let whole = "c".repeat(200);
        assert_eq!(excerpt(&whole, 1, 200, 1), format!("  |\n1 | {whole}\n  | {}^", " ".repeat(199)));
    }

    #[test]
    fn a_problem_prints_nothing_of_a_file_that_steers_the_terminal() {
        let spot = Spot::Text { line: 2, column: 5, excerpt: excerpt("one\nlet\u{1b}[2J = \t3;", 2, 5, 2) };
        let place = Place { file: "rules/a\u{202e}.rhai".to_owned(), sheet: None, spot };
        let problem = Problem::error(place, "no `\u{1b}`", "write\nit").with_value("a\u{7}b");
        let expected = "error: no `\u{fffd}`
  --> rules/a\u{fffd}.rhai:2:5: `a\u{fffd}b`
  |
2 | let\u{fffd}[2J =  3;
  |     ^^
help: write it";
        assert_eq!(problem.to_string(), expected);
    }
}
