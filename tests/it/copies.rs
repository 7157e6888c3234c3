//! The ledger's safety in a yard: damage, losses and full disks are mended and said, and no day is told twice.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::Value;

use crate::program::{MACHINES, MILEAGES, Yard, printed, python, said, tickover};

/// A yard of which the mornings of 2 and 3 March have been told.
fn yard() -> Yard {
    let yard = Yard::of_two_machines();
    for day in ["2026-03-02", "2026-03-03"] {
        let (run, code) = yard.kept_morning(day);
        assert_eq!(code, Some(0), "{}", run["complaints"]);
    }
    yard
}

/// What the long run asks for at the time of the letter; gives its answer.
fn letter_time(yard: &Yard, day: &str) -> Value {
    let round = yard.run("do-round", &["--tells", "morning", "--today", day]);
    serde_json::from_slice(&round.stdout).unwrap_or_else(|_| panic!("{}", said(&round)))
}

fn names_in(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut names: Vec<_> =
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// The letters of a day in the folder, each with its text.
fn letters(yard: &Yard, day: &str) -> Vec<(String, String)> {
    let folder = yard.path().join("digests");
    let of_day = names_in(&folder).into_iter().filter(|name| name.starts_with(day) && name.ends_with(".txt"));
    of_day.map(|name| (name.clone(), fs::read_to_string(folder.join(name)).unwrap())).collect()
}

fn message_id(yard: &Yard, letter: &str) -> String {
    let mail = fs::read_to_string(yard.path().join("digests").join(letter)).unwrap();
    mail.lines().find(|line| line.starts_with("Message-ID: ")).unwrap().to_owned()
}

fn has_finding(run: &Value, rule: &str, mark: &str) -> bool {
    let mut all = run["findings"].as_array().unwrap().iter();
    all.any(|finding| finding["rule"] == rule && finding["machine"]["mark"] == mark)
}

fn overwrite(yard: &Yard) {
    let path = yard.path().join("kept/ledger.sqlite3");
    let mut bytes = fs::read(&path).unwrap();
    let length = bytes.len();
    bytes[4096..length / 2].fill(0xAA);
    fs::write(path, bytes).unwrap();
}

#[test]
fn the_first_round_of_a_day_copies_the_ledger() {
    let yard = yard();
    let copies = yard.path().join("kept/copies");
    assert_eq!(names_in(&copies), ["ledger-2026-03-02.sqlite3", "ledger-2026-03-03.sqlite3"]);
    let first = fs::read(copies.join("ledger-2026-03-03.sqlite3")).unwrap();
    yard.kept_morning("2026-03-03");
    assert_eq!(fs::read(copies.join("ledger-2026-03-03.sqlite3")).unwrap(), first, "once a day");
    assert_eq!(yard.morning("2026-03-04").1, Some(0));
    assert_eq!(names_in(&copies).len(), 2, "a dry run copies nothing");
}

#[test]
fn a_damaged_ledger_is_mended_without_telling_a_told_day_again_and_the_next_letter_says_it() {
    let yard = yard();
    let told = letters(&yard, "2026-03-03");
    let mail = message_id(&yard, "2026-03-03.eml");
    // The copy of the day is gone with the ledger: that the day was told shows only in the folder.
    fs::remove_file(yard.path().join("kept/copies/ledger-2026-03-03.sqlite3")).unwrap();
    overwrite(&yard);
    let answer = letter_time(&yard, "2026-03-03");
    assert_eq!(answer["told"], serde_json::json!(["2026-03-02", "2026-03-03"]));
    assert_eq!((letters(&yard, "2026-03-03"), answer["trouble"].as_u64()), (told, Some(1)));
    assert_eq!(
        names_in(&yard.path().join("kept/set-aside")),
        ["ledger-2026-03-03.sqlite3", "ledger-2026-03-03.txt"]
    );

    // Whoever asks for it gets one more, with a name of its own, and what was told before stays.
    let (run, code) = yard.kept_morning("2026-03-03");
    assert_eq!(code, Some(1));
    assert_ne!(message_id(&yard, "2026-03-03-2.eml"), mail);
    assert_eq!(message_id(&yard, "2026-03-03.eml"), mail);
    assert!(has_finding(&run, "first-service-due", "AB12 CDE"));

    letter_time(&yard, "2026-03-04");
    let [(_, letter)] = &letters(&yard, "2026-03-04")[..] else { panic!("one letter of the day") };
    let letter = letter.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in ["it was set aside as kept/set-aside/ledger-2026-03-03.sqlite3", "its copy of 2 Mar 2026"] {
        assert!(letter.contains(words), "{letter}");
    }
    let (run, code) = yard.kept_morning("2026-03-05");
    assert_eq!(code, Some(0), "it is told no more: {}", run["complaints"]);
    let since = &run["findings"][0]["since"];
    assert_eq!(since, "2026-03-02", "the copy knows since when");
}

#[test]
fn without_a_sound_copy_a_new_ledger_is_begun_and_no_told_day_is_told_again() {
    let yard = yard();
    let before = letters(&yard, "2026-03-03");
    for name in names_in(&yard.path().join("kept/copies")) {
        fs::write(yard.path().join("kept/copies").join(name), "no ledger").unwrap();
    }
    yard.put("kept/ledger.sqlite3", "butter, eggs and oil");
    let answer = letter_time(&yard, "2026-03-03");
    assert_eq!(answer["told"], serde_json::json!(["2026-03-02", "2026-03-03"]));
    assert_eq!(letters(&yard, "2026-03-03"), before);
    let (run, code) = yard.kept_morning("2026-03-04");
    assert_eq!(code, Some(1));
    assert!(has_finding(&run, "first-service-due", "AB12 CDE"), "today's sheets join as usual");
    let problem = run["complaints"][0]["problem"].as_str().unwrap();
    assert!(problem.contains("as there was no sound copy, a new one was begun"), "{problem}");
}

#[test]
fn a_round_that_tells_nothing_leaves_it_to_the_next_letter_to_say_what_befell_the_ledger() {
    let yard = yard();
    overwrite(&yard);
    let round = yard.run("do-round", &["--tells", "nothing", "--today", "2026-03-04"]);
    assert_eq!(round.status.code(), Some(1), "{}", said(&round));
    letter_time(&yard, "2026-03-04");
    let [(_, letter)] = &letters(&yard, "2026-03-04")[..] else { panic!("one letter of the day") };
    assert!(letter.contains("ledger-2026-03-04.sqlite3"), "{letter}");
}

#[test]
fn a_letter_that_was_told_while_the_ledger_was_in_use_elsewhere_is_not_told_again() {
    let yard = yard();
    let holder = rusqlite::Connection::open(yard.path().join("kept/ledger.sqlite3")).unwrap();
    holder.execute_batch("BEGIN EXCLUSIVE").unwrap();
    assert_eq!(letter_time(&yard, "2026-03-04")["told_now"], true);
    holder.execute_batch("COMMIT").unwrap();
    drop(holder);
    let told = letters(&yard, "2026-03-04");
    assert_eq!(told.len(), 1);
    assert_eq!(letter_time(&yard, "2026-03-04")["told_now"], false);
    assert_eq!(letters(&yard, "2026-03-04"), told);
}

#[test]
fn a_copy_that_cannot_be_made_stops_nothing_and_is_said_the_next_morning() {
    let yard = yard();
    fs::remove_dir_all(yard.path().join("kept/copies")).unwrap();
    yard.put("kept/copies", "a file in the way");
    let (run, code) = yard.kept_morning("2026-03-04");
    assert_eq!(code, Some(1));
    assert!(has_finding(&run, "first-service-due", "AB12 CDE"));
    let problems = |run: &Value| run["complaints"].to_string();
    assert!(problems(&run).contains("no copy of the ledger could be made at "), "{}", problems(&run));
    let (run, _) = yard.kept_morning("2026-03-05");
    assert!(problems(&run).contains("there is no copy of the ledger since 2 Mar 2026"), "{}", problems(&run));
    fs::remove_file(yard.path().join("kept/copies")).unwrap();
    yard.kept_morning("2026-03-05");
    assert_eq!(yard.kept_morning("2026-03-06").1, Some(0));
}

#[test]
fn what_is_personal_of_a_machine_that_no_sheet_names_any_more_is_forgotten() {
    let yard = yard();
    let settings = fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    let line = settings.lines().find(|line| line.trim_start().starts_with("forget_machines_after")).unwrap();
    yard.put("tickover.toml", settings.replace(line, "forget_machines_after = \"60 days\""));
    let of_bob =
        |text: &str| text.lines().filter(|line| !line.contains("AB12 CDE")).collect::<Vec<_>>().join("\n");
    yard.put("sheets/machines.csv", of_bob(MACHINES));
    yard.put("sheets/mileages.csv", of_bob(MILEAGES));
    assert_eq!(letters(&yard, "2026-03-02").len(), 1);
    yard.kept_morning("2026-05-02");
    let export = yard.path().join("all");
    let rows_with = |mark: &str| {
        let exported = yard.run("export", &[export.to_str().unwrap()]);
        assert_eq!(exported.status.code(), Some(0), "{}", said(&exported));
        let files = names_in(&export).into_iter();
        let text: String = files.map(|name| fs::read_to_string(export.join(name)).unwrap()).collect();
        text.matches(mark).count()
    };
    assert!(rows_with("AB12CDE") > 0, "60 days are not past");
    // By a clock that has leapt nothing is forgotten: the yard must have been in use on some days before.
    for day in ["2026-05-03", "2026-05-04", "2026-05-05", "2026-05-06"] {
        yard.kept_morning(day);
        assert!(rows_with("AB12CDE") > 0, "{day}");
    }
    yard.kept_morning("2026-05-07");
    assert_eq!(rows_with("AB12CDE"), 0);
    assert!(rows_with("AB13CDE") > 0);
    assert_eq!((letters(&yard, "2026-03-02").len(), letters(&yard, "2026-05-02").len()), (0, 1));
}

/// Reads an export as any other program would, and undoes what its page says of cells that begin with an apostrophe.
const READ_EXPORT: &str = "
import csv, json, pathlib, sys
tables = {}
for path in sorted(pathlib.Path(sys.argv[1]).glob('*.csv')):
    raw = path.read_bytes()
    assert raw.startswith(b'\\xef\\xbb\\xbf'), path
    with path.open(encoding='utf-8-sig', newline='') as file:
        rows = list(csv.reader(file, strict=True))
    assert rows and all(len(row) == len(rows[0]) for row in rows), path
    for row in rows:
        assert not any(cell[:1] in ('=', '+', '-', '@', '\\t', '\\r', '\\n') for cell in row if cell), (path, row)
    clean = [[cell[1:] if cell.startswith(\"'\") else cell for cell in row] for row in rows]
    tables[path.stem] = [dict(zip(clean[0], row)) for row in clean[1:]]
json.dump(tables, sys.stdout)
";

#[test]
fn everything_that_is_kept_is_exported_and_no_cell_is_a_formula() {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", MACHINES);
    yard.put("sheets/mileages.csv", MILEAGES);
    yard.put(
        "sheets/jobs.csv",
        "Reg,Date,Work done,Mileage,Mechanic\n\
         AB12 CDE,20/02/2026,\"=HYPERLINK(\"\"http://x.example\"\")\",620,@Lee\n\
         AB13 CDE,25/02/2026,\"'first, then\",90,\n\
         AB13 CDE,26/02/2026,-rattle,91,Kim\n",
    );
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    yard.kept_morning("2026-03-02");
    let export = yard.path().join("all");
    let exported = yard.run("export", &[export.to_str().unwrap()]);
    assert_eq!(exported.status.code(), Some(0), "{}", said(&exported));
    assert!(printed(&exported).contains("jobs.csv: 3 rows"), "{}", printed(&exported));

    let page = fs::read_to_string(export.join("README.txt")).unwrap();
    assert!(page.starts_with("What these files are\n"), "{page}");
    let beside = "README.txt beside them says what each file and column is.\n";
    assert!(said(&exported).contains(beside), "{}", said(&exported));

    let read = Command::new(python()).args(["-c", READ_EXPORT]).arg(&export).output().unwrap();
    assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));
    let tables: BTreeMap<String, Vec<BTreeMap<String, String>>> =
        serde_json::from_slice(&read.stdout).unwrap();
    let columns = |table: &str, names: &[&str]| -> Vec<String> {
        let row = |row: &BTreeMap<String, String>| {
            names.iter().map(|name| row[*name].clone()).collect::<Vec<_>>().join("|")
        };
        tables[table].iter().map(row).collect()
    };
    let jobs = ["mark", "day", "done", "clock", "by", "first seen", "last seen", "file", "row"];
    assert_eq!(
        columns("jobs", &jobs),
        [
            "AB12CDE|2026-02-20|=HYPERLINK(\"http://x.example\")|620|@Lee|2026-03-02|2026-03-02|sheets/jobs.csv|2",
            "AB13CDE|2026-02-25|'first, then|90||2026-03-02|2026-03-02|sheets/jobs.csv|3",
            "AB13CDE|2026-02-26|-rattle|91|Kim|2026-03-02|2026-03-02|sheets/jobs.csv|4",
        ]
    );
    let readings = columns("readings", &["mark", "day", "clock"]);
    for reading in ["AB12CDE|2026-02-20|620", "AB13CDE|2026-02-25|90"] {
        assert!(readings.iter().any(|found| found == reading), "{readings:?}");
    }
    assert_eq!(columns("letters", &["day", "kind", "edition", "state"]), ["2026-03-02|morning|1|delivered"]);
    let letter = fs::read_to_string(yard.path().join("digests/2026-03-02.txt")).unwrap();
    assert_eq!(columns("letters", &["text"]), [letter]);
    let findings = columns("findings", &["rule", "machine", "state", "since", "told"]);
    let due = "first-service-due|mark AB12CDE|new|2026-03-02|2026-03-02".to_owned();
    assert!(findings.contains(&due), "{findings:?}");
    assert_eq!(tables["rules"].len(), tickover::rules::SHIPPED.len());
    let names = tables.keys().map(String::as_str).collect::<Vec<_>>();
    let expected = [
        "checks",
        "fills",
        "findings",
        "jobs",
        "letter-rules",
        "letters",
        "mails",
        "named",
        "readings",
        "receivers",
        "rides",
        "rule-texts",
        "rules",
    ];
    assert_eq!(names, expected);
}

#[test]
fn an_export_takes_only_a_folder_of_its_own() {
    let yard = yard();
    let folder = tempfile::tempdir().unwrap();
    let into = folder.path().to_str().unwrap();
    for _ in 0..2 {
        assert_eq!(
            yard.run("export", &[into]).status.code(),
            Some(0),
            "a new one, and over an earlier export"
        );
    }
    fs::write(folder.path().join("accounts.xlsx"), "the owner's").unwrap();
    let refused = yard.run("export", &[into]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        said(&refused).contains("this folder holds something else than an earlier export"),
        "{}",
        said(&refused)
    );
    let none = tickover(["export", "--yard", into, &format!("{into}/new")]);
    assert_eq!(none.status.code(), Some(2), "there is no yard");
}
