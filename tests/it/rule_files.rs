//! Rule files that are wrong, doubled, or do not say what their owner means, as the program and its letter tell of them.

use std::fs;

use serde_json::Value;

use crate::program::{Yard, printed, said, tickover};

const DAY: &str = "2026-03-02";

/// The first service is due on one of the two machines.
const RULE: &str = "rules/first-service-due.rhai";

fn findings_of<'r>(run: &'r Value, rule: &str) -> Vec<&'r Value> {
    run["findings"].as_array().unwrap().iter().filter(|finding| finding["rule"] == rule).collect()
}

/// What stands in a letter before its first section.
fn top(letter: &str) -> &str {
    ["Keep in the yard: ", "Ring today: ", "Book in: "]
        .iter()
        .filter_map(|section| letter.find(section))
        .min()
        .map_or(letter, |at| &letter[..at])
}

fn in_a_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_broken_edit_of_a_shipped_rule_leaves_it_in_force_as_it_ships_where_nothing_was_kept() {
    let yard = Yard::of_two_machines();
    let good = fs::read_to_string(yard.path().join(RULE)).unwrap();
    let (sound, _) = yard.morning(DAY);
    assert_eq!(findings_of(&sound, "first-service-due").len(), 1);

    // A new yard, then one whose ledger is gone.
    for kept in [false, true] {
        if kept {
            yard.put(RULE, &good);
            assert_eq!(yard.kept_morning(DAY).1, Some(0));
            fs::remove_dir_all(yard.path().join("kept")).unwrap();
            fs::remove_dir_all(yard.path().join("digests")).unwrap();
        }
        yard.put(RULE, good.replace("14.days", "14.dys"));
        let (run, code) = yard.morning(DAY);
        assert_eq!(code, Some(1));
        assert_eq!(findings_of(&run, "first-service-due").len(), 1, "kept before: {kept}");
        let rules = run["rules"].as_array().unwrap();
        let rule = rules.iter().find(|rule| rule["rule"] == "first-service-due").unwrap();
        assert_eq!(rule["in_force"], true);
        let letter = yard.letter_in_a_line(DAY);
        let expected = "Meanwhile `first-service-due` is in force as it ships.";
        assert!(top(&letter).contains(expected), "{letter}");
    }

    // A rule of the owner's own has no such text.
    yard.put("rules/mine.rhai", "const TITLE = 1;");
    let letter = yard.letter_in_a_line(DAY);
    assert!(top(&letter).contains("Meanwhile `mine` is not in force."), "{letter}");
}

