//! The slips that owners make in a rule file, each with the whole message that they get.

use std::collections::BTreeMap;

use super::RuleBook;
use super::tests::file;

/// The slips, each with what is replaced by what in the small rule below, and the whole of what is said of it.
const SLIPS: &str = include_str!("slip_tests.txt");

/// A small rule that works; each case breaks one thing in it.
const WORKING: &str = r#"// A small rule.
const TITLE = "Long ride";
const WHY   = "After a long ride the chain wants oil.";
const LONG  = 300.miles;
const AGO   = 14.days;

fn applies_to(machine) { machine.kind != "scooter" and machine.has.clock }

fn judge(machine) {
    let who = machine.maybe.customer ?? "the customer";
    if machine.clock > LONG and machine.clock_day > machine.today - AGO {
        return ring(`Ring ${who}: ${machine.name} shows ${machine.clock}.`).by(machine.today);
    }
    clear()
}

const EXAMPLES = [
    given("far",  #{ today: "2026-03-02", kind: "moped", clock: 400.miles }).expect("ring"),
    given("near", #{ today: "2026-03-02", kind: "moped", clock: 40.miles }).expect("clear"),
];
"#;

/// Everything that is said of the rule after one replacement.
fn said(from: &str, to: &str) -> String {
    assert!(from.is_empty() || WORKING.contains(from), "the case replaces nothing: {from}");
    let text = if from.is_empty() { WORKING.to_owned() } else { WORKING.replacen(from, to, 1) };
    let (_, problems) = RuleBook::from_files(&[file("long-ride", &text)], "rules", &BTreeMap::new());
    let opening = "error: `long-ride` is not in force\n  --> rules/long-ride.rhai\nhelp: correct the file; nothing is judged by this rule until then";
    let mut shown: Vec<String> = problems.iter().map(ToString::to_string).collect();
    if !shown.is_empty() {
        assert_eq!(shown.remove(0), opening);
    }
    shown.join("\n\n")
}

#[test]
fn every_slip_is_told_by_line_and_column_with_what_to_write() {
    let mut cases = 0;
    for case in SLIPS.split("=== ").skip(1) {
        let (slip, rest) = case.split_once("\nreplace: ").expect("a case says what it replaces");
        let (from, rest) = rest.split_once("\nby: ").expect("a case says by what");
        let (to, expected) = rest.split_once('\n').expect("a case says what is expected");
        let plain = |text: &str| text.replace("\\n", "\n");
        assert_eq!(said(&plain(from), &plain(to)), expected.trim_end(), "{slip}");
        cases += 1;
    }
    assert!(cases >= 20, "only {cases} slips");
}

#[test]
fn the_rule_that_the_slips_are_made_in_works() {
    assert_eq!(said("", ""), "");
}
