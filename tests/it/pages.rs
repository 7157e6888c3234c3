//! What the pages say is true: the rule table, the exit codes, the commands, the schema of a run.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::process::{Command, Stdio};

use tickover::command;
use tickover::findings::Section;
use tickover::rules::{self, RuleBook, RuleFile, SHIPPED};
use tickover::settings::{self, Settings};

use crate::program::{Yard, printed, python, repository, tickover};

fn readme() -> String {
    fs::read_to_string(repository().join("README.md")).unwrap()
}

#[test]
fn the_table_of_rules_is_what_the_rule_files_say() {
    let files: Vec<RuleFile> = SHIPPED
        .iter()
        .map(|(file, text)| RuleFile {
            name: file.trim_end_matches(".rhai").to_owned(),
            text: Ok((*text).to_owned()),
        })
        .collect();
    let (book, problems) = RuleBook::from_files(&files, "rules", &BTreeMap::new());
    assert!(problems.is_empty(), "{problems:?}");
    let mut table = String::from("<!-- rules -->\n| rule | finds | why |\n|---|---|---|\n");
    for rule in book.rules() {
        let file = &rule.name;
        let _ = writeln!(table, "| [`{file}`](rules/{file}.rhai) | {} | {} |", rule.title, rule.why);
    }
    table.push_str("<!-- /rules -->");
    assert!(readme().contains(&table), "README.md must hold this table:\n{table}");
}

#[test]
fn the_page_of_words_is_what_the_program_knows() {
    snapbox::assert_data_eq!(rules::words_page(), snapbox::file!["../../rules/WORDS.md"].raw());
}

#[test]
fn the_trial_that_the_readme_shows_is_what_comes_out() {
    let folder = tempfile::tempdir().unwrap();
    let shop = folder.path().join("shop");
    assert_eq!(tickover(["demo".as_ref(), shop.as_os_str()]).status.code(), Some(0));
    let rule = fs::read_to_string(shop.join("rules/first-service-due.rhai")).unwrap();
    assert!(rule.contains("const RING_AHEAD = 14.days"));
    let file = folder.path().join("first-service-due.rhai");
    fs::write(&file, rule.replacen("14.days", "20.days", 1)).unwrap();
    let arguments = ["rules", "try", "--today", "2026-03-02", "--yard"].map(AsRef::as_ref);
    let output = tickover(arguments.into_iter().chain([shop.as_os_str(), file.as_os_str()]));
    let printed = printed(&output);
    let readme = readme();
    let (_, shown) = readme.split_once("<!-- trial -->\n```\n").unwrap();
    let (shown, _) = shown.split_once("```\n<!-- /trial -->").unwrap();
    assert!(shown.lines().count() > 5);
    for (shown, printed) in shown.lines().zip(printed.lines()) {
        // Long lines are cut in the page.
        let is_so = shown.strip_suffix('…').map_or(shown == printed, |begins| printed.starts_with(begins));
        assert!(is_so, "shown: {shown}\nprinted: {printed}");
    }
}

#[test]
fn the_settings_that_the_readme_shows_can_be_used() {
    let readme = readme();
    let blocks: Vec<&str> =
        readme.split("```toml\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
    assert!(!blocks.is_empty());
    for block in blocks {
        let (_, problems) = settings::parse(block, "README.md");
        assert_eq!(problems, [], "{block}");
    }
}

#[test]
fn the_settings_explain_every_section_that_a_receiver_can_get() {
    let written = settings::render(&Settings::default()).replace("\n# ", " ");
    for section in Section::ALL {
        assert!(written.contains(section.heading()), "{} is not explained", section.heading());
    }
}

#[test]
fn the_table_of_exit_codes_is_complete() {
    for (code, meaning) in [
        (command::DONE, "done"),
        (command::NEEDS_A_PERSON, "done, and something needs a person"),
        (command::COULD_NOT_RUN, "could not run"),
    ] {
        assert!(readme().contains(&format!("| {code} | {meaning}")), "exit code {code}");
    }
}

#[test]
fn every_command_that_the_readme_names_can_be_typed() {
    let readme = readme();
    let mut typed = BTreeSet::new();
    for line in readme.lines().filter_map(|line| line.strip_prefix("| `tickover ")) {
        let verb: Vec<&str> =
            line.split([' ', '`']).take_while(|word| word.starts_with(char::is_alphabetic)).collect();
        let help = tickover(verb.iter().chain(&["--help"]));
        assert_eq!(help.status.code(), Some(0), "{verb:?}");
        for option in
            line.split('`').next().unwrap().split(['[', ' ', ']']).filter(|word| word.starts_with("--"))
        {
            assert!(printed(&help).contains(option), "{verb:?} {option}");
        }
        typed.insert(verb[0]);
    }
    let help = printed(&tickover(["--help"]));
    let verbs =
        help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    // A line that goes on is further in.
    let verbs = verbs.filter(|line| !line.starts_with("   "));
    let verbs: Vec<_> =
        verbs.map(|line| line.split_whitespace().next().unwrap()).filter(|verb| *verb != "help").collect();
    assert_eq!(typed, BTreeSet::from_iter(verbs), "every command has its line in the table");
}

#[test]
fn the_json_of_a_run_is_what_its_schema_says() {
    let yard = Yard::with_sheets_of(&repository().join("examples/shop/sheets"));
    // No header of this shop says whether its clocks count in miles: that is left open.
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(1));
    yard.put("sheets/broken.xlsx", "not a workbook");
    yard.put("rules/broken.rhai", "const TITLE = ");
    let schema = repository().join("tests/morning.schema.json");
    let check = "import json, sys, jsonschema\n\
        schema = json.load(open(sys.argv[1]))\n\
        jsonschema.Draft202012Validator.check_schema(schema)\n\
        run = json.load(sys.stdin)\n\
        assert run['edits'] or '--dry-run' not in sys.argv, 'no edit to check'\n\
        assert run['findings'] and run['cannot_tell'] and run['complaints'] and run['sheets'], 'nothing to check'\n\
        jsonschema.Draft202012Validator(schema).validate(run)\n";
    for arguments in
        [&["--json", "--today", "2026-03-02"][..], &["--json", "--dry-run", "--today", "2026-03-09"]]
    {
        let run = yard.run("morning", arguments);
        // What the second run tells of: a rule changed, one new, one gone.
        let mot = fs::read_to_string(yard.path().join("rules/mot-due.rhai")).unwrap();
        yard.put("rules/mot-due.rhai", mot.replace("42.days", "43.days"));
        yard.put("rules/mot-again.rhai", mot.replace("\"MOT\"", "\"MOT again\""));
        let _ = fs::remove_file(yard.path().join("rules/wrong-oil.rhai"));
        let mut child = Command::new(python())
            .args(["-c", check])
            .arg(&schema)
            .args(arguments)
            .stdin(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        std::io::Write::write_all(&mut child.stdin.take().unwrap(), &run.stdout).unwrap();
        let checked = child.wait_with_output().unwrap();
        assert!(checked.status.success(), "{}", String::from_utf8_lossy(&checked.stderr));
    }
}
