//! The direct way of running a rule is held against the language: the same answers, words, keys, evidence, missing facts
//! and failures, from every shipped rule, and from odd ones that the direct way knows only in part.

use std::collections::BTreeMap;

use super::tests::{file, machine, read, shipped_book};
use super::*;

/// What both ways say of a machine or a yard; they must say the same.
fn said_by_both(book: &RuleBook, in_language: &RuleBook, about: &About) -> Judged {
    let judged = book.ask(about.clone(), &Allowance::of(book));
    assert_eq!(judged, in_language.ask(about.clone(), &Allowance::of(in_language)));
    judged
}

#[test]
fn every_shipped_rule_is_run_in_the_direct_way_alone_and_says_what_it_says_in_the_language() {
    let direct = shipped_book().in_direct_way_only();
    let in_language = shipped_book().in_language_only();
    assert!(direct.rules().all(Rule::is_known_to_the_direct_way), "a shipped rule is left to the language");
    let (mut asked, mut answers) = (0, 0);
    for example in direct.rules().flat_map(Rule::examples) {
        // Each example is put to all rules that look at such a thing, not to its own alone.
        let judged = said_by_both(&direct, &in_language, &example.about);
        assert_eq!(judged.failures, []);
        asked += 1;
        answers += judged.judgements.len();
    }
    assert!(asked > 100 && answers > 900, "{answers} answers on {asked} examples");
}

/// Machines of which much, little or hardly anything is known.
const MACHINES: [&str; 5] = [
    r#"today: "2026-03-02""#,
    r#"today: "2026-03-02", clock: 412.miles, sold: "2025-12-28", customer: "K. Lane", mark: "AB75 CDE""#,
    r#"today: "2026-03-02", handover: "2026-01-05", registered: "2025-12-30", make: "Marlow", kind: "moped", engine_cc: 49,
        clock: 660.km, clock_unit: "km", note: "collects at four", jobs: [#{ day: "2026-02-10", done: "first service" }]"#,
    r#"today: "2026-03-02", handover: "2026-01-05", sold: "2026-01-02", clock: 5.miles, kind: "motorcycle", engine_cc: 125,
        rides: [#{ day: "2026-01-02", top_speed: 46.mph, source: "speedometer", clock: 3.miles }],
        fills: [#{ day: "2026-02-20", grade: "E10", litres: 6.litres, clock: 360.miles, full: true }, #{ grade: "B7" }]"#,
    r#"today: "2026-03-02", sold: "2026-03-05", mark: "AB20 CDQ",
        readings: [["2026-01-01", 1_204.miles], ["2026-02-01", 1_180.miles], ["2026-03-01", 1_300.miles]]"#,
];

/// Judgements, and what they say of a machine with nothing but five miles on its clock.
#[rustfmt::skip]
const ODD: &[(&str, &str)] = &[
    // Which of two missing facts is named, and in which order facts are looked at.
    ("ring(`${machine.customer}`).by(machine.sold)", "cannot tell"),
    ("ring(`${machine.clock}`).by(machine.today).between(machine.today, machine.sold)", "cannot tell"),
    ("ring(`${machine.customer} ${machine.clock}`).by(earlier(machine.handover, machine.sold)).at_once()", "cannot tell"),
    ("if machine.has.sold and machine.sold > machine.today or machine.engine_cc > 100 { bench(\"a\") } else { clear() }", "cannot tell"),
    ("if not machine.has.mark and not (machine.has.sold and machine.handover < machine.today) { clear() } else { bench(\"b\") }", "clear"),
    ("ring(machine.maybe.customer ?? machine.maybe.note ?? \"nobody\")", "ring"),
    // Values of blocks, names and returns.
    ("let far = 1.mile; far = 2.miles; if machine.clock > far { ring(\"far\") } else { clear() }", "ring"),
    ("let word = if machine.clock > 2.miles { let inner = \"x\"; `${inner}y` } else { \"z\" }; ring(`${word}`)", "ring"),
    ("let word = if machine.has.sold { return clear(); } else { \"not sold\" }; ring(word)", "ring"),
    ("let it = machine; let known = it.has.sold; if known { return book_in(`${it.sold}`); } clear();", "clear"),
    ("if machine.has.sold { let text = \"one\"; } if machine.has.sold { let text = \"two\"; return ring(text); } clear()", "clear"),
    ("{ { clear() } }", "clear"),
    // Sums, signs and how they are printed.
    ("ring(`${machine.today} ${machine.clock} ${14.days} ${1.month} ${40.mph} ${2.5.litres} ${7} ${2.weeks * 2} ${-(3.days)}`)", "ring"),
    ("ring(`${machine.today + 1.month - 3.days} ${machine.clock + 1.km} ${1.km + machine.clock} ${2 * 3.miles - 1.mile}`)", "ring"),
    ("if machine.clock == 8.km or machine.clock != 5.miles { ring(\"a\") } else { clear() }", "clear"),
    ("if machine.engine_cc * 2 - 1 > 100 and machine.engine_cc + 1 != 50 { ring(\"a\") } else { clear() }", "cannot tell"),
    ("if machine.has.sold == machine.has.handover { ring(\"the same\") } else { clear() }", "ring"),
    ("if machine.kind == \"moped\" or machine.name >= \"n\" { ring(machine.name + \"!\") } else { clear() }", "cannot tell"),
    ("if 1.5 + 1.5 > 2.5 { ring(\"decimals\") } else { clear() }", "ring"),
    ("if date(\"2026-03-01\") < machine.today { ring(`${date(\"2026-03-01\")}`) } else { clear() }", "ring"),
    // Things and questions.
    ("if machine.service(\"no such item\").due { ring(\"a\") } else { clear() }", "cannot tell"),
    ("let first = machine.service(\"First-Service\"); if first.has.due_day { ring(`${first.terms}`).by(first.due_day) } else { clear() }", "clear"),
    ("if machine.has_done(\"first service\") { ring(\"done\") } else { bench(`${machine.service(\"first service\").when}`) }", "cannot tell"),
    ("if machine.service(\"first service\").likely_within(60.days) { ring(\"soon\") } else { clear() }", "cannot tell"),
    ("cannot_tell(\" its colour \")", "cannot tell"),
    // What fails, on machines that are sold.
    ("if machine.has.sold { let none = \" \"; return ring(none); } clear()", "clear"),
    ("if machine.has.sold { let none = clear(); return none.by(machine.today); } clear()", "clear"),
    ("if machine.has.sold { return ring(\"a\").by(later(machine.sold, machine.today + 9_000_000.months)); } clear()", "clear"),
    ("if machine.has.sold and machine.clock * 9_000_000_000_000_000 > 1.mile { return ring(\"far\"); } clear()", "clear"),
    ("if machine.has.sold { let x = \"0123456789012345678901234567890123456789012345678901234567890123\"; let y = x + x + x + x + x + x + x + x; let z = y + y + y + y + y + y + y + y; return ring(`${z}.`); } clear()", "clear"),
];

/// Whole rules with functions of the owner's, with lists, and with what the direct way does not know.
const WHOLE: [&str; 5] = [
    "fn twice(clock, times) { clock * times > 9.miles }\n\
     fn far(clock, times) { if times > 2 { clock > 4.miles } else { twice(clock, times + 1) } }\n\
     fn judge(machine) { if far(machine.clock, 1) { ring(\"far\") } else { clear() } }",
    "fn beyond(n) { n * 9_000_000_000_000_000_000 > 1 }\nfn judge(machine) { if machine.has.sold and beyond(9) { ring(\"a\") } else { ring(\"b\") } }",
    "fn applies_to(machine) { machine.has.clock and not machine.has.handover or machine.maybe.in_stock ?? false }\n\
     fn each(machine) { machine.doubts }\nfn judge(machine, doubt) { bench(`${doubt.what} ${doubt.maybe.day ?? \"no day\"}`) }",
    "fn applies_to(machine) { machine.sold > machine.handover }\nfn judge(machine) { clear() }",
    "fn each(machine) { if machine.has.mark { return machine.fills; } [] }\n\
     fn judge(machine, fill) { if fill.not_petrol { keep_in_yard(`${fill.grade}`).at_once() } else { bench(`${fill.day}`) } }",
];

#[test]
fn odd_rules_say_and_fail_the_same_in_the_direct_way_and_in_the_language() {
    let small = |(body, expected): &(&str, &str)| super::tests::small(body, expected);
    let whole = |functions: &&str| {
        let rule = |expected: &str| {
            format!(
                "const TITLE = \"Odd\";\nconst WHY = \"A test.\";\n{functions}\nconst EXAMPLES = [given(\"any\", \
                 #{{ today: \"2026-03-02\", clock: 5.miles }}).expect(\"{expected}\")];\n"
            )
        };
        let fits = |expected: &&&str| file("odd", &rule(expected)).vet("rules").is_ok();
        let expected = ["ring", "clear", "cannot tell", "does not apply"];
        rule(expected.iter().find(fits).expect("one of them is what it says"))
    };
    let texts: Vec<String> = ODD.iter().map(small).chain(WHOLE.iter().map(whole)).collect();
    let (mut failures, mut raised, mut known) = (0, 0, 0);
    for text in &texts {
        let (book, problems) = read(&[file("odd", text)], &BTreeMap::new());
        assert_eq!(problems, "", "{text}");
        known += book.rules().filter(|rule| rule.is_known_to_the_direct_way()).count();
        let (in_language, _) = read(&[file("odd", text)], &BTreeMap::new());
        let in_language = in_language.in_language_only();
        for facts in MACHINES {
            let (machine, standing) = machine(facts);
            let judged = said_by_both(&book, &in_language, &About::Machine(machine, standing));
            failures += judged.failures.len();
            let is_raised = |it: &&Judgement| matches!(it.verdict, crate::findings::Verdict::Raised(_));
            raised += judged.judgements.iter().filter(is_raised).count();
        }
    }
    assert!(failures >= 15 && raised >= 40, "{failures} failures, {raised} raised");
    assert!(known >= texts.len() - 6, "the direct way knows {known} of {}", texts.len());
}
