//! What the letter says where something is wrong with very many rule files: the first of them, and how many there are.

use std::collections::BTreeSet;

use crate::problem::{Place, Problem, counted};
use crate::rules;

/// The most rule files of which the letter says what is wrong: more than anybody mends before the first customer comes.
/// Our decision.
const TOLD: usize = 10;

/// The trouble of a round as its letter tells it. Where it is about more rule files than are told, each of these is named
/// once, those that ship first; what else there is goes before them, and the rest is counted.
pub(super) fn in_short(trouble: &[Problem]) -> Vec<Problem> {
    let files: BTreeSet<&str> = trouble.iter().filter_map(rule_of).collect();
    if files.len() <= TOLD {
        return trouble.to_vec();
    }
    let mut in_order: Vec<&str> = files.into_iter().collect();
    in_order.sort_by_key(|rule| !rules::ships(rule));
    let (told, rest) = in_order.split_at(TOLD);
    let first_of = |rule: &&str| trouble.iter().find(|problem| rule_of(problem) == Some(rule));
    let others = trouble.iter().filter(|problem| rule_of(problem).is_none());
    let mut short: Vec<Problem> = others.chain(told.iter().filter_map(first_of)).cloned().collect();
    short.push(Problem::error(
        Place::file("rules"),
        format!("something is wrong with {}", counted(rest.len(), "other rule file")),
        "`tickover rules check` says of each what it is.",
    ));
    short
}

/// The rule whose file a problem is about.
fn rule_of(problem: &Problem) -> Option<&str> {
    problem.place.file.strip_prefix("rules/")?.strip_suffix(".rhai")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(file: &str, what: &str) -> Problem {
        Problem::error(Place::file(file), what, "")
    }

    #[test]
    fn of_more_rule_files_than_are_told_each_is_named_once_and_the_rest_are_counted() {
        let said = |trouble: &[Problem]| -> Vec<(String, String)> {
            in_short(trouble).into_iter().map(|problem| (problem.place.file, problem.what)).collect()
        };
        let mut trouble: Vec<Problem> =
            (10..20).map(|number| of(&format!("rules/bad{number}.rhai"), "wrong")).collect();
        trouble.push(of("rules/bad10.rhai", "slow, too"));
        trouble.push(of("sheets/a.csv", "gone"));
        assert_eq!(in_short(&trouble), trouble, "ten files have room");

        trouble.insert(5, of("rules/mot-due.rhai", "wrong"));
        trouble.push(of("rules/bad20.rhai", "wrong"));
        let mut expected = vec![("sheets/a.csv", "gone"), ("rules/mot-due.rhai", "wrong")];
        let files: Vec<String> = (10..19).map(|number| format!("rules/bad{number}.rhai")).collect();
        expected.extend(files.iter().map(|file| (file.as_str(), "wrong")));
        expected.push(("rules", "something is wrong with 2 other rule files"));
        let expected: Vec<(String, String)> =
            expected.iter().map(|(file, what)| ((*file).to_owned(), (*what).to_owned())).collect();
        assert_eq!(said(&trouble), expected);
    }
}
