//! Values that are doubtful do not count until the owner says that they are right, however long they stand there.
//!
//! The thresholds are our decision; what is expected is reckoned by hand.

use serde_json::Value;

use crate::changed_sheets::{HEADERS, is_silent, machines, of_sheets, says, settled, sheet};
use crate::program::Yard;

/// A yard with one sheet of machines, agreed and read on Monday 2 March 2026.
fn yard(first: &str) -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", first);
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-03-02");
    yard
}

/// Writes what a header is into the settings in place of what stood there.
fn agree(yard: &Yard, header: &str, field: &str) {
    let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    let begins = format!("\"{header}\" = ");
    let (mut lines, mut found) = (Vec::new(), 0);
    for line in settings.lines() {
        let is_it = line.starts_with(&begins);
        found += usize::from(is_it);
        lines.push(if is_it { format!("{begins}\"{field}\"") } else { line.to_owned() });
    }
    assert_eq!(found, 1, "{header} stands once in {settings}");
    yard.put("tickover.toml", lines.join("\n"));
}

fn texts(run: &Value) -> Vec<String> {
    run["findings"].as_array().unwrap().iter().map(|finding| finding["text"].to_string()).collect()
}

/// Fourteen machines whose clocks stand a row lower than they belong, where that is said.
fn clocks(are_shifted: bool) -> String {
    let clocks = [9_120, 6_412, 5_870, 4_530, 2_750, 431, 655, 702, 118, 13, 9, 14, 2, 1];
    let row = |number: usize| {
        let place = if are_shifted { (number + clocks.len() - 1) % clocks.len() } else { number };
        format!("AB{} CDE,{},17/02/2026\n", 10 + number, clocks[place])
    };
    format!("Reg,Mileage,Mileage date\n{}", (0..clocks.len()).map(row).collect::<String>())
}

#[test]
fn the_same_clocks_are_as_doubtful_on_every_later_day_as_on_the_first() {
    let yard = yard(&clocks(false));
    // After sixty days, too: what is doubtful would count without the export from before it.
    for (day, said) in [
        ("2026-03-03", "still counts. Look"),
        ("2026-03-04", "still counts; today is day 2 of this"),
        ("2026-03-05", "day 3"),
        ("2026-03-16", "day 14"),
        ("2026-05-18", "day 77"),
        ("2026-05-19", "day 78"),
    ] {
        yard.put("sheets/machines.csv", clocks(true));
        let (run, code) = yard.kept_morning(day);
        says(
            &run,
            &["9 of 14 figures in column B `Mileage` fell, or rose by more than can have been ridden", said],
        );
        assert_eq!((code, settled(&run)), (Some(1), 0), "{day}");
    }
    // Put back, it is over.
    yard.put("sheets/machines.csv", clocks(false));
    let (run, _) = yard.kept_morning("2026-05-20");
    is_silent(&run);
}

#[test]
fn days_that_are_others_count_from_the_line_on_that_says_since_when_they_are_right() {
    let mut rows = machines();
    for row in &mut rows {
        row[2] = row[2].replace("/12/2025", "/07/2026");
    }
    let (first, later) = (sheet(&HEADERS, &machines()), sheet(&HEADERS, &rows));
    let yard = yard(&first);
    let morning = |day: &str| {
        yard.put("sheets/machines.csv", &later);
        yard.kept_morning(day).0
    };
    says(
        &morning("2026-03-03"),
        &["write `\"Handover\" = \"handover, right since 2026-03-03\"` in tickover.toml"],
    );
    // Another day than that on which they were first seen says nothing of them.
    agree(&yard, "Handover", "handover, right since 2026-03-02");
    says(&morning("2026-03-04"), &["another day in column C `Handover`", "right since 2026-03-03"]);
    agree(&yard, "Handover", "handover, right since 2026-03-03");
    let run = morning("2026-03-05");
    is_silent(&run);
    assert_ne!(texts(&run), texts(&yard.morning("2026-03-04").0));
    is_silent(&morning("2026-03-06"));
    // What befalls the column later is another matter.
    yard.put("sheets/machines.csv", &first);
    says(
        &yard.kept_morning("2026-03-09").0,
        &["another day in column C `Handover`", "right since 2026-03-09"],
    );
}

#[test]
fn columns_that_exchanged_their_headers_count_only_once_both_are_said_to_be_right() {
    let headers = [("Reg", 0), ("Customer", 1), ("MOT expiry", 2), ("Handover", 3), ("Mileage", 4)];
    let yard = yard(&sheet(&HEADERS, &machines()));
    let exchanged = sheet(&headers, &machines());
    let morning = |day: &str| {
        yard.put("sheets/machines.csv", &exchanged);
        yard.kept_morning(day).0
    };
    says(&morning("2026-03-03"), &["as if their headers had been exchanged"]);
    agree(&yard, "Handover", "handover, right since 2026-03-03");
    says(&morning("2026-03-04"), &["as if their headers had been exchanged"]);
    agree(&yard, "MOT expiry", "mot expiry, right since 2026-03-03");
    is_silent(&morning("2026-03-05"));
    is_silent(&morning("2026-03-06"));
}

#[test]
fn a_column_that_changed_its_unit_has_a_line_of_its_own_and_no_other_column_is_read_by_it() {
    let rides = |factor: f64| -> String {
        let row = |number: usize| {
            let (clock, ride) = (9_000 + 100 * number, (5.0 + 0.1 * number as f64) * factor);
            format!("AB{} CDE,07/03/2026,{clock},28/02/2026,26/02/2026,{ride:.1}\n", 10 + number)
        };
        let rows: String = (0..6).map(row).collect();
        format!("Reg,Handover,Mileage,Mileage date,Ride 1 date,Ride 1 miles\n{rows}")
    };
    let yard = yard(&rides(1.0));
    yard.put("sheets/machines.csv", rides(1.609_344));
    let (run, _) = yard.kept_morning("2026-03-03");
    let before = texts(&run);
    let said = of_sheets(&run).join("\n");
    let line = "write `\"Ride 1 miles\" = \"first ride distance in km\"` in tickover.toml";
    assert!(said.contains(line) && !said.contains("distances = \"km\""), "{said}");
    // The header says miles, and the line of the owner counts before it.
    agree(&yard, "Ride 1 miles", "first ride distance in km");
    for day in ["2026-03-04", "2026-03-05"] {
        yard.put("sheets/machines.csv", rides(1.609_344));
        let (run, _) = yard.kept_morning(day);
        assert!(!of_sheets(&run).iter().any(|said| said.contains("km")), "{:?}", of_sheets(&run));
        assert_eq!((texts(&run), settled(&run)), (before.clone(), 0), "{day}");
    }
}

#[test]
fn what_stands_behind_a_comma_in_the_settings_and_is_no_day_is_told() {
    let yard = yard(&sheet(&HEADERS, &machines()));
    agree(&yard, "Handover", "handover, right since March");
    let (run, code) = yard.kept_morning("2026-03-03");
    let said = of_sheets(&run).join("\n");
    assert!(said.contains("what stands behind the comma is not known"), "{said}");
    assert_eq!(code, Some(1));
}

#[test]
fn a_clock_that_is_ten_times_what_it_was_on_the_same_day_stands_as_it_was_and_the_others_go_on() {
    let first = clocks(false);
    let yard = yard(&first);
    for day in ["2026-03-03", "2026-03-04", "2026-03-05"] {
        yard.put("sheets/machines.csv", first.replace("AB11 CDE,6412,", "AB11 CDE,64120,"));
        let (run, code) = yard.kept_morning(day);
        let words = "1 figure in column B `Mileage` rose to three times what it was or more, and the day beside it stayed \
                     (AB11 CDE)";
        says(&run, &[words, "`\"Mileage\" = \"clock, right since 2026-03-03\"`"]);
        assert_eq!((code, settled(&run)), (Some(1), 0), "{day}");
    }
    // Put back, it is over; and on another day a clock may have gone on.
    yard.put("sheets/machines.csv", first.replace("AB11 CDE,6412,17/02", "AB11 CDE,6500,06/03"));
    is_silent(&yard.kept_morning("2026-03-06").0);
}

#[test]
fn most_clocks_three_times_what_they_were_on_the_same_day_are_not_read() {
    let times = |factor: usize| -> String {
        let row =
            |number: usize| format!("AB{} CDE,{},17/02/2026\n", 10 + number, (200 + 10 * number) * factor);
        format!("Reg,Mileage,Mileage date\n{}", (0..8).map(row).collect::<String>())
    };
    let yard = yard(&times(1));
    yard.put("sheets/machines.csv", times(3));
    let (run, code) = yard.kept_morning("2026-03-03");
    says(&run, &["8 of 8 figures in column B `Mileage` fell, or rose by more than can have been ridden"]);
    assert_eq!((code, settled(&run)), (Some(1), 0));
}
