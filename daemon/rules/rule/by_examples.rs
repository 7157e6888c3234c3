//! How a rule is tried by its own examples.

use super::Rule;
use crate::findings::Verdict;
use crate::problem::Problem;
use crate::rules::both_ways::Ways;
use crate::rules::direct::Room;
use crate::rules::examples::{self, Example};
use crate::rules::source::Slip;
use crate::rules::{Judged, time_allowed, vetted};

/// What came of trying a rule by one of its examples.
enum Tried {
    /// It says what the example expects.
    AsExpected,
    /// It says something else, and this.
    Otherwise(Otherwise),
    /// It fails.
    Failed(Problem),
}

/// What a rule says of an example that expects something else.
#[derive(PartialEq, Eq)]
struct Otherwise {
    /// The word that the example would have to expect.
    outcome: &'static str,
    /// The text, or what is missing.
    detail: String,
}

impl Rule {
    /// Its examples, made anew from its text.
    pub(in crate::rules) fn examples(&self) -> Vec<Example> {
        let made = time_allowed::of_one_file(|| vetted::vetted(&self.source));
        made.map(|vetted| vetted.examples).unwrap_or_default()
    }

    /// On which examples the rule fails, and of which it says something else than they expect; what several of them
    /// run into is said once.
    pub(super) fn tried_by(&self, examples: &[Example]) -> (Vec<Problem>, Vec<Problem>) {
        let mut otherwise: Vec<(&Example, Otherwise, Vec<&str>)> = Vec::new();
        let mut failures: Vec<(Problem, Vec<&str>)> = Vec::new();
        for (tried, example) in examples.iter().enumerate() {
            if time_allowed::file_is_late() {
                return (vec![self.takes_too_long_to_try(tried, example)], Vec::new());
            }
            match self.tried(example) {
                Tried::AsExpected => {}
                Tried::Otherwise(said) => match otherwise.iter_mut().find(|(_, known, _)| *known == said) {
                    Some((_, _, others)) => others.push(&example.name),
                    None => otherwise.push((example, said, Vec::new())),
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
            otherwise.iter().map(|(example, said, others)| self.says_otherwise(example, said, others));
        (failures.collect(), otherwise.collect())
    }

    /// That the time of a file was used up before all of its examples were tried.
    fn takes_too_long_to_try(&self, tried: usize, next: &Example) -> Problem {
        let what = format!(
            "the examples take too long: {tried} of {} were tried in the time that a file has",
            self.examples
        );
        let help = "make the rule simpler, or its examples fewer or smaller".to_owned();
        self.source.problem(Slip::new(self.source.at(next.position), what, help))
    }

    /// That the rule says something else of an example, and the same of others that expect something else too.
    fn says_otherwise(&self, example: &Example, said: &Otherwise, others: &[&str]) -> Problem {
        /// The most that are named: as many as a screen holds.
        const NAMED: usize = 20;
        let mut named: Vec<String> = others.iter().take(NAMED).map(|name| format!("\"{name}\"")).collect();
        if others.len() > NAMED {
            named.push(format!("{} more", others.len() - NAMED));
        }
        let others = match named.as_slice() {
            [] => String::new(),
            [other] => format!("; the same of {other}, which expects something else too"),
            [all @ .., last] => {
                format!("; the same of {} and {last}, which expect something else too", all.join(", "))
            }
        };
        let (name, expected, outcome) = (&example.name, &example.expected, said.outcome);
        let detail = &said.detail;
        let what = format!(
            "the example \"{name}\" expects \"{expected}\", but the rule says \"{outcome}\"{detail}{others}"
        );
        let help = format!(
            "correct the rule if the example is right; write `.expect(\"{outcome}\")` behind the example if the rule is"
        );
        self.source.problem(Slip::new(self.source.at(example.position), what, help))
    }

    /// What the rule makes of an example.
    fn tried(&self, example: &Example) -> Tried {
        let ways = Ways::new(example.about.clone());
        let mut judged = Judged::default();
        ways.ask(self, &mut Room::default(), &mut judged);
        let (answers, failures) = (judged.judgements, judged.failures);
        if let Some(failure) = failures.into_iter().next() {
            return Tried::Failed(failure.problem);
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
        Tried::Otherwise(Otherwise { outcome: said, detail: detail.unwrap_or_default() })
    }
}
