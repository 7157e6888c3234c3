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

#[test]
fn of_very_many_broken_rule_files_the_letter_names_the_first_and_what_must_not_leave_stands_beside_them() {
    let yard = Yard::empty();
    let shop = yard.path().join("shop");
    assert_eq!(tickover(["demo".as_ref(), shop.as_os_str()]).status.code(), Some(0));
    for number in 1..=183 {
        yard.put(&format!("shop/rules/bad{number}.rhai"), "const TITLE = \"x");
    }
    let mot_due = fs::read_to_string(shop.join("rules/mot-due.rhai")).unwrap();
    yard.put("shop/rules/mot-due.rhai", mot_due.replace("180.days", "180.dys"));
    let shop = shop.to_str().unwrap();
    let morning = tickover(["morning", "--yard", shop, "--today", "2026-03-03"]);
    assert_eq!(morning.status.code(), Some(1));
    let letter = fs::read_to_string(yard.path().join("shop/digests/2026-03-03.txt")).unwrap();
    let full = fs::read_to_string(yard.path().join("shop/digests/2026-03-03-full.txt")).unwrap();
    assert!(top(&letter).lines().count() < 40, "{letter}");
    assert!(letter.lines().take(45).any(|line| line == "Keep in the yard: 4 machines"), "{letter}");
    for whole in [&letter, &full] {
        let first = in_a_line(top(whole));
        assert!(first.contains("rules/mot-due.rhai:"), "a shipped rule comes first: {first}");
        let named = (1..=183).filter(|number| first.contains(&format!("rules/bad{number}.rhai"))).count();
        let places = first.matches("rules/bad").count();
        assert_eq!((named, places), (9, 9), "{first}");
        assert!(first.contains("Something is wrong with 174 other rule files — rules"), "{first}");
    }
    assert!(in_a_line(top(&full)).contains("`tickover rules check` says of each what it is."));
    let checked = tickover(["rules", "check", "--yard", shop, "--today", "2026-03-03"]);
    for number in 1..=183 {
        assert!(said(&checked).contains(&format!("rules/bad{number}.rhai:1:15")), "bad{number}");
    }
}

#[test]
fn titles_that_differ_in_capitals_and_blanks_alone_are_one() {
    let yard = Yard::of_two_machines();
    let text = fs::read_to_string(yard.path().join(RULE)).unwrap();
    yard.put("rules/mine.rhai", text.replace("\"First service\"", "\"FIRST  Service\""));
    let letter = yard.letter_in_a_line(DAY);
    let expected = "This rule and `first-service-due.rhai` have one title, \"FIRST Service\", so all is told twice — \
                    rules/mine.rhai.";
    assert!(top(&letter).contains(expected), "{letter}");
    let mine = yard.path().join("rules/mine.rhai");
    let tried = yard.run("rules", &["try", mine.to_str().unwrap(), "--today", DAY]);
    assert!(said(&tried).contains("`first-service-due` is in force with the same title"), "{}", said(&tried));
}

#[test]
fn what_is_wrong_with_an_oil_that_nobody_can_judge_cannot_be_told_and_is_not_cleared() {
    let yard = Yard::empty();
    for (asked, right) in [
        ("if oil.has.how_wrong { return bench(oil.how_wrong); } clear()", "clear"),
        ("if not oil.has.how_wrong { return clear(); } bench(oil.how_wrong)", "clear"),
        (
            "let how = oil.maybe.how_wrong ?? \"nothing\"; if how != \"nothing\" { return bench(how); } clear()",
            "clear",
        ),
    ] {
        let rule = format!(
            r#"const TITLE = "Oils";
const WHY   = "To be tried.";
fn each(machine) {{ machine.oils }}
fn judge(machine, oil) {{ {asked} }}
const SHOP  = [#{{ day: "2026-03-01", done: "oil", oil: "shop oil" }}];
const RIGHT = [#{{ day: "2026-03-01", done: "oil", oil: "10W-40 MA2" }}];
const WRONG = [#{{ day: "2026-03-01", done: "oil", oil: "10W-40 MB" }}];
const EXAMPLES = [
    given("no grade", #{{ today: "2026-03-02", kind: "motorcycle", oil_asked: "10W-40 MA2", jobs: SHOP }}).expect("cannot tell"),
    given("right",    #{{ today: "2026-03-02", kind: "motorcycle", oil_asked: "10W-40 MA2", jobs: RIGHT }}).expect("{right}"),
    given("wrong",    #{{ today: "2026-03-02", kind: "motorcycle", oil_asked: "10W-40 MA2", jobs: WRONG }}).expect("bench"),
];
"#
        );
        yard.put("oils.rhai", rule);
        let file = yard.path().join("oils.rhai");
        let checked = tickover(["rules".as_ref(), "check".as_ref(), file.as_os_str()]);
        assert_eq!(said(&checked), "", "{asked}");
        assert!(printed(&checked).starts_with("oils "), "{asked}");
    }
}

#[test]
fn a_wrong_day_in_a_constant_is_shown_where_it_is_set_and_not_at_the_example() {
    let yard = Yard::empty();
    yard.put(
        "days.rhai",
        r#"const TITLE = "Days";
const WHY   = "To be tried.";
const CALLED = "2 March";
const OILED  = [#{ day: "2026-02-31", done: "oil" }];
const CHAIN  = #{ day: "2026-02-20", dnoe: "chain" };
fn judge(machine) { clear() }
const EXAMPLES = [
    given("a", #{ today: CALLED }).expect("clear"),
    given("b", #{ today: "2026-03-02", jobs: OILED }).expect("clear"),
    given("c", #{ today: "2026-03-02", jobs: OILED }).expect("clear"),
    given("d", #{ today: "2026-03-02", jobs: [CHAIN] }).expect("clear"),
];
"#,
    );
    let file = yard.path().join("days.rhai");
    let told = said(&tickover(["rules".as_ref(), "check".as_ref(), file.as_os_str()]));
    let said: Vec<&str> = told.lines().filter(|line| line.starts_with("error: ")).collect();
    assert_eq!(
        said,
        [
            "error: `CALLED` is a text, and `today` of an example asks for a day",
            "error: \"2026-02-31\" is not a day",
            "error: an example machine has no `dnoe`",
        ]
    );
    for place in ["days.rhai:3:16\n", "days.rhai:4:25\n", "days.rhai:5:38\n"] {
        assert!(told.contains(place), "{told}");
    }
}

#[test]
fn of_more_examples_than_a_rule_may_have_none_is_read() {
    let yard = Yard::empty();
    let example = |number: usize| {
        // A day that is none would be told of, were it read.
        format!("given(\"{number}\", #{{ today: \"2026-03-{number}\", clock: 5.miles }}).expect(\"clear\")")
    };
    let examples: Vec<String> = (100..450).map(example).collect();
    let text = format!(
        "const TITLE = \"Many\";\nconst WHY = \"None.\";\nfn judge(machine) {{ clear() }}\nconst EXAMPLES = [{}];\n",
        examples.join(", ")
    );
    yard.put("many.rhai", text);
    let file = yard.path().join("many.rhai");
    let told = said(&tickover(["rules".as_ref(), "check".as_ref(), file.as_os_str()]));
    assert!(told.starts_with("error: this rule has 350 examples, and may have 200\n"), "{told}");
    assert!(told.contains("many.rhai:4:7\n"), "{told}");
    assert_eq!(told.matches("error: ").count(), 1, "{told}");
}

#[test]
fn a_shipped_rule_that_an_edit_silences_is_told_of_at_the_top_of_the_letter() {
    let yard = Yard::empty();
    let shop = yard.path().join("shop");
    assert_eq!(tickover(["demo".as_ref(), shop.as_os_str()]).status.code(), Some(0));
    let shop = shop.to_str().unwrap();
    let silent = "const TITLE = \"Before handover\";\nconst WHY = \"Nothing.\";\nfn judge(machine) { clear() }\n\
                  const EXAMPLES = [given(\"any\", #{ today: \"2026-03-02\" }).expect(\"clear\")];\n";
    yard.put("shop/rules/missed-checks.rhai", silent);
    let morning = tickover(["morning", "--yard", shop, "--today", "2026-03-03"]);
    assert_eq!(morning.status.code(), Some(1), "it needs a person");
    let letter = fs::read_to_string(yard.path().join("shop/digests/2026-03-03.txt")).unwrap();
    // The demo's letter of the day before keeps four machines in the yard by this rule, and asks for two more.
    let expected = "As this rule is now, it clears 6 of the 6 findings that it raised before — rules/missed-checks.rhai.";
    assert!(in_a_line(top(&letter)).contains(expected), "{letter}");
    let next = tickover(["morning", "--yard", shop, "--today", "2026-03-04"]);
    assert!(!printed(&next).contains("it clears"), "it is said of an edit, and so once");
}

#[test]
fn a_mark_to_be_confirmed_registers_no_machine_in_an_example_and_in_a_sheet_alike() {
    let yard = Yard::empty();
    let sold = "const TITLE = \"No plate\";\nconst WHY = \"To be tried.\";\n\
                fn judge(machine) { if machine.is_registered { return clear(); } bench(`It has no plate.`) }\n\
                const EXAMPLES = [\n    given(\"none yet\", #{ today: \"2026-03-02\", stock_no: \"7\", mark: \"TBC\" }).expect(\"bench\"),\n    \
                given(\"one\", #{ today: \"2026-03-02\", mark: \"AB75 CDE\" }).expect(\"clear\"),\n];\n";
    yard.put("plate.rhai", sold);
    let file = yard.path().join("plate.rhai");
    let checked = tickover(["rules".as_ref(), "check".as_ref(), file.as_os_str()]);
    assert_eq!((checked.status.code(), said(&checked)), (Some(0), String::new()));

    let machines = "Stock,Reg,Make,Model,Type,cc\nS7,TBC,Marlow,Spruce,motorcycle,125\nS8,AB13 CDE,Marlow,Spruce,motorcycle,125\n";
    yard.put("sheets/machines.csv", machines);
    yard.run("setup", &["--accept"]);
    yard.put("rules/plate.rhai", sold);
    let (run, _) = yard.morning(DAY);
    let raised: Vec<&str> =
        findings_of(&run, "plate").iter().map(|it| it["machine"]["stock_no"].as_str().unwrap()).collect();
    assert_eq!(raised, ["S7"]);
}

#[test]
fn a_note_that_asks_whether_a_machine_is_laid_up_is_said_to_tell_neither() {
    let yard = Yard::empty();
    let machines = "Reg,Make,Model,Type,cc,Registered,Handover,Customer,Notes\n\
        AB12 CDE,Marlow,Spruce,motorcycle,125,01/12/2025,01/12/2025,Ann Other,laid up?\n\
        AB13 CDE,Marlow,Spruce,motorcycle,125,15/01/2026,15/01/2026,Bob Other,laid up for the winter\n";
    yard.put("sheets/machines.csv", machines);
    yard.put("sheets/mileages.csv", crate::program::MILEAGES);
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    let (run, _) = yard.morning(DAY);
    let raised: Vec<&str> =
        findings_of(&run, "laid-up").iter().map(|it| it["machine"]["mark"].as_str().unwrap()).collect();
    assert_eq!(raised, ["AB13 CDE"]);
    let untold = run["cannot_tell"].as_array().unwrap().iter().find(|it| it["rule"] == "laid-up").unwrap();
    assert_eq!(untold["machine"]["mark"], "AB12 CDE");
    assert_eq!(untold["missing"], serde_json::json!(["whether it is laid up, which its note only asks"]));
}
