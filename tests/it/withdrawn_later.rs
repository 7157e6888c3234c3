//! What is taken back some exports after it was said last: whatever lay between, a columnless export, half the rows, a day
//! without the row, a blank today is no pass.
//!
//! What must be safe is the mission's (nothing blank is a pass); what counts on, and for how long, is our decision.

use std::fmt::Write as _;

use crate::changed_sheets::{finding, of_sheets};
use crate::program::Yard;
use crate::withdrawn::{
    BRAKES, HEADERS, LOG, QUALITY, RIDE, before_handover, ready, services, taken_back, without, yard,
    yard_with_log,
};

/// A sheet without the rows that have this in them.
fn without_rows(sheet: &str, with: &str) -> String {
    sheet.lines().filter(|line| !line.contains(with)).map(|line| format!("{line}\n")).collect()
}

/// A sheet as a workbook with one worksheet, every cell a text.
fn workbook(sheet: &str) -> Vec<u8> {
    let mut book = rust_xlsxwriter::Workbook::new();
    let tab = book.add_worksheet().set_name("Ready").unwrap();
    for (row, line) in (0..).zip(sheet.lines()) {
        for (column, text) in (0..).zip(line.split(',')) {
            tab.write_string(row, column, text).unwrap();
        }
    }
    book.save_to_buffer().unwrap()
}

/// Puts one export a day into the yard from 3 March on, and looks from the last on that this is open of a machine, and
/// that it was said once.
fn is_open_after(yard: &Yard, file: &str, exports: &[String], (mark, open): (&str, &str)) {
    let mut said = 0;
    let days = ["2026-03-03", "2026-03-04", "2026-03-05", "2026-03-06", "2026-03-07"];
    let exports: Vec<&String> =
        exports.iter().chain(std::iter::repeat(exports.last().unwrap())).take(5).collect();
    for (place, day) in days.into_iter().enumerate() {
        yard.put(&format!("sheets/{file}"), exports[place]);
        let (run, _) = yard.kept_morning(day);
        let found = before_handover(&run, mark);
        if exports[place] == exports[4] {
            assert!(found.contains(open), "{day}: {found}\n{:#?}\nof {exports:#?}", of_sheets(&run));
        }
        said += taken_back(&run).iter().filter(|line| line.contains(mark)).count();
    }
    assert_eq!(said, 1, "{exports:#?}");
}

#[test]
fn a_quality_check_that_is_blanked_after_an_export_without_its_columns_is_open_again() {
    let (whole, blanked) = (ready(QUALITY, RIDE), ready(",", RIDE));
    for columns in [&["QC by"][..], &["QC date"], &["QC date", "QC by"]] {
        for between in [without(&whole, columns, true), without(&whole, columns, false)] {
            let yard = yard(&[("ready.csv", &whole)]);
            is_open_after(&yard, "ready.csv", &[between, blanked.clone()], ("AB75 RJK", "quality check"));
        }
    }
}

#[test]
fn a_ride_that_is_blanked_after_an_export_without_its_columns_is_open_again() {
    let (whole, blanked) = (ready(QUALITY, RIDE), ready(QUALITY, ","));
    let between = without(&whole, &["Ride 1 date", "Ride 1 miles"], true);
    let yard = yard(&[("ready.csv", &whole)]);
    is_open_after(&yard, "ready.csv", &[between, blanked], ("AB75 RJK", "road test"));
}

#[test]
fn a_service_that_is_blanked_after_an_export_without_its_columns_is_due_again() {
    let (whole, blanked) = (services("01/08/2025,480", ","), services(",", ","));
    let yard = yard(&[("machines.csv", &whole)]);
    for (day, sheet) in [
        ("2026-03-03", without(&whole, &["First service date", "First service miles"], true)),
        ("2026-03-04", blanked.clone()),
        ("2026-03-05", blanked),
    ] {
        yard.put("sheets/machines.csv", sheet);
        let (run, _) = yard.kept_morning(day);
        let due = finding(&run, "first-service-due", "AB12 CDE");
        assert_eq!(due.is_empty(), day == "2026-03-03", "{day}: {due}");
    }
}

#[test]
fn what_is_blanked_while_its_row_was_gone_for_a_day_or_more_is_open_again() {
    let (whole, blanked) = (ready(QUALITY, RIDE), ready(",", RIDE));
    let gone = without_rows(&whole, "AB75 RJK");
    for days in [1, 3] {
        let yard = yard(&[("ready.csv", &whole)]);
        let mut exports = vec![gone.clone(); days];
        exports.push(blanked.clone());
        is_open_after(&yard, "ready.csv", &exports, ("AB75 RJK", "quality check"));
    }
}

#[test]
fn a_blank_in_a_row_that_stands_counts_although_many_other_rows_are_gone() {
    let row = |number: usize, quality: &str| {
        format!(
            "AB75 S{number:02},Sallow 125,07/03/2026,26/02/2026,GH,{quality},26/02/2026,6.2,27/02/2026,5.5\n"
        )
    };
    let marks = ["RJA", "RJB", "RJC", "RJD", "RJE", "RJF", "RJG"];
    let sheet = |count: usize, quality: &str| {
        let mut sheet = HEADERS.to_owned();
        for (number, mark) in marks.iter().enumerate().take(count) {
            let quality = if number == 0 { quality } else { QUALITY };
            let _ = write!(sheet, "{}", row(number, quality).replace(&format!("S{number:02}"), mark));
        }
        sheet
    };
    let yard = yard(&[("ready.csv", &sheet(7, QUALITY))]);
    is_open_after(&yard, "ready.csv", &[sheet(3, ",")], ("AB75 RJA", "quality check"));
}

#[test]
fn a_row_of_a_log_that_is_taken_out_or_blanked_after_an_export_without_a_column_counts_no_more() {
    for column in ["Result", "By"] {
        for last in [LOG.replace(BRAKES, ""), LOG.replace(BRAKES, "AB12 CDE,20/02/2026,Brakes,,\n")] {
            let yard = yard_with_log();
            is_open_after(
                &yard,
                "checks.csv",
                &[without(LOG, &[column], true), last],
                ("AB12 CDE", "Brakes"),
            );
        }
    }
}

#[test]
fn a_check_that_is_blanked_under_a_header_that_was_renamed_and_agreed_is_open_again() {
    let yard = yard(&[("ready.csv", &ready(QUALITY, RIDE))]);
    let renamed = |sheet: &str| sheet.replace("QC date,QC by", "Gate 7 date,Gate 7 by");
    yard.put("sheets/ready.csv", renamed(&ready(QUALITY, RIDE)));
    yard.kept_morning("2026-03-03");
    let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    yard.put(
        "tickover.toml",
        settings.replace("\"QC date\"", "\"Gate 7 date\"").replace("\"QC by\"", "\"Gate 7 by\""),
    );
    yard.put("sheets/ready.csv", renamed(&ready(",", RIDE)));
    for day in ["2026-03-04", "2026-03-05"] {
        let (run, _) = yard.kept_morning(day);
        assert!(before_handover(&run, "AB75 RJK").contains("quality check"), "{day}: {:#?}", of_sheets(&run));
    }
}

#[test]
fn in_a_dated_series_of_exports_what_was_said_in_an_earlier_one_is_taken_back_as_well() {
    let (whole, blanked) = (ready(QUALITY, RIDE), ready(",", RIDE));
    let yard = yard(&[("ready 02.csv", &whole)]);
    let exports = [without(&whole, &["QC date", "QC by"], true), blanked.clone(), blanked];
    for (number, (day, sheet)) in
        ["2026-03-03", "2026-03-04", "2026-03-05"].into_iter().zip(exports).enumerate()
    {
        let number = number + 2;
        std::fs::remove_file(yard.path().join(format!("sheets/ready {number:02}.csv"))).unwrap();
        yard.put(&format!("sheets/ready {:02}.csv", number + 1), sheet);
        let (run, _) = yard.kept_morning(day);
        let open = before_handover(&run, "AB75 RJK");
        assert_eq!(
            open.contains("quality check"),
            day != "2026-03-03",
            "{day}: {open} {:#?}",
            of_sheets(&run)
        );
    }
}

#[test]
fn a_quality_check_that_is_blanked_in_a_workbook_which_comes_in_place_of_a_text_file_is_open_again() {
    let yard = yard(&[("ready.csv", &ready(QUALITY, RIDE))]);
    std::fs::remove_file(yard.path().join("sheets/ready.csv")).unwrap();
    yard.put("sheets/ready.xlsx", workbook(&ready(",", RIDE)));
    for day in ["2026-03-03", "2026-03-04"] {
        let (run, _) = yard.kept_morning(day);
        let found = before_handover(&run, "AB75 RJK");
        assert!(found.contains("quality check"), "{day}: {found}\n{:#?}", of_sheets(&run));
    }
}

/// A log of finished services, one of which is older, with what its column says of each being done.
fn finished(older: &str, others: &str) -> String {
    let mut text = "Reg,Customer,Tel,Date,Work done,Mileage,Completed\n".to_owned();
    writeln!(text, "BT19 NAZ,Mr Z,07700 900699,02/08/2025,Annual service,5500,{older}").unwrap();
    for (number, letter) in "ABCDE".chars().enumerate() {
        writeln!(
            text,
            "BT19 NA{letter},Mr {letter},07700 90060{number},{}/{:02}/2025,Annual service,{},{others}",
            13 + number,
            8 + number,
            6000 + number
        )
        .unwrap();
    }
    text
}

#[test]
fn services_whose_column_of_done_says_something_else_in_all_rows_are_not_gone_with_their_rows() {
    for (older, others) in [("t", "t"), ("TRUE", "zz"), ("f", "zz")] {
        let yard = yard(&[("jobs.csv", &finished("TRUE", "TRUE"))]);
        let due = |run: &serde_json::Value| {
            "ABCDE"
                .chars()
                .filter(|it| !finding(run, "service-due", &format!("BT19 NA{it}")).is_empty())
                .count()
        };
        let (run, _) = yard.kept_morning("2026-03-02");
        assert_eq!(due(&run), 0);
        yard.put("sheets/jobs.csv", finished(older, others));
        for day in ["2026-03-03", "2026-03-04", "2026-03-06"] {
            let (run, _) = yard.kept_morning(day);
            assert_eq!(due(&run), 0, "{others} {day}");
            let gone = taken_back(&run);
            let gone = gone.iter().filter(|line| !line.contains("NAZ")).count();
            assert_eq!(gone, 0, "{others} {day}: {:#?}", of_sheets(&run));
        }
    }
}
