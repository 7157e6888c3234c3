//! One rule: how its file is read, vetted and tried, and how it is asked about a machine.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use rhai::{AST, CallFnOptions, Dynamic, EvalAltResult, Scope};

use super::answer::Answer;
use super::examples::{self, Example};
use super::outline::{Item, Outline, What};
use super::quantity::{sort_of, words_of};
use super::sandbox::{SANDBOX, in_time};
use super::sort::{Kind, Sort};
use super::source::{Slip, Source};
use super::thing::{Subject, Thing};
use super::vet::{Body, Names, Role, Vet};
use super::vet_calls::sort_of_parameter;
use super::wording;
use super::words::{WORDS, text_of};
use crate::findings::Verdict;
use crate::origin::Evidence;
use crate::problem::{Problem, nearest};
use crate::reckon::Missing;

/// A rule in force.
pub struct Rule {
    /// Its name, which is its file's without the ending.
    pub name: String,
    /// What it is called in the letter.
    pub title: String,
    /// Why it is there.
    pub why: String,
    /// What must be heeded when acting on it, where it touches something that can hurt.
    pub caution: Option<String>,
    /// Its text, as read.
    pub(super) text: String,
    source: Source,
    tree: AST,
    applies_to: bool,
    each: Option<Sort>,
}

/// What a rule answered about one thing of a machine.
pub(super) struct Answered {
    /// Which of the machine's things; empty for the machine itself.
    pub(super) key: String,
    /// The answer; a rule that fails cannot tell.
    pub(super) verdict: Verdict,
    /// Why it failed.
    pub(super) failure: Option<Problem>,
    /// The facts that it looked at.
    pub(super) evidence: Vec<Evidence>,
}

/// A file on its way to being a rule.
struct Reading<'a> {
    source: &'a Source,
    outline: &'a Outline,
    slips: Vec<Slip>,
    values: BTreeMap<String, Dynamic>,
    names: Names,
    /// What `each` lists.
    listed: Sort,
}

impl Rule {
    /// Reads, vets and tries a rule file; everything that is wrong with it comes back at once.
    pub(super) fn read(name: &str, file: String, text: &str) -> Result<Rule, Vec<Problem>> {
        let source = Source::new(file, text);
        let outline = Outline::of(&source);
        let mut reading = Reading::new(&source, &outline);
        reading.constants();
        reading.bodies();
        reading.functions();
        let examples = reading.examples();
        if reading.slips.is_empty() {
            reading.required();
        }
        let (title, why, caution) = (reading.text("TITLE"), reading.text("WHY"), reading.text("CAUTION"));
        let tree = if reading.slips.is_empty() { reading.tree() } else { None };
        let (mut slips, functions) = (reading.slips, reading.names.functions);
        let each = functions.contains_key("each").then_some(reading.listed);
        let Some(tree) = tree.filter(|_| slips.is_empty()) else {
            slips.sort_by(|left, right| (left.at, &left.what).cmp(&(right.at, &right.what)));
            slips.dedup_by(|left, right| (left.at, &left.what) == (right.at, &right.what));
            return Err(slips.into_iter().map(|slip| source.problem(slip)).collect());
        };
        let rule = Rule {
            name: name.to_owned(),
            title: title.unwrap_or_default(),
            why: why.unwrap_or_default(),
            caution,
            text: text.to_owned(),
            source,
            tree,
            applies_to: functions.contains_key("applies_to"),
            each,
        };
        let failed: Vec<Problem> = examples.iter().filter_map(|example| rule.tried(example)).collect();
        if failed.is_empty() { Ok(rule) } else { Err(failed) }
    }

    /// What is wrong with an example: the rule says something else of it.
    fn tried(&self, example: &Example) -> Option<Problem> {
        let subject = Subject::new(Arc::clone(&example.machine), Arc::clone(&example.standing));
        let answers = self.ask(&subject, &mut Scope::new());
        if let Some(mut failure) = answers.iter().find_map(|answer| answer.failure.clone()) {
            failure.what = format!("{} (in the example \"{}\")", failure.what, example.name);
            return Some(failure);
        }
        let said = examples::outcome(answers.iter().map(|answer| &answer.verdict));
        if said == example.expected {
            return None;
        }
        let detail = answers.iter().find_map(|answer| match &answer.verdict {
            Verdict::Raised(raised) => Some(format!(": `{}`", raised.text)),
            Verdict::CannotTell { missing } => Some(format!(", for want of: {}", missing.join(", "))),
            Verdict::Clear => None,
        });
        let what = format!(
            "the example \"{}\" expects \"{}\", but the rule says \"{said}\"{}",
            example.name,
            example.expected,
            detail.unwrap_or_default()
        );
        let help = "correct the rule if the example is right, or the example if the rule is";
        let at = self.source.at(example.position);
        Some(self.source.problem(Slip { at, length: 0, what, help: help.to_owned() }))
    }

    /// Asks the rule about a machine; no answers at all mean that it does not apply.
    pub(super) fn ask(&self, subject: &Arc<Subject>, scope: &mut Scope<'_>) -> Vec<Answered> {
        let machine = Thing { subject: Arc::clone(subject), kind: Kind::Machine, place: 0 };
        subject.begin(false);
        if self.applies_to {
            match self.call(scope, "applies_to", (machine.clone(),)) {
                Ok(answer) => match answer.as_bool() {
                    Ok(true) => {}
                    Ok(false) => return Vec::new(),
                    Err(_) => return vec![self.not_given(String::new(), "applies_to", "yes or no", &answer)],
                },
                Err(error) => return vec![self.stopped(String::new(), &error, Vec::new())],
            }
        }
        if self.each.is_none() {
            return vec![self.judge(scope, subject, machine, None)];
        }
        let items = match self.call(scope, "each", (machine.clone(),)) {
            Ok(list) => list,
            Err(error) => return vec![self.stopped(String::new(), &error, Vec::new())],
        };
        let things: Option<Vec<Thing>> = items
            .as_array_ref()
            .ok()
            .and_then(|list| list.iter().map(|item| item.clone().try_cast::<Thing>()).collect());
        match things {
            // That nothing is in doubt is an answer; that nothing was filled or ridden is none.
            Some(things) if things.is_empty() && self.each == Some(Sort::Thing(Kind::Doubt)) => {
                vec![Answered {
                    key: String::new(),
                    verdict: Verdict::Clear,
                    failure: None,
                    evidence: Vec::new(),
                }]
            }
            Some(things) => things
                .into_iter()
                .map(|item| self.judge(scope, subject, machine.clone(), Some(item)))
                .collect(),
            None => vec![self.not_given(String::new(), "each", "a list of the machine's things", &items)],
        }
    }

    fn judge(
        &self,
        scope: &mut Scope<'_>,
        subject: &Arc<Subject>,
        machine: Thing,
        item: Option<Thing>,
    ) -> Answered {
        let key = item.as_ref().map(Thing::key).unwrap_or_default();
        subject.begin(true);
        let answer = match item {
            Some(item) => {
                subject.note(item.shown_by());
                self.call(scope, "judge", (machine, item))
            }
            None => self.call(scope, "judge", (machine,)),
        };
        let evidence = subject.seen();
        match answer {
            Ok(answer) => match answer.read_lock::<Answer>() {
                Some(given) => {
                    let verdict = with_rule_of_thumb(given.clone().verdict(), &evidence);
                    Answered { key, verdict, failure: None, evidence }
                }
                None => self.not_given(key, "judge", "an answer", &answer),
            },
            Err(error) => self.stopped(key, &error, evidence),
        }
    }

    fn call(
        &self,
        scope: &mut Scope<'_>,
        function: &str,
        arguments: impl rhai::FuncArgs,
    ) -> Result<Dynamic, Box<EvalAltResult>> {
        // The top of the file is gone: its constants are written into the functions.
        let options = CallFnOptions::new().eval_ast(false);
        in_time(|| SANDBOX.runner.call_fn_with_options(options, scope, &self.tree, function, arguments))
    }

    /// A call that did not end in an answer: a fact is missing, or the rule is wrong.
    fn stopped(&self, key: String, error: &EvalAltResult, evidence: Vec<Evidence>) -> Answered {
        if let EvalAltResult::ErrorRuntime(value, _) = error.unwrap_inner()
            && let Some(missing) = value.read_lock::<Missing>()
        {
            let verdict = Verdict::CannotTell { missing: missing.0.clone() };
            return Answered { key, verdict, failure: None, evidence };
        }
        self.failed(key, wording::of_running(error, &self.source), evidence)
    }

    fn not_given(&self, key: String, function: &str, asked: &str, got: &Dynamic) -> Answered {
        let at = self.source.text.find(&format!("fn {function}")).unwrap_or(0);
        let at = self.source.text[..at].chars().count();
        let what = format!("`{function}` must give {asked}, and gave {}", words_of(got));
        let help = format!("end every path through `{function}` with {asked}");
        self.failed(key, Slip { at, length: 0, what, help }, Vec::new())
    }

    fn failed(&self, key: String, slip: Slip, evidence: Vec<Evidence>) -> Answered {
        let problem = self.source.problem(slip);
        let verdict = Verdict::CannotTell { missing: vec![format!("a rule that works ({})", problem.place)] };
        Answered { key, verdict, failure: Some(problem), evidence }
    }
}

/// Says so in the text when anything that shows a raised verdict is a rule of thumb.
fn with_rule_of_thumb(mut verdict: Verdict, evidence: &[Evidence]) -> Verdict {
    if let Verdict::Raised(raised) = &mut verdict
        && evidence.iter().any(|evidence| evidence.common_practice)
    {
        let kept = raised.text.trim_end_matches('.').len();
        raised.text.insert_str(kept, " (by rule of thumb: look in this machine's own handbook)");
    }
    verdict
}

impl<'a> Reading<'a> {
    fn new(source: &'a Source, outline: &'a Outline) -> Reading<'a> {
        let mut reading = Reading {
            source,
            outline,
            slips: Vec::new(),
            values: BTreeMap::new(),
            names: Names::default(),
            listed: Sort::Unknown,
        };
        for slip in &outline.slips {
            reading.slip(slip.at, slip.length, slip.what.clone(), slip.help.clone());
        }
        for name in &outline.unfinished {
            reading.names.constants.insert(name.clone(), Sort::Unknown);
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
            if taken {
                let what = format!("there is already a `{}`", item.name);
                reading.slip(item.name_at, 0, what, "give one of the two another name".to_owned());
            }
        }
        reading
    }

    fn slip(&mut self, at: usize, length: usize, what: String, help: String) {
        self.slips.push(Slip { at, length, what, help });
    }

    fn text(&self, name: &str) -> Option<String> {
        self.values.get(name).and_then(text_of).filter(|text| !text.trim().is_empty())
    }

    /// One stretch of the file, read by itself.
    fn tree_of(&mut self, stretch: Range<usize>) -> Option<AST> {
        match SANDBOX.reader.compile(self.source.only(&[stretch])) {
            Ok(tree) => Some(tree),
            Err(error) => {
                self.slips.push(wording::of_reading(&error, self.source, self.outline));
                None
            }
        }
    }

    /// Reads the constants in their order; a later one may use those before it.
    fn constants(&mut self) {
        let outline = self.outline;
        for item in outline.items.iter().filter(|item| matches!(item.what, What::Constant)) {
            let Some(tree) = self.tree_of(item.body.clone()) else { continue };
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
            if self.slips.len() == found {
                self.evaluate(item, &tree);
            }
        }
    }

    fn evaluate(&mut self, item: &Item, tree: &AST) {
        if self.values.contains_key(&item.name) {
            return;
        }
        let mut scope = Scope::new();
        for (name, value) in &self.values {
            scope.push_constant_dynamic(name.clone(), value.clone());
        }
        match in_time(|| SANDBOX.reader.run_ast_with_scope(&mut scope, tree)) {
            Ok(()) => {
                let value = scope.get_value::<Dynamic>(&item.name).unwrap_or_default();
                self.names.constants.insert(item.name.clone(), sort_of(&value));
                self.values.insert(item.name.clone(), value);
            }
            Err(error) => {
                let slip = wording::of_running(&error, self.source);
                self.slips.push(slip);
            }
        }
    }

    /// Reads the functions, each by itself.
    fn bodies(&mut self) {
        let outline = self.outline;
        for item in &outline.items {
            let What::Function { parameters } = &item.what else { continue };
            self.parameters(item, parameters);
            if let Some(tree) = self.tree_of(item.body.clone()) {
                let body = Body { parameters: parameters.clone(), tree, end: item.body.end };
                self.names.bodies.insert(item.name.clone(), body);
            }
        }
    }

    /// Vets the functions: `each` first, since what it lists is what `judge` gets; then whatever nobody calls.
    fn functions(&mut self) {
        let machine = Sort::Thing(Kind::Machine);
        for (name, role) in [("applies_to", Role::AppliesTo), ("each", Role::Each), ("judge", Role::Judge)] {
            let Some(body) = self.names.bodies.get(name) else { continue };
            let sorts = [machine, self.listed];
            let scope = body.parameters.iter().cloned().zip(sorts).collect();
            let mut vet = Vet::new(self.source, &self.names, role, scope);
            let given = vet.function(body.tree.statements(), body.end);
            let slips = std::mem::take(&mut vet.slips);
            self.slips.extend(slips);
            if let (Role::Each, Sort::List(kind)) = (role, given) {
                self.listed = Sort::Thing(kind);
            }
        }
        for (name, body) in &self.names.bodies {
            if !["applies_to", "each", "judge"].contains(&name.as_str()) && !self.names.is_called(name) {
                let scope =
                    body.parameters.iter().map(|name| (name.clone(), sort_of_parameter(name))).collect();
                let mut vet = Vet::new(self.source, &self.names, Role::Helper, scope);
                vet.function(body.tree.statements(), body.end);
                self.slips.append(&mut vet.slips);
            }
        }
    }

    fn parameters(&mut self, item: &Item, parameters: &[String]) {
        let each = self.names.functions.contains_key("each");
        let asked = match item.name.as_str() {
            "applies_to" | "each" => "(machine)",
            "judge" if each => "(machine, item)",
            "judge" => "(machine)",
            _ => return,
        };
        if parameters.len() != asked.split(',').count() {
            let what = format!(
                "`{}` does not take {} here",
                item.name,
                crate::problem::counted(parameters.len(), "value")
            );
            let help = format!("write `fn {}{asked}`", item.name);
            self.slip(item.name_at, 0, what, help);
        }
    }

    fn examples(&mut self) -> Vec<Example> {
        let Some(value) = self.values.get("EXAMPLES") else { return Vec::new() };
        match examples::read(value) {
            Ok(examples) => examples,
            Err((position, what, help)) => {
                let written = self.outline.items.iter().find(|item| item.name == "EXAMPLES");
                let at = position.map(|position| self.source.at(position));
                let at = at.or_else(|| written.map(|item| item.name_at)).unwrap_or(0);
                self.slip(at, 0, what, help);
                Vec::new()
            }
        }
    }

    /// What every rule must have.
    fn required(&mut self) {
        for (name, example) in [("TITLE", "\"First service\""), ("WHY", "\"...\"")] {
            if self.text(name).is_none() {
                let what = format!("the rule has no {name}");
                self.slip(0, 1, what, format!("write `const {name} = {example};` at its top"));
            }
        }
        if self.names.constants.contains_key("CAUTION") && self.text("CAUTION").is_none() {
            self.slip(0, 1, "CAUTION is not a text".to_owned(), "write it in quotes".to_owned());
        }
        if !self.names.functions.contains_key("judge") {
            let what = "the rule has no `judge`".to_owned();
            let near = nearest("judge", self.names.functions.keys().map(String::as_str));
            let meant = self.outline.items.iter().find(|item| near == Some(item.name.as_str()));
            match meant.map(|item| (item.name_at, item.name.clone())) {
                Some((at, name)) => self.slip(at, 0, what, format!("write `judge` instead of `{name}`")),
                None => {
                    self.slip(
                        0,
                        1,
                        what,
                        "write `fn judge(machine) { ... }`, ending with `clear()`".to_owned(),
                    );
                }
            }
        }
        let examples =
            self.values.get("EXAMPLES").map_or(0, |value| value.as_array_ref().map_or(0, |list| list.len()));
        if examples == 0 {
            let what = "the rule has no example".to_owned();
            let help = "write at least one into `const EXAMPLES = [ ... ];`, so that a slip shows at once";
            self.slip(0, 1, what, help.to_owned());
        }
    }

    /// The functions with the constants written into them.
    fn tree(&mut self) -> Option<AST> {
        let mut scope = Scope::new();
        for (name, value) in self.values.iter().filter(|(name, _)| *name != "EXAMPLES") {
            scope.push_constant_dynamic(name.clone(), value.clone());
        }
        let functions = self.outline.items.iter().filter(|item| matches!(item.what, What::Function { .. }));
        let stretches: Vec<Range<usize>> = functions.map(|item| item.whole.clone()).collect();
        match SANDBOX.runner.compile_with_scope(&scope, self.source.only(&stretches)) {
            Ok(mut tree) => {
                tree.clear_statements();
                Some(tree)
            }
            Err(error) => {
                self.slips.push(wording::of_reading(&error, self.source, self.outline));
                None
            }
        }
    }
}
