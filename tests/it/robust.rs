//! What goes wrong in a yard folder is said with what, where and what to do, and everything else still runs.

use std::fs;
use std::process::Command;

use serde_json::Value;

use crate::program::{MACHINES, Yard, said, tickover};

/// The complaints of a run about a file: what is wrong, and what to do.
fn complaints(run: &Value, file: &str) -> Vec<(String, String)> {
    let all = run["complaints"].as_array().unwrap().iter();
    all.filter(|complaint| complaint["file"] == file)
        .map(|complaint| {
            let part = |name: &str| complaint[name].as_str().unwrap().to_owned();
            (part("problem"), part("help"))
        })
        .collect()
}

fn has_finding(run: &Value, rule: &str, mark: &str) -> bool {
    let mut all = run["findings"].as_array().unwrap().iter();
    all.any(|finding| finding["rule"] == rule && finding["machine"]["mark"] == mark)
}

/// The run says something of the file that names a way out, needs a person, and judges the rest.
#[track_caller]
fn check(yard: &Yard, file: &str, what: &str) {
    let (run, code) = yard.morning("2026-03-02");
    let found = complaints(&run, file);
    assert!(found.iter().any(|(problem, help)| problem.contains(what) && !help.is_empty()), "{found:?}");
    assert_eq!(code, Some(1));
    assert!(has_finding(&run, "first-service-due", "AB12 CDE"), "the rest is judged");
}

#[test]
fn a_sound_yard_needs_nobody() {
    let (run, code) = Yard::of_two_machines().morning("2026-03-02");
    assert_eq!(code, Some(0), "{}", run["complaints"]);
    assert!(has_finding(&run, "first-service-due", "AB12 CDE"));
    assert!(!has_finding(&run, "first-service-due", "AB13 CDE"));
}

#[test]
fn a_folder_that_is_no_yard_cannot_be_run() {
    let folder = tempfile::tempdir().unwrap();
    let output = tickover(["morning".as_ref(), "--yard".as_ref(), folder.path().as_os_str()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("this is no yard folder"), "{}", said(&output));
    assert!(said(&output).contains("tickover setup"), "{}", said(&output));
}

#[test]
fn a_missing_folder_of_sheets_is_said() {
    let yard = Yard::of_two_machines();
    fs::remove_dir_all(yard.path().join("sheets")).unwrap();
    let (run, code) = yard.morning("2026-03-02");
    assert_eq!(code, Some(1));
    assert!(!complaints(&run, "sheets").is_empty(), "{}", run["complaints"]);
}

#[test]
fn an_empty_file_is_said() {
    let yard = Yard::of_two_machines();
    yard.put("sheets/fuel.csv", "");
    check(&yard, "sheets/fuel.csv", "empty");
}

#[test]
fn a_file_that_is_not_what_its_name_says_is_said() {
    let yard = Yard::of_two_machines();
    yard.put("sheets/jobs.xlsx", b"\x00\x01\x02 nothing that a spreadsheet program wrote \xff");
    check(&yard, "sheets/jobs.xlsx", "");
}

#[test]
fn a_sheet_with_no_column_in_common_is_said() {
    let yard = Yard::of_two_machines();
    yard.put("sheets/recipes.csv", "Dish,Flavour,Spoons\nPorridge,plain,3\nStew,rich,4\n");
    check(&yard, "sheets/recipes.csv", "");
}

#[test]
fn a_rule_file_that_does_not_parse_is_said_with_its_line() {
    let yard = Yard::of_two_machines();
    let path = yard.path().join("rules/mot-due.rhai");
    let source = fs::read_to_string(&path).unwrap();
    fs::write(&path, source.replacen("fn judge(machine) {", "fn judge(machine {", 1)).unwrap();
    let (run, code) = yard.morning("2026-03-02");
    assert_eq!(code, Some(1));
    let rule = run["rules"].as_array().unwrap().iter().find(|rule| rule["rule"] == "mot-due").unwrap();
    assert_eq!(rule["in_force"], true, "as it ships");
    assert!(rule["problem"].as_str().unwrap().starts_with("rules/mot-due.rhai:"), "{rule}");
    assert!(has_finding(&run, "first-service-due", "AB12 CDE"), "the other rules judge");
}

#[test]
fn a_rule_that_broke_since_stays_in_force_as_it_was() {
    let yard = Yard::of_two_machines();
    let (_, code) = yard.kept_morning("2026-03-02");
    assert_eq!(code, Some(0));
    yard.put("rules/first-service-due.rhai", "const TITLE = \n");
    let (run, code) = yard.kept_morning("2026-03-03");
    assert_eq!(code, Some(1));
    assert!(has_finding(&run, "first-service-due", "AB12 CDE"));
    let letter = fs::read_to_string(yard.path().join("digests/2026-03-03.txt")).unwrap();
    let first_screen: String = letter.lines().take(12).collect::<Vec<_>>().join("\n");
    assert!(first_screen.contains("first-service-due.rhai"), "{first_screen}");
}

#[test]
fn a_rule_that_fails_on_one_machine_is_said_and_stops_nothing() {
    let yard = Yard::of_two_machines();
    yard.put(
        "rules/odd.rhai",
        "const TITLE = \"Odd\";\nconst WHY = \"To fail on one machine.\";\n\
         fn applies_to(machine) { true }\n\
         fn far_off(machine) { later(machine.today + 9_000.years, machine.today) }\n\
         fn judge(machine) { if machine.maybe.clock ?? 0.miles > 500.miles { return ring(`x`).by(far_off(machine)) } clear() }\n\
         const EXAMPLES = [given(\"none\", #{ today: \"2026-03-02\" }).expect(\"clear\")];\n",
    );
    let (run, code) = yard.morning("2026-03-02");
    assert_eq!(code, Some(1));
    let found = complaints(&run, "rules/odd.rhai");
    assert!(found.len() == 1 && found[0].0.contains("AB12 CDE"), "{found:?}");
    assert!(has_finding(&run, "first-service-due", "AB12 CDE"));
}

#[test]
fn settings_that_are_no_toml_cannot_be_run() {
    let yard = Yard::of_two_machines();
    yard.put("tickover.toml", "[shop\nname = ");
    let output = yard.run("morning", &["--today", "2026-03-02"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("tickover.toml:1:"), "{}", said(&output));
}

#[test]
fn a_ledger_that_is_none_is_said_and_the_letter_still_comes() {
    let yard = Yard::of_two_machines();
    yard.put(
        "kept/ledger.sqlite3",
        "this is a shopping list, not a ledger; butter, eggs, oil, and more of the same",
    );
    let (run, code) = yard.kept_morning("2026-03-02");
    assert_eq!(code, Some(1));
    assert!(!complaints(&run, "kept/ledger.sqlite3").is_empty());
    assert!(has_finding(&run, "first-service-due", "AB12 CDE"));
    assert!(yard.path().join("digests/2026-03-02.html").is_file());
}

#[test]
fn a_ledger_that_another_run_holds_is_said_and_the_letter_still_comes() {
    let yard = Yard::of_two_machines();
    yard.kept_morning("2026-03-01");
    let holder = rusqlite::Connection::open(yard.path().join("kept/ledger.sqlite3")).unwrap();
    holder.execute_batch("BEGIN EXCLUSIVE").unwrap();
    let (run, code) = yard.kept_morning("2026-03-02");
    assert_eq!(code, Some(1));
    assert!(!complaints(&run, "kept/ledger.sqlite3").is_empty());
    assert!(yard.path().join("digests/2026-03-02.html").is_file());
}

#[test]
fn a_full_disk_is_said_and_the_run_ends_in_words() {
    let yard = Yard::of_two_machines();
    let kept = yard.path().join("kept");
    let mounted =
        Command::new("mount").args(["-t", "tmpfs", "-o", "size=64k", "tmpfs"]).arg(&kept).status().unwrap();
    assert!(mounted.success(), "this test mounts a small file system, which needs the rights of root");
    let (run, code) = yard.kept_morning("2026-03-02");
    Command::new("umount").arg(&kept).status().unwrap();
    assert_eq!(code, Some(1));
    assert!(!complaints(&run, "kept/ledger.sqlite3").is_empty(), "{}", run["complaints"]);
    assert!(has_finding(&run, "first-service-due", "AB12 CDE"));
    assert!(yard.path().join("digests/2026-03-02.html").is_file());
}

#[test]
fn a_round_made_twice_changes_nothing_and_tells_nothing_more() {
    let yard = Yard::of_two_machines();
    let (first, _) = yard.kept_morning("2026-03-02");
    let letter = fs::read(yard.path().join("digests/2026-03-02.eml")).unwrap();
    let (second, _) = yard.kept_morning("2026-03-02");
    assert_eq!(first["findings"], second["findings"]);
    assert_eq!(first["delivery"]["message_id"], second["delivery"]["message_id"]);
    assert_eq!(second["delivery"]["state"], "already delivered");
    assert_eq!(fs::read(yard.path().join("digests/2026-03-02.eml")).unwrap(), letter);
}

#[test]
fn a_finding_is_new_then_open_then_settled() {
    let yard = Yard::of_two_machines();
    let state = |day: &str| {
        let (run, _) = yard.kept_morning(day);
        let findings = run["findings"].as_array().unwrap().clone();
        let mine = findings.iter().find(|finding| {
            finding["rule"] == "first-service-due" && finding["machine"]["mark"] == "AB12 CDE"
        });
        mine.map(|finding| (finding["state"].as_str().unwrap().to_owned(), finding["since"].clone()))
    };
    assert_eq!(state("2026-03-02"), Some(("new".to_owned(), "2026-03-02".into())));
    assert_eq!(state("2026-03-03"), Some(("open".to_owned(), "2026-03-02".into())));
    yard.put("sheets/jobs.csv", "Reg,Date,Work done,Mileage\nAB12 CDE,03/03/2026,First service,640\n");
    assert_eq!(state("2026-03-04"), Some(("settled".to_owned(), "2026-03-02".into())));
    assert_eq!(state("2026-03-05"), None);
}

#[test]
fn an_export_that_forgets_loses_nothing() {
    let yard = Yard::of_two_machines();
    yard.kept_morning("2026-03-02");
    yard.put("sheets/mileages.csv", "Reg,Date,Mileage\nAB13 CDE,03/03/2026,110\n");
    let (run, _) = yard.kept_morning("2026-03-04");
    let finding =
        run["findings"].as_array().unwrap().iter().find(|finding| {
            finding["rule"] == "first-service-due" && finding["machine"]["mark"] == "AB12 CDE"
        });
    let evidence = finding.expect("the reading of 620 is kept")["evidence"].to_string();
    assert!(evidence.contains("620 miles"), "{evidence}");
}

#[test]
fn a_machine_with_anything_open_before_handover_carries_its_caution_and_is_never_called_ready() {
    let yard = Yard::of_two_machines();
    yard.put(
        "sheets/coming.csv",
        "Reg,Make,Model,Registered,Sold,Handover\nAB14 CDE,Marlow,Spruce,27/02/2026,27/02/2026,02/03/2026\n",
    );
    let (run, _) = yard.kept_morning("2026-03-02");
    assert!(has_finding(&run, "missed-checks", "AB14 CDE"), "{}", run["findings"]);
    for ending in ["txt", "html"] {
        let letter = fs::read_to_string(yard.path().join(format!("digests/2026-03-02.{ending}"))).unwrap();
        let words: Vec<&str> = letter.split(|letter: char| !letter.is_alphabetic()).collect();
        assert!(letter.contains("Keep in the yard"));
        assert!(
            words.windows(4).any(|words| words == ["Do", "not", "release", "while"]),
            "the caution is printed"
        );
        assert!(
            !words.iter().any(|word| ["ready", "Ready", "released"].contains(word)),
            "nothing is called ready"
        );
    }
}

/// What became of the finding that keeps AB14 CDE in the yard, a day after something happened to the sheets.
fn after(happening: impl FnOnce(&Yard)) -> String {
    let yard = Yard::of_two_machines();
    yard.put(
        "sheets/coming.csv",
        "Stock No,Reg,Make,Sold,Handover\nS9,AB14 CDE,Marlow,27/02/2026,02/03/2026\n",
    );
    let (run, _) = yard.kept_morning("2026-03-02");
    assert!(has_finding(&run, "missed-checks", "AB14 CDE"));
    happening(&yard);
    let (run, _) = yard.kept_morning("2026-03-03");
    let mut findings = run["findings"].as_array().unwrap().iter();
    let mine =
        findings.find(|finding| finding["rule"] == "missed-checks" && finding["machine"]["stock_no"] == "S9");
    mine.map_or("gone".to_owned(), |finding| finding["state"].as_str().unwrap().to_owned())
}

#[test]
fn a_machine_stays_in_the_yard_whatever_becomes_of_its_sheet() {
    let sheets = |yard: &Yard| yard.path().join("sheets");
    let coming = "sheets/coming.csv";
    let header = "Stock No,Reg,Make,Sold,Handover\n";
    assert_eq!(after(|_| {}), "open");
    assert_eq!(after(|yard| yard.put(coming, "")), "open", "emptied");
    assert_eq!(after(|yard| yard.put(coming, b"\x00\x01\x02\xff")), "open", "junk");
    assert_eq!(after(|yard| fs::remove_file(yard.path().join(coming)).unwrap()), "open", "removed");
    assert_eq!(after(|yard| fs::remove_dir_all(sheets(yard)).unwrap()), "open", "the folder is gone");
    let blank = format!("{header}S9,AB14 CDE,Marlow,27/02/2026,\n");
    assert_eq!(after(|yard| yard.put(coming, blank)), "open", "the cell is emptied");
    let later = format!("{header}S9,AB14 CDE,Marlow,27/02/2026,tbc\n");
    assert_eq!(after(|yard| yard.put(coming, later)), "open", "the cell says tbc");
    let renamed = "Stock No,Reg,Make,Sold,Colour\nS9,AB14 CDE,Marlow,27/02/2026,02/03/2026\n";
    assert_eq!(after(|yard| yard.put(coming, renamed)), "open", "the column is renamed");
}

#[test]
fn a_letter_that_found_no_room_comes_with_the_next_one() {
    let yard = Yard::of_two_machines();
    let digests = yard.path().join("digests");
    fs::remove_dir_all(&digests).unwrap();
    yard.put("digests", "a file where the folder should be");
    let (run, code) = yard.kept_morning("2026-03-02");
    assert_eq!((code, run["delivery"]["state"].as_str()), (Some(1), Some("not delivered")));
    fs::remove_file(&digests).unwrap();
    let (_, code) = yard.kept_morning("2026-03-03");
    assert_eq!(code, Some(0));
    for day in ["2026-03-02", "2026-03-03"] {
        assert!(digests.join(format!("{day}.eml")).is_file(), "{day}");
    }
}

#[test]
fn a_rule_file_that_is_gone_is_said_that_day_and_ends_its_findings() {
    let yard = Yard::of_two_machines();
    yard.kept_morning("2026-03-02");
    fs::remove_file(yard.path().join("rules/first-service-due.rhai")).unwrap();
    for _ in 0..2 {
        let (run, code) = yard.kept_morning("2026-03-03");
        assert_eq!((code, complaints(&run, "rules/first-service-due.rhai").len()), (Some(1), 1));
        let first =
            run["findings"].as_array().unwrap().iter().find(|it| it["rule"] == "first-service-due").unwrap();
        assert_eq!(first["state"], "settled");
        assert!(first["evidence"].to_string().contains("taken out of the folder"), "{first}");
    }
    let (run, code) = yard.kept_morning("2026-03-04");
    assert_eq!((code, complaints(&run, "rules/first-service-due.rhai").len()), (Some(0), 0));
}

#[test]
fn without_its_folder_of_rules_a_yard_is_judged_by_those_that_were_in_force() {
    let yard = Yard::of_two_machines();
    let rules = yard.path().join("rules");
    for entry in fs::read_dir(&rules).unwrap() {
        let path = entry.unwrap().path();
        if !path.ends_with("first-service-due.rhai") {
            fs::remove_file(path).unwrap();
        }
    }
    yard.kept_morning("2026-03-02");
    fs::remove_dir_all(&rules).unwrap();
    let (run, code) = yard.kept_morning("2026-03-03");
    let names: Vec<_> = run["rules"].as_array().unwrap().iter().map(|rule| rule["rule"].clone()).collect();
    assert_eq!((code, names), (Some(1), vec![Value::from("first-service-due")]));
    assert!(has_finding(&run, "first-service-due", "AB12 CDE"));
}

#[test]
fn no_rule_at_all_is_said() {
    let yard = Yard::of_two_machines();
    for entry in fs::read_dir(yard.path().join("rules")).unwrap() {
        fs::remove_file(entry.unwrap().path()).unwrap();
    }
    let (run, code) = yard.morning("2026-03-02");
    assert_eq!(code, Some(1));
    assert!(complaints(&run, "rules")[0].0.contains("no rule is in force"));
}

#[test]
fn setup_leaves_what_was_agreed_and_adds_what_is_new() {
    let yard = Yard::of_two_machines();
    let settings = || fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    let corrected = settings().replace("\"Customer\" = \"customer\"", "\"Customer\" = \"note\" # ours");
    assert_ne!(corrected, settings());
    yard.put("tickover.toml", &corrected);
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    assert_eq!(settings(), corrected, "nothing new, nothing changed");
    yard.put("sheets/fuel.csv", "Reg,Date,Litres,Pump grade,Colour\nAB12 CDE,20/02/2026,5.1,E10,red\n");
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    let (before, added) =
        settings().split_at_checked(corrected.len()).map(|(a, b)| (a.to_owned(), b.to_owned())).unwrap();
    assert_eq!(before, corrected);
    assert!(added.starts_with("\n[[sheet]]\nfile = \"fuel.csv\"\nrows = \"fill\"\n"), "{added}");
    assert!(added.contains("# \"Colour\" = \"\"") && added.contains("# A column here can be: "), "{added}");
    let (_, code) = yard.morning("2026-03-02");
    assert_eq!(code, Some(0));
}

#[test]
fn setup_reads_a_file_that_lies_elsewhere_and_nothing_beside_it() {
    let (yard, desk) = (Yard::empty(), tempfile::tempdir().unwrap());
    fs::write(desk.path().join("bikes.csv"), MACHINES).unwrap();
    fs::write(desk.path().join("letters.csv"), "Dear,Sir\nhow,are\nyou,all\n").unwrap();
    let bikes = desk.path().join("bikes.csv");
    let output = yard.run("setup", &["--accept", bikes.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let (run, code) = yard.morning("2026-03-02");
    assert_eq!((code, run["machines"].as_u64()), (Some(0), Some(2)), "{}", run["complaints"]);
    let output = yard.run("setup", &["--accept", "nofile.csv"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(said(&output).contains("there is no such file or folder"), "{}", said(&output));
}

#[test]
fn a_sheet_that_was_agreed_and_is_gone_is_said() {
    let yard = Yard::of_two_machines();
    fs::remove_file(yard.path().join("sheets/mileages.csv")).unwrap();
    // What was agreed was copied, and stands in.
    let (run, code) = yard.morning("2026-03-02");
    assert_eq!(code, Some(1));
    let of_sheet = complaints(&run, "sheets/mileages.csv");
    assert!(of_sheet[0].0.starts_with("this file is gone; its copy of "), "{}", run["complaints"]);
    fs::remove_dir_all(yard.path().join("kept/exports")).unwrap();
    let (run, code) = yard.morning("2026-03-02");
    assert_eq!(code, Some(1));
    assert!(complaints(&run, "tickover.toml")[0].0.contains("mileages.csv"), "{}", run["complaints"]);
}

#[test]
fn a_check_that_failed_stays_open_when_its_row_drops_out_of_the_export() {
    let yard = Yard::of_two_machines();
    let (checks, failed) = (
        "Reg,Date,Check,Result,By\nAB14 CDE,26/02/2026,PDI,Pass,KT\nAB14 CDE,27/02/2026,Quality check,Pass,LM\n",
        "AB14 CDE,27/02/2026,Front brake,Fail,LM\n",
    );
    yard.put(
        "sheets/coming.csv",
        "Reg,Make,Registered,Sold,Handover\nAB14 CDE,Marlow,27/02/2026,27/02/2026,02/03/2026\n",
    );
    yard.put(
        "sheets/rides.csv",
        "Reg,Date,Miles ridden,Top speed mph\nAB14 CDE,25/02/2026,6,30\nAB14 CDE,26/02/2026,6,30\n",
    );
    // What a file says is done counts once somebody has agreed on it.
    yard.put("sheets/checks.csv", format!("{checks}{failed}"));
    yard.run("setup", &["--accept"]);
    let open = |content: String, day: &str| {
        yard.put("sheets/checks.csv", content);
        let (run, _) = yard.kept_morning(day);
        let mut findings = run["findings"].as_array().unwrap().iter();
        let mine = findings.find(|it| it["rule"] == "missed-checks" && it["machine"]["mark"] == "AB14 CDE");
        mine.map(|it| {
            (it["state"].as_str().unwrap().to_owned(), it["text"].as_str().unwrap().contains("Front brake"))
        })
    };
    assert_eq!(open(format!("{checks}{failed}"), "2026-03-02"), Some(("new".to_owned(), true)));
    assert_eq!(open(checks.to_owned(), "2026-03-03"), Some(("open".to_owned(), true)));
    let passed = format!("{checks}AB14 CDE,03/03/2026,Front brake,Pass,LM\n");
    assert_eq!(open(passed, "2026-03-04"), Some(("settled".to_owned(), true)));
}

#[test]
fn a_copy_of_a_rule_file_is_said() {
    let yard = Yard::of_two_machines();
    let rules = yard.path().join("rules");
    fs::copy(rules.join("mot-due.rhai"), rules.join("mot-due - Copy.rhai")).unwrap();
    let (run, code) = yard.kept_morning("2026-03-02");
    assert_eq!(code, Some(1));
    let found = complaints(&run, "rules/mot-due - Copy.rhai");
    let said = "this is a copy of `mot-due.rhai`, word for word, and both judge, so all is told twice";
    assert!(found.len() == 1 && found[0].0 == said, "{found:?}");
    // It is in force as it stands, and not as an earlier version of itself.
    let letter = fs::read_to_string(yard.path().join("digests/2026-03-02.txt")).unwrap();
    assert!(letter.contains("MOT: in force, with something to look at"), "{letter}");
    assert!(!letter.contains("an earlier version"), "{letter}");

    // One that was changed is not the same word for word.
    let changed = fs::read_to_string(rules.join("mot-due.rhai")).unwrap().replace("42.days", "41.days");
    yard.put("rules/mot-due - Copy.rhai", changed);
    let found = complaints(&yard.morning("2026-03-03").0, "rules/mot-due - Copy.rhai");
    assert!(found.len() == 1 && found[0].0.contains("`mot-due.rhai` have one title"), "{found:?}");
}

#[test]
fn a_rule_that_floods_is_held_back_and_said() {
    let yard = Yard::of_two_machines();
    let settings = fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    yard.put("tickover.toml", settings.replace("# findings_of_a_rule = 2000", "findings_of_a_rule = 1"));
    yard.put(
        "rules/all.rhai",
        "const TITLE = \"All\";\nconst WHY = \"A test.\";\nfn judge(machine) { bench(`look`) }\n\
         const EXAMPLES = [given(\"any\", #{ today: \"2026-03-02\" }).expect(\"bench\")];\n",
    );
    let (run, code) = yard.morning("2026-03-02");
    let told = run["findings"].as_array().unwrap().iter().filter(|it| it["rule"] == "all").count();
    let untold = run["cannot_tell"].as_array().unwrap().iter().filter(|it| it["rule"] == "all").count();
    assert_eq!((code, told, untold), (Some(1), 1, 1), "{}", run["complaints"]);
    assert!(complaints(&run, "rules/all.rhai")[0].0.contains("raises 2 findings"), "{}", run["complaints"]);
}

#[test]
fn a_ledger_that_is_gone_with_all_its_copies_is_missed() {
    let yard = Yard::of_two_machines();
    yard.kept_morning("2026-03-02");
    fs::remove_dir_all(yard.path().join("kept")).unwrap();
    let (run, code) = yard.kept_morning("2026-03-03");
    assert_eq!(code, Some(1));
    let said = complaints(&run, "kept/ledger.sqlite3");
    assert_eq!(
        said[0].0,
        "the ledger could not be used (it is gone): as there was no sound copy, a new one was begun"
    );
    yard.kept_morning("2026-03-04");
    let (run, _) = yard.kept_morning("2026-03-05");
    assert_eq!(complaints(&run, "kept/ledger.sqlite3"), [], "two letters have told it");
}
