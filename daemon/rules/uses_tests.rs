//! What is given a name and does nothing, and functions that call themselves: each with all that is said of it.

use std::collections::BTreeMap;

use super::RuleBook;
use super::tests::{file, machine};
use crate::problem::{Problem, Severity, Spot};

/// A rule of these lines at its top, which begin at its third, and of this `judge`, which begins two lines behind them.
fn rule(top: &str, judge: &str) -> String {
    format!(
        "const TITLE = \"Small\";\nconst WHY = \"To try it.\";\n{top}\nfn judge(machine) {{\n{judge}\n}}\n\
         const EXAMPLES = [ given(\"a\", #{{ today: \"2026-03-02\", note: \"demo\" }}).expect(\"ring\") ];\n"
    )
}

/// All that is said of it, errors and notes, each with its line and column.
fn said(top: &str, judge: &str) -> Vec<String> {
    let (book, problems) =
        RuleBook::from_files(&[file("small", &rule(top, judge))], "rules", &BTreeMap::new());
    problems.iter().skip(1).chain(book.notes()).map(told).collect()
}

/// A problem with its line and column.
fn told(problem: &Problem) -> String {
    let Spot::Text { line, column, .. } = problem.place.spot else { panic!("{problem} has no place") };
    let kind = if problem.severity == Severity::Error { "error" } else { "note" };
    format!("{kind} {line}:{column} {}; {}", problem.what, problem.help)
}

/// How each of these judgements begins, so that the example comes no further.
const FIRST: &str = "if machine.note == \"demo\" { return ring(`x`); }";

fn check(cases: &[(&str, &str, &[&str])]) {
    for (top, judge, expected) in cases {
        let judge = format!("{FIRST}\n{judge}\nclear()");
        assert_eq!(said(top, &judge), *expected, "{top}\n{judge}");
    }
}

#[test]
fn an_answer_that_nothing_gives_back_is_told() {
    let lost = "this answer gets lost, because nothing gives `a` back; write `return` in place of `let a =`, or \
                `return a;` where it is meant";
    let tell = "fn tell(machine) { if machine.has.mark { return ring(`y`); } clear() }";
    check(&[
        ("", "let a = ring(`y`);", &[&format!("error 6:5 {lost}")]),
        ("", "let a = ring(`y`).by(machine.today);", &[&format!("error 6:5 {lost}")]),
        ("", "let a = if machine.has.mark { ring(`y`) } else { clear() };", &[&format!("error 6:5 {lost}")]),
        (tell, "let a = tell(machine);", &[&format!("error 6:5 {lost}")]),
        ("", "let a = ring(`y`);\nif machine.has.mark { return a.by(machine.today); }", &[]),
    ]);
    assert_eq!(said("", "let a = ring(`y`);\na"), Vec::<String>::new());
}

#[test]
fn a_limit_that_is_hidden_by_another_of_its_name_is_told_at_both_places() {
    let late = "if machine.today > machine.handover + AHEAD { return ring(`y`); }";
    check(&[
        (
            "const AHEAD = 3.days;",
            &format!("let AHEAD = 40.days;\n{late}"),
            &[
                "error 6:5 line 3 sets `AHEAD` already, and that does nothing where this stands for it; take this \
               line away and change line 3, or give this one another name",
            ],
        ),
        (
            "const AHEAD = 3.days; fn late(machine, AHEAD) { machine.today > machine.handover + AHEAD }",
            "if late(machine, 40.days) { return ring(`y`); }",
            &[
                "error 3:40 line 3 sets `AHEAD` already, and that does nothing where this stands for it; give this \
               one another name, in the brackets and in the function",
            ],
        ),
        (
            "const AHEAD = 3.days; fn late(machine, ahead) { machine.today > machine.handover + ahead }",
            "if late(machine, AHEAD) { return ring(`y`); }",
            &[],
        ),
    ]);
}

#[test]
fn a_limit_that_does_nothing_is_told() {
    check(&[
        (
            "const AHEAD = 3.days;",
            "if machine.has.mark { return bench(`within AHEAD`); }",
            &[
                "error 6:44 `AHEAD` would print just so, and not as the value, so that `AHEAD` of line 3 does nothing; \
               write `${AHEAD}` for its value, and use it in the rule",
            ],
        ),
        (
            "const AHEAD = 3.days;",
            "let last = machine.today + AHEAD;",
            &[
                "error 6:5 nothing uses `last`, so that `AHEAD` of line 3 does nothing; use it where the limit is to \
               hold, or write the limit itself there",
            ],
        ),
        (
            "const AHEAD = 3.days; fn late(machine, ahead) { machine.today > machine.handover + 5.days }",
            "if late(machine, AHEAD) { return ring(`y`); }",
            &[
                "error 3:40 `late` does not use its `ahead`, so that `AHEAD` of line 3 does nothing; use it where \
                 the limit is to hold, or write the limit itself there",
            ],
        ),
        (
            "const AHEAD = 3.days;",
            "",
            &[
                "note 3:7 nothing uses `AHEAD`, so that changing it changes nothing; use it in the rule, or take it \
               away",
            ],
        ),
        // Its value is printed, which is what it may be for.
        ("const AHEAD = 3.days;", "if machine.has.mark { return bench(`AHEAD: ${AHEAD}`); }", &[]),
        // A word of a text that is the name of a limit which holds.
        (
            "const MOT = 30.days;",
            "if machine.mot_expiry < machine.today + MOT { return bench(`The MOT ends.`); }",
            &[],
        ),
        (
            "const STEP = 100.miles;\nconst FAR = STEP * 4;",
            "if machine.clock > FAR { return bench(`y`); }",
            &[],
        ),
    ]);
}

#[test]
fn what_is_used_for_nothing_is_noted() {
    check(&[
        (
            "",
            "let who = machine.maybe.customer ?? \"nobody\";",
            &[
                "note 6:5 nothing uses `who`, so that changing it changes nothing; use it in the rule, or take it \
               away",
            ],
        ),
        (
            "fn late(machine, days) { machine.today > machine.handover + 5.days }",
            "if late(machine, 3.days) { return ring(`y`); }",
            &[
                "note 3:18 `late` does not use its `days`, so that it does nothing; use it there, or take it out of \
               these brackets and of each call",
            ],
        ),
        ("fn always(machine) { true }", "if always(machine) and machine.has.mark { return ring(`y`); }", &[]),
        ("", "let d = machine.today;\nd = d + 3.days;\nif d < machine.handover { return ring(`y`); }", &[]),
    ]);
}

#[test]
fn a_function_that_calls_itself_is_refused() {
    let help = "take this call away, or write what is to be done instead of it";
    check(&[
        (
            "",
            "if machine.has.mark { return judge(machine); }",
            &[&format!("error 6:30 `judge` calls itself here, and a function of a rule cannot; {help}")],
        ),
        (
            "fn one(machine) { two(machine) }\nfn two(machine) { machine.has.mark and one(machine) }",
            "if one(machine) { return ring(`y`); }",
            &[&format!(
                "error 4:40 `one` comes back to itself here, and a function of a rule cannot; {help}"
            )],
        ),
    ]);
}

#[test]
fn what_stands_with_a_dot_behind_the_name_of_a_limit_is_told() {
    let help = "write `40.miles` where `LIM` is set, and `LIM` alone here";
    check(&[
        (
            "const LIM = 40;",
            "if machine.clock > LIM.miles { return bench(`y`); }",
            &[&format!(
                "error 6:20 a unit stands behind a figure, and not behind a name such as `LIM`; {help}"
            )],
        ),
        (
            "const LIM = 40;",
            "if machine.has.mark { return bench(`within ${(LIM).miles}`); }",
            &[&format!(
                "error 6:47 a unit stands behind a figure, and not behind a name such as `LIM`; {help}"
            )],
        ),
        (
            "const OUT = bench(\"y\");",
            "if machine.has.mark { return OUT.by(machine.today); }",
            &[
                "error 6:30 nothing can stand with a dot behind `OUT`, which is set at the top; write its value itself \
               here, with the rest behind it",
            ],
        ),
        ("const LIM = 40;", "if machine.clock > (LIM * 2).miles { return bench(`y`); }", &[]),
        ("const N = 40;\nconst LIM = N.miles;", "if machine.clock > LIM { return bench(`y`); }", &[]),
        ("const LIM = 40;", "let n = LIM;\nif machine.clock > n.miles { return bench(`y`); }", &[]),
    ]);
}

#[test]
fn a_day_of_what_raises_nothing_is_told() {
    let help = "take what stands behind it away, or raise something";
    for answer in ["clear()", "too_long_ago()", "cannot_tell(\"a note\")"] {
        let name = answer.split('(').next().unwrap_or_default();
        let expected =
            format!("error 6:30 only what is raised has a day, and `{name}` raises nothing; {help}");
        for days in [".by(machine.today)", ".at_once()"] {
            check(&[("", &format!("if machine.has.mark {{ return {answer}{days}; }}"), &[&expected])]);
        }
    }
}

#[test]
fn functions_that_call_each_other_too_deep_are_refused_and_no_others_are() {
    for functions in 12..=20 {
        // With `judge` there are so many.
        let calls = (2..functions).map(|at| format!("fn f{at}(machine) {{ f{}(machine) }}", at + 1));
        let top = format!(
            "{}\nfn f{functions}(machine) {{ machine.has.mark }}",
            calls.collect::<Vec<_>>().join("\n")
        );
        let judge = format!("{FIRST}\nif f2(machine) {{ return ring(`y`); }}\nclear()");
        let (book, problems) =
            RuleBook::from_files(&[file("small", &rule(&top, &judge))], "rules", &BTreeMap::new());
        let whats: Vec<&str> = problems.iter().skip(1).map(|problem| problem.what.as_str()).collect();
        let refused = ["functions call each other more than 16 deep here"];
        assert_eq!(whats, if functions > 16 { &refused[..] } else { &[] }, "{functions} functions");
        let (machine, standing) = machine("today: \"2026-03-02\", mark: \"AB75 CDE\"");
        assert_eq!(book.judge(&machine, &standing).failures, [], "{functions} functions");
        let in_language = book.in_language_only();
        assert_eq!(
            in_language.judge(&machine, &standing).failures,
            [],
            "{functions} functions in the language"
        );
    }
}

#[test]
fn what_a_text_or_a_day_is_at_least_is_told_before_a_machine_reaches_it() {
    let long = "x".repeat(600);
    let help = "make it shorter: it is read on a telephone";
    let days = "that month has 28 days: write \"2026-02-28\" for its last";
    check(&[
        (
            &format!("const T = \"{long}\";"),
            "if machine.has.mark { return bench(T + T); }",
            &[&format!(
                "error 6:30 this answer is 1200 characters long at least, and 1000 are the most; {help}"
            )],
        ),
        (
            &format!("const T = \"{long}\";"),
            "if machine.has.mark { return bench(`${T} ${machine.mark} ${T}`); }",
            &[&format!(
                "error 6:30 this answer is 1200 characters long at least, and 1000 are the most; {help}"
            )],
        ),
        (&format!("const T = \"{long}\";"), "if machine.has.mark { return bench(T + machine.mark); }", &[]),
        (
            "const D = \"31/12/2026\";",
            "if machine.today > date(D) { return bench(`y`); }",
            &["error 3:11 \"31/12/2026\" is not a day; write year, month and day in quotes: \"2026-03-02\""],
        ),
        (
            "",
            "if machine.today > date(\"2026-02-30\") { return bench(`y`); }",
            &[&format!("error 6:25 \"2026-02-30\" is not a day; {days}")],
        ),
    ]);
}

#[test]
fn a_word_in_braces_may_be_meant_as_one() {
    check(&[
        ("", "if machine.has.mark { return bench(`Look at {brakes} and {sic}, $stay.`); }", &[]),
        (
            "const AHEAD = 3.days;",
            "if machine.today > machine.handover + AHEAD { return bench(`within {AHEAD}`); }",
            &["error 6:60 `{AHEAD}` would print just so, and not as the value; write `${AHEAD}`"],
        ),
        (
            "",
            "if machine.has.mark { return bench(`Look at {brakes} of {machine.mark}.`); }",
            &[
                "error 6:36 `{machine.mark}` would print just so, and not as the value; write `${machine.mark}`",
            ],
        ),
        (
            "",
            "if machine.has.mark { return bench(\"Look at ${brakes}.\"); }",
            &[
                "error 6:36 `${brakes}` would print just so, and not as the value; write `${brakes}`, and the whole text \
               in backticks: `` `...` ``",
            ],
        ),
    ]);
}

#[test]
fn a_limit_in_another_unit_is_told_where_it_is_set_with_what_to_write_there() {
    check(&[(
        "const AGO = 1.month;",
        "if machine.today - machine.handover > AGO { return bench(`y`); }",
        &[
            "error 3:13 `AGO` is a count of months, and line 6 compares it with a count of days; write a count of days \
           behind it, such as `30.days`",
        ],
    )]);
}

#[test]
fn a_word_that_is_nearly_another_is_told_with_that_one() {
    check(&[
        (
            "",
            "if machine.in_stock == ture { return bench(`y`); }",
            &["error 6:24 nothing here is called `ture`; write `true` if that is what you mean"],
        ),
        (
            "",
            "if machine.has.mark { return bench(`y`).buy(machine.today); }",
            &["error 6:41 an answer has no `buy(...)`; write `.by(...)` if that is what you mean"],
        ),
    ]);
}

#[test]
fn what_is_wrong_at_the_top_or_in_an_example_is_told_where_it_stands() {
    let small = |from: &str, to: &str| {
        let text = rule("", "if machine.note == \"demo\" { return ring(`x`); }\nclear()").replace(from, to);
        let (_, problems) = RuleBook::from_files(&[file("small", &text)], "rules", &BTreeMap::new());
        problems.iter().skip(1).map(told).collect::<Vec<_>>()
    };
    let example = "given(\"a\", #{ today: \"2026-03-02\", note: \"demo\" }).expect(\"ring\")";
    assert_eq!(
        small(example, ""),
        [
            "error 8:7 the rule has no example; write at least one into `const EXAMPLES = [ ... ];`, so that a slip shows \
          at once"
        ]
    );
    assert_eq!(
        small("note: \"demo\"", "note: \"demo\", clock: 2000.days"),
        ["error 8:76 `clock` asks for a distance, and this is a count of days; write the unit: `2000.miles`"]
    );
    assert_eq!(
        small("2026-03-02", "2026-04-31"),
        ["error 8:41 \"2026-04-31\" is not a day; that month has 30 days: write \"2026-04-30\" for its last"]
    );
    assert_eq!(
        small("const TITLE", "import \"os\" as os;\nconst TITLE"),
        [
            "error 1:1 `import` does not belong at the top of a rule; take the line away: a rule has all that it needs in \
          its own file"
        ]
    );
}

#[test]
fn a_rule_of_the_whole_yard_is_told_of_its_own_lists() {
    let yard = |functions: &str| {
        let text = format!(
            "const TITLE = \"Small\";\nconst WHY = \"To try it.\";\n{functions}\nconst EXAMPLES = [ given(\"a\", #{{ \
             today: \"2026-03-02\", machines: [#{{ stock_no: \"1\" }}] }}).expect(\"does not apply\") ];\n"
        );
        let (_, problems) = RuleBook::from_files(&[file("small", &text)], "rules", &BTreeMap::new());
        problems.iter().skip(1).map(|problem| problem.help.clone()).collect::<Vec<_>>()
    };
    let lists = yard("fn each(yard) { \"x\" }\nfn judge(yard, fault) { clear() }").join("");
    assert!(lists.contains("`yard.faults`") && !lists.contains("machine."), "{lists}");
    let item = "fn each(yard) { yard.faults }\nfn judge(yard) { if fault.machines > 1 { return bench(`x`); } clear() }";
    assert_eq!(yard(item)[1], "write `fn judge(yard, fault)`, beside a `fn each(yard)` that lists them");
}
