//! `tickover rules`: list them, vet files, print the words that they can use.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use jiff::tz::TimeZone;

use super::arguments::{RulesSubverb, RulesVerb};
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, say};
use crate::problem::{Place, Problem};
use crate::round::{self, YardFolder};
use crate::rules::{self, RuleBook, RuleFile};
use crate::today;

/// Runs the finer verb.
pub(super) fn run(what: &RulesVerb) -> u8 {
    let folder = YardFolder::at(&what.place.yard);
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

/// Lists the rules as the next morning would take them.
fn list(folder: &YardFolder) -> u8 {
    if !folder.is_laid_out() {
        say::problems(&[round::no_yard(folder)]);
        return COULD_NOT_RUN;
    }
    report(&round::rules_in_force(folder, today::day_in(&TimeZone::UTC)))
}

/// Vets single files, each by itself.
fn check(files: &[PathBuf]) -> u8 {
    let mut worst = DONE;
    for file in files {
        let text = fs::read_to_string(file).map_err(|cause| {
            Problem::error(
                Place::file(file.to_string_lossy()),
                format!("could not be read: {cause}"),
                "Check the name, and that it is a text file in UTF-8.",
            )
        });
        let name = file.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
        let shown = file.parent().map_or_else(String::new, |parent| parent.to_string_lossy().into_owned());
        worst =
            worst.max(report(&RuleBook::from_files(&[RuleFile { name, text }], &shown, &BTreeMap::new())));
    }
    worst
}

fn report((book, problems): &(RuleBook, Vec<Problem>)) -> u8 {
    for rule in book.rules() {
        say::out(&format!("{:<20} {}", rule.name, rule.title));
    }
    say::problems(problems);
    if problems.is_empty() { DONE } else { NEEDS_A_PERSON }
}
