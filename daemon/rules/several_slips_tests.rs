//! Several slips in one rule file: all are told at once, in the file's order, and nothing that is a mere consequence.

use super::slip_tests::{WORKING, plain};
use super::tests::file;
use crate::problem::Spot;

/// Each case: what is replaced by what in the small rule, one after another, and what is said, each with line and column.
const CASES: &str = include_str!("several_slips_tests.txt");

fn said(text: &str) -> Vec<String> {
    let problems = file("long-ride", text).vet("rules").err().unwrap_or_default();
    let place = |spot: &Spot| match spot {
        Spot::Text { line, column, .. } => format!("{line}:{column}"),
        other => format!("{other:?}"),
    };
    problems.iter().map(|problem| format!("{} {}", place(&problem.place.spot), problem.what)).collect()
}

#[test]
fn all_slips_of_a_file_are_told_at_once_and_nothing_that_only_comes_of_them() {
    let (mut cases, mut untold) = (0, Vec::new());
    for case in CASES.split("=== ").skip(1) {
        let mut lines = case.trim_end().lines();
        let (name, mut text) = (lines.next().expect("a case has a name"), WORKING.to_owned());
        let mut expected = Vec::new();
        while let Some(line) = lines.next() {
            let Some(from) = line.strip_prefix("replace: ") else {
                expected.push(line);
                continue;
            };
            let to = lines.next().and_then(|line| line.strip_prefix("by:")).expect("a case says by what");
            let (from, to) = (plain(from), plain(to.strip_prefix(' ').unwrap_or_default()));
            assert!(text.contains(&from), "{name} replaces nothing: {from}");
            text = text.replacen(&from, &to, 1);
        }
        let said = said(&text);
        if said != expected {
            untold.push(format!("{name}: expected\n{}\nand got\n{}\n", expected.join("\n"), said.join("\n")));
        }
        cases += 1;
    }
    assert!(untold.is_empty(), "{}", untold.join("\n"));
    assert!(cases >= 30, "only {cases} files");
}

/// What is said of a shipped rule without one of its characters, and on which lines.
fn lines_told_without(name: &str, text: &str, at: usize, length: usize) -> Vec<usize> {
    let without = format!("{}{}", &text[..at], &text[at + length..]);
    let problems = file(name, &without).vet("rules").err().unwrap_or_default();
    let line = |spot: &Spot| match spot {
        Spot::Text { line, .. } => *line,
        other => panic!("{name}: {other:?}"),
    };
    problems.iter().map(|problem| line(&problem.place.spot)).collect()
}

#[test]
fn a_brace_that_is_forgotten_is_told_once_whatever_comes_of_it() {
    let mut forgotten = 0;
    for (name, text) in super::shipped::shipped() {
        let opens = |at: &usize| !text[..*at].ends_with(['#', '$']);
        for at in text.match_indices('{').map(|(at, _)| at).filter(opens) {
            // What stands where it is missing may stand on the next line.
            let line = text[..at].lines().count();
            let told = lines_told_without(name, text, at, 1);
            assert!(told == [line] || told == [line + 1], "{name}, line {line}: {told:?}");
            forgotten += 1;
        }
    }
    assert!(forgotten > 100, "only {forgotten} braces");
}

#[test]
fn an_example_asks_in_vain_for_no_constant_that_was_told_not_to_be_closed() {
    let mut forgotten = 0;
    for (name, text) in super::shipped::shipped() {
        for (at, sign) in text.match_indices([']', '"']) {
            let start = text[..at].rfind('\n').map_or(0, |end| end + 1);
            if !text[start..].starts_with("const ") || text[start..].starts_with("const EXAMPLES") {
                continue;
            }
            let line = text[..at].lines().count();
            let told = lines_told_without(name, text, at, sign.len());
            assert!(
                !told.is_empty() && told.iter().all(|told| *told == line),
                "{name}, line {line}: {told:?}"
            );
            forgotten += 1;
        }
    }
    assert!(forgotten > 100, "only {forgotten} signs");
}
