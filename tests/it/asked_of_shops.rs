//! What a setup asks of shops whose sheets tell one thing in several places, and what it sees by itself. What each sheet
//! means was worked out by hand.

use crate::broken_exports::workbook;
use crate::program::{Yard, printed};
use crate::setup::at_a_terminal;

/// The letter of 14 October 2026 in one line.
fn letter(yard: &Yard) -> String {
    yard.letter_in_a_line("2026-10-14")
}

/// A tab for each year with the visits of it, each machine once.
fn tabs(yard: &Yard) {
    let tab = |year: u32, customer: &str| {
        format!(
            "Date,Reg,Customer,Phone,Miles,Work done,MOT\n05/11/{year},KV18 TAA,{customer},07700 900501,{year}0,Annual \
             service,02/11/2027\n06/11/{year},KV17 TAD,Ms Dunn,07700 900504,{year}1,Rear tyre,04/03/2027\n"
        )
    };
    let tabs =
        [("2023", 2023), ("2024", 2024), ("2025", 2025)].map(|(name, year)| (name, tab(year, "Mr Arden")));
    yard.put("sheets/book.xlsx", workbook(&tabs));
}

#[test]
fn the_tabs_of_several_years_are_asked_about_once_and_the_answer_is_written_for_all() {
    let yard = Yard::empty();
    tabs(&yard);
    // They are jobs; `MOT`, years ahead of a visit, is when it ends; the day comes first; the shop only services.
    let (shown, code) = at_a_terminal(&yard, "2\n1\n1\n2\n\n\n");
    assert_eq!(code, 0, "{shown}");
    let days = "Which day is `05/11/2023` in this sheet?";
    for asked in ["What are the rows of this sheet?", "What is column `MOT`?", days] {
        assert_eq!(shown.matches(asked).count(), 1, "{asked}: {shown}");
        assert!(shown.contains(&format!("book.xlsx, 2023 (2024, 2025 alike): {asked}")), "{asked}: {shown}");
    }
    let settings = yard.settings();
    assert_eq!(settings.matches("\nrows = \"job\"\ndates = \"day first\"\n").count(), 3, "{settings}");
    // Twelve months after the visit of the last tab.
    let letter = letter(&yard);
    assert!(
        letter.contains("Ring Mr Arden on 07700 900501 The annual service falls due on 5 Nov 2026"),
        "{letter}"
    );
}

#[test]
fn what_is_left_open_of_the_tabs_of_several_years_is_listed_once_and_stands_open_at_each() {
    let yard = Yard::empty();
    tabs(&yard);
    let shown = printed(&yard.run("setup", &["--accept"]));
    assert_eq!(
        shown.matches("Open: book.xlsx, 2023 (2024, 2025 alike): What are the rows").count(),
        1,
        "{shown}"
    );
    assert_eq!(shown.matches("What are the rows").count(), 1, "{shown}");
    let settings = yard.settings();
    assert_eq!(settings.matches("\n# rows = \"machine\"").count(), 3, "{settings}");
}

#[test]
fn numbers_under_key_are_asked_about_where_another_sheet_names_its_machines_by_them() {
    let machines = "Key,Reg,Model,Customer,Phone,MOT expiry\n12,KV18 TAA,Heron 400,Mr Arden,07700 900501,02/11/2027\n\
                    13,KV17 TAD,Nib 125,Ms Dunn,07700 900504,14/03/2027\n7,KV19 TAE,Nib 125,Mr Bell,07700 900505,14/04/2027\n";
    let jobs = "Key,Date,Miles,Work done\n12,20/10/2025,8020,Annual service\n13,20/11/2025,21010,Rear tyre\n\
                7,21/11/2025,2010,Annual service\n12,21/01/2026,9010,Chain\n";
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", machines);
    yard.put("sheets/jobs.csv", jobs);
    // Both are the stock number; the clocks are asked about no more, and the shop only services.
    let (shown, code) = at_a_terminal(&yard, "1\n1\n2\n\n\n");
    assert!(shown.contains("jobs.csv: What is column `Key`?") && code == 0, "{shown}");
    assert!(
        shown.contains("machines.csv: What is column `Key`? (jobs.csv names its machines by these)"),
        "{shown}"
    );
    let letter = letter(&yard);
    assert!(
        letter.contains("Ring Mr Arden on 07700 900501 The annual service falls due on 20 Oct 2026"),
        "{letter}"
    );
    // Where nothing uses them they are left alone.
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", machines);
    let shown = printed(&yard.run("setup", &["--accept"]));
    assert!(!shown.contains("What is column `Key`?"), "{shown}");
}

#[test]
fn days_of_the_mot_that_lie_ahead_of_the_sheet_are_those_on_which_certificates_end() {
    let sheet = "Reg,Customer,Tel,MOT date\nBT19 NAA,Mr A,07700 900601,20/10/2026\nBT19 NAB,Mr B,07700 900602,21/01/2027\n\
                 BT19 NAC,Mr C,07700 900603,14/04/2027\n";
    let yard = Yard::empty();
    yard.put_saved_on("sheets/c.csv", sheet, "2026-10-14");
    let shown = printed(&yard.run("setup", &["--accept"]));
    assert!(!shown.contains("What is column `MOT date`?"), "{shown}");
    assert!(shown.contains("most of its days lie ahead, and tests that were passed lie behind"), "{shown}");
    let letter = letter(&yard);
    assert!(letter.contains("Ring Mr A on 07700 900601 The MOT runs out on 20 Oct 2026"), "{letter}");
    // Tests are booked as far ahead as the ends of this one's, and all ends of an old export lie behind.
    for saved in ["2026-10-14", "2027-05-01"] {
        let yard = Yard::empty();
        yard.put_saved_on("sheets/c.csv", sheet.replace("2027", "2026").replace("20/10", "20/11"), saved);
        let shown = printed(&yard.run("setup", &["--accept"]));
        assert!(shown.contains("What is column `MOT date`?"), "{saved}: {shown}");
    }
}

#[test]
fn a_machine_that_has_another_mark_in_one_sheet_only_is_told_of_where_nothing_joins_the_two() {
    let yard = Yard::empty();
    yard.put(
        "sheets/machines.csv",
        "Reg,Model,Customer,Phone,MOT expiry\n7 TAD,Heron 400,Mr Arden,07700 900501,02/11/2027\n\
         KV17 TAD,Nib 125,Ms Dunn,07700 900504,14/03/2027\n",
    );
    yard.put(
        "sheets/jobs.csv",
        "Reg,Model,Customer,Phone,Date,Miles,Work done\nKV18 TAA,Heron 400,Mr Arden,07700 900501,20/10/2025,8020,Annual service\n\
         KV17 TAD,Nib 125,Ms Dunn,07700 900504,20/11/2025,21010,Rear tyre\nKV16 TAE,Nib 125,Mr Bell,07700 900505,20/11/2025,21010,Chain\n",
    );
    printed(&yard.run("setup", &["--accept"]));
    let told = letter(&yard);
    let one = "KV18 TAA may be 7TAD under another mark: the same customer and telephone.";
    assert!(told.contains(one) && told.contains("sheets/jobs.csv, A2"), "{told}");
    assert!(!told.contains("KV16 TAE may be"), "{told}");
    // A number that both sheets have joins them, and nothing is told.
    yard.put(
        "sheets/machines.csv",
        "Reg,Stock no,Model,Customer,Phone,MOT expiry\n7 TAD,N101,Heron 400,Mr Arden,07700 900501,02/11/2027\n",
    );
    yard.put(
        "sheets/jobs.csv",
        "Reg,Stock no,Date,Miles,Work done\nKV18 TAA,N101,20/10/2025,8020,Annual service\n",
    );
    yard.put("tickover.toml", "");
    printed(&yard.run("setup", &["--accept"]));
    let told = letter(&yard);
    assert!(!told.contains("under another mark") && !told.contains("No machine that is listed"), "{told}");
    assert!(
        told.contains("Ring Mr Arden on 07700 900501 The annual service falls due on 20 Oct 2026"),
        "{told}"
    );
}

#[test]
fn visits_that_go_on_under_another_mark_are_told_to_be_perhaps_of_one_machine() {
    let book = |second: &str, clock: &str| {
        format!(
            "Date,Reg,Model,Customer,Phone,Miles,Work done\n20/10/2024,KV18 TAA,Heron 400,Mr Arden,07700 900501,8020,Annual service\n\
             20/04/2025,KV18 TAA,Heron 400,Mr Arden,07700 900501,9020,Chain\n{second},7 TAD,Heron 400,Mr Arden,07700 900501,{clock},Rear tyre\n"
        )
    };
    let one = "7TAD may be KV18 TAA under another mark: the same customer, telephone and model, and its clock goes on from there.";
    for (second, clock, is_told) in
        [("20/10/2025", "9800", true), ("20/10/2025", "310", false), ("20/01/2025", "9800", false)]
    {
        let yard = Yard::empty();
        yard.put("sheets/book.csv", book(second, clock));
        printed(&yard.run("setup", &["--accept"]));
        let told = letter(&yard);
        assert_eq!(told.contains(one), is_told, "{second}, {clock}: {told}");
    }
}

#[test]
fn a_worksheet_that_is_named_by_a_mark_is_about_that_machine() {
    let yard = Yard::empty();
    let log = |clock: u32| {
        format!("Date,Miles,Work\n20/10/2025,{clock},Annual service\n22/04/2026,{},Rear tyre", clock + 900)
    };
    let tabs = [("PM19 AAA", log(6100)), ("pm20.bbb", log(3100)), ("Old one", log(100))];
    yard.put("sheets/bikes.xlsx", workbook(&tabs));
    let shown = printed(&yard.run("setup", &["--accept"]));
    assert!(
        shown.contains("bikes.xlsx, pm20.bbb: one job a row, each of PM20 BBB by the sheet's name"),
        "{shown}"
    );
    let letter = letter(&yard);
    for mark in ["PM19 AAA", "PM20 BBB"] {
        let due = format!(
            "{mark} Ring the customer: no name and no number in the sheets The annual service falls due on 20 Oct 2026"
        );
        assert!(letter.contains(&due), "{mark}: {letter}");
    }
    assert_eq!(
        letter.matches("No column tells which machine a row is about").count(),
        1,
        "the third: {letter}"
    );
}

#[test]
fn the_name_of_a_month_above_its_visits_is_a_heading() {
    let yard = Yard::empty();
    yard.put(
        "sheets/log.csv",
        "OCTOBER 2025,,,,,\nDate,Reg,Customer,Phone,Miles,Work done\n20/10/2025,MN19 AAA,Mr Elm,07700 900411,6100,Rear tyre\n\
         24/10/2025,MN20 BBB,Mr Oak,07700 900412,9100,Annual service\nTotal,2,,,,\n,,,,,\nNOVEMBER 2025,,,,,\n\
         Date,Reg,Customer,Phone,Miles,Work done\n21/11/2025,MN19 AAA,Mr Elm,07700 900411,6700,Annual service\nTotal,1,,,,\n",
    );
    printed(&yard.run("setup", &["--accept"]));
    let letter = letter(&yard);
    assert!(
        letter.contains("Ring Mr Oak on 07700 900412 The annual service falls due on 24 Oct 2026"),
        "{letter}"
    );
    assert!(letter.contains("3 records") && !letter.contains("names no machine"), "{letter}");
}

#[test]
fn road_tests_are_known_by_their_short_name() {
    let yard = Yard::empty();
    yard.put(
        "sheets/stock.csv",
        "REG NO,MAKE/MODEL,CUST NAME,HANDOVER,RD TEST 1 MILES,RD TEST 2 MILES\nKA76 RAB,NIB 125,MRS HOLT,17 OCT 2026,5,6\n",
    );
    printed(&yard.run("setup", &["--accept"]));
    let settings = yard.settings();
    for line in
        ["\"RD TEST 1 MILES\" = \"first ride distance\"", "\"RD TEST 2 MILES\" = \"second ride distance\""]
    {
        assert!(settings.contains(line), "{line}: {settings}");
    }
}

#[test]
fn two_lists_that_have_one_machine_under_two_marks_are_told_of() {
    let lists = |model: &str| {
        let yard = Yard::empty();
        yard.put(
            "sheets/customers.csv",
            format!("Reg,Model,Customer,Phone,MOT expiry\n7 TAD,{model},Mr Arden,07700 900501,22/11/2027\n"),
        );
        yard.put(
            "sheets/stock.csv",
            "Reg,Model,Customer,Phone,Handover\nKV18 TAA,Heron 400,Mr Arden,07700 900501,22/11/2024\n\
             KV19 TAB,Heron 400,Mr Arden,07700 900501,22/11/2024\n",
        );
        printed(&yard.run("setup", &["--accept"]));
        letter(&yard)
    };
    let told = lists("Heron 400");
    assert!(
        told.contains("KV18 TAA may be 7TAD under another mark: the same customer, telephone and model."),
        "{told}"
    );
    // One sheet that lists two machines has two.
    assert!(
        !told.contains("KV19 TAB may be KV18 TAA") && !told.contains("KV18 TAA may be KV19 TAB"),
        "{told}"
    );
    assert!(!lists("Nib 125").contains("under another mark"));
}
