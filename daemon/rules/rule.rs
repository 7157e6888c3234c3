//! One rule: how it is tried by its own examples, and how it is asked about a machine.

use std::sync::Arc;

use rhai::{AST, CallFnOptions, Dynamic, EvalAltResult, Scope};

use super::answer::Answer;
use super::examples::{self, Example};
use super::language_errors::{self, Places};
use super::machine_in_hand::{Subject, Thing};
use super::quantity::words_of;
use super::sandbox::{SANDBOX, in_time};
use super::sort_of_value::Sort;
use super::source::{Slip, Source};
use super::vetted;
use crate::findings::Verdict;
use crate::origin::Evidence;
use crate::problem::Problem;
use crate::reckon::Missing;
use crate::yard::MachineId;

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
    pub text: String,
    source: Source,
    places: Places,
    tree: AST,
    applies_to: bool,
    each: Option<Sort>,
    /// Whether it looks at the whole yard, and not at one machine after another.
    pub(super) of_yard: bool,
    pub(super) examples: Vec<Example>,
}

/// What came of trying a rule by one of its examples.
enum Tried {
    /// It says what the example expects.
    AsExpected,
    /// It says something else, and this.
    Otherwise(String),
    /// It fails.
    Failed(Problem),
}

/// What a rule says of a machine.
pub(super) enum Said {
    /// It has nothing to judge there; with the facts that it asked for in vain before it said so.
    NotApplying(Vec<String>),
    /// An answer for each thing that it judges.
    Answers(Vec<Answered>),
}

/// The machine, or the whole yard, that an answer is about, and which of its things.
type Of = (MachineId, String);

/// What a rule answered about one thing of a machine.
pub(super) struct Answered {
    /// The machine that it is about, or the whole yard.
    pub(super) machine: MachineId,
    /// Which of the machine's things; empty for the machine itself.
    pub(super) key: String,
    /// The answer; a rule that fails cannot tell.
    pub(super) verdict: Verdict,
    /// Why it failed.
    pub(super) failure: Option<Problem>,
    /// The facts that it looked at.
    pub(super) evidence: Vec<Evidence>,
}

impl Rule {
    /// Reads, vets and tries a rule file; everything that is wrong with it comes back at once.
    pub(super) fn read(name: &str, file: String, text: &str) -> Result<Rule, Vec<Problem>> {
        let source = Source::new(file, text);
        let vetted = vetted::vetted(&source)?;
        let rule = Rule {
            name: name.to_owned(),
            title: vetted.title,
            why: vetted.why,
            caution: vetted.caution,
            text: text.to_owned(),
            source,
            places: vetted.places,
            tree: vetted.tree,
            applies_to: vetted.applies_to,
            each: vetted.each,
            of_yard: vetted.of_yard,
            examples: vetted.examples,
        };
        let failed = rule.tried_by(&rule.examples);
        if failed.is_empty() { Ok(rule) } else { Err(failed) }
    }

    /// How many examples it was tried by.
    pub fn example_count(&self) -> usize {
        self.examples.len()
    }

    /// What the examples show to be wrong; what several of them run into is said once.
    fn tried_by(&self, examples: &[Example]) -> Vec<Problem> {
        let mut otherwise: Vec<(&Example, String, usize)> = Vec::new();
        let mut failures: Vec<(Problem, Vec<&str>)> = Vec::new();
        for example in examples {
            match self.tried(example) {
                Tried::AsExpected => {}
                Tried::Otherwise(said) => match otherwise.iter_mut().find(|(_, known, _)| *known == said) {
                    Some((_, _, others)) => *others += 1,
                    None => otherwise.push((example, said, 0)),
                },
                Tried::Failed(failure) => match failures.iter_mut().find(|(known, _)| *known == failure) {
                    Some((_, names)) => names.push(&example.name),
                    None => failures.push((failure, vec![&example.name])),
                },
            }
        }
        let failures = failures.into_iter().map(|(mut failure, names)| {
            let met = match names[..] {
                [name] => format!("in the example \"{name}\""),
                _ => format!("in {} of its examples", names.len()),
            };
            failure.what = format!("{} ({met})", failure.what);
            failure
        });
        let otherwise =
            otherwise.iter().map(|(example, said, others)| self.says_otherwise(example, said, *others));
        failures.chain(otherwise).collect()
    }

    /// That the rule says something else of an example, and the same of others that expect something else too.
    fn says_otherwise(&self, example: &Example, said: &str, others: usize) -> Problem {
        let others = match others {
            0 => String::new(),
            1 => "; the same of another example, which expects something else too".to_owned(),
            _ => format!("; the same of {others} other examples, which expect something else too"),
        };
        let (name, expected) = (&example.name, &example.expected);
        let what = format!("the example \"{name}\" expects \"{expected}\", but the rule says {said}{others}");
        let help = "correct the rule if the example is right, or the example if the rule is".to_owned();
        self.source.problem(Slip { at: self.source.at(example.position), length: 0, what, help })
    }

    /// What the rule makes of an example.
    fn tried(&self, example: &Example) -> Tried {
        let subject = Subject::new(example.about.clone());
        let answers = match self.ask(&subject, &mut Scope::new()) {
            Said::NotApplying(_) => Vec::new(),
            Said::Answers(answers) => answers,
        };
        if let Some(failure) = answers.iter().find_map(|answer| answer.failure.clone()) {
            return Tried::Failed(failure);
        }
        let said = examples::outcome(answers.iter().map(|answer| &answer.verdict));
        if said == example.expected {
            return Tried::AsExpected;
        }
        let detail = answers.iter().find_map(|answer| match &answer.verdict {
            Verdict::Raised(raised) => Some(format!(": `{}`", raised.text)),
            Verdict::CannotTell { missing } => Some(format!(", for want of: {}", missing.join(", "))),
            Verdict::Clear | Verdict::TooLongAgo => None,
        });
        Tried::Otherwise(format!("\"{said}\"{}", detail.unwrap_or_default()))
    }

    /// Asks the rule about a machine, or about the yard.
    pub(super) fn ask(&self, subject: &Arc<Subject>, scope: &mut Scope<'_>) -> Said {
        let machine = subject.in_hand();
        if self.applies_to {
            subject.begin_asking();
            let failed = match self.call(scope, "applies_to", (machine.clone(),)) {
                Ok(answer) => match answer.as_bool() {
                    Ok(true) => None,
                    Ok(false) => return Said::NotApplying(subject.lacking()),
                    Err(_) => Some(self.not_given(
                        (machine.of_machine(), String::new()),
                        "applies_to",
                        "yes or no",
                        &answer,
                    )),
                },
                Err(error) => Some(self.stopped(
                    (machine.of_machine(), String::new()),
                    "applies_to",
                    &error,
                    Vec::new(),
                )),
            };
            if let Some(failed) = failed {
                return Said::Answers(vec![failed]);
            }
        }
        if self.each.is_none() {
            return Said::Answers(vec![self.judge(scope, subject, machine, None)]);
        }
        self.judge_each(scope, subject, &machine)
    }

    /// Whether that `each` lists nothing is an answer: that nothing was filled or ridden is none.
    fn none_is_an_answer(&self) -> bool {
        matches!(self.each, Some(Sort::Thing(kind)) if kind.none_is_an_answer())
    }

    /// Judges every thing that `each` lists.
    fn judge_each(&self, scope: &mut Scope<'_>, subject: &Arc<Subject>, machine: &Thing) -> Said {
        // What `applies_to` asked for in vain did not keep it from applying.
        subject.begin_asking();
        let items = match self.call(scope, "each", (machine.clone(),)) {
            Ok(list) => list,
            Err(error) => {
                return Said::Answers(vec![self.stopped(
                    (machine.of_machine(), String::new()),
                    "each",
                    &error,
                    Vec::new(),
                )]);
            }
        };
        let things: Option<Vec<Thing>> = items
            .as_array_ref()
            .ok()
            .and_then(|list| list.iter().map(|item| item.clone().try_cast::<Thing>()).collect());
        let answers = match things {
            Some(things) if things.is_empty() && self.none_is_an_answer() => {
                vec![Answered {
                    machine: machine.of_machine(),
                    key: String::new(),
                    verdict: Verdict::Clear,
                    failure: None,
                    evidence: Vec::new(),
                }]
            }
            Some(things) if things.is_empty() => return Said::NotApplying(subject.lacking()),
            Some(things) => things
                .into_iter()
                .map(|item| self.judge(scope, subject, machine.clone(), Some(item)))
                .collect(),
            None => vec![self.not_given(
                (machine.of_machine(), String::new()),
                "each",
                "a list of the machine's things",
                &items,
            )],
        };
        Said::Answers(answers)
    }

    fn judge(
        &self,
        scope: &mut Scope<'_>,
        subject: &Arc<Subject>,
        machine: Thing,
        item: Option<Thing>,
    ) -> Answered {
        let about = item.as_ref().unwrap_or(&machine);
        let of = (about.of_machine(), about.key());
        subject.begin_judging();
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
                    let verdict = with_rule_of_thumb(given.verdict.clone(), &evidence);
                    Answered { machine: of.0, key: of.1, verdict, failure: None, evidence }
                }
                None => self.not_given(of, "judge", "an answer", &answer),
            },
            Err(error) => self.stopped(of, "judge", &error, evidence),
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
    fn stopped(&self, of: Of, function: &str, error: &EvalAltResult, evidence: Vec<Evidence>) -> Answered {
        if let EvalAltResult::ErrorRuntime(value, _) = error.unwrap_inner()
            && let Some(missing) = value.read_lock::<Missing>()
        {
            let verdict = Verdict::CannotTell { missing: missing.0.clone() };
            return Answered { machine: of.0, key: of.1, verdict, failure: None, evidence };
        }
        self.failed(of, language_errors::of_running(error, function, &self.source, &self.places), evidence)
    }

    fn not_given(&self, of: Of, function: &str, asked: &str, got: &Dynamic) -> Answered {
        let at = self.places.names.get(function).copied().unwrap_or(0);
        let what = format!("`{function}` must give {asked}, and gave {}", words_of(got));
        let help = format!("end every path through `{function}` with {asked}");
        self.failed(of, Slip { at, length: 0, what, help }, Vec::new())
    }

    fn failed(&self, of: Of, slip: Slip, evidence: Vec<Evidence>) -> Answered {
        let problem = self.source.problem(slip);
        let verdict = Verdict::CannotTell { missing: vec![format!("a rule that works ({})", problem.place)] };
        Answered { machine: of.0, key: of.1, verdict, failure: Some(problem), evidence }
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
