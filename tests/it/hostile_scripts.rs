//! Rule files that mean harm, or grow without end.

/// A rule file with something at its top and something in its judgement.
pub(crate) fn rule(top: &str, inside: &str) -> String {
    format!(
        "const TITLE = \"Bad\";\nconst WHY = \"None.\";\n{top}\nfn judge(machine) {{\n{inside}\n    clear()\n}}\n\
         const EXAMPLES = [ given(\"any\", #{{ today: \"2026-03-02\", clock: 5.miles }}).expect(\"clear\") ];\n"
    )
}

fn again(piece: &str, times: usize) -> String {
    piece.repeat(times)
}

/// A function that asks itself for lists, over and over.
fn lists_of_lists() -> String {
    let lists: String = (0..100).map(|at| format!("let a{at} = f(machine, n - 1);")).collect();
    format!("fn f(machine, n) {{ if n == 0 {{ return machine.rides; }} {lists} f(machine, n - 1) }}")
}

/// Scripts that are refused, or stopped by their own example, by what each tries.
pub(crate) fn scripts() -> Vec<(&'static str, String)> {
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
        ("lists from a function that calls itself", rule(&lists_of_lists(), "f(machine, 12);")),
        ("calling itself on some machines", inside("if machine.has.sold { return judge(machine); }")),
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
        ("a long comment", format!("/*{}*/{}oops", again("x", 60_000), rule("", ""))),
        ("an open comment", format!("{}/* {} oops", rule("", ""), again("/*", 20_000))),
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
    scripts.extend([large_values(), large_slips(), large_remains(), doubled_names()].concat());
    scripts
}

/// Names that stand for the one before them twice; the fact that is asked behind them is not known in the example.
fn doubled_names() -> Vec<(&'static str, String)> {
    let doubled = |first: &str, sign: &str| {
        let names = numbered(40, &|n| format!("let v{} = v{n} {sign} v{n};", n + 1));
        let asked = "if machine.sold < machine.today { return clear(); }";
        rule("", &format!("let v0 = {first}; {names} {asked}"))
    };
    vec![
        ("products of products", doubled("machine.engine_cc", "*")),
        ("sums of sums", doubled("1.days", "+")),
        ("joined conditions", doubled("machine.is_registered", "and")),
    ]
}

/// Many pieces that differ by their number.
fn numbered(count: usize, piece: &dyn Fn(usize) -> String) -> String {
    (0..count).map(piece).collect()
}

/// Files as large as a rule file may be whose values grow.
fn large_values() -> Vec<(&'static str, String)> {
    let ones = again("1,", 9_990);
    let row = again("#{ day: \"2026-01-01\", distance: 5.miles },", 30);
    let examples = |facts: &str| {
        let one = format!("given(\"any\", #{{ today: \"2026-03-02\", {facts} }}).expect(\"clear\"),");
        format!("const X = [{row}];\n{GOOD_TOP}\nconst EXAMPLES = [{}];\n", again(&one, 900))
    };
    let lists = numbered(120, &|n| format!("let a{n} = big();"));
    vec![
        (
            "a list copied to each place that names it",
            rule(&format!("const A = [{ones}];\nfn f() {{ {} 1 }}", again("A;", 9_000)), "f();"),
        ),
        (
            "a list copied into each call",
            rule(
                &format!("const A = [{ones}];\nfn f(a) {{ 1 }}\nfn g() {{ {} 1 }}", again("f(A);", 8_000)),
                "g();",
            ),
        ),
        (
            "lists of a list in constants",
            rule(
                &format!("const A = [{ones}];\n{}", numbered(120, &|n| format!("const B{n} = [A, A];\n"))),
                "",
            ),
        ),
        (
            "lists in lets, deep",
            rule(&format!("fn big() {{ [{ones}] }}\nfn r(n) {{ {lists} r(n) }}"), "r(1);"),
        ),
        (
            "lists that double",
            rule(
                &format!(
                    "const A0 = [1, 1];\n{}",
                    numbered(30, &|n| format!("const A{} = [A{n}, A{n}];\n", n + 1))
                ),
                "",
            ),
        ),
        (
            "maps that double",
            rule(
                &format!(
                    "const A0 = #{{ a: 1 }};\n{}",
                    numbered(30, &|n| format!("const A{} = #{{ a: A{n}, b: A{n} }};\n", n + 1))
                ),
                "",
            ),
        ),
        (
            "texts that double in constants",
            rule(
                &format!(
                    "const A0 = \"aaaa\";\n{}",
                    numbered(40, &|n| format!("const A{} = A{n} + A{n};\n", n + 1))
                ),
                "",
            ),
        ),
        ("thousands of constants", rule(&numbered(4_500, &|n| format!("const A{n}=1;")), "")),
        ("one constant over and over", rule(&again("const A=1;", 5_000), "")),
        ("thousands of functions", rule(&numbered(5_000, &|n| format!("fn a{n}(){{}}")), "")),
        ("hundreds of examples", examples("")),
        ("examples of many rides", examples("rides: X")),
    ]
}

/// The same, each with one slip over and over.
fn large_slips() -> Vec<(&'static str, String)> {
    let inside = |text: &str| rule("", text);
    let sorts = ["1", "1.miles", "\"a\"", "1.day", "1.month", "true", "1.mph", "1.litre", "machine.today"];
    let calls: String =
        sorts.iter().flat_map(|one| sorts.map(|other| format!("f({one}, {other});"))).collect();
    let quoted = |length: usize| format!("\"{}\"", again("x", length));
    vec![
        (
            "thousands of functions that there are not, on one line",
            inside(&numbered(8_000, &|n| format!("a{n}();"))),
        ),
        ("thousands of names that there are not", inside(&numbered(8_000, &|n| format!("a{n};")))),
        ("thousands of facts that there are not", inside(&numbered(4_500, &|n| format!("machine.x{n};")))),
        ("the same in a text", inside(&format!("let x = `{}`;", again("${machine.x}", 5_000)))),
        (
            "a wrong function called in every way",
            rule(&format!("fn f(a, b) {{ {} 1 }}", numbered(2_500, &|n| format!("machine.x{n};"))), &calls),
        ),
        ("a fact with a name of a page", inside(&format!("machine.{};", again("x", 60_000)))),
        ("a function with a name of a page", inside(&format!("{}();", again("x", 60_000)))),
        ("a key with a name of a page", rule("", "").replace("clock", &again("x", 60_000))),
        ("a text of a page", rule(&format!("const A = {};", quoted(60_000)), "")),
        ("a title of a page", rule("", "").replace("\"Bad\"", &quoted(60_000))),
        ("a number of a page", inside(&format!("let x = {}.miles;", again("9", 60_000)))),
        ("a number of commas", inside(&format!("let x = {}1.miles;", again("1,", 30_000)))),
        ("thousands of commas in numbers", inside(&again("let x = 1,000.miles;", 2_900))),
        ("thousands of word processor's quotes", inside(&again("let x = \u{201c}foo\u{201d};", 3_000))),
    ]
}

/// The same, of signs that make no rule.
fn large_remains() -> Vec<(&'static str, String)> {
    let inside = |text: &str| rule("", text);
    vec![
        ("functions that are never closed", again("fn a(\n", 10_000)),
        ("bodies that are never closed", again("fn a(){\n", 8_000)),
        ("constants that are never ended", again("const\n", 10_000)),
        ("opening brackets alone", again("(", 65_536)),
        ("closing brackets alone", again(")", 65_536)),
        ("opening braces alone", again("{", 65_536)),
        ("opening maps alone", again("#{", 32_768)),
        ("quotes alone", again("\"", 65_536)),
        ("backticks alone", again("`", 65_536)),
        ("words alone", again("a\n", 32_768)),
        ("line ends alone", again("\n", 65_536)),
        ("signs that nobody sees", inside(&again("\u{200b}", 20_000))),
        ("uncommon blanks", inside(&again("\u{2028}", 20_000))),
    ]
}

/// What every rule needs but its examples.
const GOOD_TOP: &str = "const TITLE = \"Bad\";\nconst WHY = \"None.\";\nfn judge(machine) { clear() }";

/// Functions that each call the next one four times: 4^12 calls in all, none of them deep.
pub(crate) fn tree_of_calls() -> String {
    let calls: String =
        (0..12).map(|n| format!("fn a{n}() {{ {} }}\n", again(&format!("a{}();", n + 1), 4))).collect();
    format!("{calls}fn a12() {{ 1 }}")
}
