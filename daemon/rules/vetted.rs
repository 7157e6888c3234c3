//! A rule file on its way into force: its constants, its functions, its examples, and all that is wrong with them.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use rhai::{AST, Dynamic, Scope};

use super::begun;
use super::compared_texts::same;
use super::direct::{self, Direct};
use super::examples::{self, Example};
use super::facts::{self, Fact};
use super::frame::{ASKED, EXAMPLES, PRINTED};
use super::language_errors::{self, Places};
use super::left_open;
use super::mends::{self, ReadAs};
use super::names::{Body, Names, Role};
use super::no_brace::with_braces;
use super::numbers;
use super::outline::{Item, Outline, What};
use super::put_right::put_right;
use super::quantity::{sort_of, words_of};
use super::reference::{REFUSED, WORDS, text_of};
use super::required;
use super::sandbox::SANDBOX;
use super::sort_of_value::{Kind, Sort};
use super::source::{Cause, Slip, Source};
use super::time_allowed::in_time;
use super::vet::Vet;
use super::vet_calls::sort_of_parameter;
use super::vet_notes;
use super::vet_uses::{self, Unused};
use super::ways;
use crate::findings::Section;
use crate::problem::{Problem, counted, nearest, steers};

/// A rule file in which nothing is wrong, but whose examples have not been tried.
pub(super) struct Vetted {
    /// The rule's title.
    pub(super) title: String,
    /// Why it is there.
    pub(super) why: String,
    /// Its caution.
    pub(super) caution: Option<String>,
    /// Its functions with the constants written into them.
    pub(super) tree: AST,
    /// Whether it has an `applies_to`.
    pub(super) applies_to: bool,
    /// Whether it looks at the whole yard.
    pub(super) of_yard: bool,
    /// What its `each` lists, where it has one.
    pub(super) each: Option<Sort>,
    /// Its examples.
    pub(super) examples: Vec<Example>,
    /// Places for errors that come without one.
    pub(super) places: Places,
    /// Its functions for the direct way.
    pub(super) direct: Direct,
    /// What its owner may not have meant.
    pub(super) notes: Vec<Slip>,
    /// The texts that facts are compared with, each with its place.
    pub(super) compared: Vec<(&'static Fact, String, usize)>,
    /// What is wrong with what is only printed: it keeps the rule out of force, and not from being tried.
    pub(super) slips: Vec<Slip>,
}

/// A rule file as far as it is read.
struct Reading<'a> {
    source: &'a Source,
    outline: &'a Outline,
    slips: Vec<Slip>,
    names: Names,
    /// What `each` lists.
    listed: Sort,
    /// The items of which something is left out or left open, because of something that has been told of.
    mended: BTreeSet<String>,
}

/// Reads and vets a file; everything that is wrong with it comes back at once, by its place.
pub(super) fn vetted(source: &Source) -> Result<Vetted, Vec<Problem>> {
    match put_right(source) {
        Some((slips, meant)) => Err(source.problems(with_braces(&meant, told_of(&meant, slips), told_of))),
        None => vetted_as(source, Vec::new())
            .map_err(|slips| source.problems(with_braces(source, slips, told_of))),
    }
}

/// What is wrong with a file of which some signs have been put right, those among it.
fn told_of(source: &Source, put_right: Vec<Slip>) -> Vec<Slip> {
    vetted_as(source, put_right).err().unwrap_or_default()
}

/// The same of a file of which some signs have been put right, each told.
fn vetted_as(source: &Source, told: Vec<Slip>) -> Result<Vetted, Vec<Slip>> {
    let outline = Outline::of(source);
    let mut reading = Reading::new(source, &outline);
    reading.slips.extend(told);
    reading.constants();
    reading.bodies();
    // What could not be read may be what uses a name.
    let is_read = reading.slips.is_empty();
    reading.functions();
    let mut never = ways::look(source, &reading.names);
    never.slips.retain(|slip| !reading.is_mended(slip.at));
    // What stands in a line that is wrong otherwise may be meant as something else.
    let line = |slip: &Slip| source.line_and_column(slip.at).0;
    never.slips.retain(|slip| !reading.slips.iter().any(|known| line(known) == line(slip)));
    reading.slips.append(&mut never.slips);
    let mut unused =
        if is_read { vet_uses::look(source, &outline, &reading.names) } else { Unused::default() };
    reading.slips.append(&mut unused.slips);
    let examples = reading.examples();
    reading.without_strays();
    let mut lacks = required::lacks(source, &outline, &reading.names, &reading.slips);
    reading.slips.append(&mut lacks.judging);
    let tree = if reading.slips.is_empty() { reading.tree() } else { None };
    let Some(tree) = tree else {
        reading.slips.append(&mut lacks.printed);
        return Err(reading.slips);
    };
    let mut notes = vet_notes::notes(source, &outline, &reading.names, never.notes, &examples);
    notes.append(&mut unused.notes);
    Ok(Vetted {
        title: reading.text("TITLE").unwrap_or_default(),
        why: reading.text("WHY").unwrap_or_default(),
        caution: reading.text("CAUTION"),
        tree,
        applies_to: reading.names.functions.contains_key("applies_to"),
        of_yard: reading.of_yard(),
        each: reading.names.functions.contains_key("each").then_some(reading.listed),
        examples,
        places: Places { names: outline.places() },
        direct: reading.direct(),
        compared: reading.names.compared(),
        notes,
        slips: lacks.printed,
    })
}

impl<'a> Reading<'a> {
    fn new(source: &'a Source, outline: &'a Outline) -> Reading<'a> {
        let (slips, names, listed) = (outline.slips.clone(), Names::default(), Sort::Unknown);
        let mended = BTreeSet::new();
        let mut reading = Reading { source, outline, slips, names, listed, mended };
        reading.knows_the_stand_in();
        for name in &outline.unfinished {
            reading.names.constants.insert(name.clone(), Sort::Unknown);
        }
        let second = second_rule(outline);
        if let Some(at) = second {
            let what = "a second rule begins here, and a file is one rule".to_owned();
            let help = "cut it out from here on, and save it as a file of its own".to_owned();
            reading.slip(at, 0, what, help);
        }
        for item in &outline.items {
            let taken = match &item.what {
                What::Function { parameters } => {
                    reading.names.functions.insert(item.name.clone(), parameters.len()).is_some()
                }
                What::Constant => reading.names.constants.insert(item.name.clone(), Sort::Unknown).is_some(),
            };
            if WORDS.iter().any(|word| word.name == item.name) {
                let what = format!("`{}` is a word of every rule", item.name);
                reading.slip(item.name_at, 0, what, "give it another name".to_owned());
            }
            if matches!(item.what, What::Function { .. }) && REFUSED.contains(&item.name.as_str()) {
                let what = format!("`{}` cannot be the name of a function", item.name);
                reading.slip(item.name_at, 0, what, "give it another name".to_owned());
            }
            if taken && second.is_none_or(|at| item.name_at < at) {
                let what = format!("there is already a `{}`", item.name);
                let help = if ASKED.contains(&item.name.as_str()) {
                    "take one of the two away, or make one function of both"
                } else {
                    "give one of the two another name"
                };
                reading.slip(item.name_at, 0, what, help.to_owned());
            }
        }
        for name in begun::constants(source, outline) {
            reading.names.constants.entry(name).or_insert(Sort::Unknown);
        }
        reading
    }

    fn slip(&mut self, at: usize, length: usize, what: String, help: String) {
        self.slips.push(Slip::new(at, what, help).marking(length));
    }

    fn text(&self, name: &str) -> Option<String> {
        self.names.values.get(name).and_then(text_of).map(|text| text.trim().to_owned())
    }

    /// One item of the file, read by itself. Where it cannot be read, that is told, and the reading goes on as if it were
    /// written as it is most likely meant, or without a line that says something by itself.
    fn tree_of(&mut self, item: &Item) -> Option<AST> {
        /// The most places that are mended.
        const MENDED: usize = 20;
        if item.unreadable {
            return None;
        }
        if item.mended || self.outline.is_left_open(item) {
            self.mended.insert(item.name.clone());
        }
        let mut read_as = self.outline.read_as.clone();
        let mut lines = BTreeSet::new();
        for _ in 0..=MENDED {
            let text = self.source.only(std::slice::from_ref(&item.body), &read_as);
            let error = match SANDBOX.reader.compile(text) {
                Ok(tree) => return Some(tree),
                Err(error) => error,
            };
            let slip = language_errors::of_reading(&error, self.source, self.outline);
            let at = slip.at;
            // Where a bracket was put in, or on a line that was mended, it may be a mere consequence.
            let is_new = !item.mended && lines.insert(self.source.line_and_column(at).0);
            let semicolon = matches!(slip.cause, Cause::NoSemicolon).then_some(at);
            if item.mended || (!is_new && semicolon.is_some_and(|at| read_as.contains_key(&at))) {
                return None;
            }
            if let Some(at) = semicolon {
                self.slips.push(slip);
                read_as.insert(at, format!("{};", self.source.letters[at]));
                continue;
            }
            let meant = mends::of_reading(&slip, self.source).filter(|_| is_new);
            if is_new {
                self.slips.push(slip);
            }
            if let Some(meant) = meant {
                read_as.extend(meant);
                continue;
            }
            self.mended.insert(item.name.clone());
            let without = if is_new { self.without_line(at) } else { None };
            let without = without.or_else(|| self.left_open(at, item))?;
            if without.iter().all(|(at, text)| read_as.get(at) == Some(text)) {
                return None;
            }
            read_as.extend(without);
        }
        None
    }

    /// What to read without the line of a place, where it says something by itself.
    fn without_line(&self, at: usize) -> Option<ReadAs> {
        let line = mends::line_alone_within(self.source, at)?;
        Some(line.map(|at| (at, " ".to_owned())).collect())
    }

    /// What to read where the piece of a function is left open that holds a place.
    fn left_open(&mut self, at: usize, item: &Item) -> Option<ReadAs> {
        let What::Function { .. } = item.what else { return None };
        let letter = self.outline.stand_in?;
        let left_open = left_open::around(at, &item.body, letter, self.source, self.outline)?;
        self.names.constants.insert(letter.to_string(), Sort::Unknown);
        Some(left_open)
    }

    /// What a line that is left open holds is a value of which nothing is known.
    fn knows_the_stand_in(&mut self) {
        let letter = self.outline.stand_in.map(String::from);
        if let Some(letter) = letter.filter(|letter| self.outline.read_as.values().any(|text| text == letter))
        {
            self.names.constants.insert(letter, Sort::Unknown);
        }
    }

    /// Whether a place is in an item whose brackets are read otherwise than they are written.
    fn is_mended(&self, at: usize) -> bool {
        self.outline.items.iter().any(|item| item.mended && item.whole.contains(&at))
    }

    /// A bracket that closes nothing is not told of where one that opens was told to be missing on its line.
    fn without_strays(&mut self) {
        let source = self.source;
        let line = |slip: &Slip| source.line_and_column(slip.at).0;
        let opening = |slip: &&Slip| matches!(slip.cause, Cause::NotOpened);
        let lines: Vec<usize> = self.slips.iter().filter(opening).map(line).collect();
        let no_list = self.slips.iter().any(|slip| matches!(slip.cause, Cause::NoList));
        let is_stray = |slip: &Slip| {
            matches!(slip.cause, Cause::ClosesNothing) && (no_list || lines.contains(&line(slip)))
        };
        self.slips.retain(|slip| !is_stray(slip));
    }

    /// Reads the constants in their order; a later one may use those before it.
    fn constants(&mut self) {
        let outline = self.outline;
        for item in outline.items.iter().filter(|item| matches!(item.what, What::Constant)) {
            let Some(tree) = self.tree_of(item) else {
                self.meant_as_one_name(item);
                continue;
            };
            let found = self.slips.len();
            // A constant cannot be made of itself.
            let own = self.names.constants.remove(&item.name);
            let mut vet = Vet::new(self.source, &self.names, Role::Constant, Vec::new());
            if item.name == "EXAMPLES" {
                examples::vet(&mut vet, tree.statements());
            } else {
                vet.function(tree.statements(), item.whole.end);
            }
            let slips = std::mem::take(&mut vet.slips);
            self.slips.extend(slips);
            self.names.constants.insert(item.name.clone(), own.unwrap_or(Sort::Unknown));
            // Of examples that were mended some may be gone.
            let is_whole = item.name != EXAMPLES || !self.mended.contains(EXAMPLES);
            // What a bracket that is told of would make it is not known.
            let is_told_of =
                self.slips.len() > found || self.slips.iter().any(|slip| item.whole.contains(&slip.at));
            if !is_told_of && is_whole {
                self.evaluate(item, &tree);
            }
            self.names.written.insert(item.name.clone(), tree);
        }
    }

    /// A name in two words is told of once: `const RING AHEAD` is asked for as `RING_AHEAD`.
    fn meant_as_one_name(&mut self, item: &Item) {
        let written: String = self.source.letters[item.name_at..item.whole.end].iter().collect();
        let name = written.split('=').next().unwrap_or_default().trim();
        let joined = name.split([' ', '-']).filter(|word| !word.is_empty()).collect::<Vec<_>>().join("_");
        self.names.constants.entry(joined).or_insert(Sort::Unknown);
    }

    fn evaluate(&mut self, item: &Item, tree: &AST) {
        if self.names.values.contains_key(&item.name) {
            return;
        }
        let mut scope = Scope::new();
        for (name, value) in &self.names.values {
            scope.push_constant_dynamic(name.clone(), value.clone());
        }
        match in_time(|| SANDBOX.reader.run_ast_with_scope(&mut scope, tree)) {
            Ok(()) => {
                let value = scope.get_value::<Dynamic>(&item.name).unwrap_or_default();
                let sort = self.of_value(item, &value);
                self.names.constants.insert(item.name.clone(), sort);
                self.names.values.insert(item.name.clone(), value);
            }
            Err(error) => {
                let places = Places { names: self.outline.places() };
                let slip = language_errors::of_running(&error, &item.name, self.source, &places);
                if !matches!(&slip.cause, Cause::NothingCalled(name, _) if self.stands_above(name, item)) {
                    self.slips.push(slip);
                }
            }
        }
    }

    /// Whether a constant stands above an item: where it has no value all the same, it has been told of.
    fn stands_above(&self, name: &str, item: &Item) -> bool {
        let is_below = |other: &Item| other.name == name && other.name_at >= item.name_at;
        self.names.constants.contains_key(name) && !self.outline.items.iter().any(is_below)
    }

    /// Looks at what a constant came to, and gives its sort, or that which it was meant to be of.
    fn of_value(&mut self, item: &Item, value: &Dynamic) -> Sort {
        let at = item.name_at + item.name.chars().count();
        let value_at = (at..item.body.end)
            .find(|at| !self.source.letters[*at].is_whitespace() && self.source.letters[*at] != '=')
            .unwrap_or(item.name_at);
        self.names.places.insert(item.name.clone(), value_at);
        let text = text_of(value);
        if PRINTED.contains(&item.name.as_str()) {
            if let Some((what, help)) = not_printable(&item.name, value, text.as_deref()) {
                self.slip(value_at, 0, what, help);
            }
        } else if let Some((written, sort)) = text.as_deref().and_then(numbers::in_quotes) {
            let length = item.body.end.saturating_sub(value_at + 1);
            let what = format!("this is a text, and not {}", sort.words());
            self.slip(value_at, length, what, format!("write `{written}`, without quotes"));
            return sort;
        }
        sort_of(value)
    }

    /// Reads the functions, each by itself.
    fn bodies(&mut self) {
        let outline = self.outline;
        for item in &outline.items {
            let What::Function { parameters } = &item.what else { continue };
            self.parameters(item, parameters);
            if let Some(tree) = self.tree_of(item) {
                let is_whole = !self.mended.contains(&item.name);
                let body = Body { parameters: parameters.clone(), tree, end: item.body.end, is_whole };
                self.names.bodies.insert(item.name.clone(), body);
            }
        }
    }

    /// Vets the functions: `each` first, since what it lists is what `judge` gets; then whatever nobody calls.
    fn functions(&mut self) {
        let kind = if self.of_yard() { Kind::Yard } else { Kind::Machine };
        let machine = Sort::Thing(kind);
        for (name, role) in [("applies_to", Role::AppliesTo), ("each", Role::Each), ("judge", Role::Judge)] {
            let Some(body) = self.names.bodies.get(name) else { continue };
            let sorts = [machine, self.listed];
            let mut scope: Vec<_> = body.parameters.iter().cloned().zip(sorts).collect();
            if scope.is_empty() {
                // Told of where its brackets are.
                scope.push((kind.word().to_owned(), machine));
            }
            let mut vet = Vet::new(self.source, &self.names, role, scope);
            let given = vet.function(body.tree.statements(), body.end);
            let mut slips = std::mem::take(&mut vet.slips);
            if self.mended.contains(name) {
                // Its answer may stand in what was left out.
                slips.retain(|slip| slip.at != body.end && !matches!(slip.cause, Cause::AnswerLost));
            }
            self.slips.extend(slips);
            if let (Role::Each, Sort::List(kind), true) = (role, given, body.is_whole) {
                self.listed = Sort::Thing(kind);
            }
        }
        for (name, body) in &self.names.bodies {
            if !ASKED.contains(&name.as_str()) && !self.names.is_called(name) {
                let scope =
                    body.parameters.iter().map(|name| (name.clone(), sort_of_parameter(name))).collect();
                let mut vet = Vet::new(self.source, &self.names, Role::Helper, scope);
                vet.function(body.tree.statements(), body.end);
                self.slips.append(&mut vet.slips);
            }
        }
    }

    /// Whether the rule looks at the whole yard: its `judge` has `yard` first in its brackets.
    fn of_yard(&self) -> bool {
        let judge = self.outline.items.iter().find(|item| item.name == "judge");
        let first = judge.and_then(|judge| match &judge.what {
            What::Function { parameters } => parameters.first(),
            What::Constant => None,
        });
        first.map_or_else(
            || self.begun("judge").is_some_and(|line| line.contains(Kind::Yard.word())),
            |first| first == Kind::Yard.word(),
        )
    }

    /// The first line of a function that begins and may not have been read to its end.
    fn begun(&self, function: &str) -> Option<String> {
        begun::first_line_of(function, self.source, self.outline)
    }

    fn parameters(&mut self, item: &Item, parameters: &[String]) {
        let names = &self.names.functions;
        // A misspelt `each` is told of as what it is.
        let each = names.contains_key("each")
            || names.keys().any(|name| nearest(name, ["each"]).is_some())
            || self.begun("each").is_some();
        let of_yard = self.of_yard();
        let asked = match (item.name.as_str(), of_yard) {
            ("applies_to" | "each", false) => "(machine)",
            ("applies_to" | "each", true) => "(yard)",
            ("judge", false) if each => "(machine, item)",
            ("judge", true) if each => "(yard, item)",
            ("judge", false) => "(machine)",
            ("judge", true) => "(yard)",
            _ => return,
        };
        let is_of_yard = parameters.first().is_some_and(|first| first == Kind::Yard.word());
        if is_of_yard != of_yard {
            let what = "a rule looks at machines or at the whole yard, not at both".to_owned();
            self.slip(item.name_at, 0, what, format!("write `fn {}{asked}`, as `judge` has it", item.name));
        }
        if parameters.len() != asked.split(',').count() {
            let what = format!("`{}` does not take {} here", item.name, counted(parameters.len(), "value"));
            let list = parameters
                .get(1)
                .filter(|_| item.name == "judge" && !each)
                .and_then(|second| list_of(second));
            let help = match list {
                Some((whole, list)) => {
                    format!(
                        "write `fn each({whole}) {{ {whole}.{list} }}` before it, which lists them, or `fn judge{asked}`"
                    )
                }
                None => format!("write `fn {}{asked}`", item.name),
            };
            self.slip(item.name_at, 0, what, help);
        }
    }

    fn examples(&mut self) -> Vec<Example> {
        let Some(value) = self.names.values.get("EXAMPLES") else { return Vec::new() };
        match examples::read(value) {
            Ok(examples) => {
                let of_yard = self.of_yard();
                let other = examples.iter().find(|it| (it.about.kind() == Kind::Yard) != of_yard);
                if let Some(other) = other.filter(|_| self.names.functions.contains_key("judge")) {
                    let (what, help) = if of_yard {
                        (
                            "this rule looks at the whole yard, and the example is one machine",
                            "write `machines: [#{ ... }]` into it, or `gone: [#{ ... }]`",
                        )
                    } else {
                        (
                            "this rule looks at one machine, and the example is a whole yard",
                            "write the machine's own facts into it",
                        )
                    };
                    let at = self.source.at(other.position);
                    self.slip(at, 0, what.to_owned(), help.to_owned());
                }
                examples
            }
            Err((position, what, help)) => {
                let written = self.outline.items.iter().find(|item| item.name == "EXAMPLES");
                let at = position.map(|position| self.source.at(position));
                let at = at.or_else(|| written.map(|item| item.name_at)).unwrap_or(0);
                self.slip(at, 0, what, help);
                Vec::new()
            }
        }
    }

    /// The functions for the direct way.
    fn direct(&self) -> Direct {
        let function = |name: &str| {
            let body = self.names.bodies.get(name)?;
            direct::function(&body.parameters, body.tree.statements(), &self.names.values)
        };
        Direct { applies_to: function("applies_to"), each: function("each"), judge: function("judge") }
    }

    /// The functions with the constants written into them.
    fn tree(&mut self) -> Option<AST> {
        let mut scope = Scope::new();
        // A list would be copied to each place that names it; only examples are made of such.
        for (name, value) in
            self.names.values.iter().filter(|(_, value)| !value.is_array() && !value.is_map())
        {
            scope.push_constant_dynamic(name.clone(), value.clone());
        }
        let functions = self.outline.items.iter().filter(|item| matches!(item.what, What::Function { .. }));
        let stretches: Vec<Range<usize>> = functions.map(|item| item.whole.clone()).collect();
        match SANDBOX.runner.compile_with_scope(&scope, self.source.only(&stretches, &BTreeMap::new())) {
            Ok(mut tree) => {
                tree.clear_statements();
                Some(tree)
            }
            Err(error) => {
                self.slips.push(language_errors::of_reading(&error, self.source, self.outline));
                None
            }
        }
    }
}

/// Of what a list holds such things, and what the first such list is called.
fn list_of(thing: &str) -> Option<(&'static str, &'static str)> {
    let kind = Kind::named(thing)?;
    facts::all().find(|fact| fact.is == Sort::List(kind)).map(|fact| (fact.of.word(), fact.name))
}

/// Where a second rule begins in a file that holds two: it has a title and a judgement of its own.
fn second_rule(outline: &Outline) -> Option<usize> {
    let second = |name: &str| outline.items.iter().filter(|item| item.name == name).nth(1);
    let (title, judge) = (second("TITLE")?, second("judge")?);
    (title.name_at < judge.name_at).then_some(title.name_at)
}

/// Why a title, reason or caution cannot be printed.
fn not_printable(name: &str, value: &Dynamic, text: Option<&str>) -> Option<(String, String)> {
    /// The most characters of one; it stands in one line of a letter, beside others.
    const MOST: usize = 200;
    let Some(text) = text else {
        let what = format!("{name} is {}, and not a text", words_of(value));
        return Some((what, "write it in quotes".to_owned()));
    };
    let text = text.trim();
    let length = text.chars().count();
    let section = Section::ALL.into_iter().find(|section| name == "TITLE" && same(section.heading(), text));
    let (what, help) = if let Some(section) = section {
        let what =
            format!("\"{}\" is a section of the letter, and this is a rule's TITLE", section.heading());
        return Some((what, "give it one that says what the rule finds".to_owned()));
    } else if length == 0 && name == "CAUTION" {
        ("CAUTION is empty".to_owned(), "write what must be heeded, or take the line away")
    } else if length == 0 {
        (format!("{name} is empty"), "write a few words between the quotes")
    } else if text.contains(['\n', '\r']) {
        (format!("{name} goes over more than one line"), "write it in one line")
    } else if text.contains('\t') {
        (
            format!("{name} holds a tab, as `\\t` or as a key that was pressed"),
            "write a blank instead; and `/` for `\\`",
        )
    } else if text.contains(steers) {
        (format!("{name} holds a sign that nobody sees"), "delete it, or type the line anew")
    } else if length > MOST {
        (format!("{name} is {length} characters long, and {MOST} are the most"), "make it shorter")
    } else {
        return None;
    };
    Some((what, help.to_owned()))
}
