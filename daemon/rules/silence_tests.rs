//! What a rule would get wrong in silence: a no where nobody can know, and a word that a sheet writes otherwise.

use std::collections::BTreeMap;

use super::RuleBook;
use super::tests::{file, read, said, small};

#[test]
fn that_a_service_was_never_done_is_not_said_of_a_machine_whose_earlier_life_nobody_here_knows() {
    let rule = small(
        "if machine.has.registered and not machine.has_done(\"brake fluid\") { return ring(`never done`); } clear()",
        "clear",
    );
    let (book, problems) = read(&[file("small", &rule)], &BTreeMap::new());
    assert_eq!(problems, "");
    let told = |facts: &str| {
        let old = r#"today: "2026-03-02", registered: "2018-05-01", clock: 21_000.miles"#;
        said(&book, &format!("{old}{facts}"))
    };
    let since_when = "small [] cannot tell: handover, sale or arrival here";
    assert_eq!(told(""), since_when);
    assert_eq!(told(r#", customer: "A. Rider""#), since_when);
    assert_eq!(told(r#", mark: "AB18 CDE""#), since_when);
    let before = "small [] cannot tell: record of the brake fluid before the shop had it";
    for since in ["sold", "arrived"] {
        assert_eq!(told(&format!(r#", {since}: "2026-01-05""#)), before, "{since}");
    }
    assert_eq!(told(r#", sold: "2018-05-03""#), "small [] RingToday: never done");
}

#[test]
fn texts_are_compared_whatever_their_capitals_and_blanks_in_both_ways() {
    let facts = r#"today: "2026-03-02", mark: "AB75 CDE", make: "Marlow", model: "Spruce  125",
                   fills: [#{ day: "2026-02-20", grade: "E10", litres: 6.litres }]"#;
    let rules = [
        ("machine.maybe.mark ?? \"\" == \"ab75cde\"", "machine.maybe.mark ?? \"\" != \"AB75CDE\""),
        ("machine.maybe.make ?? \"\" == \" marlow\"", "machine.maybe.make ?? \"\" != \"MARLOW\""),
        ("machine.maybe.model ?? \"\" == \"spruce 125\"", "machine.maybe.model ?? \"\" != \"spruce125\""),
        ("WORD == \"chain\"", "\"Front brake\" != \"front  Brake\""),
        ("machine.service(\"brake fluid\").item == \"Brake Fluid\"", "machine.name == \"ab 75 cdf\""),
    ];
    for (holds, fails) in rules {
        let judge = |condition: &str| {
            let text = small(
                &format!("if machine.has.mark and ({condition}) {{ return ring(`so it is`); }} clear()"),
                "clear",
            );
            text.replace("fn judge", "const WORD = \"Chain\";\nfn judge")
        };
        for (condition, expected) in [(holds, "small [] RingToday: so it is"), (fails, "small [] clear")] {
            let condition = condition
                .split_once(" ?? \"\" ")
                .map_or(condition.to_owned(), |(fact, rest)| format!("({fact} ?? \"\") {rest}"));
            let files = [file("small", &judge(&condition))];
            let (book, problems) = RuleBook::from_files(&files, "rules", &BTreeMap::new());
            assert_eq!(problems, [], "{condition}");
            assert_eq!(said(&book, facts), expected, "{condition}");
            assert_eq!(said(&book.in_language_only(), facts), expected, "{condition}, in the language");
        }
    }
}

#[test]
fn that_a_service_was_never_done_is_not_said_for_want_of_the_machines_age() {
    let rule =
        small("if not machine.has_done(\"brake fluid\") { return ring(`never done`); } clear()", "ring");
    let (book, problems) = read(&[file("small", &rule)], &BTreeMap::new());
    assert_eq!(problems, "");
    let since_when = "small [] cannot tell: handover, sale or arrival here";
    for (facts, expected) in [
        ("clock: 9_000.miles", since_when),
        ("built: \"2019-04-02\"", since_when),
        // First given on 1 March and on 1 September 2024.
        ("mark: \"AB24 CDE\"", since_when),
        ("mark: \"AB74 CDE\"", "small [] RingToday: never done"),
        ("arrived: \"2026-04-02\", clock: 9_000.miles", "small [] cannot tell: registration day"),
        ("clock: 5.miles", "small [] RingToday: never done"),
    ] {
        assert_eq!(said(&book, &format!("today: \"2026-06-02\", {facts}")), expected, "{facts}");
    }
}

#[test]
fn whether_an_mot_day_was_worked_out_is_not_said_where_there_is_none() {
    let rule = small("if machine.mot_worked_out { return ring(`worked out`); } clear()", "cannot tell");
    let (book, problems) = read(&[file("small", &rule)], &BTreeMap::new());
    assert_eq!(problems, "");
    for (facts, expected) in [
        ("customer: \"A. Rider\"", "cannot tell: mot expiry or registration day"),
        ("registered: \"2025-12-30\"", "RingToday: worked out"),
        ("mot_expiry: \"2026-12-30\"", "clear"),
    ] {
        let facts = format!("today: \"2026-06-02\", {facts}");
        assert_eq!(said(&book, &facts), format!("small [] {expected}"));
    }
    // In the language, too.
    assert_eq!(
        said(&book.in_language_only(), "today: \"2026-06-02\""),
        "small [] cannot tell: mot expiry or registration day"
    );
}

#[test]
fn that_an_item_was_done_is_not_said_where_the_last_service_may_not_have_done_it() {
    let rule =
        small("if machine.has_done(\"brake fluid\") { return ring(`done`); } bench(`not done`)", "bench");
    let (book, problems) = read(&[file("small", &rule)], &BTreeMap::new());
    assert_eq!(problems, "");
    let told = |done: &str| {
        let sold = r#"today: "2026-06-02", handover: "2024-02-02", registered: "2024-02-01""#;
        said(&book, &format!(r#"{sold}, jobs: [#{{ day: "2026-05-01", done: "{done}" }}]"#))
    };
    for done in ["2 year service", "service as per book"] {
        assert_eq!(told(done), "small [] cannot tell: what was done at the last service", "{done}");
    }
    assert_eq!(told("brake fluid"), "small [] RingToday: done");
    assert_eq!(told("new chain"), "small [] OnTheBench: not done");
}
