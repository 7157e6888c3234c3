//! `tickover rules`: list them, vet files, try one, print the words that they can use.

use std::path::PathBuf;

use jiff::civil::Date;

use super::arguments::{RulesSubverb, RulesVerb};
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, rule_trial, say};
use crate::problem::{Problem, Severity, counted};
use crate::round::{self, YardFolder};
use crate::rules::{self, Rule, RuleFile};

/// Runs the finer verb.
pub(super) fn run(what: &RulesVerb) -> u8 {
    let folder = YardFolder::at(&what.place.yard);
    match &what.verb {
        None => list(&folder),
        Some(RulesSubverb::Check { files, today }) if files.is_empty() => ask(&folder, *today),
        Some(RulesSubverb::Check { files, .. }) => check(files),
        Some(RulesSubverb::Try { file, today, over }) => rule_trial::run(&folder, file, *today, *over),
        Some(RulesSubverb::Words) => {
            say::out(&rules::words());
            DONE
        }
    }
}

/// Lists the rules as the next morning would take them.
fn list(folder: &YardFolder) -> u8 {
    if !folder.is_laid_out() {
        say::problems(&[round::no_yard(folder)]);
        return COULD_NOT_RUN;
    }
    let (book, problems) = round::rules_in_force(folder);
    report(book.rules(), &[problems, book.notes().to_vec()].concat())
}

/// Vets all rules of a yard folder, and asks them about its machines.
fn ask(folder: &YardFolder, day: Option<Date>) -> u8 {
    let asked = match round::ask_rules(&rule_trial::only_looks(folder, day)) {
        Ok(asked) => asked,
        Err(problems) => {
            say::problems(&problems);
            return COULD_NOT_RUN;
        }
    };
    let code = report(asked.rules.rules(), &[]);
    let machines = counted(asked.machines, "machine");
    say::out(&format!("\nAsked about {machines} as of {}:", asked.today.strftime("%a %-d %b %Y")));
    for (name, said) in &asked.said {
        let of = match said.applies_to {
            _ if asked.rules.is_of_yard(name) => "looks at the whole yard".to_owned(),
            0 => format!("applies to none of {machines}"),
            some => format!("applies to {}", counted(some, "machine")),
        };
        let raises = format!("raises something for {}", said.raises);
        let line = format!("{name:<24} {of}: {raises}, cannot tell of {}", said.cannot_tell);
        say::out(&line);
    }
    code.max(report([], &asked.problems))
}

/// Vets single files, each by itself.
fn check(files: &[PathBuf]) -> u8 {
    let mut worst = DONE;
    for file in files {
        let shown = file.parent().map_or_else(String::new, |parent| parent.to_string_lossy().into_owned());
        let vetted = RuleFile::read(file, &shown).vet(&shown);
        worst = worst.max(match &vetted {
            Ok(rule) => report([rule], &rule.notes),
            Err(problems) => report([], problems),
        });
    }
    worst
}

fn report<'a>(in_order: impl IntoIterator<Item = &'a Rule>, problems: &[Problem]) -> u8 {
    for rule in in_order {
        say::out(&format!("{:<24} {}: {}", rule.name, rule.title, rule.why));
    }
    say::problems(problems);
    let is_sound = problems.iter().all(|problem| problem.severity != Severity::Error);
    if is_sound { DONE } else { NEEDS_A_PERSON }
}
