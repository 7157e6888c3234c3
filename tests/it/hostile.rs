//! Rule files that mean harm, as the program meets them: how much time and memory each takes, and that the letter
//! comes all the same and says of each what is wrong.

use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::{Value, json};

use crate::hostile_scripts::{rule, scripts, tree_of_calls};
use crate::program::{Yard, python, repository, tickover};

/// The most processor time of a whole run of the program that reads one hostile file; ours is a build for tests.
const SECONDS: f64 = 1.0;
/// The most memory of such a run, in MB: all of the program's, of which it has some 20 without any rule.
const MEGABYTES: f64 = 64.0;

/// What a run of the program took, measured from outside by its parent.
struct Measured {
    code: i64,
    seconds: f64,
    megabytes: f64,
}

/// Runs the program with each of the arguments, one after another, as a process of its own.
fn measured(runs: &[Vec<String>]) -> Vec<Measured> {
    let mut child = Command::new(python())
        .arg(repository().join("tests/it/measured.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let program = env!("CARGO_BIN_EXE_tickover").to_owned();
    let commands: String = runs.iter().fold(String::new(), |mut lines, arguments| {
        let command: Vec<&String> = std::iter::once(&program).chain(arguments).collect();
        let _ = writeln!(lines, "{}", json!(command));
        lines
    });
    let mut input = child.stdin.take().unwrap();
    let writer = std::thread::spawn(move || input.write_all(commands.as_bytes()));
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    let lines = String::from_utf8(output.stdout).unwrap();
    let measured: Vec<Measured> = lines
        .lines()
        .map(|line| {
            let (code, seconds, megabytes) = serde_json::from_str(line).unwrap();
            Measured { code, seconds, megabytes }
        })
        .collect();
    assert_eq!(measured.len(), runs.len(), "not all runs were measured");
    measured
}

fn path(path: &Path) -> String {
    path.to_str().unwrap().to_owned()
}

#[test]
fn every_hostile_rule_file_is_vetted_within_a_second_and_64_megabytes() {
    let folder = tempfile::tempdir().unwrap();
    let scripts = scripts();
    let runs: Vec<Vec<String>> = scripts
        .iter()
        .enumerate()
        .map(|(number, (_, text))| {
            let file = folder.path().join(format!("bad{number}.rhai"));
            fs::write(&file, text).unwrap();
            vec!["rules".to_owned(), "check".to_owned(), path(&file)]
        })
        .collect();
    for ((what, _), run) in scripts.iter().zip(measured(&runs)) {
        assert_eq!(run.code, 1, "{what}: the file is wrong, and it is said");
        assert!(run.seconds < SECONDS, "{what} took {} seconds", run.seconds);
        assert!(run.megabytes < MEGABYTES, "{what} took {} MB", run.megabytes);
    }
}

/// Rules that are fit as far as their examples go, and run wild on real machines; with what the letter says of each.
fn wild() -> Vec<(&'static str, String, &'static str)> {
    let tree = tree_of_calls();
    let on_machines = |top: &str, inside: &str| rule(top, &format!("if machine.has.handover {{ {inside} }}"));
    let each = |inside: &str| {
        rule(&format!("{tree}\nfn each(machine) {{ machine.rides }}"), inside)
            .replace("judge(machine)", "judge(machine, ride)")
            .replace("expect(\"clear\")", "expect(\"does not apply\")")
    };
    let plan = format!(
        "fn plan(machine) {{ {} 1 }}\nfn plans(machine) {{ {} 1 }}",
        "machine.has_done(\"first service\");".repeat(40),
        "plan(machine);".repeat(100)
    );
    let raising = each("if machine.has.sold { a0(); } return ring(`x`);");
    let long = "the rule takes too long (on ";
    vec![
        ("a tree of calls", on_machines(&tree, "a0();"), long),
        (
            "a tree of calls for each ride",
            each("a0();"),
            "the rule takes too long (on Marlow Spruce, AB12 AAC)",
        ),
        ("the service plan over and over", on_machines(&plan, "plans(machine);"), long),
        (
            "a text that doubles",
            on_machines(
                "fn double(text) { text + text }",
                &format!("let x = \"aaaaaaaa\"; {}", "x = double(x);".repeat(40)),
            ),
            "the text here is longer than 4096 letters, the most of one, and of all those of a list (on ",
        ),
        (
            "a sum without end",
            on_machines("fn much(days) { days * 9000000000000 }", "much(9000000.days);"),
            "(on ",
        ),
        (
            "a text of pages",
            on_machines("", &format!("let page = `{}`; return ring(page);", "x".repeat(3_990))),
            "this answer is 3990 characters long, and 1000 are the most (on ",
        ),
        (
            "the whole yard",
            rule(&tree, "if yard.machines > 1 { a0(); }")
                .replace("judge(machine)", "judge(yard)")
                .replace("clock: 5.miles", "machines: [#{ model: \"Spruce\" }]"),
            "the rule takes too long (on the whole yard)",
        ),
        ("raising more than is told", raising, "this rule raises 2500 findings for Marlow Spruce, AB12 AAC"),
    ]
}

/// Three hundred machines of one model with three readings each, and the first with two thousand and five hundred
/// rides.
fn large_yard() -> Yard {
    let mark = |number: usize| {
        let letter = |at: usize| char::from(b'A' + u8::try_from(at % 26).unwrap());
        format!("AB12 {}{}C", letter(number / 26), letter(number))
    };
    let mut machines = "Reg,Make,Model,Type,cc,Registered,Handover,Customer,MOT expiry\n".to_owned();
    let mut readings = "Reg,Date,Mileage\n".to_owned();
    for number in 0..300 {
        let mark = mark(number);
        let _ = writeln!(machines, "{mark},Marlow,Spruce,motorcycle,125,15/12/2025,15/12/2025,Ann Other,");
        for (day, miles) in [(2, 100), (11, 130), (20, 160)] {
            let _ = writeln!(readings, "{mark},{day:02}/02/2026,{}", miles + number);
        }
    }
    let mut rides = "Reg,Date,Miles,Top speed mph,GPS\n".to_owned();
    for number in 0..2_500 {
        let _ = writeln!(
            rides,
            "{},{:02}/02/2026,{},{},GPS",
            mark(0),
            1 + number % 28,
            3 + number % 7,
            20 + number % 20
        );
    }
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", machines);
    yard.put("sheets/mileages.csv", readings);
    yard.put("sheets/rides.csv", rides);
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    yard
}

/// The findings of the rules that ship.
fn shipped_findings(run: &Value) -> Vec<&Value> {
    let all = run["findings"].as_array().unwrap().iter();
    all.filter(|finding| !finding["rule"].as_str().unwrap().starts_with("wild")).collect()
}

#[test]
fn rules_that_run_wild_on_three_hundred_machines_hurt_only_themselves_and_the_letter_says_so_of_each() {
    let yard = large_yard();
    let (without, code) = yard.morning("2026-03-02");
    assert_eq!(code, Some(0), "{}", without["complaints"]);
    assert!(shipped_findings(&without).len() >= 300);

    let morning = || {
        let arguments = ["morning", "--yard", &path(yard.path()), "--today", "2026-03-02", "--dry-run"];
        vec![arguments.map(str::to_owned).to_vec()]
    };
    let alone = measured(&morning()).remove(0);
    for (number, (what, text, _)) in wild().into_iter().enumerate() {
        let file = format!("rules/wild{number}.rhai");
        yard.put(&file, text.replace("\"Bad\"", &format!("\"{what}\"")));
        let run = measured(&morning()).remove(0);
        // What the rule itself may take of a round, and what saying so takes.
        assert!(run.seconds < alone.seconds + 4.0, "{what}: {} after {} seconds", run.seconds, alone.seconds);
        assert!(run.megabytes < alone.megabytes + MEGABYTES, "{what}: {} MB", run.megabytes);
        fs::remove_file(yard.path().join(file)).unwrap();
    }

    // All at once, five times over.
    for (number, (what, text, _)) in wild().into_iter().enumerate() {
        for copy in 0..5 {
            let title = format!("\"{what} {copy}\"");
            yard.put(&format!("rules/wild{number}-{copy}.rhai"), text.replace("\"Bad\"", &title));
        }
    }
    let (with, code) = yard.morning("2026-03-02");
    assert_eq!(code, Some(1));
    // Not printed whole where they differ: there are hundreds.
    assert!(shipped_findings(&with) == shipped_findings(&without), "what the others find stays the same");
    let said: Vec<(&str, &str)> = with["complaints"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| (it["file"].as_str().unwrap(), it["problem"].as_str().unwrap()))
        .collect();
    let slow = "this rule takes too long: ";
    for (number, (what, _, expected)) in wild().into_iter().enumerate() {
        for copy in 0..5 {
            let file = format!("rules/wild{number}-{copy}.rhai");
            let of_it: Vec<&str> =
                said.iter().filter(|(of, _)| *of == file).map(|(_, problem)| *problem).collect();
            // Where fifty share, the time of a round may run out before the rule's own limits are met.
            assert!(
                of_it.iter().any(|problem| problem.contains(expected) || problem.starts_with(slow)),
                "{what}: {of_it:?}"
            );
        }
    }
    let run = measured(&morning()).remove(0);
    assert!(run.seconds < 40.0, "a round with fifty of them takes {} seconds", run.seconds);
}

/// The invented shop, with so many more rule files, and a run of its morning.
fn shop_with(files: usize, text: impl Fn(usize) -> String) -> (Yard, Vec<String>) {
    let yard = Yard::empty();
    let shop = yard.path().join("shop");
    assert_eq!(tickover(["demo".as_ref(), shop.as_os_str()]).status.code(), Some(0));
    for number in 0..files {
        yard.put(
            &format!("shop/rules/more{number}.rhai"),
            text(number).replace("\"Bad\"", &format!("\"More {number}\"")),
        );
    }
    let morning = ["morning", "--yard", shop.to_str().unwrap(), "--today", "2026-03-03", "--dry-run"];
    let morning = morning.map(str::to_owned).to_vec();
    (yard, morning)
}

#[test]
fn what_the_examples_of_many_files_are_made_of_is_not_kept_once_they_were_tried() {
    let (_alone, morning) = shop_with(0, |_| String::new());
    let alone = measured(&[morning]).remove(0);
    // Each example is a machine with 450 rides, which one name stands for.
    let rides = vec!["J"; 450].join(", ");
    let examples: Vec<String> = (0..20)
        .map(|number| {
            format!("given(\"{number}\", #{{ today: \"2026-03-02\", rides: M }}).expect(\"clear\")")
        })
        .collect();
    let text = format!(
        "const TITLE = \"Bad\";\nconst WHY = \"None.\";\nconst J = #{{ distance: 5.miles }};\nconst M = [{rides}];\n\
         fn judge(machine) {{ clear() }}\nconst EXAMPLES = [\n{}\n];\n",
        examples.join(",\n")
    );
    let (_many, morning) = shop_with(60, |_| text.clone());
    let run = measured(&[morning]).remove(0);
    assert!(run.megabytes < alone.megabytes + MEGABYTES, "{} after {} MB", run.megabytes, alone.megabytes);
}

#[test]
fn very_many_rules_that_are_slow_on_machines_share_one_time_of_a_round() {
    // Each is stopped by its own limits on every machine that was handed over, and costs what it can until then.
    let fan = |name: usize| vec![format!("f{}(m)", name + 1); 40].join(" or ");
    let fans: String = (0..3).fold(String::new(), |mut fans, name| {
        let _ = writeln!(fans, "fn f{name}(m) {{ {} }}", fan(name));
        fans
    });
    let top = format!("{fans}fn f3(m) {{ m.clock > 90_000.miles }}");
    let slow = |inside: &str| rule(&top, inside);
    let (_quick, morning) = shop_with(183, |_| {
        slow("if machine.has.sold and machine.has.built and f0(machine) { return ring(`x`); }")
    });
    let quick = measured(&[morning]).remove(0);
    let (_slow, morning) =
        shop_with(183, |_| slow("if machine.has.handover and f0(machine) { return ring(`x`); }"));
    let run = measured(&[morning]).remove(0);
    assert_eq!(run.code, 1, "they are told of");
    // A second and a half for all that are new, and a quarter of that for those that were not asked yet; then what it
    // takes to say so.
    assert!(run.seconds < quick.seconds + 2.5, "{} after {} seconds", run.seconds, quick.seconds);
}

#[test]
fn what_a_rule_writes_can_neither_steer_the_letter_nor_the_mail() {
    let yard = Yard::of_two_machines();
    let text =
        "<script>alert(1)</script>\\r\\nBcc: all@shop.example\\r\\n\\r\\n\\u202e\\u0000\\u200b=HYPERLINK(1)";
    yard.put(
        "rules/steers.rhai",
        rule("", &format!("if machine.has.handover {{ return ring(\"{text}\"); }}")),
    );
    yard.put("rules/<b>&\u{202e}x\n.rhai", rule("", "return ring(`x`);"));
    let titles = ["a\\r\\nBcc: all@shop.example", "a\\u202eb", "a\\u200bb", "a\\u0007b"];
    for (number, title) in titles.iter().enumerate() {
        yard.put(&format!("rules/title{number}.rhai"), rule("", "").replace("Bad", title));
    }
    let marked = "<img src=x onerror=alert(1)>";
    yard.put(
        "rules/marked.rhai",
        rule("", "if machine.has.handover { return ring(`x`); }").replace("Bad", marked),
    );
    let (run, code) = yard.kept_morning("2026-03-02");
    assert_eq!(code, Some(1));
    for number in 0..titles.len() {
        let name = format!("title{number}");
        let rule = run["rules"].as_array().unwrap().iter().find(|rule| rule["rule"] == *name).unwrap();
        assert_eq!(rule["in_force"], false, "{name} has a title that nobody can read");
    }
    let read =
        |ending: &str| fs::read_to_string(yard.path().join(format!("digests/2026-03-02.{ending}"))).unwrap();
    let (html, txt, eml) = (read("html"), read("txt"), read("eml"));
    assert!(html.contains("&#60;script&#62;") || html.contains("&lt;script&gt;"), "{html}");
    assert!(!html.contains("<script") && !html.contains("<img src=x") && !html.contains("<b>&"), "{html}");
    for letter in [&html, &txt, &eml] {
        let steering = ['\u{202e}', '\u{0}', '\u{200b}', '\u{7}'];
        assert!(!letter.contains(steering), "a sign that steers came through");
    }
    let header = eml.split("\r\n\r\n").next().unwrap();
    assert!(!header.contains("Bcc") && !header.contains("all@shop.example"), "{header}");
    assert!(!eml.lines().chain(txt.lines()).any(|line| line.starts_with("Bcc:")), "{txt}");
}
