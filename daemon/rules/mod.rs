//! The rule files: read, vetted and tried, then asked about each machine, in a closed room with limits.
//!
//! A file is one rule, and its name the rule's. A file that is wrong is not in force, or stays in force as it last
//! was; the others go on. A rule that fails on one machine cannot tell there; the other machines and rules go on.

mod answer;
mod example_keys;
mod examples;
mod facts;
mod names;
mod outline;
mod quantity;
mod reading;
mod rule;
mod sandbox;
mod shipped;
mod sort;
mod source;
mod thing;
mod vet;
mod vet_calls;
mod wording;
mod words;

#[cfg(test)]
mod hostile_tests;
#[cfg(test)]
mod slip_tests;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::fs;
use std::io::Read;
use std::path::Path;
use std::sync::Arc;

use rhai::Scope;

pub use rule::Rule;
pub use shipped::SHIPPED;
pub use words::words;

use crate::findings::Judgement;
use crate::problem::{Place, Problem};
use crate::reckon::Standing;
use crate::yard::{Machine, MachineId};
use rule::Said;
use sandbox::{FILE_BYTES, FILES};
use thing::Subject;

/// The ending of a rule file.
const ENDING: &str = "rhai";

/// The rules in force; once loaded they never change, so that a round judges every machine by the same.
pub struct RuleBook {
    rules: Vec<Rule>,
    not_in_force: Vec<String>,
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
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judged {
    /// Every answer, in the order of the rules; a rule that lacks a fact, or fails, says that it cannot tell.
    pub judgements: Vec<Judgement>,
    /// The rules that failed on this machine; their judgement is that they cannot tell.
    pub failures: Vec<Failure>,
    /// The rules that do not apply to this machine, or find nothing there to judge, in their order.
    pub not_applying: Vec<NotApplying>,
}

/// A rule that does not apply to a machine, and so says nothing of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotApplying {
    /// The rule's name.
    pub rule: String,
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

    /// The rules of a folder; a file that is wrong stays in force as it last was accepted, where it was.
    ///
    /// `accepted` holds for each rule's name the text that [`RuleBook::accepted`] last gave.
    pub fn load_with(
        folder: &Path,
        shown: &str,
        accepted: &BTreeMap<String, String>,
    ) -> (RuleBook, Vec<Problem>) {
        let (files, mut problems) = read_folder(folder, shown);
        let (book, slips) = RuleBook::from_files(&files, shown, accepted);
        problems.extend(slips);
        (book, problems)
    }

    /// The rules that the given files make.
    pub fn from_files(
        files: &[RuleFile],
        shown: &str,
        accepted: &BTreeMap<String, String>,
    ) -> (RuleBook, Vec<Problem>) {
        let mut book = RuleBook { rules: Vec::new(), not_in_force: Vec::new() };
        let mut problems = Vec::new();
        for RuleFile { name, text } in files {
            let file = if shown.is_empty() {
                format!("{name}.{ENDING}")
            } else {
                format!("{shown}/{name}.{ENDING}")
            };
            let read = text.as_ref().map_err(|problem| vec![problem.clone()]);
            match read.and_then(|text| Rule::read(name, file.clone(), text)) {
                Ok(rule) => book.rules.push(rule),
                Err(slips) => {
                    problems.extend(slips);
                    let last_good =
                        accepted.get(name).and_then(|text| Rule::read(name, file.clone(), text).ok());
                    problems.push(what_stays(name, &file, last_good.is_some()));
                    match last_good {
                        Some(rule) => book.rules.push(rule),
                        None => book.not_in_force.push(name.clone()),
                    }
                }
            }
        }
        book.rules.sort_by(|left, right| left.name.cmp(&right.name));
        book.not_in_force.sort();
        (book, problems)
    }

    /// The rules in force, by name.
    pub fn rules(&self) -> impl Iterator<Item = &Rule> {
        self.rules.iter()
    }

    /// The rule of that name, where it is in force.
    pub fn rule(&self, name: &str) -> Option<&Rule> {
        self.rules.iter().find(|rule| rule.name == name)
    }

    /// The names of the rule files of which no version is in force.
    pub fn not_in_force(&self) -> &[String] {
        &self.not_in_force
    }

    /// The text of each rule in force, to be kept for the day when its file is wrong.
    pub fn accepted(&self) -> BTreeMap<String, String> {
        self.rules.iter().map(|rule| (rule.name.clone(), rule.text.clone())).collect()
    }

    /// What all rules say of one machine on the day of its standing.
    pub fn judge(&self, machine: &Arc<Machine>, standing: &Arc<Standing>) -> Judged {
        let subject = Subject::new(Arc::clone(machine), Arc::clone(standing));
        let mut scope = Scope::new();
        let mut judged = Judged { judgements: Vec::new(), failures: Vec::new(), not_applying: Vec::new() };
        for rule in &self.rules {
            let answers = match rule.ask(&subject, &mut scope) {
                Said::Answers(answers) => answers,
                Said::NotApplying(missing) => {
                    judged.not_applying.push(NotApplying { rule: rule.name.clone(), missing });
                    continue;
                }
            };
            for answered in answers {
                if let Some(problem) = answered.failure {
                    let rule = rule.name.clone();
                    judged.failures.push(Failure { rule, machine: machine.id.clone(), problem });
                }
                judged.judgements.push(Judgement {
                    rule: rule.name.clone(),
                    machine: machine.id.clone(),
                    key: answered.key,
                    verdict: answered.verdict,
                    evidence: answered.evidence,
                });
            }
        }
        judged
    }
}

fn what_stays(name: &str, file: &str, last_good: bool) -> Problem {
    let (what, help) = if last_good {
        (
            format!("`{name}` stays in force as it last was"),
            "correct the file; it is then taken into force by itself",
        )
    } else {
        (format!("`{name}` is not in force"), "correct the file; nothing is judged by this rule until then")
    };
    Problem::error(Place::file(file), what, help)
}

/// The rule files of a folder by name.
fn read_folder(folder: &Path, shown: &str) -> (Vec<RuleFile>, Vec<Problem>) {
    let mut problems = Vec::new();
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => {
            let what = format!("the folder of rules cannot be read: {error}");
            return (
                Vec::new(),
                vec![Problem::error(
                    Place::file(shown),
                    what,
                    "look whether it is there, and whether it may be read",
                )],
            );
        }
    };
    let mut paths: Vec<_> = entries
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .filter(|path| path.extension().is_some_and(|ending| ending == ENDING))
        .collect();
    paths.sort();
    if paths.len() > FILES {
        let what = format!("there are {} rule files, and only the first {FILES} are read", paths.len());
        problems.push(Problem::error(Place::file(shown), what, "move some of them away"));
        paths.truncate(FILES);
    }
    let files = paths
        .iter()
        .map(|path| {
            let name = path.file_stem().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            let text = read_file(path).map_err(|what| {
                let file = format!("{shown}/{name}.{ENDING}");
                Problem::error(Place::file(file), what, "save it as a plain text file (UTF-8)")
            });
            RuleFile { name, text }
        })
        .collect();
    (files, problems)
}

fn read_file(path: &Path) -> Result<String, String> {
    let mut bytes = Vec::new();
    let file = fs::File::open(path).map_err(|error| format!("the rule file cannot be read: {error}"))?;
    file.take(FILE_BYTES + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| format!("the rule file cannot be read: {error}"))?;
    if bytes.len() as u64 > FILE_BYTES {
        return Err(format!("the rule file is larger than {} KiB", FILE_BYTES / 1024));
    }
    String::from_utf8(bytes).map_err(|_| "the rule file is not plain text".to_owned())
}
