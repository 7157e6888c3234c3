//! The slips that owners make in a rule file, each with the whole message that they get.

use std::collections::BTreeMap;

use super::RuleBook;
use super::tests::file;

/// The slips, each with what is replaced by what in the small rule below, and the whole of what is said of it.
const SLIPS: &str = include_str!("slip_tests.txt");

/// A small rule that works; each case breaks one thing in it.
pub(super) const WORKING: &str = r#"// A small rule.
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
    let (book, problems) = RuleBook::from_files(&[file("long-ride", &text)], "rules", &BTreeMap::new());
    let opening = "error: `long-ride` is not in force\n  --> rules/long-ride.rhai\nhelp: correct the file; nothing is judged by this rule until then";
    let mut shown: Vec<String> = problems.iter().map(ToString::to_string).collect();
    if !shown.is_empty() {
        assert_eq!(shown.remove(0), opening);
    }
    shown.extend(book.notes().iter().map(ToString::to_string));
    shown.join("\n\n")
}

/// A line of the cases with the signs in it that it names.
pub(super) fn plain(text: &str) -> String {
    let signs = [
        ("\\n", "\n"),
        ("[ESC]", "\u{1b}"),
        ("[NBSP]", "\u{a0}"),
        ("[ZWSP]", "\u{200b}"),
        ("[RLO]", "\u{202e}"),
        ("[TAB]", "\t"),
        ("[BEL]", "\u{7}"),
    ];
    signs.iter().fold(text.to_owned(), |text, (name, sign)| text.replace(name, sign))
}

#[test]
fn every_slip_is_told_by_line_and_column_with_what_to_write() {
    let (mut cases, mut untold) = (0, Vec::new());
    for case in SLIPS.split("=== ").skip(1) {
        let (slip, rest) = case.split_once("\nreplace: ").expect("a case says what it replaces");
        let (from, rest) = rest.split_once("\nby: ").expect("a case says by what");
        let (to, expected) = rest.split_once('\n').expect("a case says what is expected");
        let (said, expected) = (said(&plain(from), &plain(to)), plain(expected.trim_end()));
        if said != expected {
            untold.push(format!("{slip}: expected\n{expected}\nand got\n{said}\n"));
        }
        cases += 1;
    }
    assert!(untold.is_empty(), "{}", untold.join("\n"));
    assert!(cases >= 470, "only {cases} slips");
}

#[test]
fn a_file_without_a_rule_is_told_of_once() {
    for (text, expected) in [
        ("", "the file is empty"),
        ("\u{feff}\r\n \n", "the file is empty"),
        ("// one\n/* two */\n", "the file holds nothing but comments"),
    ] {
        let (_, problems) = RuleBook::from_files(&[file("long-ride", text)], "rules", &BTreeMap::new());
        let whats: Vec<&str> = problems.iter().map(|problem| problem.what.as_str()).collect();
        assert_eq!(whats, ["`long-ride` is not in force", expected]);
    }
}

#[test]
fn a_file_that_is_only_vetted_is_not_told_to_be_out_of_force() {
    let problems = file("long-ride", &WORKING.replace("judge", "jugde")).vet("rules").err().unwrap();
    let whats: Vec<&str> = problems.iter().map(|problem| problem.what.as_str()).collect();
    assert_eq!(whats, ["the rule has no `judge`"]);
    assert_eq!(file("long-ride", WORKING).vet("rules").unwrap().title, "Long ride");
}

#[test]
fn a_long_chain_is_told_what_to_write_and_what_is_told_works() {
    let models: Vec<String> = (1..=50).map(|number| format!("machine.model == \"M{number}\"")).collect();
    let with = |chain: &str| {
        WORKING
            .replace("machine.kind != \"scooter\" and machine.has.clock", chain)
            .replace("today: ", "model: \"M50\", today: ")
    };
    let problems = file("long-ride", &with(&models.join(" or "))).vet("rules").err().unwrap();
    let told: Vec<_> =
        problems.iter().map(|problem| (problem.what.as_str(), problem.help.as_str())).collect();
    let help = "put brackets around each 20 of them: `(... or ...) or (... or ...)`";
    assert_eq!(told, [("more is joined by `or` here than one sentence may hold", help)]);
    let parted: Vec<String> = models.chunks(20).map(|part| format!("({})", part.join(" or "))).collect();
    assert_eq!(
        file("long-ride", &with(&parted.join(" or "))).vet("rules").map(|rule| rule.title).ok().as_deref(),
        Some("Long ride")
    );

    let each: Vec<String> =
        (1..=50).map(|number| format!("if machine.clock == {number}.miles {{ return clear(); }}")).collect();
    let with = |chain: &str| WORKING.replace("    let who", &format!("    {chain}\n    let who"));
    let problems = file("long-ride", &with(&each.join(" else "))).vet("rules").err().unwrap();
    let told: Vec<_> =
        problems.iter().map(|problem| (problem.what.as_str(), problem.help.as_str())).collect();
    let help = "write each as an `if ... { return ...; }` by itself, without `else`";
    assert_eq!(told, [("more `else if` follow each other here than one sentence may hold", help)]);
    assert!(file("long-ride", &with(&each.join(" "))).vet("rules").is_ok());
}

#[test]
fn a_title_of_two_hundred_signs_is_the_longest() {
    for (length, expected) in [(200, None), (201, Some("TITLE is 201 characters long, and 200 are the most"))]
    {
        let text = WORKING.replace("Long ride", &"\u{e9}".repeat(length));
        let problems = file("long-ride", &text).vet("rules").err().unwrap_or_default();
        let whats: Vec<&str> = problems.iter().map(|problem| problem.what.as_str()).collect();
        assert_eq!(whats, expected.into_iter().collect::<Vec<_>>());
    }
}

#[test]
fn the_rule_that_the_slips_are_made_in_works() {
    assert_eq!(said("", ""), "");
}
