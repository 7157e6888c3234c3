//! Scripts that mean harm, or grow without end: each is refused or stopped, quickly, and hurts only its own rule.

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

use super::RuleBook;
use super::tests::{file, machine};
use crate::findings::Verdict;

/// The longest that reading and trying one hostile file may take.
const QUICK: Duration = Duration::from_secs(1);

/// A rule that works, to stand beside every hostile one.
const GOOD: &str = r#"
const TITLE = "Good";
const WHY   = "It works.";
fn judge(machine) { clear() }
const EXAMPLES = [ given("any", #{ today: "2026-03-02" }).expect("clear") ];
"#;

/// A rule file with something at its top and something in its judgement.
fn rule(top: &str, inside: &str) -> String {
    format!(
        "const TITLE = \"Bad\";\nconst WHY = \"None.\";\n{top}\nfn judge(machine) {{\n{inside}\n    clear()\n}}\n\
         const EXAMPLES = [ given(\"any\", #{{ today: \"2026-03-02\", clock: 5.miles }}).expect(\"clear\") ];\n"
    )
}

fn again(piece: &str, times: usize) -> String {
    piece.repeat(times)
}

/// Every script, by what it tries.
fn scripts() -> Vec<(&'static str, String)> {
    let deep = 20_000;
    let inside = |text: &str| rule("", text);
    let nested = |open: &str, middle: &str, close: &str| {
        rule(
            "",
            &format!(
                "let x = {}{middle}{};",
                again(open, deep / open.len()),
                again(close, deep / open.len())
            ),
        )
    };
    let mut scripts = vec![
        ("an endless loop", inside("loop {}")),
        ("an endless while", inside("while true {}")),
        ("a do until", inside("do {} until false;")),
        ("a long for", inside("for x in 0..1000000000000000 {}")),
        ("a loop that catches its own end", inside("try { loop {} } catch { loop {} }")),
        ("catching a missing fact", inside("try { machine.sold } catch { }")),
        ("throwing", inside("throw \"x\";")),
        ("recursion", rule("fn f(n) { f(n + 1) }", "f(0);")),
        ("mutual recursion", rule("fn f(n) { g(n); g(n) }\nfn g(n) { f(n); f(n) }", "f(0);")),
        ("a wide tree of calls", rule(&tree_of_calls(), "a0();")),
        ("doubling a text", inside(&format!("let x = \"aaaaaaaa\"; {}", again("x += x;", 60)))),
        ("doubling a template", inside(&format!("let x = \"aaaaaaaa\"; {}", again("x = `${x}${x}`;", 60)))),
        ("padding a text", inside("let x = \"a\"; x.pad(1000000000, 'b');")),
        ("a long list", inside("let x = []; x.pad(1000000000, 1);")),
        ("a list in a list", inside(&format!("let a = [1]; {}", again("a = [a, a];", 60)))),
        ("pushing", inside("let x = []; x.push(x);")),
        ("a blob", inside("let x = blob(1000000000);")),
        ("a map entry", inside("let m = #{}; m[\"a\"] = m;")),
        ("sleeping", inside("sleep(3);")),
        ("leaving", inside("exit(5);")),
        ("evaluating", inside("eval(\"1\");")),
        ("a function pointer", inside("Fn(\"judge\").call(machine);")),
        ("a closure", inside("let f = |x| x; f.call(1);")),
        ("currying", inside("curry(1);")),
        ("importing", inside("import \"x\" as y;")),
        ("exporting", rule("export const X = 1;", "")),
        ("opening a file", inside("open_file(\"x\");")),
        ("the time", inside("timestamp();")),
        ("printing", inside("print(\"x\");")),
        ("debugging", inside("debug(\"x\");")),
        ("parsing", inside("parse_json(\"{}\");")),
        ("a type", inside("type_of(machine);")),
        ("the caller's scope", inside("f!();")),
        ("this", inside("this.x;")),
        ("the globals", inside("global::TITLE;")),
        ("a range", inside("let x = 0..1000000000;")),
        ("an overflow", inside("let x = 9223372036854775807 + 1;")),
        ("the least number", inside("let x = -9223372036854775807 - 2;")),
        ("dividing by nothing", inside("let x = 1 / 0;")),
        ("a huge power", inside("let x = 2 ** 1000000000;")),
        ("a huge shift", inside("let x = 1 << 1000000000;")),
        ("ten to the eighteenth years", inside("let x = 1000000000000000000.years;")),
        ("a day beyond the calendar", inside("let x = machine.today + 9000.years * 1000;")),
        ("days without end", inside("let x = 9000000.days * 9000000000000;")),
        ("a distance without end", inside("let x = 9000000.miles * 9000000000000;")),
        ("a huge number", inside("let x = 99999999999999999999999999999999999999999.miles;")),
        ("changing the machine", inside("machine.clock = 3.miles;")),
        ("changing a constant", inside("TITLE = \"x\";")),
        ("another judge", rule("fn judge(machine) { clear() }", "")),
        ("another `clear`", rule("fn clear() { ring(`x`) }", "")),
        ("five thousand lets", inside(&(0..2_500).map(|n| format!("let a{n}=1;")).collect::<String>())),
        ("many functions", rule(&(0..500).map(|n| format!("fn f{n}() {{ 1 }}\n")).collect::<String>(), "")),
        ("a long comment", format!("/*{}*/{GOOD}oops", again("x", 60_000))),
        ("an open comment", format!("{GOOD}/* {} oops", again("/*", 20_000))),
        ("a nameless character", inside("let x = \"\u{0}\"; \u{0}")),
        ("a text over many lines", inside(&format!("let x = `{}`;", again("line\n", 8_000)))),
    ];
    for (name, open, middle, close) in [
        ("round brackets", "(", "1", ")"),
        ("square brackets", "[", "1", "]"),
        ("braces", "{", "1", "}"),
        ("maps", "#{a:", "1", "}"),
        ("nots", "!", "true", ""),
        ("minuses", "- ", "1", ""),
        ("calls", "f(", "1", ")"),
        ("interpolations", "`${", "1", "}`"),
        ("ifs", "if true {", "1", "}"),
        ("indexes", "machine[", "1", "]"),
    ] {
        scripts.push((name, nested(open, middle, close)));
    }
    for (name, piece) in [
        ("a chain of dots", ".clock"),
        ("a chain of ands", " && true"),
        ("a chain of ors", " || true"),
        ("a chain of sums", " + 1"),
        ("a chain of powers", " ** 1"),
        ("a chain of fallbacks", " ?? 1"),
        ("a chain of else", ""),
    ] {
        let text = if piece.is_empty() {
            format!("if false {{ }} {}", again(" else if false { }", 3_000))
        } else {
            format!("let x = machine{};", again(piece, deep / 2))
        };
        scripts.push((name, inside(&text)));
    }
    scripts
}

/// Functions that each call the next one four times: 4^12 calls in all, none of them deep.
fn tree_of_calls() -> String {
    let calls: String =
        (0..12).map(|n| format!("fn a{n}() {{ {} }}\n", again(&format!("a{}();", n + 1), 4))).collect();
    format!("{calls}fn a12() {{ 1 }}")
}

#[test]
fn a_hostile_script_is_stopped_within_a_second_and_hurts_only_its_own_rule() {
    let scripts = scripts();
    assert!(scripts.len() >= 58, "only {} scripts", scripts.len());
    for (what, text) in scripts {
        let files = [file("bad", &text), file("good", GOOD)];
        let began = Instant::now();
        let (book, problems) = RuleBook::from_files(&files, "rules", &BTreeMap::new());
        let took = began.elapsed();
        assert!(took < QUICK, "{what} took {took:?}");
        let in_force: Vec<&str> = book.rules().map(|rule| rule.name.as_str()).collect();
        assert_eq!(in_force, ["good"], "{what} got into force");
        assert!(
            problems.iter().all(|problem| problem.place.file == "rules/bad.rhai"),
            "{what}: {problems:?}"
        );
    }
}

#[test]
fn a_rule_that_runs_wild_on_one_machine_is_stopped_there_and_hurts_nothing_else() {
    let wild = rule(&tree_of_calls(), "if machine.has.sold { a0(); }");
    let (book, problems) =
        RuleBook::from_files(&[file("bad", &wild), file("good", GOOD)], "rules", &BTreeMap::new());
    assert_eq!(problems, []);
    let (machine, standing) = machine("today: \"2026-03-02\", sold: \"2026-02-02\"");
    let began = Instant::now();
    let judged = book.judge(&machine, &standing);
    assert!(began.elapsed() < QUICK, "{:?}", began.elapsed());
    let whats: Vec<&str> = judged.failures.iter().map(|failure| failure.problem.what.as_str()).collect();
    assert_eq!(whats, ["the rule takes too long"]);
    let verdicts: Vec<&Verdict> = judged.judgements.iter().map(|judgement| &judgement.verdict).collect();
    assert!(matches!(verdicts[..], [Verdict::CannotTell { .. }, Verdict::Clear]), "{verdicts:?}");
}
