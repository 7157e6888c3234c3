//! One rule, and how it is asked about a machine.

mod by_examples;

use std::sync::Arc;

use rhai::{AST, CallFnOptions, Dynamic, EvalAltResult, Scope};

use super::answer::Answer;
use super::compared_texts::same;
use super::direct::{Direct, Ended, Notes, Room};
use super::language_errors::{self, Places};
use super::machine_in_hand::{About, Subject, Thing};
use super::part::Part;
use super::quantity::words_of;
use super::sandbox::SANDBOX;
use super::shipped::SHIPPED;
use super::sort_of_value::{Kind, Sort};
use super::source::{Slip, Source};
use super::text_met::Compared;
use super::time_allowed::{self, in_time};
use super::value::Value;
use super::{Failure, Judged, NotApplying, vetted};
use crate::findings::{Judgement, RULE_FAILS, Verdict};
use crate::origin::Evidence;
use crate::problem::{Problem, Severity, Spot};
use crate::reckon::Missing;

/// A rule in force.
pub struct Rule {
    /// Its name, which is its file's without the ending.
    pub name: Arc<str>,
    /// What it is called in the letter.
    pub title: String,
    /// Why it is there.
    pub why: String,
    /// What must be heeded when acting on it, where it touches something that can hurt.
    pub caution: Option<String>,
    /// Its text, as read.
    pub text: String,
    source: Source,
    places: Places,
    tree: AST,
    direct: Direct,
    applies_to: bool,
    each: Option<Sort>,
    /// Whether it looks at the whole yard, and not at one machine after another.
    pub(super) of_yard: bool,
    /// Whether it may ask for an item of a machine's service plan, so that what a service without a name has done matters to
    /// it.
    pub(super) asks_of_services: bool,
    /// How many examples it was tried by. What they are made of is not kept: a few lines make as many machines as fill
    /// the memory.
    examples: usize,
    /// How long it has stood, for when not all rules can be asked.
    pub(super) seniority: Seniority,
    /// The texts that it compares facts with.
    pub(super) compared: Vec<Compared>,
    /// What its owner may not have meant, and may have: said, and no reason to hold it back.
    pub notes: Vec<Problem>,
}

/// Where a rule stands when there is not time for all: what judged yesterday goes before what was dropped in today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Seniority {
    /// As it ships, word for word.
    Shipped,
    /// A round has accepted a rule of its name before.
    InForce,
    /// Its name is new.
    New,
}

impl Seniority {
    /// That of a rule of which nobody knows whether it was in force.
    fn of(text: &str) -> Seniority {
        if Rule::is_shipped(text) { Seniority::Shipped } else { Seniority::New }
    }
}

/// What a rule is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Asked {
    /// Whether it applies.
    AppliesTo,
    /// To which things.
    Each,
    /// What it says of the machine, or of one of its things.
    Judge,
}

/// What came of a call, and what the function looked at.
struct Called {
    gave: Gave,
    /// What shows the facts that it saw while it judged.
    seen: Vec<Evidence>,
    /// The facts that it asked for in vain while it was asked whether it applies, and to what.
    lacking: Vec<String>,
}

/// What a function gave.
enum Gave {
    YesNo(bool),
    Things(Vec<(Kind, usize)>),
    Answer(Verdict),
    Missing(Missing),
    /// Something that it must not give.
    Other(Dynamic),
    Error(Box<EvalAltResult>),
}

impl Asked {
    /// The function that is called.
    fn name(self) -> &'static str {
        match self {
            Asked::AppliesTo => "applies_to",
            Asked::Each => "each",
            Asked::Judge => "judge",
        }
    }

    /// What it must give.
    fn promised(self) -> &'static str {
        match self {
            Asked::AppliesTo => "yes or no",
            Asked::Each => "a list of the machine's things",
            Asked::Judge => "an answer",
        }
    }

    /// What the language gave, as what was asked for.
    fn of_language(self, given: Dynamic) -> Gave {
        let gave = match self {
            Asked::AppliesTo => given.as_bool().ok().map(Gave::YesNo),
            Asked::Each => given.as_array_ref().ok().and_then(|list| {
                let place = |item: &Dynamic| item.read_lock::<Thing>().map(|it| (it.kind, it.place));
                list.iter().map(place).collect::<Option<_>>().map(Gave::Things)
            }),
            Asked::Judge => given.read_lock::<Answer>().map(|answer| Gave::Answer(answer.clone().into())),
        };
        gave.unwrap_or(Gave::Other(given))
    }
}

/// Whether a rule's text has a word by which it comes to the items of a service plan. A fact is asked for by its name alone,
/// so that a text without one does not.
fn names_services(text: &str) -> bool {
    let mut words = text.split(|letter: char| !letter.is_alphanumeric() && letter != '_');
    words.any(|word| matches!(word, "ageing" | "has_done" | "service" | "services"))
}

impl Rule {
    /// Reads, vets and tries a rule file; everything that is wrong with it comes back at once. `last` are the texts of this
    /// rule that were good.
    pub(super) fn read(
        name: &str,
        file: String,
        text: &str,
        last: Vec<String>,
    ) -> Result<Rule, Vec<Problem>> {
        let (rule, differing) = Rule::read_to_try(name, file, text, last)?;
        if differing.is_empty() { Ok(rule) } else { Err(differing) }
    }

    /// The same of a file that is to be tried and not to judge: that it says something else than its examples expect
    /// comes back beside it.
    pub(super) fn read_to_try(
        name: &str,
        file: String,
        text: &str,
        last: Vec<String>,
    ) -> Result<(Rule, Vec<Problem>), Vec<Problem>> {
        time_allowed::of_one_file(|| Rule::read_and_tried(name, file, text, last))
    }

    /// The same, with the time that is left to the file under way.
    pub(super) fn read_and_tried(
        name: &str,
        file: String,
        text: &str,
        last: Vec<String>,
    ) -> Result<(Rule, Vec<Problem>), Vec<Problem>> {
        let source = Source::new(file, text, last);
        let vetted = vetted::vetted(&source)?;
        let lacks = source.problems(vetted.slips);
        let notes = source.notes(vetted.notes);
        let compared = vetted.compared.into_iter().map(|(fact, text, at)| {
            let slip = Slip::new(at, String::new(), String::new()).marking(1);
            let place = Problem { severity: Severity::Note, ..source.problem(slip) };
            Compared { fact, text, place }
        });
        let compared = compared.collect();
        let rule = Rule {
            name: name.into(),
            title: vetted.title,
            why: vetted.why,
            caution: vetted.caution,
            text: text.to_owned(),
            asks_of_services: names_services(text),
            source,
            places: vetted.places,
            tree: vetted.tree,
            direct: vetted.direct,
            applies_to: vetted.applies_to,
            each: vetted.each,
            of_yard: vetted.of_yard,
            examples: vetted.examples.len(),
            seniority: Seniority::of(text),
            compared,
            notes,
        };
        let (failed, differing) = rule.tried_by(&vetted.examples);
        if failed.is_empty() && lacks.is_empty() {
            return Ok((rule, differing));
        }
        let mut problems = [lacks, failed, differing].concat();
        problems.sort_by_key(|problem| match problem.place.spot {
            Spot::Text { line, column, .. } => (line, column),
            _ => (0, 0),
        });
        Err(problems)
    }

    /// Whether a text is that of a rule as it ships, word for word.
    pub(super) fn is_shipped(text: &str) -> bool {
        SHIPPED.iter().any(|(_, shipped)| *shipped == text)
    }

    /// Leaves the direct way away.
    pub(super) fn run_in_language_only(&mut self) {
        self.direct = Direct::default();
    }

    /// Leaves the language away.
    #[cfg(test)]
    pub(super) fn run_in_direct_way_only(&mut self) {
        self.tree = AST::empty();
    }

    /// Whether the direct way knows all of its functions that are asked.
    #[cfg(test)]
    pub(super) fn is_known_to_the_direct_way(&self) -> bool {
        let Direct { applies_to, each, judge } = &self.direct;
        judge.is_some() && applies_to.is_some() == self.applies_to && each.is_some() == self.each.is_some()
    }

    /// Whether people take its title for that of another rule: capitals and blanks make no other one of it.
    pub fn has_title_of(&self, other: &Rule) -> bool {
        same(&self.title, &other.title)
    }

    /// Its file, as problems show it.
    pub fn file(&self) -> &str {
        &self.source.file
    }

    /// How many examples it was tried by.
    pub fn example_count(&self) -> usize {
        self.examples
    }

    /// Asks the rule about a machine, or about the yard.
    pub(super) fn ask<'a>(&'a self, subject: &'a Arc<Subject>, room: &mut Room<'a>, judged: &mut Judged) {
        let whole = subject.whole();
        if self.applies_to {
            let Called { gave, lacking, .. } = self.call(Asked::AppliesTo, subject, None, room);
            match gave {
                Gave::YesNo(true) => {}
                Gave::YesNo(false) => return self.does_not_apply(whole, lacking, judged),
                other => return self.no_answer(whole, Asked::AppliesTo, other, Vec::new(), judged),
            }
        }
        if self.each.is_none() {
            return self.judge(subject, None, room, judged);
        }
        // What `applies_to` asked for in vain did not keep it from applying.
        let Called { gave, lacking, .. } = self.call(Asked::Each, subject, None, room);
        match gave {
            Gave::Things(things) if things.is_empty() && self.none_is_an_answer() => {
                judged.judgements.push(self.judgement(whole, Verdict::Clear, Vec::new()));
            }
            Gave::Things(things) if things.is_empty() => self.does_not_apply(whole, lacking, judged),
            Gave::Things(things) => {
                for (kind, place) in things {
                    self.judge(subject, Some(whole.other(kind, place)), room, judged);
                }
            }
            other => self.no_answer(whole, Asked::Each, other, Vec::new(), judged),
        }
    }

    /// Where it asked in vain for a day that is written down, it cannot tell whether it applies.
    fn does_not_apply(&self, whole: Part<'_>, missing: Vec<String>, judged: &mut Judged) {
        let unread: Vec<String> = missing.iter().filter_map(|fact| why_unread(whole, fact)).collect();
        if !unread.is_empty() {
            let verdict = Verdict::CannotTell { missing: unread };
            judged.judgements.push(self.judgement(whole, verdict, Vec::new()));
            return;
        }
        judged.not_applying.push(NotApplying { rule: Arc::clone(&self.name), missing });
    }

    fn judgement(&self, about: Part<'_>, verdict: Verdict, evidence: Vec<Evidence>) -> Judgement {
        let (machine, key) = (about.of_machine(), about.key());
        Judgement { rule: Arc::clone(&self.name), machine, key, verdict, evidence }
    }

    /// Whether that `each` lists nothing is an answer: that nothing was filled or ridden is none.
    fn none_is_an_answer(&self) -> bool {
        matches!(self.each, Some(Sort::Thing(kind)) if kind.none_is_an_answer())
    }

    /// Judges the machine, or one of its things.
    fn judge<'a>(
        &'a self,
        subject: &'a Arc<Subject>,
        thing: Option<Part<'a>>,
        room: &mut Room<'a>,
        judged: &mut Judged,
    ) {
        let about = thing.unwrap_or(subject.whole());
        let Called { gave, seen, .. } = self.call(Asked::Judge, subject, thing, room);
        match gave {
            Gave::Answer(verdict) => {
                let verdict = with_rule_of_thumb(verdict, &seen);
                judged.judgements.push(self.judgement(about, verdict, seen));
            }
            other => self.no_answer(about, Asked::Judge, other, seen, judged),
        }
    }

    /// Calls a function in the direct way, or in the language where that gives nothing.
    fn call<'a>(
        &'a self,
        asked: Asked,
        subject: &'a Arc<Subject>,
        thing: Option<Part<'a>>,
        room: &mut Room<'a>,
    ) -> Called {
        self.call_directly(asked, subject, thing, room)
            .unwrap_or_else(|| self.call_in_language(asked, subject, thing))
    }

    /// Calls a function in the direct way; `None` where the language must be asked.
    fn call_directly<'a>(
        &'a self,
        asked: Asked,
        subject: &'a Subject,
        thing: Option<Part<'a>>,
        room: &mut Room<'a>,
    ) -> Option<Called> {
        let (function, notes) = match asked {
            Asked::AppliesTo => (&self.direct.applies_to, Notes::of_asking(room)),
            Asked::Each => (&self.direct.each, Notes::of_asking(room)),
            Asked::Judge => {
                let shown_by = thing.map(Part::shown_by).unwrap_or_default();
                (&self.direct.judge, Notes::of_judging(shown_by, room))
            }
        };
        let Ended { gave, notes } = function.as_ref()?.run(subject.whole(), thing, notes, room)?;
        let gave = match gave {
            Err(lack) => Gave::Missing(lack.missing()),
            Ok(Value::YesNo(yes)) if asked == Asked::AppliesTo => Gave::YesNo(yes),
            Ok(Value::List(kind, places)) if asked == Asked::Each => {
                Gave::Things(places.into_iter().map(|place| (kind, place)).collect())
            }
            Ok(Value::Answer(answer)) if asked == Asked::Judge => Gave::Answer(answer.into()),
            Ok(_) => return None,
        };
        let (seen, lacking) = match asked {
            Asked::Judge => (notes.seen(room), Vec::new()),
            // What it asked for in vain did not keep it from applying, and is not put into words.
            Asked::AppliesTo if matches!(gave, Gave::YesNo(true)) => (Vec::new(), Vec::new()),
            Asked::AppliesTo | Asked::Each => (Vec::new(), notes.lacking(room)),
        };
        Some(Called { gave, seen, lacking })
    }

    /// Calls a function in the language.
    fn call_in_language(&self, asked: Asked, subject: &Arc<Subject>, thing: Option<Part<'_>>) -> Called {
        if asked == Asked::Judge {
            subject.begin_judging(thing.map(Part::shown_by).unwrap_or_default());
        } else {
            subject.begin_asking();
        }
        let whole = subject.in_hand();
        // The top of the file is gone: its constants are written into the functions.
        let options = CallFnOptions::new().eval_ast(false);
        let (runner, tree, name) = (&SANDBOX.runner, &self.tree, asked.name());
        let scope = &mut Scope::new();
        let given = in_time(|| match thing {
            None => runner.call_fn_with_options::<Dynamic>(options, scope, tree, name, (whole,)),
            Some(thing) => {
                let thing = subject.thing(thing.kind, thing.place);
                runner.call_fn_with_options(options, scope, tree, name, (whole, thing))
            }
        });
        let gave = match given {
            Ok(given) => asked.of_language(given),
            Err(error) => match missing_in(&error) {
                Some(missing) => Gave::Missing(missing),
                None => Gave::Error(error),
            },
        };
        let (seen, lacking) = subject.noted();
        Called { gave, seen, lacking }
    }

    /// A call that did not end in an answer: a fact is missing, or the rule is wrong.
    fn no_answer(
        &self,
        about: Part<'_>,
        asked: Asked,
        gave: Gave,
        evidence: Vec<Evidence>,
        judged: &mut Judged,
    ) {
        let name = asked.name();
        match gave {
            Gave::Missing(missing) => {
                let missing = missing.0.into_iter().map(|fact| why_unread(about, &fact).unwrap_or(fact));
                let verdict = Verdict::CannotTell { missing: missing.collect() };
                let mut judgement = self.judgement(about, verdict, evidence);
                let lists_doubts = matches!(self.each, Some(Sort::Thing(Kind::Doubt)));
                if asked == Asked::Each && lists_doubts && about.has_nothing_to_doubt() {
                    // What was doubted before, and is put right, does not wait for a reading.
                    NO_READING.clone_into(&mut judgement.key);
                }
                judged.judgements.push(judgement);
                if asked == Asked::AppliesTo {
                    judged.unsure.push(Arc::clone(&self.name));
                }
            }
            Gave::Error(error) => {
                let slip = language_errors::of_running(&error, name, &self.source, &self.places);
                self.failed(about, slip, evidence, judged);
            }
            Gave::Other(value) => {
                self.failed(about, self.not_given(name, asked.promised(), &value), Vec::new(), judged);
            }
            Gave::YesNo(_) | Gave::Things(_) | Gave::Answer(_) => unreachable!("this is what was asked for"),
        }
    }

    fn not_given(&self, function: &str, asked: &str, got: &Dynamic) -> Slip {
        let at = self.places.names.get(function).copied().unwrap_or(0);
        let what = format!("`{function}` must give {asked}, and gave {}", words_of(got));
        let help = format!("end every path through `{function}` with {asked}");
        Slip::new(at, what, help)
    }

    fn failed(&self, about: Part<'_>, slip: Slip, evidence: Vec<Evidence>, judged: &mut Judged) {
        let problem = self.source.problem(slip);
        let verdict = Verdict::CannotTell { missing: vec![format!("{RULE_FAILS} ({})", problem.place)] };
        let judgement = self.judgement(about, verdict, evidence);
        let (rule, machine) = (self.name.to_string(), judgement.machine.clone());
        judged.failures.push(Failure { rule, machine, problem });
        judged.judgements.push(judgement);
    }
}

/// The key of what cannot be told for want of any reading, where nothing else of the machine is doubted.
const NO_READING: &str = "no reading";

/// A missing fact with why it is not known, where it is a day that is written down.
fn why_unread(about: Part<'_>, fact: &str) -> Option<String> {
    match about.about {
        About::Machine(machine, _) => machine.row.why_unread(fact),
        About::Yard(_) => None,
    }
}

/// The missing fact for which a call ended, if it is for one.
fn missing_in(error: &EvalAltResult) -> Option<Missing> {
    match error.unwrap_inner() {
        EvalAltResult::ErrorRuntime(value, _) => value.read_lock::<Missing>().map(|missing| missing.clone()),
        _ => None,
    }
}

/// Says so in the text when anything that shows a raised verdict is a rule of thumb.
fn with_rule_of_thumb(mut verdict: Verdict, evidence: &[Evidence]) -> Verdict {
    if let Verdict::Raised(raised) = &mut verdict
        && evidence.iter().any(|evidence| evidence.common_practice)
    {
        let stop = if raised.text.ends_with(['.', '!', '?']) { "" } else { "." };
        raised.text += &format!("{stop} This is by rule of thumb: look in this machine's own handbook.");
    }
    verdict
}
