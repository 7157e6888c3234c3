//! Finds the constants and functions of a rule file, and what is not closed, before the language reads it. Each
//! item is then read by itself, so that one slip does not hide another.

use std::collections::BTreeMap;
use std::ops::Range;

use super::meant_signs::unclosed;
use super::numbers;
use super::sandbox::{FUNCTIONS, NAMES};
use super::source::{Slip, Source};
use crate::problem::{is_a_slip_of, steers};

/// The most constants, functions and slips at the top of a file that are looked at; the time for each grows with the
/// number of the others.
const ITEMS: usize = NAMES + FUNCTIONS;

/// A constant or a function at the top of a rule file.
pub(super) struct Item {
    /// Which of the two, with a function's parameters.
    pub(super) what: What,
    /// Its name.
    pub(super) name: String,
    /// Where the name stands.
    pub(super) name_at: usize,
    /// The whole item.
    pub(super) whole: Range<usize>,
    /// A function's body between its braces; a constant's whole text.
    pub(super) body: Range<usize>,
    /// Whether it holds a text or a comment that is never closed, so that the rest of it cannot be read.
    pub(super) unreadable: bool,
}

/// What an item is.
pub(super) enum What {
    /// `const NAME = ...;`
    Constant,
    /// `fn name(...) { ... }`
    Function {
        /// The names in its brackets.
        parameters: Vec<String>,
    },
}

/// The items of a rule file in their order, and what kept others from being found.
pub(super) struct Outline {
    /// What was found whole.
    pub(super) items: Vec<Item>,
    /// The names of constants that were begun but not ended, so that using them is no second slip.
    pub(super) unfinished: Vec<String>,
    /// What is not closed, not ended, or does not belong at the top of a rule.
    pub(super) slips: Vec<Slip>,
    /// What is read in place of a character that has been told of, and would be told of again as something else: the
    /// commas that part a number, and brackets that close nothing.
    pub(super) read_as: BTreeMap<usize, String>,
    /// For each character, whether it is code: neither blank nor comment. Texts in quotes are code.
    code: Vec<bool>,
    /// For each character, whether it may be of a name: in code, or in a text that may hold values.
    names: Vec<bool>,
}

/// What a character is part of.
#[derive(Clone, Copy, PartialEq)]
enum Part {
    Blank,
    Code,
    Quoted,
}

impl Outline {
    /// The outline of a file.
    pub(super) fn of(source: &Source) -> Outline {
        let (parts, slips) = parts(&source.letters);
        // Such a sign is seen by nobody, and stands for everything that it seems to break.
        let unseen = (0..parts.len()).find(|at| parts[*at] == Part::Code && is_unseen(source.letters[*at]));
        if let Some(at) = unseen {
            return Outline::unread(unseen_sign(at));
        }
        let code = parts.iter().map(|part| *part != Part::Blank).collect();
        let names = may_name(&source.letters, &parts);
        let unclosed: Vec<usize> = slips.iter().map(|slip| slip.at).collect();
        let (items, unfinished, read_as) = (Vec::new(), Vec::new(), BTreeMap::new());
        let mut outline = Outline { items, unfinished, slips, read_as, code, names };
        numbers::with_commas(source, |at| parts[at] == Part::Code, &mut outline);
        numbers::oddly_written(source, |at| parts[at] == Part::Code, &mut outline.slips);
        let opens = outline.thens(source, &parts);
        let indent = |line: &str| line.chars().take_while(|letter| letter.is_whitespace()).count();
        let mut walk = Walk {
            source,
            letters: &source.letters,
            parts: &parts,
            at: 0,
            closed_askew: None,
            strays: Vec::new(),
            opens,
            indents: source.text.lines().map(indent).collect(),
        };
        while let Some(at) = walk.next_code() {
            walk.at = at;
            if outline.items.len() + outline.slips.len() > ITEMS {
                outline.slips.push(too_many(at));
                break;
            }
            let word = source.word_at(at);
            let found = match word.as_str() {
                "const" => walk.constant(),
                "fn" => walk.function(),
                ";" => {
                    walk.at += 1;
                    continue;
                }
                _ => Err(walk.stray(&word)),
            };
            match found {
                Ok(mut item) => {
                    item.unreadable = unclosed.iter().any(|at| item.whole.contains(at));
                    outline.items.push(item);
                }
                Err(slip) => {
                    // What is left of a function says nothing by itself.
                    if word == "fn" {
                        walk.pass_over();
                    }
                    outline.unfinished.extend(walk.unfinished(at, &word));
                    // A text that is never closed has swallowed what seems to be missing.
                    if !outline.slips.iter().any(|known| (at..walk.at).contains(&known.at)) {
                        outline.slips.push(slip);
                    }
                }
            }
        }
        for at in walk.strays {
            outline.slips.push(closes_nothing(at, source.letters[at]));
            outline.read_as.insert(at, " ".to_owned());
        }
        outline
    }

    /// Tells of each `then` that ends its line or has a `{` behind it, which is what it stands for; gives the places
    /// where it stands alone.
    fn thens(&mut self, source: &Source, parts: &[Part]) -> Vec<usize> {
        const WORD: &str = "then";
        let is_then = |at: &usize| {
            let begins = *at == 0
                || !(source.letters[at - 1].is_alphanumeric() || "_.".contains(source.letters[at - 1]));
            begins && parts[*at] == Part::Code && source.word_at(*at) == WORD
        };
        let places: Vec<usize> = (0..parts.len()).filter(is_then).take(ITEMS).collect();
        let mut opens = Vec::new();
        for at in places {
            let rest = &source.letters[at + WORD.len()..];
            let next = rest.iter().find(|letter| **letter == '\n' || !letter.is_whitespace());
            let (word, help) = match next {
                Some('{') => (" ", "take it away: the `{` behind it is enough"),
                Some('\n') => ("{", "write `{` in its place"),
                _ => continue,
            };
            let what = format!("a rule has no `{WORD}`");
            self.slips.push(Slip { at, length: 0, what, help: help.to_owned() });
            self.read_as.extend((0..WORD.len()).map(|place| (at + place, " ".to_owned())));
            if word == "{" {
                self.read_as.insert(at, word.to_owned());
                opens.push(at);
            }
        }
        opens
    }

    /// The outline of a file of which nothing is read.
    fn unread(slip: Slip) -> Outline {
        Outline {
            items: Vec::new(),
            unfinished: Vec::new(),
            slips: vec![slip],
            read_as: BTreeMap::new(),
            code: Vec::new(),
            names: Vec::new(),
        }
    }

    /// Where the name of each constant and function stands.
    pub(super) fn places(&self) -> BTreeMap<String, usize> {
        self.items.iter().map(|item| (item.name.clone(), item.name_at)).collect()
    }

    /// The word that ends at a character, and where it begins; empty where none does.
    pub(super) fn word_that_ends(source: &Source, at: usize) -> (usize, String) {
        let is_of_word = |letter: &char| letter.is_alphanumeric() || *letter == '_';
        let start = source.letters[..=at].iter().rposition(|letter| !is_of_word(letter));
        let start = start.map_or(0, |start| start + 1);
        (start, source.letters[start..=at].iter().collect())
    }

    /// Whether a character may be of the name of something.
    pub(super) fn may_name(&self, at: usize) -> bool {
        self.names.get(at).copied().unwrap_or(false)
    }

    /// The last character of code before another character.
    pub(super) fn code_before(&self, at: usize) -> Option<usize> {
        self.code[..at.min(self.code.len())].iter().rposition(|code| *code)
    }
}

fn too_many(at: usize) -> Slip {
    let what = format!(
        "from here on this is not read: a rule has {NAMES} constants and {FUNCTIONS} functions at most"
    );
    Slip { at, length: 0, what, help: "take out what it does without, or make two rules".to_owned() }
}

/// Whether a word at the top of a rule is another one, in capitals or with a letter amiss.
fn is_meant_as(word: &str, other: &str) -> bool {
    word.chars().count() > 2 && is_a_slip_of(word, other)
}

/// Whether a sign shows nothing where it stands, and is no blank either.
fn is_unseen(letter: char) -> bool {
    steers(letter) || matches!(letter, '\u{200c}' | '\u{200d}')
}

fn unseen_sign(at: usize) -> Slip {
    let what = "a sign stands here that nobody sees".to_owned();
    Slip { at, length: 1, what, help: "delete it, or type the line anew".to_owned() }
}

/// Tells code from blanks, comments and texts; a text that is never closed is a slip.
///
/// Where a backtick is missing, the next text is taken for code and the code behind it for a text, down to the end of
/// the file. So the first text that goes over the end of its line is taken for the one that is not closed.
fn parts(letters: &[char]) -> (Vec<Part>, Vec<Slip>) {
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
                    slips.push(Slip {
                        at,
                        length: 2,
                        what: "this comment is not closed".to_owned(),
                        help: "write */ at its end".to_owned(),
                    });
                }
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
fn may_name(letters: &[char], parts: &[Part]) -> Vec<bool> {
    let mut quote = None;
    let may = parts.iter().zip(letters).map(|(part, letter)| {
        quote = if *part == Part::Quoted { quote.or(Some(*letter)) } else { None };
        *part == Part::Code || quote == Some('`')
    });
    may.collect()
}

fn line_end(letters: &[char], from: usize) -> usize {
    letters[from..].iter().position(|letter| *letter == '\n').map_or(letters.len(), |length| from + length)
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

/// A walk over the code of a file.
struct Walk<'a> {
    source: &'a Source,
    letters: &'a [char],
    parts: &'a [Part],
    at: usize,
    /// The first brace that was closed by one farther to the left: if one is missing, it is likely this one's.
    closed_askew: Option<usize>,
    /// The brackets that close nothing; the walk goes on as if they were not there.
    strays: Vec<usize>,
    /// Where a word stands for a `{`.
    opens: Vec<usize>,
    /// How far each line is indented.
    indents: Vec<usize>,
}

impl Walk<'_> {
    fn next_code(&self) -> Option<usize> {
        (self.at..self.letters.len()).find(|at| self.parts[*at] != Part::Blank)
    }

    fn code_at(&self, at: usize) -> Option<char> {
        (self.parts.get(at) == Some(&Part::Code)).then(|| self.letters[at])
    }

    /// Whether a new constant or function begins here, at the start of a line: what is still open is not closed.
    fn begins_anew(&self, at: usize) -> bool {
        let rest = |word: &str| {
            self.letters[at..].iter().take(word.len()).copied().eq(word.chars())
                && self.parts[at] == Part::Code
        };
        (at == 0 || self.letters[at - 1] == '\n') && (rest("const ") || rest("fn "))
    }

    fn word_after(&self, from: usize) -> (usize, String) {
        let at = (from..self.letters.len()).find(|at| self.parts[*at] != Part::Blank).unwrap_or(from);
        (at, self.source.word_at(at))
    }

    /// Goes on to the given sign outside all brackets and gives its place; everything opened must be closed.
    fn until(&mut self, sign: char) -> Result<usize, Slip> {
        let mut open: Vec<usize> = Vec::new();
        let start = self.at;
        self.closed_askew = None;
        while self.at < self.letters.len() && (self.at == start || !self.begins_anew(self.at)) {
            let at = self.at;
            self.at += 1;
            let Some(letter) = self.code_at(at) else { continue };
            if self.opens.contains(&at) {
                open.push(at);
            }
            if letter == sign && open.is_empty() {
                return Ok(at);
            }
            match letter {
                '(' | '[' | '{' => open.push(at),
                ')' | ']' if !open.iter().any(|at| closer(self.letters[*at]) == letter) => {
                    self.strays.push(at);
                }
                ')' | ']' | '}' => match open.pop() {
                    Some(opened) if closer(self.letters[opened]) == letter => {
                        if self.is_first_of_its_line(at) && self.indent(at) < self.indent(opened) {
                            self.closed_askew.get_or_insert(opened);
                        }
                    }
                    Some(opened) => return Err(self.not_closed(opened)),
                    None => return Err(closes_nothing(at, letter)),
                },
                _ => {}
            }
        }
        Err(match open.last() {
            Some(opened) => self.not_closed(*opened),
            None => self.missing(sign),
        })
    }

    /// Whether nothing but blanks stands before a character on its line.
    fn is_first_of_its_line(&self, at: usize) -> bool {
        self.source.line_and_column(at).1 == self.indent(at) + 1
    }

    /// How far the line of a character is indented.
    fn indent(&self, at: usize) -> usize {
        let (line, _) = self.source.line_and_column(at);
        self.indents.get(line - 1).copied().unwrap_or(0)
    }

    fn not_closed(&self, opened: usize) -> Slip {
        let sign = self.letters[opened];
        Slip {
            at: opened,
            length: 1,
            what: format!("this `{sign}` is never closed"),
            help: format!("write `{}` where it should end", closer(sign)),
        }
    }

    fn missing(&self, sign: char) -> Slip {
        let last = (0..self.at).rfind(|at| self.parts[*at] != Part::Blank).unwrap_or(0);
        Slip {
            at: last,
            length: 1,
            what: format!("a `{sign}` is missing here"),
            help: format!("write `{sign}` at the end of this line"),
        }
    }

    fn constant(&mut self) -> Result<Item, Slip> {
        let start = self.at;
        let (name_at, name) = self.word_after(start + "const".len());
        self.until(';')?;
        Ok(Item {
            what: What::Constant,
            name,
            name_at,
            whole: start..self.at,
            body: start..self.at,
            unreadable: false,
        })
    }

    fn function(&mut self) -> Result<Item, Slip> {
        let start = self.at;
        let (name_at, name) = self.word_after(start + "fn".len());
        let name_end = name_at + name.chars().count();
        if self.letters.get(self.word_after(name_end).0) != Some(&'(') {
            self.at = name_end;
            return Err(Slip {
                at: name_at,
                length: 0,
                what: format!("brackets are missing behind `{name}`"),
                help: format!("write `fn {name}(machine) {{`"),
            });
        }
        self.until('(')?;
        let opened = self.at;
        let closed = self.until(')')?;
        let inside: String = self.letters[opened..closed].iter().collect();
        let parameters =
            inside.split(',').map(str::trim).filter(|name| !name.is_empty()).map(str::to_owned).collect();
        self.until('{')?;
        let opened = self.at;
        let closed = self.until('}').map_err(|slip| Slip {
            // Nothing inside is open, so it is this brace itself that is never closed.
            ..if slip.what.contains("is missing") {
                self.not_closed(self.closed_askew.unwrap_or(opened - 1))
            } else {
                slip
            }
        })?;
        let what = What::Function { parameters };
        Ok(Item { what, name, name_at, whole: start..self.at, body: opened..closed, unreadable: false })
    }

    /// The name that is not to be told of as one that there is not, of what was begun with a word and not ended.
    fn unfinished(&self, at: usize, word: &str) -> Option<String> {
        let is_constant =
            matches!(word.to_lowercase().as_str(), "let" | "constant") || is_meant_as(word, "const");
        if is_constant {
            return Some(self.word_after(at + word.len()).1);
        }
        if let Some((behind, opening)) = self.begins_behind(at, word) {
            return Some(self.word_after(behind + opening.len()).1);
        }
        word.starts_with(char::is_alphabetic).then(|| word.to_owned())
    }

    /// The `const` or `fn` that stands behind a word, or behind some signs, on their line.
    fn begins_behind(&self, at: usize, word: &str) -> Option<(usize, &'static str)> {
        let line = self.letters.get(at..line_end(self.letters, at))?;
        let start = line.iter().skip(word.chars().count()).position(|letter| letter.is_alphabetic())?;
        let start = at + word.chars().count() + start;
        let opening = self.source.word_at(start);
        ["const", "fn"].into_iter().find(|known| *known == opening).map(|opening| (start, opening))
    }

    /// Goes on to where a constant or a function begins.
    fn pass_over(&mut self) {
        while self.at < self.letters.len() && !self.begins_anew(self.at) {
            self.at += 1;
        }
    }

    /// Code that is neither a constant nor a function: told once, and passed over up to where one begins.
    fn stray(&mut self, word: &str) -> Slip {
        let at = self.at;
        self.at += 1;
        self.pass_over();
        let next = self.letters.get(self.word_after(at + word.chars().count()).0);
        if let (true, Some(letter)) = ([")", "]", "}"].contains(&word), word.chars().next()) {
            return closes_nothing(at, letter);
        }
        let behind = self.begins_behind(at, word).map(|(_, opening)| opening);
        let help = match word {
            _ if behind.is_some() => {
                format!("take it away: `{}` begins a line", behind.unwrap_or_default())
            }
            _ if is_meant_as(word, "const") || word.to_lowercase() == "constant" => {
                format!("write `const` instead of `{word}`")
            }
            _ if matches!(word.to_lowercase().as_str(), "fn" | "function" | "def") => {
                format!("write `fn` instead of `{word}`")
            }
            "judge" | "applies_to" | "each" => format!("write `fn` before it: `fn {word}(machine)`"),
            "#" | "-" | "/" => "write // before what is meant for people".to_owned(),
            _ if next == Some(&'=') => format!("write `const` before it: `const {word} = ...;`"),
            "let" => "write `const` instead of `let`, and the name in capitals".to_owned(),
            "private" => "take `private` away".to_owned(),
            _ => "put it inside a function, or write // before it to make it a comment".to_owned(),
        };
        Slip { at, length: 0, what: format!("`{word}` does not belong at the top of a rule"), help }
    }
}

fn closes_nothing(at: usize, letter: char) -> Slip {
    let help = format!("take it away, or write `{}` where it should begin", opener(letter));
    Slip { at, length: 1, what: format!("this `{letter}` closes nothing"), help }
}

fn closer(sign: char) -> char {
    match sign {
        '(' => ')',
        '[' => ']',
        _ => '}',
    }
}

fn opener(sign: char) -> char {
    match sign {
        ')' => '(',
        ']' => '[',
        _ => '{',
    }
}
