//! Tests of the rules that look at the whole yard.

use std::collections::BTreeMap;

use super::examples::Example;
use super::machine_in_hand::About;
use super::sandbox::SANDBOX;
use super::tests::{file, read, said, small};
use crate::findings::{Judgement, Verdict};

#[test]
fn a_rule_of_the_whole_yard_is_asked_once_and_a_rule_of_machines_never_of_the_yard() {
    let of_yard = "const TITLE = \"Yard\";\nconst WHY = \"A test.\";\n\
        fn judge(yard) { if yard.machines > 1 { return bench(`${yard.machines} machines`); } clear() }\n\
        const EXAMPLES = [given(\"one\", #{ today: \"2026-03-02\", machines: [#{ mark: \"AB20 CDE\" }] }).expect(\"clear\")];";
    let (book, problems) =
        read(&[file("small", &small("clear()", "clear")), file("yard", of_yard)], &BTreeMap::new());
    assert_eq!(problems, "");
    assert_eq!(said(&book, r#"today: "2026-03-02""#), "small [] clear");
    let example: Example =
        SANDBOX.reader.eval(r#"given("", #{ today: "2026-03-02", machines: [#{}, #{}] })"#).unwrap();
    let About::Yard(yard) = example.about else { panic!("machines make a yard") };
    let judged = book.judge_yard(&yard).judgements;
    let [Judgement { rule, machine, verdict: Verdict::Raised(raised), .. }] = &judged[..] else {
        panic!("{judged:?}")
    };
    assert_eq!((&**rule, raised.text.as_str()), ("yard", "2 machines"));
    assert!(machine.is_whole_yard());
}

#[test]
fn a_rule_that_mixes_machines_and_the_yard_is_told_so() {
    let rule = |functions: &str, facts: &str| {
        let rule = format!(
            "const TITLE = \"Yard\";\nconst WHY = \"A test.\";\n{functions}\nconst EXAMPLES = [given(\"any\", #{{ today: \
             \"2026-03-02\", {facts} }}).expect(\"clear\")];"
        );
        read(&[file("yard", &rule)], &BTreeMap::new()).1
    };
    for (functions, facts, expected) in [
        (
            "fn each(machine) { machine.fills }\nfn judge(yard, fill) { clear() }",
            "machines: []",
            "a rule looks at machines or at the whole yard, not at both",
        ),
        (
            "fn judge(yard) { clear() }",
            "clock: 5.miles",
            "this rule looks at the whole yard, and the example is one machine",
        ),
        (
            "fn judge(machine) { clear() }",
            "machines: []",
            "this rule looks at one machine, and the example is a whole yard",
        ),
        (
            "fn judge(yard) { if yard.clock > 5.miles { clear() } else { clear() } }",
            "machines: []",
            "a yard has no `clock`",
        ),
        ("fn judge(yard) { clear() }", "machines: [#{ clok: 5.miles }]", "an example machine has no `clok`"),
    ] {
        let problems = rule(functions, facts);
        assert!(problems.contains(expected), "{functions}\n{problems}");
    }
}

#[test]
fn an_owner_can_ask_who_signs_and_how_old_a_sheet_is() {
    let rule = |functions: &str, examples: &str| {
        format!(
            "const TITLE = \"Yard\";\nconst WHY = \"A test.\";\n{functions}\nconst EXAMPLES = [{examples}];"
        )
    };
    let two_sign_all = rule(
        "fn judge(yard) { if yard.signer_count <= 2 and yard.signed_checks >= 3 { return bench(`two sign all`); } clear() }",
        r#"given("two of them", #{ today: "2026-03-02", machines: [#{ checks: [
            #{ day: "2026-03-01", item: "lights", result: "passed", by: "Ann" },
            #{ day: "2026-03-01", item: "chain", result: "passed", by: "Ben" },
            #{ day: "2026-03-01", item: "horn", result: "passed", by: "Ben" }] }] }).expect("bench")"#,
    );
    // Friday, Saturday and Monday are open, Sunday never is: three open days after Thursday, today not counted.
    let three_days = rule(
        "fn each(yard) { yard.sheets }\nfn judge(yard, sheet) { if sheet.open_days_since >= 3 { return fix_sheet(sheet.name); } clear() }",
        r#"given("Thursday's", #{ today: "2026-03-03", sheets: [#{ name: "a.csv", renewed: "2026-02-26" }] }).expect("fix sheet"),
           given("Friday's", #{ today: "2026-03-03", sheets: [#{ name: "a.csv", renewed: "2026-02-27" }] }).expect("clear")"#,
    );
    let files = [file("two", &two_sign_all), file("three", &three_days)];
    assert_eq!(read(&files, &BTreeMap::new()).1, "");
}
