//! `tickover rules`: list them, vet files, print the words that they can use.

use std::path::{Path, PathBuf};

use super::arguments::{RulesSubverb, RulesVerb};
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, say};
use crate::problem::{Place, Problem, counted};
use crate::round::YardFolder;
use crate::rules::{self, RuleBook};

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

/// Loads a folder's rules and lists those in force.
fn list(folder: &Path) -> u8 {
    if !folder.is_dir() {
        say::problems(&[Problem::error(
            Place::file(folder.to_string_lossy()),
            "there is no such folder of rules",
            "Run it in the yard folder, or name that with --yard.",
        )]);
        return COULD_NOT_RUN;
    }
    report(&RuleBook::load(folder, "rules"))
}

/// Vets single files.
fn check(files: &[PathBuf]) -> u8 {
    let mut sources = Vec::new();
    for file in files {
        match std::fs::read_to_string(file) {
            Ok(source) => sources.push((file.to_string_lossy().into_owned(), source)),
            Err(cause) => {
                say::problems(&[Problem::error(
                    Place::file(file.to_string_lossy()),
                    format!("could not be read: {cause}"),
                    "Check the name, and that it is a text file in UTF-8.",
                )]);
                return COULD_NOT_RUN;
            }
        }
    }
    report(&RuleBook::from_sources(&sources))
}

fn report((book, problems): &(RuleBook, Vec<Problem>)) -> u8 {
    for rule in book.rules() {
        say::out(&format!("{:<22} {}", rule.name(), rule.title()));
    }
    say::problems(problems);
    say::talk(&counted(book.rules().count(), "rule").replace("rules", "rules in force"));
    if problems.is_empty() { DONE } else { NEEDS_A_PERSON }
}
