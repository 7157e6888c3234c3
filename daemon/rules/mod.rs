//! The rule files: read, vetted and tried, then asked about each machine, in a closed room with limits.
//!
//! A file is one rule, and its name the rule's. A file that is wrong is not in force, or stays in force as it last
//! was; the others go on. A rule that fails on one machine cannot tell there; the other machines and rules go on.

mod allowance;
mod answer;
mod begun;
mod both_ways;
mod brackets;
mod code_and_texts;
mod compared_texts;
mod direct;
mod example_changes;
mod example_keys;
mod examples;
mod facts;
mod files;
mod folder;
mod frame;
mod glossary;
mod in_turn;
mod language_errors;
mod left_open;
mod links;
mod looked_up;
mod machine_in_hand;
mod meant_signs;
mod mends;
mod misnamed;
mod misplaced;
mod names;
mod nested;
mod no_brace;
mod numbers;
mod other_names;
mod outline;
mod part;
mod put_back;
mod put_right;
mod quantity;
mod reference;
mod required;
mod rule;
mod sandbox;
mod shipped;
mod side_by_side;
mod sort_of_value;
mod source;
mod sums;
mod text_met;
mod time_allowed;
mod too_large;
mod top_words;
mod uses;
mod value;
mod vet;
mod vet_calls;
mod vet_names;
mod vet_notes;
mod vet_sense;
mod vet_texts;
mod vet_unused;
mod vet_uses;
mod vetted;
mod ways;
mod words_page;

#[cfg(test)]
mod direct_tests;
#[cfg(test)]
mod files_tests;
#[cfg(test)]
mod hostile_tests;
#[cfg(test)]
mod never_tests;
#[cfg(test)]
mod several_slips_tests;
#[cfg(test)]
mod shipped_tests;
#[cfg(test)]
mod silence_tests;
#[cfg(test)]
mod slip_tests;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod unknown_tests;
#[cfg(test)]
mod uses_tests;
#[cfg(test)]
mod yard_tests;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

pub use allowance::{Allowance, UsedUp};
pub use example_changes::ExampleChange;
pub use rule::Rule;
pub use shipped::{SHIPPED, is_known, shipped, ships};
pub use words_page::{words, words_page};

use crate::findings::Judgement;
use crate::problem::{Place, Problem};
use crate::reckon::{Standing, WholeYard};
use crate::yard::{Machine, MachineId};
use both_ways::Ways;
use direct::Room;
use machine_in_hand::About;
use rule::Seniority;
use sort_of_value::Kind;
use time_allowed::{FOLDER, asked_within};

/// The rules in force; once loaded they never change, so that a round judges every machine by the same.
pub struct RuleBook {
    rules: Vec<Rule>,
    not_in_force: Vec<String>,
    /// The names of the rules that judge as they last were, or as they ship, since their files are wrong.
    as_they_were: BTreeSet<String>,
    notes: Vec<Problem>,
}

/// A rule file as it was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleFile {
    /// Its rule's name, which is the file's without the ending.
    pub name: String,
    /// Its text, or why it could not be read.
    pub text: Result<String, Problem>,
}

/// What all rules say of one machine.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Judged {
    /// Every answer, in the order of the rules; a rule that lacks a fact, or fails, says that it cannot tell.
    pub judgements: Vec<Judgement>,
    /// The rules that failed on this machine; their judgement is that they cannot tell.
    pub failures: Vec<Failure>,
    /// The rules that do not apply to this machine, or find nothing there to judge, in their order.
    pub not_applying: Vec<NotApplying>,
    /// The rules that cannot tell whether they apply to it; their judgement says what they lack.
    pub unsure: Vec<Arc<str>>,
}

/// A rule that does not apply to a machine, and so says nothing of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotApplying {
    /// The rule's name.
    pub rule: Arc<str>,
    /// The facts that it asked for before it said so and that are not known, in the trade's words; empty where
    /// everything that it asked for was known. Where there are any, that it does not apply settles nothing.
    pub missing: Vec<String>,
}

/// A rule that failed on a machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// The rule's name.
    pub rule: String,
    /// The machine's lasting name.
    pub machine: MachineId,
    /// What went wrong, on which line.
    pub problem: Problem,
}

impl RuleBook {
    /// The rules of a folder, which problems show under the given name; what is wrong comes back beside them.
    pub fn load(folder: &Path, shown: &str) -> (RuleBook, Vec<Problem>) {
        RuleBook::load_with(folder, shown, &BTreeMap::new())
    }

    /// The rules of a folder; a file that is wrong stays in force as it last was accepted, where it was, else as it ships.
    ///
    /// `accepted` holds for each rule's name the text that [`RuleBook::accepted`] last gave.
    pub fn load_with(
        folder: &Path,
        shown: &str,
        accepted: &BTreeMap<String, String>,
    ) -> (RuleBook, Vec<Problem>) {
        let (files, mut problems) = RuleFile::of_folder(folder, shown, accepted);
        let (book, slips) = RuleBook::from_files(&files, shown, accepted);
        problems.extend(slips);
        (book, problems)
    }

    /// The rules that the given files make; of a file that is wrong, what stays in force is said first.
    pub fn from_files(
        files: &[RuleFile],
        shown: &str,
        accepted: &BTreeMap<String, String>,
    ) -> (RuleBook, Vec<Problem>) {
        RuleBook::from_files_within(FOLDER, files, shown, accepted)
    }

    /// The same, with so much time for all files together.
    fn from_files_within(
        time: Duration,
        files: &[RuleFile],
        shown: &str,
        accepted: &BTreeMap<String, String>,
    ) -> (RuleBook, Vec<Problem>) {
        let mut book = RuleBook {
            rules: Vec::new(),
            not_in_force: Vec::new(),
            as_they_were: BTreeSet::new(),
            notes: Vec::new(),
        };
        let mut problems = Vec::new();
        let vetted = in_turn::vetted(files, shown, accepted, time);
        for (RuleFile { name, .. }, vetted) in files.iter().zip(vetted) {
            let slips = match vetted {
                Ok(rule) => {
                    book.notes.extend(rule.notes.iter().cloned());
                    book.rules.push(rule);
                    continue;
                }
                Err(slips) => slips,
            };
            let shown_as = files::shown_as(name, shown);
            let stays = Stays::of(name, &shown_as, accepted);
            problems.push(stays.said(name, &shown_as));
            problems.extend(slips);
            match stays {
                Stays::AsItWas(rule) | Stays::AsItShips(rule) => {
                    book.as_they_were.insert(name.clone());
                    book.rules.push(rule);
                }
                Stays::Nothing => book.not_in_force.push(name.clone()),
            }
        }
        for rule in &mut book.rules {
            if rule.seniority == Seniority::New && accepted.contains_key(&*rule.name) {
                rule.seniority = Seniority::InForce;
            }
        }
        book.rules.sort_by(|left, right| left.name.cmp(&right.name));
        book.not_in_force.sort();
        (book, problems)
    }

    /// A book of one rule, to try it.
    pub fn of_one(rule: Rule) -> RuleBook {
        let notes = rule.notes.clone();
        RuleBook { rules: vec![rule], not_in_force: Vec::new(), as_they_were: BTreeSet::new(), notes }
    }

    /// The rules in force, by name.
    pub fn rules(&self) -> impl Iterator<Item = &Rule> {
        self.rules.iter()
    }

    /// The rule of that name, where it is in force.
    pub fn rule(&self, name: &str) -> Option<&Rule> {
        self.rules.iter().find(|rule| *rule.name == *name)
    }

    /// Whether a rule in force looks at the whole yard, and not at one machine after another.
    pub fn is_of_yard(&self, name: &str) -> bool {
        self.rule(name).is_some_and(|rule| rule.of_yard)
    }

    /// The names of the rule files of which no version is in force.
    pub fn not_in_force(&self) -> &[String] {
        &self.not_in_force
    }

    /// Whether a rule judges as it last was, or as it ships, since its file is wrong.
    pub fn is_as_it_was(&self, name: &str) -> bool {
        self.as_they_were.contains(name)
    }

    /// The same without the rules that judge otherwise than their files say.
    #[must_use]
    pub fn as_written(mut self) -> RuleBook {
        self.rules.retain(|rule| !self.as_they_were.contains(&*rule.name));
        self.not_in_force.extend(std::mem::take(&mut self.as_they_were));
        self.not_in_force.sort();
        self
    }

    /// What the owners of the rules in force may not have meant, by the places in their files as they stand.
    pub fn notes(&self) -> &[Problem] {
        &self.notes
    }

    /// The same rules, each run in the language alone: what the direct way is held against, in tests and benchmarks.
    #[must_use]
    pub fn in_language_only(mut self) -> RuleBook {
        self.rules.iter_mut().for_each(Rule::run_in_language_only);
        self
    }

    /// The same rules, each run in the direct way alone: where that gives nothing, the rule fails.
    #[cfg(test)]
    fn in_direct_way_only(mut self) -> RuleBook {
        self.rules.iter_mut().for_each(Rule::run_in_direct_way_only);
        self
    }

    /// The text of each rule in force, to be kept for the day when its file is wrong.
    pub fn accepted(&self) -> BTreeMap<String, String> {
        self.rules.iter().map(|rule| (rule.name.to_string(), rule.text.clone())).collect()
    }

    /// What all rules say of one machine on the day of its standing.
    pub fn judge(&self, machine: &Arc<Machine>, standing: &Arc<Standing>) -> Judged {
        self.judge_within(&Allowance::of(self), machine, standing)
    }

    /// The same, as part of a round: a rule that has taken all of its time is not asked any more.
    pub fn judge_within(
        &self,
        allowance: &Allowance,
        machine: &Arc<Machine>,
        standing: &Arc<Standing>,
    ) -> Judged {
        self.ask(About::Machine(Arc::clone(machine), Arc::clone(standing)), allowance)
    }

    /// What the rules that look at the whole yard say of it.
    pub fn judge_yard(&self, yard: &Arc<WholeYard>) -> Judged {
        self.judge_yard_within(&Allowance::of(self), yard)
    }

    /// The same, as part of a round.
    pub fn judge_yard_within(&self, allowance: &Allowance, yard: &Arc<WholeYard>) -> Judged {
        self.ask(About::Yard(Arc::clone(yard)), allowance)
    }

    /// What the rules say that look at such a thing.
    fn ask(&self, about: About, allowance: &Allowance) -> Judged {
        let of_yard = about.kind() == Kind::Yard;
        let ways = Ways::new(about);
        let mut room = Room::default();
        let mut judged = Judged {
            judgements: Vec::with_capacity(self.rules.len()),
            not_applying: Vec::with_capacity(self.rules.len()),
            failures: Vec::new(),
            unsure: Vec::new(),
        };
        let mut began = Instant::now();
        for (place, rule) in self.rules.iter().enumerate().filter(|(_, rule)| rule.of_yard == of_yard) {
            let Some(left) = allowance.left(place) else { continue };
            let said_before = judged.judgements.len() + judged.not_applying.len();
            asked_within(left, began, || ways.ask(rule, &mut room, &mut judged));
            let said = judged.judgements.len() + judged.not_applying.len() - said_before;
            // What one rule ends with is when the next begins: to look at the time costs as much as a short judgement.
            let ended = Instant::now();
            allowance.take(place, ended - began, said);
            began = ended;
        }
        judged
    }
}

/// What is in force in the place of a file that is wrong.
enum Stays {
    /// The rule as it last was accepted.
    AsItWas(Rule),
    /// The rule as it ships, where nothing kept tells how it was.
    AsItShips(Rule),
    /// Nothing.
    Nothing,
}

impl Stays {
    fn of(name: &str, file: &str, accepted: &BTreeMap<String, String>) -> Stays {
        let read = |text: &str| Rule::read(name, file.to_owned(), text, Vec::new()).ok();
        let shipped = || shipped::shipped_text(name).and_then(read);
        match accepted.get(name).and_then(|text| read(text)) {
            Some(rule) => Stays::AsItWas(rule),
            None => shipped().map_or(Stays::Nothing, Stays::AsItShips),
        }
    }

    fn said(&self, name: &str, file: &str) -> Problem {
        let (what, help) = match self {
            Stays::AsItWas(_) => (
                format!("`{name}` stays in force as it last was"),
                "correct the file; it is then taken into force by itself",
            ),
            Stays::AsItShips(_) => (
                format!("`{name}` is in force as it ships"),
                "correct the file; it is then taken into force by itself",
            ),
            Stays::Nothing => (
                format!("`{name}` is not in force"),
                "correct the file; nothing is judged by this rule until then",
            ),
        };
        Problem::error(Place::file(file), what, help)
    }
}
