//! `tickover rules`: list them, vet files, print the words that they can use.

use std::path::{Path, PathBuf};

use super::arguments::{RulesSubverb, RulesVerb};
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, say};
use crate::problem::{Place, Problem};
use crate::round::YardFolder;
use crate::rules::{self, Rule, RuleFile};

/// Runs the finer verb.
pub(super) fn run(what: &RulesVerb) -> u8 {
    let folder = YardFolder::at(&what.place.yard).rules();
    match &what.verb {
        None => list(&folder),
        Some(RulesSubverb::Check { files }) if files.is_empty() => list(&folder),
        Some(RulesSubverb::Check { files }) => check(files),
        Some(RulesSubverb::Words) => {
            say::out(&rules::words());
            DONE
        }
    }
}

/// Vets a folder's rules and lists those in which nothing is wrong.
fn list(folder: &Path) -> u8 {
    if !folder.is_dir() {
        say::problems(&[Problem::error(
            Place::file(folder.to_string_lossy()),
            "there is no such folder of rules",
            "Run it in the yard folder, or name that with --yard.",
        )]);
        return COULD_NOT_RUN;
    }
    let (files, mut problems) = RuleFile::of_folder(folder, "rules");
    let mut in_order = Vec::new();
    for file in files {
        match file.vet("rules") {
            Ok(rule) => in_order.push(rule),
            Err(slips) => problems.extend(slips),
        }
    }
    report(&in_order, &problems)
}

/// Vets single files, each by itself.
fn check(files: &[PathBuf]) -> u8 {
    let mut worst = DONE;
    for file in files {
        let shown = file.parent().map_or_else(String::new, |parent| parent.to_string_lossy().into_owned());
        let vetted = RuleFile::read(file, &shown).vet(&shown);
        worst = worst.max(match &vetted {
            Ok(rule) => report([rule], &[]),
            Err(problems) => report([], problems),
        });
    }
    worst
}

fn report<'a>(in_order: impl IntoIterator<Item = &'a Rule>, problems: &[Problem]) -> u8 {
    for rule in in_order {
        say::out(&format!("{:<20} {}", rule.name, rule.title));
    }
    say::problems(problems);
    if problems.is_empty() { DONE } else { NEEDS_A_PERSON }
}
