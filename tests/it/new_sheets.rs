//! Sheets that come to those that were agreed: each is named once, with how it was read and what to write.

use crate::broken_exports::workbook;
use crate::changed_sheets::{
    HEADERS, is_silent, machines, of_sheets, says, sheet, yard, yard_without_agreement,
};
use crate::program::{Yard, printed};
use crate::withdrawn::{QUALITY, RIDE, before_handover, ready};

const LOG: &str = "Reg,Date,Mileage\nAB10 CDE,20/02/2026,1300\nAB11 CDE,25/02/2026,1400\n";
/// What is said of it.
const NEW: [&str; 4] = [
    "sheets/clocks.csv: this sheet is new, and nothing was agreed of it: by its looks a row was read as a reading",
    "`Reg` as mark, `Date` as day, `Mileage` as clock",
    "`[[sheet]]`, `file = \"clocks.csv\"` and `rows = \"reading\"`",
    "This is said once.",
];

#[test]
fn a_new_file_is_named_at_the_top_of_one_letter_with_the_lines_to_write() {
    let yard = yard();
    yard.put("sheets/clocks.csv", LOG);
    // A look that tells nothing does not use it up, and the same letter once more says the same.
    let (run, _) = yard.morning("2026-03-03");
    says(&run, &NEW);
    for _ in 0..2 {
        let (run, code) = yard.kept_morning("2026-03-03");
        says(&run, &NEW);
        assert_eq!(code, Some(1));
    }
    let letter = printed(&yard.run("morning", &["--today", "2026-03-03", "--dry-run"]));
    let at = |words: &str| letter.find(words).unwrap_or_else(|| panic!("`{words}` is not in: {letter}"));
    assert!(at("This sheet is new") < at("Ring today"), "{letter}");
    let (run, _) = yard.kept_morning("2026-03-04");
    is_silent(&run);
}

#[test]
fn the_lines_that_the_letter_gives_settle_it() {
    let yard = yard();
    yard.put("sheets/clocks.csv", LOG);
    let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    for rows in ["reading", "nothing"] {
        let lines = format!("{settings}\n[[sheet]]\nfile = \"clocks.csv\"\nrows = \"{rows}\"\n");
        yard.put("tickover.toml", lines);
        let (run, _) = yard.morning("2026-03-03");
        is_silent(&run);
    }
}

#[test]
fn a_new_worksheet_is_named_and_one_that_stands_where_another_was_agreed_is_said_together_with_that() {
    let yard = Yard::empty();
    let stock = || sheet(&HEADERS, &machines());
    let put = |sheets: &[(&str, String)]| yard.put("sheets/all.xlsx", workbook(sheets));
    put(&[("Stock", stock())]);
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    yard.kept_morning("2026-03-02");
    put(&[("Stock", stock()), ("Clocks", LOG.to_owned())]);
    let (run, _) = yard.kept_morning("2026-03-03");
    says(
        &run,
        &["this sheet is new", "`file = \"all.xlsx\"`, `sheet = \"Clocks\"` and `rows = \"reading\"`"],
    );
    put(&[("Bikes", stock()), ("Clocks", LOG.to_owned())]);
    let (run, _) = yard.kept_morning("2026-03-04");
    says(
        &run,
        &[
            "the sheet all.xlsx, Stock was agreed, and is not among those that were read",
            "the new sheet sheets/all.xlsx, Bikes looks like it",
            "write `file = \"all.xlsx\"` and `sheet = \"Bikes\"` in its [[sheet]]",
        ],
    );
    assert_eq!(run["machines"], 12);
}

#[test]
fn where_nothing_was_agreed_and_of_the_next_of_a_series_nothing_is_called_new() {
    let yard_without_agreement = yard_without_agreement();
    yard_without_agreement.put("sheets/clocks.csv", LOG);
    let (run, _) = yard_without_agreement.kept_morning("2026-03-03");
    is_silent(&run);
    let yard = yard();
    for (day, said) in [("03", 1), ("04", 0), ("05", 0)] {
        yard.put(&format!("sheets/clocks 2026-03-{day}.csv"), LOG);
        let (run, _) = yard.kept_morning(&format!("2026-03-{day}"));
        assert_eq!(of_sheets(&run).len(), said, "{day}: {:?}", of_sheets(&run));
    }
}

/// Twelve clocks on days of which nothing tells whether the day or the month comes first.
fn clocks(factor: f64) -> String {
    let row = |number: u32| {
        let clock = (f64::from(400 + 37 * number) * factor).round();
        format!("AB{} CDE,{:02}/02/2026,{clock}\n", 10 + number, 1 + number)
    };
    format!("Reg,Date,Clock\n{}", (0..12).map(row).collect::<String>())
}

/// A yard with a log whose clocks count in km and whose months come first, as was agreed of it.
fn yard_with_clocks(file: &str, content: impl AsRef<[u8]>) -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", sheet(&HEADERS[..4], &machines()));
    yard.put(&format!("sheets/{file}"), content);
    let agreed = format!(
        "[[sheet]]\nfile = \"machines.csv\"\nrows = \"machine\"\n\n[[sheet]]\nfile = \"{file}\"\nrows = \"reading\"\n\
         dates = \"month first\"\ndistances = \"km\"\n[sheet.columns]\n\"Clock\" = \"clock\"\n"
    );
    yard.put("tickover.toml", agreed);
    let (run, _) = yard.kept_morning("2026-12-14");
    is_silent(&run);
    yard
}

/// The kept readings as the export writes them: mark, day, clock, unit.
fn readings(yard: &Yard) -> Vec<String> {
    let place = yard.path().join("all of it");
    assert!(yard.run("export", &[place.to_str().unwrap()]).status.success());
    let text = std::fs::read_to_string(place.join("readings.csv")).unwrap();
    std::fs::remove_dir_all(place).unwrap();
    let mut rows: Vec<String> = text.lines().skip(1).map(str::to_owned).collect();
    rows.sort();
    rows
}

#[test]
fn a_sheet_that_comes_under_another_name_is_read_as_was_agreed_until_it_is_agreed() {
    for (old, new) in [("clocks.csv", "odometers.csv"), ("clocks.csv", "clocks.tsv")] {
        let yard = yard_with_clocks(old, clocks(1.0));
        let before = readings(&yard);
        std::fs::remove_file(yard.path().join(format!("sheets/{old}"))).unwrap();
        for day in ["2026-12-15", "2026-12-16"] {
            yard.put(&format!("sheets/{new}"), clocks(1.0));
            let (run, _) = yard.kept_morning(day);
            says(
                &run,
                &[
                    &format!("the sheet {old} was agreed, and is not among those that were read"),
                    &format!(
                        "the new sheet sheets/{new} looks like it. If it is, write `file = \"{new}\"` in its [[sheet]]"
                    ),
                    "until then it is read as was agreed of that one",
                ],
            );
        }
        let said = |row: &String| row.split(',').take(6).collect::<Vec<_>>().join(",").replace(old, new);
        let rows = |rows: &[String]| rows.iter().map(said).collect::<Vec<_>>();
        assert_eq!(rows(&readings(&yard)), rows(&before), "{before:#?}");
        let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
        yard.put(
            "tickover.toml",
            settings.replace(&format!("file = \"{old}\""), &format!("file = \"{new}\"")),
        );
        let (run, _) = yard.kept_morning("2026-12-17");
        is_silent(&run);
        assert_eq!(readings(&yard).len(), before.len());
    }
}

#[test]
fn a_sheet_that_comes_under_another_name_and_in_another_unit_is_not_guessed_anew() {
    let yard = yard_with_clocks("clocks.csv", clocks(1.0));
    let before = readings(&yard);
    std::fs::remove_file(yard.path().join("sheets/clocks.csv")).unwrap();
    for day in ["2026-12-15", "2026-12-16"] {
        yard.put("sheets/odometers.csv", clocks(1.0 / 1.609_344));
        let (run, _) = yard.kept_morning(day);
        let said = of_sheets(&run);
        assert!(said.iter().any(|one| one.contains("odometers.csv") && one.contains("miles")), "{said:#?}");
        assert_eq!((readings(&yard).len(), said.len()), (before.len(), 2), "{said:#?}");
    }
}

// Worksheets of a workbook that was agreed.

/// The row of RJK alone, below the headers, with this quality check.
fn rjk(quality: &str) -> String {
    let mut lines = Vec::new();
    let all = ready(quality, RIDE);
    lines.extend(all.lines().filter(|line| line.starts_with("Reg,") || line.starts_with("AB75 RJK")));
    lines.join("\n") + "\n"
}

/// A workbook with one worksheet of machines, of which RJK's quality check is open, agreed and read on 2 March.
fn yard_with_quality_open(tab: &str) -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/all.xlsx", workbook(&[(tab, ready(",", RIDE))]));
    yard.run("setup", &["--accept"]);
    let (run, _) = yard.kept_morning("2026-03-02");
    assert!(before_handover(&run, "AB75 RJK").contains("quality check"), "{run:#}");
    yard
}

#[test]
fn a_new_worksheet_of_an_agreed_workbook_lets_no_machine_go_until_its_lines_are_written() {
    let checks = "Reg,Date,Check,Result,By\nAB75 RJK,28/02/2026,Quality check,ok,TR\n".to_owned();
    for (tab, text) in [("QC 2026", checks), ("Old", rjk(QUALITY)), ("Bikes (2)", rjk(QUALITY))] {
        let yard = yard_with_quality_open("Bikes");
        let both = workbook(&[("Bikes", ready(",", RIDE)), (tab, text.clone())]);
        for day in ["2026-03-03", "2026-03-04", "2026-03-05"] {
            yard.put("sheets/all.xlsx", &both);
            let (run, code) = yard.kept_morning(day);
            assert!(before_handover(&run, "AB75 RJK").contains("quality check"), "{tab} {day}: {run:#}");
            let said = of_sheets(&run);
            let held = |line: &&String| line.contains("do not count until you say so");
            assert_eq!((said.iter().filter(held).count(), code), (1, Some(1)), "{tab} {day}: {said:#?}");
        }
        // Gone again it lets none go either.
        for day in ["2026-03-06", "2026-03-07"] {
            yard.put("sheets/all.xlsx", workbook(&[("Bikes", ready(",", RIDE))]));
            let (run, _) = yard.kept_morning(day);
            assert!(before_handover(&run, "AB75 RJK").contains("quality check"), "{tab} {day}: {run:#}");
        }
        yard.put("sheets/all.xlsx", &both);
        let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
        let rows = if tab == "QC 2026" { "check" } else { "machine" };
        let lines =
            format!("{settings}\n[[sheet]]\nfile = \"all.xlsx\"\nsheet = \"{tab}\"\nrows = \"{rows}\"\n");
        yard.put("tickover.toml", lines);
        let (run, _) = yard.kept_morning("2026-03-09");
        assert!(!before_handover(&run, "AB75 RJK").contains("quality check"), "{tab}: {run:#}");
    }
}

#[test]
fn the_next_tab_of_a_series_with_the_same_columns_counts_at_once() {
    for (tab, next) in [("2025", "2026"), ("Feb", "March"), ("QC 02.26", "QC 03.26")] {
        let yard = yard_with_quality_open(tab);
        yard.put("sheets/all.xlsx", workbook(&[(tab, ready(",", RIDE)), (next, rjk(QUALITY))]));
        let (run, _) = yard.kept_morning("2026-03-03");
        assert_eq!(before_handover(&run, "AB75 RJK"), "", "{tab}: {:#?}", of_sheets(&run));
        let other = rjk(QUALITY).replace("QC date", "Quality check");
        let yard = yard_with_quality_open(tab);
        yard.put("sheets/all.xlsx", workbook(&[(tab, ready(",", RIDE)), (next, other)]));
        let (run, _) = yard.kept_morning("2026-03-03");
        assert!(before_handover(&run, "AB75 RJK").contains("quality check"), "{:#?}", of_sheets(&run));
    }
}

#[test]
fn a_worksheet_that_is_only_renamed_lets_the_same_machines_go() {
    let yard = Yard::empty();
    yard.put("sheets/all.xlsx", workbook(&[("Bikes", ready(QUALITY, RIDE))]));
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-03-02");
    yard.put("sheets/all.xlsx", workbook(&[("Machines", ready(QUALITY, RIDE))]));
    for day in ["2026-03-03", "2026-03-04", "2026-03-05"] {
        let (run, _) = yard.kept_morning(day);
        assert_eq!(before_handover(&run, "AB75 RJK"), "", "{:#?}", of_sheets(&run));
    }
}

#[test]
fn lines_of_a_worksheet_that_went_long_ago_let_no_new_one_count() {
    let bikes = ("Bikes", ready(",", RIDE));
    let yard = Yard::empty();
    yard.put("sheets/all.xlsx", workbook(&[bikes.clone(), ("Old bikes", rjk(","))]));
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-03-02");
    yard.put("sheets/all.xlsx", workbook(std::slice::from_ref(&bikes)));
    // By then that it is gone is taken to be meant.
    for day in ["2026-03-03", "2026-03-04", "2026-03-05", "2026-03-06", "2026-03-09", "2026-03-10"] {
        yard.kept_morning(day);
    }
    yard.put("sheets/all.xlsx", workbook(&[bikes, ("More", rjk(QUALITY))]));
    for day in ["2026-03-11", "2026-03-12"] {
        let (run, _) = yard.kept_morning(day);
        assert!(before_handover(&run, "AB75 RJK").contains("quality check"), "{day}: {:#?}", of_sheets(&run));
        let said = of_sheets(&run);
        assert!(said.iter().any(|line| line.contains("do not count until you say so")), "{day}: {said:#?}");
    }
}

#[test]
fn two_new_worksheets_where_one_went_are_no_renamed_one() {
    let yard = yard_with_quality_open("Bikes");
    let tabs = [("One", ready(",", RIDE)), ("Two", rjk(QUALITY))];
    yard.put("sheets/all.xlsx", workbook(&tabs));
    let (run, _) = yard.kept_morning("2026-03-03");
    assert!(before_handover(&run, "AB75 RJK").contains("quality check"), "{:#?}", of_sheets(&run));
}
