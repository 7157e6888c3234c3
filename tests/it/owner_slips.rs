//! What an owner may not have meant, as the program says it: a limit that raises for most machines, what a rule runs into
//! on today's machines, and what is only to be known of a file.

use std::fmt::Write as _;
use std::fs;

use tickover::rules::SHIPPED;

use crate::program::{Yard, printed, said, tickover};

/// A rule that rings for what has gone farther than a limit.
fn far(limit: &str) -> String {
    format!(
        r#"const TITLE = "Far";
const WHY   = "To be tried.";
const LIMIT = {limit};
fn judge(machine) {{ if machine.clock > LIMIT {{ return ring(`${{machine.clock}} is far.`); }} clear() }}
const EXAMPLES = [
    given("near", #{{ today: "2026-03-02", clock: 1.miles }}).expect("clear"),
    given("far",  #{{ today: "2026-03-02", clock: 90_000.miles }}).expect("ring"),
];
"#
    )
}

/// Twelve machines between 1,000 and 12,000 miles, with a rule that rings for the farthest of them.
fn twelve() -> Yard {
    let yard = Yard::empty();
    let mut machines = "Reg,Make,Model,Type,cc,Registered\n".to_owned();
    let mut readings = "Reg,Date,Mileage\n".to_owned();
    for number in 1..=12 {
        let mark = format!("AB12 {}DE", char::from(b'A' + number));
        let _ = writeln!(machines, "{mark},Marlow,Spruce,motorcycle,125,15/12/2025");
        let _ = writeln!(readings, "{mark},20/02/2026,{number}000");
    }
    yard.put("sheets/machines.csv", machines);
    yard.put("sheets/mileages.csv", readings);
    let setup = yard.run("setup", &["--accept"]);
    // Whether the shop hands machines over stays open.
    assert_eq!(setup.status.code(), Some(1), "{}", printed(&setup));
    for (file, _) in SHIPPED {
        fs::remove_file(yard.path().join("rules").join(file)).unwrap();
    }
    yard.put("rules/far.rhai", far("11_500.miles"));
    yard
}

fn letter(yard: &Yard, day: &str) -> String {
    let text = fs::read_to_string(yard.path().join(format!("digests/{day}.txt"))).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

const FLOOD: &str =
    "as this rule is now, it raises for 12 of the 12 machines that it applies to; before, for 1";

#[test]
fn a_limit_that_makes_a_rule_raise_for_most_machines_is_said_before_and_after_it_is_in_force() {
    let yard = twelve();
    assert_eq!(yard.kept_morning("2026-03-02").1, Some(0));
    // 10 for 10,000.
    let slip = far("10.miles");
    yard.put("mine/far.rhai", &slip);
    let mine = yard.path().join("mine/far.rhai");
    let tried = yard.run("rules", &["try", mine.to_str().unwrap(), "--today", "2026-03-03"]);
    assert_eq!(tried.status.code(), Some(1));
    assert!(said(&tried).contains(FLOOD), "{}", said(&tried));
    assert!(printed(&tried).contains("Would add: 11"), "{}", printed(&tried));

    yard.put("rules/far.rhai", &slip);
    let checked = yard.run("rules", &["check", "--today", "2026-03-03"]);
    assert_eq!(checked.status.code(), Some(1));
    assert!(said(&checked).contains(FLOOD), "{}", said(&checked));

    let (run, code) = yard.kept_morning("2026-03-03");
    assert_eq!(code, Some(1));
    let of_rule = run["complaints"].as_array().unwrap().iter().filter(|it| it["file"] == "rules/far.rhai");
    let of_rule: Vec<&str> = of_rule.map(|it| it["problem"].as_str().unwrap()).collect();
    assert_eq!(of_rule, [FLOOD]);
    let findings = run["findings"].as_array().unwrap();
    assert_eq!(findings.len(), 12, "what it raises stands");
    let letter = letter(&yard, "2026-03-03");
    let (top, _) = letter.split_once("Ring today").unwrap();
    assert!(top.contains("it raises for 12 of the 12 machines"), "{letter}");

    // It is said of an edit, and so on the day on which it is one.
    assert_eq!(yard.kept_morning("2026-03-04").1, Some(0));
}

#[test]
fn a_limit_that_is_moved_on_purpose_is_no_slip() {
    let yard = twelve();
    assert_eq!(yard.kept_morning("2026-03-02").1, Some(0));
    yard.put("rules/far.rhai", far("6_500.miles"));
    let (run, code) = yard.kept_morning("2026-03-03");
    assert_eq!((code, run["findings"].as_array().unwrap().len()), (Some(0), 6));
}

#[test]
fn an_edit_that_clears_most_of_what_a_rule_raised_stands_at_the_top_of_the_letter() {
    const SILENCED: &str = "as this rule is now, it clears 6 of the 6 findings that it raised before";
    let yard = twelve();
    // Those with 7,000 to 12,000 miles.
    yard.put("rules/far.rhai", far("6_500.miles"));
    let (run, code) = yard.kept_morning("2026-03-02");
    assert_eq!((code, run["findings"].as_array().unwrap().len()), (Some(0), 6));
    // 65,000 for 6,500.
    let slip = far("65_000.miles");
    yard.put("mine/far.rhai", &slip);
    let mine = yard.path().join("mine/far.rhai");
    let tried = yard.run("rules", &["try", mine.to_str().unwrap(), "--today", "2026-03-03"]);
    assert_eq!(tried.status.code(), Some(1));
    assert!(said(&tried).contains(SILENCED), "{}", said(&tried));

    yard.put("rules/far.rhai", &slip);
    let checked = yard.run("rules", &["check", "--today", "2026-03-03"]);
    assert_eq!(checked.status.code(), Some(1));
    assert!(said(&checked).contains(SILENCED), "{}", said(&checked));

    assert_eq!(yard.kept_morning("2026-03-03").1, Some(1));
    let letter = letter(&yard, "2026-03-03");
    let (top, _) = letter.split_once("Rules changed since the last letter").unwrap();
    assert!(top.contains("it clears 6 of the 6 findings"), "{letter}");

    // It is said of an edit, and so on the day on which it is one.
    assert_eq!(yard.kept_morning("2026-03-04").1, Some(0));
}

#[test]
fn no_shipped_rule_raises_for_most_machines_of_the_invented_shop_were_it_new() {
    let yard = Yard::empty();
    let shop = yard.path().join("shop");
    assert_eq!(tickover(["demo".as_ref(), shop.as_os_str()]).status.code(), Some(0));
    let shop = shop.to_str().unwrap();
    for (file, text) in SHIPPED {
        yard.put(&format!("shop/rules/my-{file}"), text.replacen(" = \"", " = \"My ", 1));
    }
    let checked = tickover(["rules", "check", "--yard", shop, "--today", "2026-03-03"]);
    for (file, _) in SHIPPED {
        let line = format!("\nmy-{:<21} ", file.trim_end_matches(".rhai"));
        assert_eq!(printed(&checked).matches(&line).count(), 2, "{}", printed(&checked));
    }
    assert!(!said(&checked).contains("as this rule is now"), "{}", said(&checked));
}

#[test]
fn checking_the_rules_of_a_yard_asks_them_about_its_machines() {
    let yard = twelve();
    let good = yard.run("rules", &["check", "--today", "2026-03-02"]);
    assert_eq!((good.status.code(), said(&good)), (Some(0), String::new()));
    assert_eq!(
        printed(&good),
        "far                      Far: To be tried.\n\nAsked about 12 machines as of Mon 2 Mar 2026:\nfar                      \
         applies to 12 machines: raises something for 1, cannot tell of 0\n"
    );
    // What no example reaches: an answer that is too long, a fact that no sheet holds, a machine that it breaks off on.
    let wordy = format!(
        "machine.clock > 90.miles and machine.clock < 80_000.miles {{ let all = `{}`; return ring(all); }} if machine.clock > LIMIT",
        "x".repeat(1_001)
    );
    yard.put("rules/far.rhai", far("11_500.miles").replace("machine.clock > LIMIT", &wordy));
    yard.put(
        "rules/worn.rhai",
        far("11_500.miles")
            .replace("Far", "Worn")
            .replace("machine.clock > LIMIT", "machine.warranty_end < machine.today")
            .replace("const LIMIT", "// const LIMIT")
            .replace(".expect(\"clear\")", ".expect(\"cannot tell\")")
            .replace("clock: 90_000.miles", "warranty_end: \"2026-01-01\", clock: 5.miles"),
    );
    let bad = yard.run("rules", &["check", "--today", "2026-03-02"]);
    assert_eq!(bad.status.code(), Some(1));
    let told = said(&bad);
    assert!(
        told.contains("error: this answer is 1001 characters long, and 1000 are the most (on "),
        "{told}"
    );
    assert!(told.contains(" and 11 other machines)"), "{told}");
    let untold = "note: of all 12 machines that it applies to this rule can tell nothing, for want of: end of warranty";
    assert!(told.contains(untold), "{told}");
    assert!(!yard.path().join("digests").read_dir().unwrap().any(|_| true), "nobody is told");
}

#[test]
fn a_rule_that_can_tell_of_no_machine_whether_it_applies_stands_at_the_letters_top() {
    let yard = twelve();
    let asked = |applies_to: &str| {
        far("11_500.miles")
            .replace("fn judge", &format!("fn applies_to(machine) {{ {applies_to} }}\nfn judge"))
    };
    let told = "Look at this first ================== * This rule judges no machine: it cannot tell of any of 12 machines \
                whether it applies, for want of: end of warranty";
    for (day, applies_to, is_told) in [
        ("2026-03-02", "machine.warranty_end > machine.today", true),
        ("2026-03-03", "not machine.has.warranty_end or machine.warranty_end > machine.today", false),
    ] {
        let rule = asked(applies_to).replace("today: ", "warranty_end: \"2027-01-01\", today: ");
        yard.put("rules/far.rhai", &rule);
        yard.kept_morning(day);
        let letter = letter(&yard, day).split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(letter.contains(told), is_told, "{letter}");
    }
}

#[test]
fn while_a_rule_breaks_off_its_findings_stand_from_an_earlier_day_and_say_so() {
    let yard = twelve();
    assert_eq!(yard.kept_morning("2026-03-02").1, Some(0));
    let wordy =
        format!("machine.clock < 80_000.miles {{ let all = `{}`; return ring(all); }} if", "x".repeat(1_001));
    let broken = far("11_500.miles").replace(
        "{ if machine.clock > LIMIT",
        &format!("{{ if machine.clock > 90.miles and {wordy} machine.clock > LIMIT"),
    );
    for day in ["2026-03-03", "2026-03-04"] {
        yard.put("rules/far.rhai", &broken);
        assert_eq!(yard.kept_morning(day).1, Some(1));
        let letter = letter(&yard, day);
        let expected = "It stands as it was on Mon 2 Mar and could not be judged anew: its rule breaks off on this machine \
                        today (rules/far.rhai:4:";
        assert!(letter.contains("12,000 miles is far."), "{letter}");
        assert!(letter.contains(expected), "{letter}");
    }
    yard.put("rules/far.rhai", far("11_500.miles"));
    yard.kept_morning("2026-03-05");
    assert!(!letter(&yard, "2026-03-05").contains("could not be judged anew"));
}

#[test]
fn a_limit_that_nothing_uses_is_said_and_the_rule_is_in_force_all_the_same() {
    let yard = twelve();
    let left_behind = far("11_500.miles").replace("fn judge", "const AGO = 14.days;\nfn judge");
    yard.put("rules/far.rhai", &left_behind);
    let note = "note: nothing uses `AGO`, so that changing it changes nothing\n  --> rules/far.rhai:4:7";
    for arguments in [&["--today", "2026-03-02"][..], &[]] {
        let verb = if arguments.is_empty() { vec![] } else { [&["check"], arguments].concat() };
        let run = yard.run("rules", &verb);
        assert_eq!(run.status.code(), Some(0));
        assert!(said(&run).contains(note), "{}", said(&run));
    }
    let file = yard.path().join("rules/far.rhai");
    let tried = yard.run("rules", &["try", file.to_str().unwrap(), "--today", "2026-03-02"]);
    assert_eq!(tried.status.code(), Some(0));
    assert!(said(&tried).contains("note: nothing uses `AGO`"), "{}", said(&tried));
    let (run, code) = yard.kept_morning("2026-03-02");
    assert_eq!((code, run["findings"].as_array().unwrap().len()), (Some(0), 1));
    let letter = letter(&yard, "2026-03-02");
    let expected = "Far: in force, with something to look at Nothing uses `AGO`, so that changing it changes nothing — rules/far.rhai:4:7.";
    let bare: String = letter.replace("* ", "").replace("- ", "");
    assert!(bare.contains(expected), "{letter}");
}

#[test]
fn an_edit_that_leaves_a_rule_no_machine_is_said_before_it_is_in_force_and_at_the_top_of_the_letter() {
    const NONE: &str = "as this rule is now, it applies to no machine; before, to 12";
    let yard = twelve();
    assert_eq!(yard.kept_morning("2026-03-02").1, Some(0));
    let far = far("11_500.miles").replace("clock: ", "warranty_end: \"2027-01-01\", clock: ");
    let slip = far.replace("fn judge", "fn applies_to(machine) { machine.has.warranty_end }\nfn judge");
    yard.put("mine/far.rhai", &slip);
    let mine = yard.path().join("mine/far.rhai");
    let tried = yard.run("rules", &["try", mine.to_str().unwrap(), "--today", "2026-03-03"]);
    assert_eq!(tried.status.code(), Some(1));
    assert!(said(&tried).contains(NONE), "{}", said(&tried));
    assert!(
        printed(&tried).contains("\nIt applies to none of 12 machines; before, to 12.\n"),
        "{}",
        printed(&tried)
    );
    assert!(!printed(&tried).contains("can tell of every machine"), "{}", printed(&tried));

    yard.put("rules/far.rhai", &slip);
    let checked = yard.run("rules", &["check", "--today", "2026-03-03"]);
    assert_eq!(checked.status.code(), Some(1));
    assert!(said(&checked).contains(NONE), "{}", said(&checked));
    assert!(printed(&checked).contains(" applies to none of 12 machines: raises"), "{}", printed(&checked));

    assert_eq!(yard.kept_morning("2026-03-03").1, Some(1));
    let letter = letter(&yard, "2026-03-03");
    let (top, edits) = letter.split_once("Rules changed since the last letter").unwrap();
    assert!(top.contains("it applies to no machine; before, to 12"), "{letter}");
    assert!(edits.contains("It applies to no machine; before, to 12."), "{letter}");
    assert!(!edits.contains("It can tell of every machine"), "{letter}");
}

#[test]
fn an_edit_that_doubles_what_a_rule_raises_stands_at_the_top_of_the_letter() {
    const TWICE: &str = "as this rule is now, it adds 5 to the 4 findings that it raised before";
    let yard = twelve();
    // Those with 9,000 to 12,000 miles, and then those with 4,000 and more.
    yard.put("rules/far.rhai", far("8_500.miles"));
    assert_eq!(yard.kept_morning("2026-03-02").1, Some(0));
    yard.put("rules/far.rhai", far("3_500.miles"));
    let tried = yard.run(
        "rules",
        &["try", yard.path().join("rules/far.rhai").to_str().unwrap(), "--today", "2026-03-03"],
    );
    assert_eq!(tried.status.code(), Some(1));
    assert!(said(&tried).contains(TWICE), "{}", said(&tried));
    assert_eq!(yard.kept_morning("2026-03-03").1, Some(1));
    let letter = letter(&yard, "2026-03-03");
    let (top, _) = letter.split_once("Rules changed since the last letter").unwrap();
    assert!(top.contains("it adds 5 to the 4 findings"), "{letter}");
}

#[test]
fn a_rule_file_that_is_not_there_could_not_be_tried() {
    let yard = Yard::of_two_machines();
    let tried = yard.run("rules", &["try", "no-such-rule.rhai", "--today", "2026-03-02"]);
    assert_eq!(tried.status.code(), Some(2), "{}", said(&tried));
    assert!(said(&tried).contains("no-such-rule.rhai"), "{}", said(&tried));
}
