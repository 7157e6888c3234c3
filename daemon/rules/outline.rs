//! Finds the constants and functions of a rule file, and what is not closed, before the language reads it. Each
//! item is then read by itself, so that one slip does not hide another.

use std::collections::BTreeMap;
use std::ops::Range;

use super::brackets::{self, closer, closes_nothing};
use super::code_and_texts::{Part, begins_item, line_end, may_name, parts};
use super::left_open;
use super::mends::{self, Mend};
use super::numbers;
use super::sandbox::{FUNCTIONS, NAMES};
use super::source::{Cause, Slip, Source};
use super::top_words::{self, is_meant_as, is_meant_as_fn};

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
    /// Whether it is read otherwise than it is written, because of something that has been told of.
    pub(super) mended: bool,
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
    /// Where something is read otherwise than it is written, so that what comes of it is not told of.
    left_out: Vec<usize>,
    /// Where a sentence of a function is left open, which is sure to hang together with nothing else.
    left_open: Vec<usize>,
    /// What each character is part of.
    parts: Vec<Part>,
    /// For each character, whether it may be of a name: in code, or in a text that may hold values.
    names: Vec<bool>,
    /// What stands for a piece of a function that is left open.
    pub(super) stand_in: Option<char>,
}

impl Outline {
    /// The outline of a file.
    pub(super) fn of(source: &Source) -> Outline {
        let (mut parts, slips) = parts(&source.letters);
        let names = may_name(&source.letters, &parts);
        let (items, unfinished, read_as) = (Vec::new(), Vec::new(), BTreeMap::new());
        let left_out = Vec::new();
        let (left_open, stand_in) = (Vec::new(), left_open::letter(source));
        let mut outline = Outline {
            items,
            unfinished,
            slips,
            read_as,
            left_out,
            left_open,
            parts: Vec::new(),
            names,
            stand_in,
        };
        let mut unclosed = Vec::new();
        for at in outline.slips.iter().map(|slip| slip.at).collect::<Vec<_>>() {
            match mends::line_alone(source, at) {
                Some(line) => outline.leave_out(line, &mut parts),
                None => match left_open::line(at, source, &parts, outline.stand_in) {
                    Some((line, read_as)) => {
                        outline.left_open.push(line.start);
                        parts[line.clone()].fill(Part::Blank);
                        outline.read_as.extend(line.map(|at| (at, " ".to_owned())));
                        outline.read_as.extend(read_as);
                    }
                    None => unclosed.push(at),
                },
            }
        }
        outline.parts = parts.clone();
        numbers::with_commas(source, |at| parts[at] == Part::Code, &mut outline);
        numbers::oddly_written(source, |at| parts[at] == Part::Code, &mut outline.slips);
        outline.walk(source, parts, &unclosed);
        outline
    }

    /// Goes through the file from item to item; where something is not closed, that is told, and the item is read again as
    /// it is most likely meant.
    fn walk(&mut self, source: &Source, parts: Vec<Part>, unclosed: &[usize]) {
        let imagined = self.thens(source, &parts);
        let indent = |line: &str| line.chars().take_while(|letter| letter.is_whitespace()).count();
        let mut walk = Walk {
            source,
            letters: &source.letters,
            parts,
            at: 0,
            closed_askew: None,
            strays: Vec::new(),
            left_open: Vec::new(),
            brace_at: None,
            imagined,
            indents: source.text.lines().map(indent).collect(),
        };
        while let Some(at) = walk.next_code() {
            walk.at = at;
            if self.items.len() + self.slips.len() > ITEMS {
                self.slips.push(too_many(at));
                break;
            }
            let word = source.word_at(at);
            let strays = walk.strays.len();
            walk.left_open.clear();
            let found = match word.as_str() {
                "const" => walk.constant(&word),
                "fn" => walk.function(&word),
                ";" => {
                    walk.at += 1;
                    continue;
                }
                _ => match self.meant_as_item(&mut walk, at, &word) {
                    Some(item) => Ok(item),
                    None => Err(walk.stray(&word)),
                },
            };
            let slip = match found {
                Ok(item) => {
                    self.found(item, unclosed);
                    continue;
                }
                Err(slip) => slip,
            };
            // A text that is never closed has swallowed what seems to be missing.
            if unclosed.iter().any(|known| (at..walk.at).contains(known)) {
                self.not_found(at, &word, &mut walk);
                continue;
            }
            let slip_at = slip.at;
            if !self.slips.iter().any(|known| (at..walk.at).contains(&known.at) && known.at == slip_at) {
                self.slips.push(slip);
            }
            match walk.mend() {
                Some(mend) => {
                    self.mend(mend, &mut walk);
                    walk.strays.truncate(strays);
                    walk.at = at;
                }
                None => match walk.unended(at, &word) {
                    Some((item, last, ending)) => {
                        self.read_as.insert(last, format!("{}{ending}", source.letters[last]));
                        self.found(item, unclosed);
                    }
                    None => self.not_found(at, &word, &mut walk),
                },
            }
        }
        for at in walk.strays {
            self.slips.push(closes_nothing(at, source.letters[at]));
            self.read_as.insert(at, " ".to_owned());
        }
    }

    /// What begins with another word for `const` or `fn`, which is told of.
    fn meant_as_item(&mut self, walk: &mut Walk<'_>, at: usize, word: &str) -> Option<Item> {
        let (strays, is_function) = (walk.strays.len(), is_meant_as_fn(word));
        let is_constant =
            is_meant_as(word, "const") || ["let", "constant"].contains(&word.to_lowercase().as_str());
        // A file that is in capitals throughout is told of once.
        let is_capitals = !word.chars().any(char::is_lowercase);
        let found = match (is_function, is_constant) {
            _ if is_capitals => return None,
            (true, _) => walk.function(word),
            (_, true) => walk.constant(word),
            _ => return None,
        };
        let (end, item) = (walk.at, found.ok().filter(|_| walk.strays.len() == strays));
        walk.strays.truncate(strays);
        walk.at = at;
        let item = item?;
        let slip = walk.stray(word);
        walk.at = end;
        self.slips.push(slip);
        if is_constant {
            // It is as long as the shortest of the others.
            let meant = "let".chars().chain(std::iter::repeat(' ')).take(word.chars().count());
            self.read_as.extend((at..).zip(meant).map(|(at, sign)| (at, sign.to_string())));
        }
        Some(item)
    }

    fn found(&mut self, mut item: Item, unclosed: &[usize]) {
        item.unreadable = unclosed.iter().any(|at| item.whole.contains(at));
        item.mended |= self.left_out.iter().any(|at| item.whole.contains(at));
        self.items.push(item);
    }

    /// What was begun and could not be read to its end.
    fn not_found(&mut self, at: usize, word: &str, walk: &mut Walk<'_>) {
        // What is left of it says nothing by itself.
        if ["const", "fn"].contains(&word) {
            walk.pass_over();
        }
        self.unfinished.extend(walk.unfinished(at, word));
    }

    /// Reads on as if something were written otherwise.
    fn mend(&mut self, mend: Mend, walk: &mut Walk<'_>) {
        match mend {
            Mend::LeaveOut(line) => self.leave_out(line, &mut walk.parts),
            Mend::Sign(at, sign) => {
                let letter = walk.letters[at];
                let read_as = if letter == '\n' { format!("{sign}\n") } else { sign.to_string() };
                self.read_as.insert(at, read_as);
                walk.imagined.insert(at, sign);
                self.left_out.push(at);
            }
        }
    }

    /// Leaves a line out that says something by itself.
    fn leave_out(&mut self, line: Range<usize>, parts: &mut [Part]) {
        self.left_out.push(line.start);
        self.read_as.extend(line.clone().map(|at| (at, " ".to_owned())));
        parts[line].fill(Part::Blank);
    }

    /// Tells of each `then` that ends its line or has a `{` behind it, which is what it stands for; gives the places
    /// where it stands alone.
    fn thens(&mut self, source: &Source, parts: &[Part]) -> BTreeMap<usize, char> {
        const WORD: &str = "then";
        let is_then = |at: &usize| {
            let begins = *at == 0
                || !(source.letters[at - 1].is_alphanumeric() || "_.".contains(source.letters[at - 1]));
            begins && parts[*at] == Part::Code && source.word_at(*at) == WORD
        };
        let places: Vec<usize> = (0..parts.len()).filter(is_then).take(ITEMS).collect();
        let mut opens = BTreeMap::new();
        for at in places {
            let rest = &source.letters[at + WORD.len()..];
            let next = rest.iter().find(|letter| **letter == '\n' || !letter.is_whitespace());
            let (word, help) = match next {
                Some('{') => (" ", "take it away: the `{` behind it is enough"),
                Some('\n') => ("{", "write `{` in its place"),
                _ => continue,
            };
            let what = format!("a rule has no `{WORD}`");
            self.slips.push(Slip::new(at, what, help));
            self.read_as.extend((0..WORD.len()).map(|place| (at + place, " ".to_owned())));
            if word == "{" {
                self.read_as.insert(at, word.to_owned());
                opens.insert(at, '{');
            }
        }
        opens
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
        self.parts[..at.min(self.parts.len())].iter().rposition(|part| *part != Part::Blank)
    }

    /// Whether something of an item is left open.
    pub(super) fn is_left_open(&self, item: &Item) -> bool {
        self.left_open.iter().any(|at| item.whole.contains(at))
    }

    /// Whether a character is code: neither blank nor comment. Texts in quotes are code.
    pub(super) fn is_code(&self, at: usize) -> bool {
        self.parts.get(at).is_some_and(|part| *part != Part::Blank)
    }

    /// Whether a character is code and in no text.
    pub(super) fn is_sign(&self, at: usize) -> bool {
        self.parts.get(at) == Some(&Part::Code)
    }
}

fn too_many(at: usize) -> Slip {
    let what = format!(
        "from here on this is not read: a rule has {NAMES} constants and {FUNCTIONS} functions at most"
    );
    Slip::new(at, what, "take out what it does without, or make two rules")
}

/// A walk over the code of a file.
struct Walk<'a> {
    source: &'a Source,
    letters: &'a [char],
    parts: Vec<Part>,
    at: usize,
    /// The first brace that was closed by one farther to the left: if one is missing, it is likely this one's.
    closed_askew: Option<usize>,
    /// The brackets that close nothing; the walk goes on as if they were not there.
    strays: Vec<usize>,
    /// What is open where something was found not to be closed.
    left_open: Vec<usize>,
    /// Where the brace of a function is missing.
    brace_at: Option<usize>,
    /// Where a bracket is taken to stand that is not written, or written as a word.
    imagined: BTreeMap<usize, char>,
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
        self.parts[at] == Part::Code && begins_item(self.letters, at)
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
            let Some(letter) = self.sign_at(at) else { continue };
            if letter == sign && open.is_empty() {
                return Ok(at);
            }
            match letter {
                '(' | '[' | '{' => open.push(at),
                ')' | ']' if !open.iter().any(|at| closer(self.opened_by(*at)) == letter) => {
                    self.strays.push(at);
                }
                ')' | ']' | '}' => match open.pop() {
                    Some(opened) if closer(self.opened_by(opened)) == letter => {
                        if self.is_first_of_its_line(at) && self.indent(at) < self.indent(opened) {
                            self.closed_askew.get_or_insert(opened);
                        }
                    }
                    Some(opened) => {
                        self.left_open = vec![opened];
                        return Err(self.not_closed(opened));
                    }
                    None => return Err(closes_nothing(at, letter)),
                },
                _ => {}
            }
        }
        let slip = match open.last() {
            Some(opened) => self.not_closed(*opened),
            None => self.missing(sign),
        };
        self.left_open = open;
        Err(slip)
    }

    /// The sign at a place, whether it is written or only taken to stand there.
    fn sign_at(&self, at: usize) -> Option<char> {
        self.imagined.get(&at).copied().or_else(|| self.code_at(at))
    }

    /// The bracket that was opened at a place.
    fn opened_by(&self, at: usize) -> char {
        self.sign_at(at).unwrap_or(self.letters[at])
    }

    /// What is likely meant where something is not closed, if that can be told.
    fn mend(&mut self) -> Option<Mend> {
        /// The most that are mended of one file.
        const MENDS: usize = 20;
        if let Some(line_end) = self.brace_at.take().filter(|at| *at < self.letters.len()) {
            return Some(Mend::Sign(line_end, '{'));
        }
        let opened = *self.left_open.last()?;
        if self.imagined.len() > MENDS || self.imagined.contains_key(&opened) {
            return None;
        }
        let stretch = opened..self.at;
        mends::of_bracket(self.source, self.opened_by(opened), stretch, |at| self.parts[at] != Part::Blank)
            .filter(|mend| !matches!(mend, Mend::Sign(at, _) if self.imagined.contains_key(at)))
    }

    /// A constant that ends where another item begins, as if its brackets were closed there; with where they are, and with
    /// what closes them.
    fn unended(&self, start: usize, word: &str) -> Option<(Item, usize, String)> {
        let at_an_end = self.at == self.letters.len() || self.begins_anew(self.at);
        if word != "const" || !at_an_end {
            return None;
        }
        let last = (start..self.at).rfind(|at| self.parts[*at] != Part::Blank)?;
        let closers = self.left_open.iter().rev().map(|at| closer(self.opened_by(*at)));
        let ending: String = closers.chain([';']).collect();
        let (name_at, name) = self.word_after(start + "const".len());
        let (whole, body) = (start..self.at, start..self.at);
        let what = What::Constant;
        Some((Item { what, name, name_at, whole, body, unreadable: false, mended: true }, last, ending))
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
        let (_, next) = self.word_after(opened + 1);
        brackets::not_closed(opened, self.opened_by(opened), &next)
    }

    fn missing(&self, sign: char) -> Slip {
        let last = (0..self.at).rfind(|at| self.parts[*at] != Part::Blank).unwrap_or(0);
        let (what, help) = match self.letters[last] {
            other @ (',' | ':') => (
                format!("this `{other}` stands where `{sign}` is missing"),
                format!("write `{sign}` in its place"),
            ),
            _ => (format!("a `{sign}` is missing here"), format!("write `{sign}` at the end of this line")),
        };
        Slip::new(last, what, help).marking(1).of(Cause::NotEnded)
    }

    fn constant(&mut self, word: &str) -> Result<Item, Slip> {
        let start = self.at;
        let (name_at, name) = self.word_after(start + word.chars().count());
        self.until(';')?;
        Ok(Item {
            what: What::Constant,
            name,
            name_at,
            whole: start..self.at,
            body: start..self.at,
            unreadable: false,
            mended: false,
        })
    }

    fn function(&mut self, word: &str) -> Result<Item, Slip> {
        let start = self.at;
        let (name_at, name) = self.word_after(start + word.chars().count());
        let name_end = name_at + name.chars().count();
        if self.letters.get(self.word_after(name_end).0) != Some(&'(') {
            self.at = name_end;
            return Err(Slip::new(
                name_at,
                format!("brackets are missing behind `{name}`"),
                format!("write `fn {name}(machine) {{`"),
            )
            .of(Cause::NotOpened));
        }
        self.until('(')?;
        let opened = self.at;
        let closed = self.until(')')?;
        let inside: String = self.letters[opened..closed].iter().collect();
        let parameters =
            inside.split(',').map(str::trim).filter(|name| !name.is_empty()).map(str::to_owned).collect();
        if let Some(slip) = self.no_brace(closed) {
            return Err(slip);
        }
        self.until('{')?;
        let opened = self.at;
        let closed = self.until('}').map_err(|slip| {
            // Nothing inside is open, so it is this brace itself that is never closed.
            if !matches!(slip.cause, Cause::NotEnded) {
                return slip;
            }
            let brace = self.closed_askew.unwrap_or(opened - 1);
            self.left_open = vec![brace];
            self.not_closed(brace)
        })?;
        let what = What::Function { parameters };
        Ok(Item {
            what,
            name,
            name_at,
            whole: start..self.at,
            body: opened..closed,
            unreadable: false,
            mended: false,
        })
    }

    /// What is said where no brace follows the brackets of a function.
    fn no_brace(&mut self, closed: usize) -> Option<Slip> {
        let next = self.next_code()?;
        let line_end = line_end(self.letters, closed);
        if self.sign_at(next) == Some('{') || self.imagined.contains_key(&line_end) {
            return None;
        }
        if next > line_end {
            self.brace_at = Some(line_end);
            let what = "a `{` is missing here".to_owned();
            return Some(Slip::new(closed, what, "write `{` behind the brackets").marking(1));
        }
        let word = self.source.word_at(next);
        let place = if word.starts_with(char::is_alphabetic) { "before it" } else { "in its place" };
        let what = format!("`{word}` stands where the function begins");
        Some(Slip::new(next, what, format!("write `{{` {place}")).of(Cause::NoBrace))
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
        let help = top_words::help(word, next, behind);
        Slip::new(at, format!("`{word}` does not belong at the top of a rule"), help)
    }
}
