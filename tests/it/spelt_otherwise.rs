//! Initials and spellings that are replaced in all sheets take nothing back, clocks that are put right count at once, and a
//! sheet that another program has saved changes nothing, for whole mornings.
//!
//! What each case must come to is reckoned by hand; what is a spelling is our decision.

use std::fmt::Write as _;

use serde_json::Value;

use crate::changed_sheets::{is_silent, of_sheets};
use crate::withdrawn::{taken_back, yard};

const MACHINES: &str = "Reg,Model,Customer,Handover\nAB12 CDE,Burdock 400,Ann Ashe,03/03/2025\n\
    AB13 CDE,Burdock 400,Bob Brook,10/03/2025\nAB14 CDE,Sallow 125,Cat Carr,17/03/2025\n\
    AB15 CDE,Sallow 125,Dan Dale,24/03/2025\nAB16 CDE,Sallow 125,Eve Firth,07/03/2026\n";

/// Jobs and checks of these machines, as many as somebody replaces at once.
fn jobs(service: &str, by: &str) -> String {
    let mut sheet = "Date,Reg,Work done,Mileage,Tech\n".to_owned();
    for number in 0..12 {
        let (mark, miles) = (12 + number % 4, 500 + 100 * number);
        let _ = writeln!(
            sheet,
            "{:02}/{:02}/2025,AB{mark} CDE,{service},{miles},{by}",
            2 + number,
            4 + number / 2
        );
    }
    sheet
}

fn checks(by: &str) -> String {
    format!(
        "Date,Reg,Check,Result,By\n24/02/2026,AB16 CDE,PDI,passed,LM\n25/02/2026,AB16 CDE,Lights,passed,{by}\n\
         26/02/2026,AB16 CDE,QC,passed,{by}\n"
    )
}

fn reversed(sheet: &str) -> String {
    let mut lines: Vec<&str> = sheet.lines().collect();
    lines[1..].reverse();
    lines.join("\n") + "\n"
}

/// Everything that is open, without what changes from day to day.
fn findings(run: &Value) -> Vec<String> {
    let open = run["findings"].as_array().unwrap().iter().filter(|it| it["state"] != "settled");
    open.map(|it| format!("{} {}", it["rule"], it["machine"]["mark"])).collect()
}

#[test]
fn initials_and_capitals_that_are_replaced_everywhere_take_nothing_back() {
    let first = (jobs("Annual service", "KW"), checks("KW"));
    let other_hand = (jobs("Annual service", "KWI"), checks("KWI"));
    let capitals = (jobs("Annual Service", "KW"), checks("KW"));
    let both = (reversed(&jobs("ANNUAL SERVICE", "KWI")), reversed(&checks("KWI")));
    for (jobs, checks) in [&other_hand, &capitals, &both] {
        let yard = yard(&[("machines.csv", MACHINES), ("jobs.csv", &first.0), ("checks.csv", &first.1)]);
        let (before, _) = yard.kept_morning("2026-03-02");
        yard.put("sheets/jobs.csv", jobs);
        yard.put("sheets/checks.csv", checks);
        for day in ["2026-03-03", "2026-03-04"] {
            let (run, _) = yard.kept_morning(day);
            assert_eq!(taken_back(&run), [] as [String; 0], "{day}: {jobs}");
            assert_eq!(findings(&run), findings(&before), "{day}: {jobs}");
        }
        // What is taken out is taken back as ever.
        yard.put("sheets/checks.csv", checks.replace(",QC,passed,", ",QC,not done,"));
        let (run, _) = yard.kept_morning("2026-03-05");
        assert_eq!(taken_back(&run).len(), 1, "{jobs}\n{:#?}", of_sheets(&run));
    }
}

#[test]
fn a_second_signature_that_becomes_the_first_ones_is_no_second_person() {
    let yard = yard(&[
        ("machines.csv", MACHINES),
        ("jobs.csv", &jobs("Annual service", "KW")),
        ("checks.csv", &checks("KW")),
    ]);
    let (before, _) = yard.kept_morning("2026-03-02");
    let text = |run: &Value| crate::withdrawn::before_handover(run, "AB16 CDE");
    assert!(!text(&before).contains("same person"), "{}", text(&before));
    yard.put("sheets/checks.csv", checks("LM"));
    let (run, _) = yard.kept_morning("2026-03-03");
    assert!(text(&run).contains("same person"), "{}", text(&run));
}

#[test]
fn a_clock_that_was_doubted_and_is_put_right_counts_the_next_morning_and_nothing_is_said_any_more() {
    let clocks = |last: &str| {
        let rows: String =
            (12..17).map(|mark| format!("20/01/2026,AB{mark} CDE,{}\n", 1_000 + mark)).collect();
        format!("Date,Reg,Mileage\n{rows}{last}")
    };
    let yard = yard(&[("machines.csv", MACHINES), ("clocks.csv", &clocks(""))]);
    let is_doubted = |run: &Value| {
        let mut findings = run["findings"].as_array().unwrap().iter();
        findings.any(|it| it["rule"] == "doubtful-reading" && it["state"] != "settled")
    };
    yard.put("sheets/clocks.csv", clocks("02/03/2026,AB12 CDE,130\n"));
    assert!(is_doubted(&yard.kept_morning("2026-03-03").0));
    yard.put("sheets/clocks.csv", clocks("02/03/2026,AB12 CDE,1300\n"));
    for day in ["2026-03-04", "2026-03-05"] {
        let (run, code) = yard.kept_morning(day);
        assert!(!is_doubted(&run), "{day}: {run:#}");
        assert_eq!(
            of_sheets(&run).iter().filter(|said| said.contains("clocks.csv")).count(),
            0,
            "{:#?}",
            of_sheets(&run)
        );
        assert_eq!(code, yard.kept_morning(day).1);
    }
}

#[test]
fn a_log_that_another_program_has_saved_changes_nothing_and_neither_does_the_right_one_when_it_is_back() {
    let log = |is_saved: bool| {
        let mut sheet = "Date,Reg,Work done,Mileage\n".to_owned();
        for number in 0..8 {
            let day = 3 + 4 * number;
            let written =
                if is_saved && day <= 12 { format!("2026-{day:02}-01") } else { format!("{day:02}/01/2026") };
            // What is the fifth of January in the shop is the first of May to a program that reads the month first.
            let _ = writeln!(sheet, "{written},AB{} CDE,First service,{}", 12 + number % 5, 540 + number);
        }
        sheet
    };
    let yard = yard(&[("machines.csv", MACHINES), ("jobs.csv", &log(false))]);
    let (before, _) = yard.kept_morning("2026-03-02");
    yard.put("sheets/jobs.csv", log(true));
    for day in ["2026-03-03", "2026-03-04"] {
        let (run, code) = yard.kept_morning(day);
        let said = of_sheets(&run);
        assert!(said.iter().any(|said| said.contains("with day and month changed round")), "{said:#?}");
        assert_eq!((findings(&run), code), (findings(&before), Some(1)), "{day}");
    }
    yard.put("sheets/jobs.csv", log(false));
    for day in ["2026-03-05", "2026-03-06"] {
        let (run, _) = yard.kept_morning(day);
        is_silent(&run);
        assert_eq!(findings(&run), findings(&before), "{day}");
    }
}

#[test]
fn days_of_which_nobody_knows_the_order_are_not_said_to_be_blank() {
    let log = |is_doubtful: bool| {
        let mut sheet = "Date,Reg,Check,Result,By\n".to_owned();
        for number in 1..=16 {
            let (day, month) = if is_doubtful { (number, 2) } else { (2, number) };
            let _ = writeln!(sheet, "{month:02}/{day:02}/2026,AB16 CDE,Item {number},passed,LM");
        }
        sheet
    };
    let yard = yard(&[("machines.csv", MACHINES), ("checks.csv", &log(false))]);
    yard.put("sheets/checks.csv", log(true));
    for day in ["2026-03-03", "2026-03-04"] {
        let (run, _) = yard.kept_morning(day);
        assert_eq!(taken_back(&run), [] as [String; 0], "{day}");
    }
}
