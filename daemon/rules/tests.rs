//! Tests of the rules as a whole.

use std::collections::BTreeMap;

use super::examples::Example;
use super::sandbox::SANDBOX;
use super::*;
use crate::findings::Verdict;

/// A rule file with a name and a text.
pub(super) fn file(name: &str, text: &str) -> RuleFile {
    RuleFile { name: name.to_owned(), text: Ok(text.to_owned()) }
}

/// The shipped rules, as a folder would give them.
fn shipped() -> Vec<RuleFile> {
    crate::rules::shipped().map(|(name, text)| file(name, text)).collect()
}

/// A machine and how it stands, from what an example is given.
pub(super) fn machine(facts: &str) -> (Arc<Machine>, Arc<Standing>) {
    let example: Example = SANDBOX.reader.eval(&format!("given(\"test\", #{{ {facts} }})")).unwrap();
    match example.about {
        About::Machine(machine, standing) => (machine, standing),
        About::Yard(_) => panic!("{facts} is a yard"),
    }
}

/// What the rules say of a machine: one line an answer.
pub(super) fn said(book: &RuleBook, facts: &str) -> String {
    let (machine, standing) = machine(facts);
    let judged = book.judge(&machine, &standing);
    let line = |judgement: &Judgement| {
        let answer = match &judgement.verdict {
            Verdict::Clear => "clear".to_owned(),
            Verdict::TooLongAgo => "too long ago".to_owned(),
            Verdict::CannotTell { missing } => format!("cannot tell: {}", missing.join(", ")),
            Verdict::Raised(raised) => {
                let due = raised.due.map(|day| format!(" by {day}")).unwrap_or_default();
                let range =
                    raised.due_range.map(|(from, to)| format!(" ({from} to {to})")).unwrap_or_default();
                format!("{:?}{due}{range}: {}", raised.section, raised.text)
            }
        };
        format!("{} [{}] {answer}", judgement.rule, judgement.key)
    };
    judged.judgements.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// The shipped rules, which must all be in force.
pub(super) fn shipped_book() -> RuleBook {
    let (book, problems) = RuleBook::from_files(&shipped(), "rules", &BTreeMap::new());
    let problems: Vec<String> = problems.iter().map(ToString::to_string).collect();
    assert_eq!(problems.join("\n\n"), "");
    assert_eq!(book.notes(), []);
    book
}

/// A rule with one judgement and one example, which expects something of a machine with nothing but a clock.
pub(super) fn small(judge: &str, expected: &str) -> String {
    format!(
        "const TITLE = \"Small\";\nconst WHY = \"A test.\";\nfn judge(machine) {{ {judge} }}\nconst EXAMPLES = [\n    \
         given(\"any\", #{{ today: \"2026-03-02\", clock: 5.miles }}).expect(\"{expected}\"),\n];\n"
    )
}

/// The rules of some files, and what was wrong with them in one text.
pub(super) fn read(files: &[RuleFile], accepted: &BTreeMap<String, String>) -> (RuleBook, String) {
    let (book, problems) = RuleBook::from_files(files, "rules", accepted);
    let shown: Vec<String> = problems.iter().map(ToString::to_string).collect();
    (book, shown.join("\n\n"))
}

#[test]
fn the_shipped_rules_pass_their_own_examples() {
    assert_eq!(shipped_book().rules().count(), 17);
}

#[test]
fn every_shipped_rule_fits_a_screen_and_shows_each_kind_of_answer() {
    for (file, text) in SHIPPED {
        assert!(text.lines().count() <= 60, "{file} is {} lines long", text.lines().count());
        let expects = |outcome: &str| text.contains(&format!(".expect(\"{outcome}\")"));
        assert!(
            ["ring", "keep in yard", "book in", "bench", "fix sheet"].iter().any(|raised| expects(raised)),
            "{file}"
        );
        assert!(expects("clear"), "{file}");
        // That a sheet was saved on some day is never unknown.
        assert!(expects("cannot tell") || *file == "sheet-not-renewed.rhai", "{file}");
        // Every machine can have a doubtful figure or mark, and every yard a fault or a machine gone: those apply to all.
        let applies_to_all = ["doubtful-", "gone-", "repeated-"].iter().any(|name| file.starts_with(name));
        assert!(expects("does not apply") || applies_to_all, "{file}");
    }
}

#[test]
fn every_shipped_rule_that_touches_the_road_carries_a_caution() {
    let without: Vec<String> = shipped_book()
        .rules()
        .filter(|rule| rule.caution.is_none())
        .map(|rule| rule.name.to_string())
        .collect();
    assert_eq!(without, ["doubtful-mark", "doubtful-reading", "gone-from-sheets", "sheet-not-renewed"]);
}

#[test]
fn a_machine_in_running_in_is_told_of_with_its_figures() {
    let facts = r#"today: "2026-03-09", mark: "AB75 CDE", handover: "2026-02-02", registered: "2026-01-30",
        readings: [["2026-02-02", 2.miles], ["2026-02-20", 230.miles], ["2026-03-02", 412.miles]],
        rides: [#{ day: "2026-02-20", distance: 12.miles, top_speed: 52.mph, source: "satellite", clock: 230.miles }],
        fuel_allowed: "E5", fills: [#{ day: "2026-03-01", grade: "E10" }, #{ day: "2026-03-04" }],
        oil_asked: "10W-40 MA2", kind: "motorcycle", jobs: [#{ day: "2026-02-01", done: "oil", oil: "10W-40 MB" }]"#;
    let expected = "\
brake-fluid-due [brake fluid] clear
doubtful-mark [] clear
doubtful-reading [] clear
first-service-due [] RingToday by 2026-03-09: The first service has likely come due by now: at 500 miles or on 2 May 2026, whichever comes first; about 515 miles by now; 412 miles on 2 Mar 2026.
laid-up [] clear
missed-checks [] KeepInTheYard by 2026-03-09: Handover was on 2 Feb 2026, with this still open: pre-delivery inspection, quality check and 2 road tests (not recorded). Do not let it go before that is done and written down; if it has gone, have it back.
mot-due [] clear
registration-missing [] clear
running-in-breach [2026-02-20 52 mph] RingToday by 2026-03-09: 52 mph on 20 Feb 2026, where running-in allows 45 mph. Explain why that matters.
service-due [first service] clear
service-due [annual service] clear
service-due [brake fluid] clear
torque-recheck-missed [] too long ago
wrong-fuel [2026-03-01 E10] RingToday by 2026-03-09: Filled with E10 on 1 Mar 2026, more ethanol than it may have. Ask for the right label from now on, and not to let this tank stand.
wrong-fuel [2026-03-04 no grade] cannot tell: ethanol label of the fill
wrong-oil [2026-02-01 10W-40 MB] OnTheBench by 2026-03-09: In it since 1 Feb 2026: \"10W-40 MB\", MB where MA2 is asked. Have it back: change oil and filter, and look at the clutch.";
    assert_eq!(said(&shipped_book(), facts), expected);
}

#[test]
fn a_machine_of_some_years_is_told_of_with_its_figures() {
    let facts = r#"today: "2026-03-09", mark: "AB23 CDE", handover: "2023-02-02", registered: "2023-03-30",
        mot_expiry: "2026-03-20", readings: [["2025-09-02", 2_000.miles], ["2026-01-20", 2_300.miles],
        ["2026-03-02", 2_200.miles], ["2026-03-05", 2_412.miles]]"#;
    let expected = "\
brake-fluid-due [brake fluid] RingToday by 2026-03-09: The brake fluid was due on 2 Feb 2025, ridden or not. Find a day.
doubtful-mark [] clear
doubtful-reading [clock goes down 2026-03-02] PutTheSheetRight by 2026-03-09: the clock goes down from 2,300 miles on 20 Jan 2026 to 2,200 miles on 2 Mar 2026; most likely one of the two is mistyped, or another clock was put in. Look at the clock or the job card, and correct the cell.
first-service-due [] too long ago
laid-up [] clear
missed-checks [] too long ago
mot-due [] RingToday by 2026-03-20: The MOT runs out on 20 Mar 2026; a test from 21 Feb 2026 on keeps that date.
registration-missing [] clear
service-due [first service] clear
service-due [annual service] RingToday by 2026-03-09: The annual service was due on 2 Feb 2024: about 2,421 miles by now; 2,412 miles on 5 Mar 2026. Find a day.
service-due [brake fluid] clear";
    assert_eq!(said(&shipped_book(), facts), expected);
}

#[test]
fn a_machine_whose_clock_counts_kilometres_is_told_of_in_kilometres() {
    let facts = r#"today: "2026-03-09", stock_no: "41", handover: "2026-03-11", clock: 8.km, clock_unit: "km",
        fills: [#{ day: "2026-03-08", grade: "B7" }], fuel_allowed: "E10",
        rides: [#{ day: "2026-03-08", distance: 8.km, top_speed: 80.kmh, source: "speedometer", clock: 8.km }]"#;
    let expected = "\
doubtful-mark [] cannot tell: mark or frame number
doubtful-reading [] clear
laid-up [] clear
missed-checks [] OnTheBench by 2026-03-11: Handover is on 11 Mar 2026, with this still open: second road test (1 of 2 recorded); road test distance (8 km of 16.1 km recorded); pre-delivery inspection and quality check (not recorded). Do it and write it down before then.
registration-missing [] PutTheSheetRight by 2026-03-11: Handover is on 11 Mar 2026, but neither a day of registration nor a mark is recorded. Register it, and write day and mark down before then.
running-in-breach [2026-03-08 80 km/h] OnTheBench by 2026-03-09: 80 km/h on 8 Mar 2026, before the handover, where running-in allows 72.4 km/h. Speak with whoever rode.
torque-recheck-missed [] cannot tell: torque re-check
wrong-fuel [2026-03-08 B7] KeepInTheYard by 2026-03-09: Filled with B7 on 8 Mar 2026, which is not petrol. Do not start it; drain tank and lines first.";
    assert_eq!(said(&shipped_book(), facts), expected);
}

#[test]
fn a_plan_that_is_a_rule_of_thumb_is_told_as_one() {
    let (machine, _) = machine(r#"today: "2026-03-02", handover: "2026-02-02", clock: 610.miles"#);
    let mut machine = Machine::clone(&machine);
    machine.page.services_are_default = true;
    let today = jiff::civil::date(2026, 3, 2);
    let standing = crate::reckon::stand(&machine, &crate::settings::Practice::default(), today);
    let judged = shipped_book().judge(&Arc::new(machine), &Arc::new(standing));
    let texts: Vec<&str> = judged
        .judgements
        .iter()
        .filter(|judgement| &*judgement.rule == "first-service-due")
        .filter_map(|judgement| match &judgement.verdict {
            Verdict::Raised(raised) => Some(raised.text.as_str()),
            _ => None,
        })
        .collect();
    let expected = "The first service was due at 500 miles: 610 miles today. \
                    Find a day at once; gentle riding until then. This is by rule of thumb: look in this machine's own handbook.";
    assert_eq!(texts, [expected]);
}

#[test]
fn what_a_rule_looked_at_is_its_evidence_once_and_in_order() {
    let rule = small("if machine.clock > 3.miles and machine.has.sold and machine.clock < 9.miles { return ring(`${machine.sold}`); } clear()", "clear")
        .replace("fn judge", "fn applies_to(machine) { machine.kind == \"moped\" }\nfn judge")
        .replace("clock: 5.miles", "kind: \"moped\", clock: 5.miles");
    let (book, problems) = read(&[file("small", &rule)], &BTreeMap::new());
    assert_eq!(problems, "");
    let (machine, standing) =
        machine(r#"today: "2026-03-02", kind: "moped", clock: 5.miles, sold: "2026-02-20""#);
    let judged = book.judge(&machine, &standing);
    let evidence: Vec<(&str, &str)> = judged.judgements[0]
        .evidence
        .iter()
        .map(|evidence| (evidence.what.as_str(), evidence.value.as_str()))
        .collect();
    assert_eq!(evidence, [("last reading", "5 miles on 2 Mar 2026"), ("day sold", "20 Feb 2026")]);
}

#[test]
fn a_missing_fact_makes_the_answer_that_the_rule_cannot_tell() {
    let (book, problems) = read(
        &[file(
            "small",
            &small("if machine.sold < machine.today { return ring(`x`); } clear()", "cannot tell"),
        )],
        &BTreeMap::new(),
    );
    assert_eq!(problems, "");
    assert_eq!(said(&book, r#"today: "2026-03-02""#), "small [] cannot tell: day sold");
}

#[test]
fn a_rule_that_does_not_apply_says_nothing() {
    let rule = small("clear()", "does not apply")
        .replace("fn judge", "fn applies_to(machine) { machine.has.sold }\nfn judge");
    let (book, problems) = read(&[file("small", &rule)], &BTreeMap::new());
    assert_eq!(problems, "");
    let (machine, standing) = machine(r#"today: "2026-03-02""#);
    let judged = book.judge(&machine, &standing);
    let not_applying = vec![NotApplying { rule: "small".into(), missing: vec!["day sold".to_owned()] }];
    assert_eq!(judged, Judged { not_applying, ..Judged::default() });
}

#[test]
fn a_rule_that_does_not_apply_says_which_facts_it_asked_for_in_vain() {
    for (functions, facts, expected) in [
        ("fn applies_to(machine) { machine.has.sold and machine.has.handover }", "", "day sold"),
        ("fn applies_to(machine) { machine.has.sold or machine.has.handover }", "", "day sold, handover"),
        (
            "fn applies_to(machine) { machine.has.handover and machine.has.clock }",
            r#"handover: "2026-02-02""#,
            "clock reading",
        ),
        (r#"fn applies_to(machine) { (machine.maybe.kind ?? "car") == "moped" }"#, "", "kind of machine"),
        (r#"fn applies_to(machine) { machine.kind == "moped" }"#, r#"kind: "car""#, ""),
        (
            "fn applies_to(machine) { machine.has.handover and machine.handover > machine.today }",
            r#"handover: "2026-02-02""#,
            "",
        ),
        // What it asked for in vain and did without is not what it rests on.
        (
            "fn applies_to(machine) { machine.has.sold or machine.has.name }
fn each(machine) { machine.fills }",
            "",
            "",
        ),
        (
            "fn each(machine) { if machine.has.clock { machine.fills } else { machine.fills } }",
            "",
            "clock reading",
        ),
    ] {
        let judge = if functions.contains("fn each") { "machine, item" } else { "machine" };
        let rule = format!(
            "const TITLE = \"Small\";\nconst WHY = \"A test.\";\n{functions}\nfn judge({judge}) {{ clear() }}\n\
             const EXAMPLES = [given(\"any\", #{{ today: \"2026-03-02\", {facts} }}).expect(\"does not apply\")];"
        );
        let (book, problems) = read(&[file("small", &rule)], &BTreeMap::new());
        assert_eq!(problems, "", "{functions}");
        let (machine, standing) = machine(&format!("today: \"2026-03-02\", {facts}"));
        let judged = book.judge(&machine, &standing);
        let missing: Vec<String> = judged.not_applying.iter().map(|not| not.missing.join(", ")).collect();
        assert_eq!((missing, judged.judgements), (vec![expected.to_owned()], Vec::new()), "{functions}");
    }
}

#[test]
fn a_rule_that_applies_is_not_among_those_that_do_not() {
    let (book, _) = read(&[file("small", &small("clear()", "clear"))], &BTreeMap::new());
    let (machine, standing) = machine(r#"today: "2026-03-02""#);
    assert_eq!(book.judge(&machine, &standing).not_applying, []);
}

#[test]
fn a_rule_that_fails_on_one_machine_cannot_tell_there_and_hurts_nothing_else() {
    let failing = small(
        "if machine.has.sold and later(machine.sold + 9_000.years, machine.today) > machine.today { return ring(`x`); } clear()",
        "clear",
    );
    let (book, problems) = read(
        &[file("failing", &failing), file("good", &small("bench(`Look at it.`)", "bench"))],
        &BTreeMap::new(),
    );
    assert_eq!(problems, "");
    let sold = r#"today: "2026-03-02", stock_no: "41", sold: "2026-02-20""#;
    assert_eq!(
        said(&book, sold),
        "failing [] cannot tell: a rule that works (rules/failing.rhai:3:64)\ngood [] OnTheBench: Look at it."
    );
    assert_eq!(said(&book, r#"today: "2026-03-02""#), "failing [] clear\ngood [] OnTheBench: Look at it.");
    let (machine, standing) = machine(sold);
    let failures = book.judge(&machine, &standing).failures;
    let told: Vec<String> = failures
        .iter()
        .map(|failure| format!("{}, {}: {}", failure.rule, failure.machine.as_str(), failure.problem.what))
        .collect();
    assert_eq!(told, ["failing, example: this day lies beyond the calendar"]);
}

#[test]
fn a_broken_file_leaves_its_last_good_version_and_all_other_rules_in_force() {
    let good = small("bench(`Look at it.`)", "bench");
    let (book, _) = read(&[file("first", &good), file("second", &good)], &BTreeMap::new());
    let accepted = book.accepted();
    assert_eq!(accepted.keys().collect::<Vec<_>>(), ["first", "second"]);

    let broken = good.replace("bench(`Look", "bnch(`Look");
    let (book, problems) =
        read(&[file("first", &broken), file("second", &good), file("third", &broken)], &accepted);
    let in_force: Vec<&str> = book.rules().map(|rule| &*rule.name).collect();
    assert_eq!((in_force, book.not_in_force()), (vec!["first", "second"], ["third".to_owned()].as_slice()));
    assert_eq!(
        said(&book, r#"today: "2026-03-02""#),
        "first [] OnTheBench: Look at it.\nsecond [] OnTheBench: Look at it."
    );
    assert_eq!(book.accepted(), accepted);
    let slip = |name: &str| {
        format!(
            "error: there is no `bnch(...)`\n  --> rules/{name}.rhai:3:21\n  |\n3 | fn judge(machine) {{ bnch(`Look at it.`) }}\n  |                     ^^^^\n\
             help: write `bench(...)` if that is what you mean"
        )
    };
    let expected = [
        "error: `first` stays in force as it last was\n  --> rules/first.rhai\nhelp: correct the file; it is then taken into force by itself".to_owned(),
        slip("first"),
        "error: `third` is not in force\n  --> rules/third.rhai\nhelp: correct the file; nothing is judged by this rule until then".to_owned(),
        slip("third"),
    ];
    assert_eq!(problems, expected.join("\n\n"));
}

#[test]
fn a_folder_gives_its_rule_files_by_name() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, bytes: &[u8]| std::fs::write(folder.path().join(name), bytes).unwrap();
    write("b-rule.rhai", small("clear()", "clear").as_bytes());
    write("a-rule.rhai", format!("\u{feff}{}", small("clear()", "clear").replace('\n', "\r\n")).as_bytes());
    write("notes.txt", b"not a rule");
    write("c-rule.rhai", small("clear()", "clear").replace('\n', "\r").as_bytes());
    write(".a-rule.rhai", b"an editor's own");
    let (book, problems) = RuleBook::load(folder.path(), "rules");
    let names: Vec<&str> = book.rules().map(|rule| &*rule.name).collect();
    assert_eq!((names, problems), (vec!["a-rule", "b-rule", "c-rule"], Vec::new()));
}

#[test]
fn a_folder_that_is_not_there_is_a_problem_and_not_an_empty_book() {
    let folder = tempfile::tempdir().unwrap();
    let (book, problems) = RuleBook::load(&folder.path().join("gone"), "rules");
    assert_eq!((book.rules().count(), problems.len()), (0, 1));
    assert!(problems[0].what.starts_with("the folder of rules cannot be read"), "{}", problems[0]);
}

#[test]
fn more_rule_files_than_the_limit_are_told_of_and_the_first_are_read() {
    let folder = tempfile::tempdir().unwrap();
    for number in 0..=sandbox::FILES {
        std::fs::write(folder.path().join(format!("r{number:03}.rhai")), small("clear()", "clear")).unwrap();
    }
    let (book, problems) = RuleBook::load(folder.path(), "rules");
    assert_eq!(book.rules().count(), sandbox::FILES);
    assert_eq!(problems[0].what, "there are 201 rule files, and only 200 are read: those in force go first");
}

#[test]
fn what_is_dropped_into_the_folder_puts_no_rule_out_of_force() {
    let folder = tempfile::tempdir().unwrap();
    let text = small("clear()", "clear");
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    write("mot.rhai", &text);
    write("tyres.rhai", &text);
    let (book, problems) = RuleBook::load(folder.path(), "rules");
    assert_eq!(problems, []);
    let accepted = book.accepted();

    // Empty files whose names come before theirs, and far more of which none is a rule.
    for number in 0..sandbox::FILES {
        write(&format!("a{number:03}.rhai"), "");
    }
    for number in 0..2_100 {
        write(&format!("{number}.bak"), "");
    }
    let (book, problems) = RuleBook::load_with(folder.path(), "rules", &accepted);
    assert_eq!(book.accepted(), accepted);
    assert_eq!(problems[0].what, "there are 202 rule files, and only 200 are read: those in force go first");

    // One of them is saved with a mistake meanwhile: it is neither gone nor pushed out.
    write("tyres.rhai", "const TITLE");
    let (book, _) = RuleBook::load_with(folder.path(), "rules", &accepted);
    assert_eq!(book.accepted(), accepted);
}

#[test]
fn of_a_folder_with_more_in_it_than_is_looked_at_the_rules_in_force_are_read_all_the_same() {
    let folder = tempfile::tempdir().unwrap();
    for number in 0..40 {
        std::fs::write(folder.path().join(format!("{number}.txt")), "").unwrap();
    }
    let text = small("clear()", "clear");
    let accepted: BTreeMap<String, String> =
        ["mot", "tyres"].map(|name| (name.to_owned(), text.clone())).into();
    std::fs::write(folder.path().join("mot.rhai"), &text).unwrap();
    // Of an empty look nothing is found by chance; a file that is not there stays gone.
    let (files, problems) = folder::of_folder(folder.path(), "rules", &accepted, 0);
    assert_eq!(files.iter().map(|file| file.name.as_str()).collect::<Vec<_>>(), ["mot"]);
    let shown: Vec<String> = problems.iter().map(ToString::to_string).collect();
    let expected = "error: not all that lies in it could be looked at: 0 files at most are\n  --> rules\n\
                    help: move all that is no rule away";
    assert_eq!(shown, [expected]);
    let (_, problems) = folder::of_folder(folder.path(), "rules", &accepted, 41);
    assert_eq!(problems, []);
}

#[test]
fn two_unlike_things_are_never_compared_in_silence() {
    let values = [
        "500.miles",
        "40.mph",
        "14.days",
        "3.months",
        "date(\"2026-03-02\")",
        "2.5.litres",
        "clear()",
        "7",
        "2.5",
        "\"ring\"",
        "true",
        "()",
    ];
    let ours = |value: &str| !["7", "2.5", "\"ring\"", "true", "()"].contains(&value);
    let mut compared = 0;
    for (place, left) in values.iter().enumerate() {
        for (other, right) in values.iter().enumerate() {
            for sign in ["==", "!=", "<", "<=", ">", ">="] {
                if place == other || !(ours(left) || ours(right)) {
                    continue;
                }
                let script = format!("{left} {sign} {right}");
                let answer = SANDBOX.reader.eval::<rhai::Dynamic>(&script);
                assert!(answer.is_err(), "`{script}` answers {answer:?}");
                compared += 1;
            }
        }
    }
    assert!(compared >= 66, "only {compared} comparisons");
}

#[test]
fn what_the_language_compares_in_silence_is_refused_when_the_rule_is_read() {
    for comparison in [
        "7 > \"ring\"",
        "() < 3",
        "\"7\" == 7",
        "true == 1",
        "machine.name == 7",
        "machine.engine_cc > \"125\"",
    ] {
        let rule = small(&format!("if {comparison} {{ return ring(`x`); }} clear()"), "clear");
        let (book, problems) = read(&[file("small", &rule)], &BTreeMap::new());
        assert_eq!(book.rules().count(), 0, "`{comparison}` got into force");
        assert!(problems.contains("\n\nerror: cannot compare "), "{problems}");
    }
}

#[test]
fn a_value_that_is_not_always_of_one_sort_is_refused_where_it_is_used() {
    for (judge, what) in [
        (
            "let x = if machine.has.sold { 3.miles } else { \"far\" }; if x > 2.miles { return ring(`x`); } clear()",
            "cannot compare one sort of value in one case and another in another with a distance",
        ),
        (
            "let x = if machine.has.sold { machine.maybe.customer } else { \"x\" }; ring(`${x}`)",
            "this may be missing, and nothing says what then",
        ),
        (
            "let x = machine.maybe.customer ?? machine.maybe.mark; ring(`${x}`)",
            "this may be missing, and nothing says what then",
        ),
        ("let x = if machine.has.sold { ring(`x`) }; x", "`judge` can end without an answer"),
    ] {
        let (_, problems) = read(&[file("small", &small(judge, "clear"))], &BTreeMap::new());
        let slips = problems.split("\n\n").skip(1).map(|slip| slip.lines().next().unwrap_or_default());
        assert_eq!(slips.collect::<Vec<_>>(), [format!("error: {what}")], "{judge}");
    }
}

#[test]
fn a_fallback_that_is_none_of_the_words_of_a_fact_can_be_asked_for() {
    let judge = "if (machine.maybe.kind ?? \"unknown\") == \"unknown\" { return fix_sheet(`Write its kind.`); } clear()";
    let (book, problems) = read(&[file("small", &small(judge, "fix sheet"))], &BTreeMap::new());
    assert_eq!((book.rules().count(), problems.as_str()), (1, ""));
}

#[test]
fn a_sum_that_the_calendar_or_the_clock_allows_has_its_result() {
    for (sum, expected) in [
        ("date(\"2026-01-31\") + 1.month", "28 Feb 2026"),
        ("date(\"2026-01-31\") + 2.months", "31 Mar 2026"),
        ("1.year + date(\"2024-02-29\")", "28 Feb 2025"),
        ("date(\"2026-03-02\") - 2.weeks", "16 Feb 2026"),
        ("date(\"2026-03-02\") - date(\"2026-02-02\")", "28 days"),
        ("500.miles + 100.miles * 2", "700 miles"),
        ("2.5.km - 0.5.km", "2 km"),
        ("40.mph + 5.mph", "45 mph"),
        ("-(3.days) + 1.day", "-2 days"),
        ("1_000.miles", "1,000 miles"),
        ("2.5.litres", "2.5 litres"),
    ] {
        let shown: String = SANDBOX.reader.eval(&format!("`${{{sum}}}`")).unwrap();
        assert_eq!(shown, expected, "{sum}");
    }
}

#[test]
fn the_reference_names_every_fact_word_unit_and_key() {
    let reference = words();
    for fact in super::facts::all() {
        let written = format!("{}.{} ", fact.of.word(), fact.name);
        assert!(reference.contains(&written), "no `{written}`");
        assert!(!fact.says.is_empty() && !fact.trade.is_empty(), "no words for `{written}`");
    }
    let names = super::reference::WORDS
        .iter()
        .map(|word| word.written)
        .chain(super::examples::keys().map(|key| key.name));
    for name in names {
        assert!(reference.contains(name), "no `{name}`");
    }
}

#[test]
fn no_two_facts_of_a_thing_share_a_name() {
    let mut names: Vec<_> = super::facts::all().map(|fact| (fact.of, fact.name)).collect();
    names.sort_unstable();
    let count = names.len();
    names.dedup();
    assert_eq!(names.len(), count);
}

#[test]
fn a_book_can_be_shared_between_threads() {
    fn shared<T: Send + Sync>(_: &T) {}
    shared(&shipped_book());
}

#[test]
fn a_service_that_was_done_on_an_unknown_day_was_done() {
    let rule = small("if machine.has_done(\"first service\") { return clear(); } bench(`not done`)", "bench");
    let (book, problems) = read(&[file("small", &rule)], &BTreeMap::new());
    assert_eq!(problems, "");
    let told =
        |jobs: &str| said(&book, &format!(r#"today: "2026-03-02", handover: "2026-01-02", jobs: [{jobs}]"#));
    assert_eq!(told(r#"#{ done: "first service" }"#), "small [] clear");
    assert!(told("").ends_with("not done"), "{}", told(""));
}

#[test]
fn the_clock_in_words_says_why_what_was_written_down_does_not_count() {
    let rule = small("bench(`${machine.on_the_clock}`)", "bench");
    let (book, _) = read(&[file("small", &rule)], &BTreeMap::new());
    let ahead = said(&book, r#"today: "2026-03-02", readings: [["2026-03-09", 40.miles]]"#);
    assert!(ahead.ends_with("the clock is dated 9 Mar 2026, after today"), "{ahead}");
    let none = said(&book, r#"today: "2026-03-02""#);
    assert_eq!(none, "small [] cannot tell: clock reading");
}
