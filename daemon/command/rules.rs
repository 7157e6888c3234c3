//! `tickover rules`: list them, vet files, try one, print the words that they can use.

use std::path::PathBuf;

use super::arguments::{RulesSubverb, RulesVerb};
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, rule_trial, say};
use crate::problem::{Problem, Severity};
use crate::round::{self, YardFolder};
use crate::rules::{self, Rule, RuleFile};

/// Runs the finer verb.
pub(super) fn run(what: &RulesVerb) -> u8 {
    let folder = YardFolder::at(&what.place.yard);
    match &what.verb {
        None => list(&folder),
        Some(RulesSubverb::Check { files }) if files.is_empty() => list(&folder),
        Some(RulesSubverb::Check { files }) => check(files),
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
