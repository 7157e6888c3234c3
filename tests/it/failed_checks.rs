//! A check that failed, or of which nobody can read how it came out, is never lost on the way from a sheet to the letter.
//! What each result means was worked out by hand; how workshops write them is common practice, no source.

use crate::program::{Yard, printed, said};

const TODAY: &str = "2026-12-09";
const SALES: &str = "Reg,Model,Registered,Handover\nKX76 ABD,Knot 300,2026-12-03,2026-12-09\n";
const RIDES: &str =
    "Date,Reg,Miles ridden,Top speed mph,Rider\n2026-12-06,KX76 ABD,6,40,Ann\n2026-12-07,KX76 ABD,7,42,Bo\n";
/// Both checks done and passed by two people, as it must be.
const PASSED: &str =
    "Date,Reg,Item,Result,By\n2026-12-07,KX76 ABD,PDI,ok,Ann\n2026-12-07,KX76 ABD,QC,ok,Bo\n";

/// The letter of a shop that hands one machine over today, with more rows in its log of checks.
fn letter_with(more: &str) -> String {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", SALES);
    yard.put("sheets/rides.csv", RIDES);
    yard.put("sheets/checks.csv", format!("{PASSED}{more}"));
    let setup = yard.run("setup", &["--accept"]);
    assert!(setup.status.code() < Some(2), "{}", said(&setup));
    letter(&yard)
}

/// The words of the letter of today, each parted by one blank from the next.
fn letter(yard: &Yard) -> String {
    yard.letter_in_a_line(TODAY)
}

#[test]
fn a_machine_with_all_passed_may_go() {
    let letter = letter_with("");
    assert!(!letter.contains("with this still open"), "{letter}");
}

#[test]
fn a_failure_after_a_pass_keeps_the_machine_in_the_yard_in_its_own_words() {
    for (row, open) in [
        (
            "QC,Front brake binding - FAIL",
            "quality check (failed on 8 Dec 2026: \"Front brake binding - FAIL\")",
        ),
        ("Front brake,binding - FAIL", "Front brake (failed on 8 Dec 2026: \"binding - FAIL\")"),
        ("QC,\"pads low, failed\"", "quality check (failed on 8 Dec 2026: \"pads low, failed\")"),
        ("QC,NOT PASSED", "quality check (failed on 8 Dec 2026: \"NOT PASSED\")"),
        ("QC,nok", "quality check (failed on 8 Dec 2026)"),
    ] {
        let letter = letter_with(&format!("2026-12-08,KX76 ABD,{row},Bo\n"));
        let open = format!("Handover is today, with this still open: {open}. Do not let it go");
        assert!(letter.contains("1 stays in the yard") && letter.contains(&open), "{row}: {letter}");
    }
}

#[test]
fn a_result_that_nobody_can_read_leaves_the_check_open_and_stands_at_the_top() {
    for result in ["binding", "ok but leaking", "see Sam", "pass?"] {
        let letter = letter_with(&format!("2026-12-08,KX76 ABD,QC,{result},Bo\n"));
        let open = format!(
            "Handover is today, with this still open: quality check (the result of 8 Dec 2026 does not say pass or fail: \
             \"{result}\"). Do not let it go"
        );
        assert!(letter.contains(&open), "{letter}");
        let top = format!(
            "Knot 300, KX76 ABD: nobody can tell whether its quality check is passed: the `result` does not say pass or \
             fail — sheets/checks.csv, D4: `{result}`"
        );
        let at = |words: &str| letter.find(words).unwrap_or_else(|| panic!("no `{words}` in {letter}"));
        assert!(at("Look at this first") < at(&top) && at(&top) < at("Keep in the yard"), "{letter}");
    }
}

#[test]
fn what_a_later_pass_settles_is_not_raised() {
    let letter = letter_with("2026-12-06,KX76 ABD,QC,binding,Bo\n");
    assert!(!letter.contains("nobody can tell whether"), "{letter}");
    assert!(!letter.contains("stays in the yard"), "{letter}");
    assert!(letter.contains("The `result` does not say pass or fail"), "it is told all the same: {letter}");
}

#[test]
fn a_pass_with_a_remark_is_a_pass() {
    for result in ["pass with advisory", "ok after adj"] {
        let letter = letter_with(&format!("2026-12-08,KX76 ABD,QC,{result},Bo\n"));
        assert!(!letter.contains("with this still open"), "{letter}");
    }
}

/// A shop's one wide sheet, of a machine that goes today, set up without anybody to ask.
fn wide(columns: &str, rows: &[&str]) -> Yard {
    let yard = Yard::empty();
    let row = |(place, results): (usize, &&str)| {
        let letter = ["A", "B", "C", "D"][place];
        format!("KX76 AB{letter},Knot 300,2026-12-03,2026-12-09,{results}\n")
    };
    let rows: String = rows.iter().enumerate().map(row).collect();
    yard.put("sheets/bikes.csv", format!("Reg,Model,Registered,Handover,{columns}\n{rows}"));
    yard.run("setup", &["--accept"]);
    yard
}

#[test]
fn a_column_of_brakes_with_remarks_is_asked_about_and_until_then_stands_at_the_top() {
    for results in [
        ["binding - FAIL", "ok", ""],
        ["ok", "FAIL", "ok"],
        ["ok", "low", "ok"],
        ["pads gone", "ok", "ok"],
        ["pads gone", "binding", "low"],
    ] {
        let yard = wide("Brakes", &results);
        let setup = yard.run("setup", &["--accept"]);
        assert_eq!(setup.status.code(), Some(1), "it is open: {}", printed(&setup));
        assert!(printed(&setup).contains("What is column `Brakes`?"), "{}", printed(&setup));
        let letter = letter(&yard);
        let top = "The column `Brakes` is not read, and may hold checks of the machine, which may have failed — sheets/bikes.csv. Run \
                   `tickover setup`, which asks, or write `\"Brakes\" = \"check item\"` below this sheet's [sheet.columns] in \
                   tickover.toml";
        let at = |words: &str| letter.find(words).unwrap_or_else(|| panic!("no `{words}` in {letter}"));
        assert!(at("Look at this first") < at(top) && at(top) < at("Keep in the yard"), "{letter}");
    }
}

#[cfg(unix)]
#[test]
fn an_answer_makes_the_column_a_check_and_what_failed_keeps_the_machine() {
    let yard = Yard::empty();
    let sheet = "Reg,Model,Registered,Handover,Brakes,Chain\nKX76 ABD,Knot 300,2026-12-03,2026-12-09,binding - FAIL,low\n\
                 KX76 ABE,Knot 300,2026-12-03,2026-12-09,ok,ok\n";
    yard.put("sheets/bikes.csv", sheet);
    let (shown, code) = crate::setup::at_a_terminal(&yard, "1\n1\n\n\n");
    assert_eq!(code, 0, "{shown}");
    for header in ["Brakes", "Chain"] {
        assert!(yard.settings().contains(&format!("\"{header}\" = \"check item\"\n")), "{shown}");
    }
    let letter = letter(&yard);
    let open = "Handover is today, with this still open: Brakes (failed, on an unknown day: \"binding - FAIL\"); Chain (the \
                result does not say pass or fail: \"low\"); pre-delivery inspection";
    assert!(letter.contains(open), "{letter}");
    assert!(!letter.contains("may hold checks of the machine"), "{letter}");
}

#[test]
fn a_column_that_was_agreed_to_be_nothing_and_one_of_sizes_are_left_alone() {
    for (columns, results) in [("Tyres", "120/70 ZR17"), ("Brake type", "disc"), ("Battery", "YTX9-BS")] {
        let yard = wide(columns, &[results; 3]);
        assert!(!letter(&yard).contains("may hold checks"), "{columns}");
    }
    let yard = wide("Brakes", &["ok", "low", "ok"]);
    yard.put(
        "tickover.toml",
        yard.settings().replace("# \"Brakes\" = \"check item\"", "\"Brakes\" = \"nothing\""),
    );
    assert!(yard.settings().contains("\n\"Brakes\" = \"nothing\""), "{}", yard.settings());
    assert!(!letter(&yard).contains("may hold checks"));
}

#[test]
fn until_somebody_says_what_an_x_means_it_neither_passes_nor_fails() {
    for sign in ["x", "X"] {
        let yard = wide("PDI", &[sign, sign, ""]);
        let setup = yard.run("setup", &["--accept"]);
        let asked = format!("What does a bare `{sign}` say of a check here?");
        assert_eq!(
            (setup.status.code(), printed(&setup).contains(&asked)),
            (Some(1), true),
            "{}",
            printed(&setup)
        );
        assert!(yard.settings().contains("\n# ticks = \"done\"  # or \"failed\""), "{}", yard.settings());
        let said = letter(&yard);
        let top = format!(
            "A bare `{sign}` may mean done or failed: by 2 cells of this sheet no check is passed, and none failed — \
             sheets/bikes.csv, E2: `{sign}`. Run `tickover setup`, which asks"
        );
        let at = |words: &str| said.find(words).unwrap_or_else(|| panic!("no `{words}` in {said}"));
        assert!(at("Look at this first") < at(&top) && at(&top) < at("Keep in the yard"), "{said}");
        assert!(
            said.contains(&format!("pre-delivery inspection (\"{sign}\" may mean done or failed)")),
            "{said}"
        );
        // The line that stands there behind a # will do.
        for (word, open) in
            [("done", None), ("failed", Some("pre-delivery inspection (failed, on an unknown day)"))]
        {
            let text = yard.settings().replace("# ticks = \"done\"", &format!("ticks = \"{word}\""));
            let answered = wide("PDI", &[sign, sign, ""]);
            answered.put("tickover.toml", text);
            let said = letter(&answered);
            assert!(!said.contains("may mean done or failed"), "{said}");
            match open {
                Some(open) => assert!(said.contains(open), "{said}"),
                None => assert_eq!(said.matches("pre-delivery inspection passed").count(), 2, "{said}"),
            }
        }
    }
}

#[test]
fn a_box_that_nobody_has_ticked_is_not_done_and_never_failed() {
    let yard = wide("PDI", &["FALSE", "FALSE", "FALSE"]);
    let letter = letter(&yard);
    assert!(letter.contains("pre-delivery inspection (not done)"), "{letter}");
    assert!(!letter.contains("(failed"), "{letter}");
}

#[test]
fn a_yes_says_that_an_inspection_is_done_and_not_how_a_part_was_found() {
    for sign in ["TRUE", "Y", "1"] {
        let said = letter(&wide("PDI", &[sign, sign, "ok"]));
        assert!(!said.contains("may mean done or failed"), "{said}");
        assert_eq!(said.matches("pre-delivery inspection passed").count(), 3, "{said}");
        let results = format!("{sign},{sign},ok");
        let said = letter(&wide("Brakes,Tyres,Chain", &[&results, &results, "ok,ok,ok"]));
        assert!(said.contains("by 4 cells of this sheet no check is passed, and none failed"), "{said}");
        assert!(said.contains(&format!("Brakes and Tyres (\"{sign}\" may mean done or failed)")), "{said}");
    }
}

#[cfg(unix)]
#[test]
fn what_an_x_means_is_asked_once_a_sheet_and_kept() {
    let yard = Yard::empty();
    let sheet = "Reg,Model,Registered,Handover,Brakes,Tyres,Chain\nKX76 ABD,Knot 300,2026-12-03,2026-12-09,x,Y,Y\n\
                 KX76 ABE,Knot 300,2026-12-03,2026-12-09,Y,x,Y\n";
    yard.put("sheets/bikes.csv", sheet);
    let (shown, code) = crate::setup::at_a_terminal(&yard, "3\n\n\n");
    assert_eq!((code, shown.matches("What does a bare `Y` or `x` say").count()), (0, 1), "{shown}");
    assert!(shown.contains("3  an x: it failed; the others: it was done"), "{shown}");
    assert!(yard.settings().contains("\nticks = \"only x failed\"\n"), "{}", yard.settings());
    let letter = letter(&yard);
    for open in ["Brakes (failed, on an unknown day)", "Tyres (failed, on an unknown day)"] {
        assert_eq!(letter.matches(open).count(), 1, "{letter}");
    }
    let (shown, code) = crate::setup::at_a_terminal(&yard, "");
    assert_eq!((code, shown.contains("Answer, ")), (0, false), "{shown}");
}

#[test]
fn without_a_terminal_and_without_a_word_nothing_is_written_and_the_exit_code_says_so() {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", SALES);
    let shown = yard.run("setup", &[]);
    assert_eq!(shown.status.code(), Some(1), "{}", printed(&shown));
    assert!(printed(&shown).contains("not written yet. Run it again with --accept"), "{}", printed(&shown));
    assert!(!yard.path().join("tickover.toml").exists());
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    // What could not be read is an error that the exit code says, too.
    yard.put("sheets/notes.csv", "AB12 CDE,14/03/2026,120\n");
    let shown = yard.run("setup", &["--accept"]);
    assert!(said(&shown).contains("error: "), "{}", said(&shown));
    assert_eq!(shown.status.code(), Some(1), "{}", printed(&shown));
}

/// A workbook with a tab a month, of which the last is laid out and has no job yet.
fn book_of_months(of_march: &[[&str; 4]]) -> Vec<u8> {
    let mut book = rust_xlsxwriter::Workbook::new();
    let jobs: [(&str, &[[&str; 4]]); 2] = [
        (
            "Feb 26",
            &[
                ["14 Feb 2026", "VX21 FAA", "Chain", "8120"],
                ["20 Feb 2026", "VX22 FAB", "Front pads", "4100"],
            ],
        ),
        ("Mar 26", of_march),
    ];
    for (month, jobs) in jobs {
        let tab = book.add_worksheet().set_name(month).unwrap();
        let count = jobs.len().to_string();
        let foot = [["", "", "", ""], ["", "", "Jobs this month", count.as_str()]];
        for (row, cells) in (0..).zip([["Date", "Reg", "Job", "Miles"]].iter().chain(jobs).chain(&foot)) {
            for (column, text) in (0..).zip(cells) {
                match text.parse::<f64>() {
                    Ok(number) => tab.write_number(row, column, number).unwrap(),
                    Err(_) => tab.write_string(row, column, *text).unwrap(),
                };
            }
        }
    }
    book.save_to_buffer().unwrap()
}

#[test]
fn a_months_tab_without_a_job_yet_and_the_count_at_its_foot_raise_no_alarm() {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", "Reg,Model,Registered,Handover\nVX21 FAA,Knot 300,2025-03-03,2025-03-05\nVX22 FAB,Knot 300,2025-03-03,2025-03-05\n");
    yard.put("sheets/jobs.xlsx", book_of_months(&[]));
    let setup = yard.run("setup", &["--accept"]);
    assert_eq!(setup.status.code(), Some(0), "{}", said(&setup));
    let (run, code) = yard.morning("2026-03-09");
    assert_eq!((code, run["complaints"].as_array().unwrap().len()), (Some(0), 0), "{}", run["complaints"]);
    // Where no tab has a row there is nothing to go by, and what cannot be read is told as ever.
    yard.put("sheets/jobs.xlsx", book_of_months(&[["soon", "VX21 FAA", "", ""]]));
    let (run, _) = yard.morning("2026-03-09");
    assert!(run["complaints"].to_string().contains("A2"), "{}", run["complaints"]);
}

#[test]
fn what_was_unclear_is_settled_once_the_cell_or_the_settings_say_it() {
    let sheet = |result: &str| {
        format!(
            "Reg,Model,Registered,Handover,PDI\nKX76 ABD,Knot 300,2026-12-03,2026-12-20,{result}\n\
             KX76 ABE,Knot 300,2026-12-03,2027-01-20,ok\nKX76 ABF,Knot 300,2026-12-03,2027-01-20,ok\n"
        )
    };
    let open = |yard: &Yard, today: &str| {
        let (run, _) = yard.kept_morning(today);
        run["findings"].to_string().contains("pre-delivery inspection (")
    };
    // The office writes into the cell what was meant.
    let yard = Yard::empty();
    yard.put("sheets/bikes.csv", sheet("binding"));
    yard.run("setup", &["--accept"]);
    assert!(open(&yard, "2026-12-15"));
    yard.put("sheets/bikes.csv", sheet("ok"));
    assert!(!open(&yard, "2026-12-16"));
    assert!(!open(&yard, "2026-12-17"));
    // The owner writes into the settings what an x means.
    let yard = Yard::empty();
    yard.put("sheets/bikes.csv", sheet("x"));
    yard.run("setup", &["--accept"]);
    assert!(open(&yard, "2026-12-15"));
    yard.put("tickover.toml", yard.settings().replace("# ticks = \"done\"", "ticks = \"done\""));
    assert!(!open(&yard, "2026-12-16"));
}
