//! Sheets whose headers and rows stay and whose values are others from one morning to the next: they are not taken unsaid.
//!
//! The thresholds are our decision; what is expected is reckoned by hand.

use serde_json::Value;

use crate::changed_sheets::{HEADERS, is_silent, machines, of_sheets, open, ridden, says, settled, sheet};
use crate::program::Yard;

// Day and month.

/// Twelve machines with nothing but a handover; of the days so many are above the twelfth. With the month first each is
/// written the other way round.
fn handovers(above_twelfth: usize, is_month_first: bool) -> String {
    let low = [3, 9, 11, 4, 7, 6, 5, 12, 8, 10, 2, 9];
    let row = |number: usize| {
        let day = if number < above_twelfth { 20 + number } else { low[number] };
        let month = 1 + number % 2;
        let (first, second) = if is_month_first { (month, day) } else { (day, month) };
        format!("AB{} CDE,XR 700,{first:02}/{second:02}/2026\n", 10 + number)
    };
    format!("Reg,Model,Handover\n{}", (0..12).map(row).collect::<String>())
}

#[test]
fn days_turned_round_in_the_same_rows_are_read_as_they_were_however_few_are_above_the_twelfth() {
    for above in [0, 1, 2] {
        let yard = Yard::empty();
        yard.put("sheets/machines.csv", handovers(above, false));
        yard.run("setup", &["--accept"]);
        yard.kept_morning("2026-03-02");
        for day in ["2026-03-03", "2026-03-04"] {
            yard.put("sheets/machines.csv", handovers(above, false));
            let (before, _) = yard.morning(day);
            yard.put("sheets/machines.csv", handovers(above, true));
            let (run, _) = yard.kept_morning(day);
            let said = of_sheets(&run).join("\n");
            // Two dates above the twelfth prove it by themselves from the next day on.
            if above < 2 || day == "2026-03-03" {
                assert!(said.contains("had the day first and have the month first now"), "{above}: {said}");
                assert!(said.contains("write `dates = \"month first\"`"), "{above}: {said}");
            }
            assert_eq!((settled(&run), keep_in(&run)), (0, keep_in(&before)), "{above}: {said}");
        }
        let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
        let agreed = "rows = \"machine\"\ndates = \"month first\"";
        yard.put("tickover.toml", settings.replace("rows = \"machine\"", agreed));
        for day in ["2026-03-05", "2026-03-06"] {
            let (run, _) = yard.kept_morning(day);
            is_silent(&run);
            assert_eq!(settled(&run), 0, "{above}");
        }
    }
}

/// How many findings are open.
fn keep_in(run: &Value) -> usize {
    run["findings"].as_array().unwrap().iter().filter(|finding| finding["state"] != "settled").count()
}

#[test]
fn a_log_that_starts_afresh_with_low_days_is_read_in_the_order_that_was_proven() {
    let log = |rows: &[&str]| format!("Reg,Date,Mileage\n{}\n", rows.join("\n"));
    let yard = Yard::empty();
    yard.put(
        "sheets/mileages.csv",
        log(&["AB12 CDE,20/01/2026,620", "AB13 CDE,25/01/2026,90", "AB14 CDE,26/01/2026,40"]),
    );
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    yard.kept_morning("2026-03-02");
    let afresh = log(&["AB12 CDE,01/02/2026,630", "AB13 CDE,02/02/2026,95", "AB14 CDE,03/02/2026,48"]);
    for day in ["2026-03-03", "2026-03-04", "2026-03-05"] {
        yard.put("sheets/mileages.csv", &afresh);
        let (run, _) = yard.kept_morning(day);
        is_silent(&run);
    }
}

// Other values.

/// The sheet of a second morning with these rows, and what the first said.
fn after(rows: &[[String; 5]]) -> (Yard, Value, Value) {
    let yard = crate::changed_sheets::yard();
    let (before, _) = yard.morning("2026-03-03");
    yard.put("sheets/machines.csv", sheet(&HEADERS, rows));
    let (run, _) = yard.kept_morning("2026-03-03");
    (yard, before, run)
}

#[test]
fn days_that_are_other_days_in_most_of_the_same_rows_stand_as_they_were_and_it_is_said() {
    let mut rows = machines();
    for row in &mut rows {
        row[2] = row[2].replace("/12/2025", "/07/2026");
    }
    let (yard, before, run) = after(&rows);
    says(&run, &["column C `Handover`", "12 of 12 rows have another day", "until then they do not count"]);
    assert_eq!(run["findings"], before["findings"]);
    // Back again, nothing is said.
    yard.put("sheets/machines.csv", sheet(&HEADERS, &machines()));
    let (run, _) = yard.kept_morning("2026-03-04");
    is_silent(&run);
    // Never taken to be meant, however long it stays so.
    for day in ["05", "06", "07", "09"] {
        yard.put("sheets/machines.csv", sheet(&HEADERS, &rows));
        let (run, code) = yard.kept_morning(&format!("2026-03-{day}"));
        says(&run, &["12 of 12 rows have another day"]);
        assert_eq!((code, settled(&run)), (Some(1), 0), "{day}");
    }
}

#[test]
fn clocks_that_fell_or_leapt_in_most_of_the_same_rows_are_not_read_and_it_is_said() {
    let to = |change: &dyn Fn(usize) -> usize| {
        let mut rows = machines();
        for row in &mut rows {
            row[4] = change(row[4].parse().unwrap()).to_string();
        }
        rows
    };
    for rows in [to(&|_| 0), to(&|miles| miles / 1000), to(&|miles| miles / 2), to(&|miles| miles * 10)] {
        let (_, _, run) = after(&rows);
        says(&run, &["column E `Mileage`", "it is not read", "until then they do not count"]);
        assert_eq!(open(&run, "doubtful-reading"), 0);
    }
}

#[test]
fn clocks_that_are_exactly_three_times_what_they_were_are_not_read_where_that_is_more_than_a_days_ride() {
    for (least, is_said) in [(130, true), (30, false)] {
        let mut rows = machines();
        for (number, row) in rows.iter_mut().enumerate() {
            row[4] = (least + 7 * number).to_string();
        }
        let yard = Yard::empty();
        yard.put("sheets/machines.csv", sheet(&HEADERS, &rows));
        yard.run("setup", &["--accept"]);
        yard.kept_morning("2026-03-02");
        for row in &mut rows {
            row[4] = (3 * row[4].parse::<usize>().unwrap()).to_string();
        }
        yard.put("sheets/machines.csv", sheet(&HEADERS, &rows));
        let (run, _) = yard.kept_morning("2026-03-03");
        let said = of_sheets(&run).join("\n");
        assert_eq!(said.contains("rose by more than can have been ridden"), is_said, "{least}: {said}");
    }
}

#[test]
fn figures_that_are_exactly_kilometres_of_what_they_were_are_not_read_though_they_are_not_most() {
    let mut rows = machines();
    for row in &mut rows[..5] {
        row[4] = format!("{:.0}", row[4].parse::<f64>().unwrap() * 1.609_344);
    }
    let (_, _, run) = after(&rows);
    says(&run, &["5 figures in column E `Mileage` are exactly what they were in miles, in km"]);
    assert_eq!(open(&run, "doubtful-reading"), 0);
}

#[test]
fn two_columns_that_have_exchanged_their_headers_stand_as_they_were() {
    let headers = [("Reg", 0), ("Customer", 1), ("MOT expiry", 2), ("Handover", 3), ("Mileage", 4)];
    let yard = crate::changed_sheets::yard();
    let (before, _) = yard.morning("2026-03-03");
    yard.put("sheets/machines.csv", sheet(&headers, &machines()));
    let (run, _) = yard.kept_morning("2026-03-03");
    says(&run, &["`Handover`", "`MOT expiry`", "as if their headers had been exchanged"]);
    let texts = |run: &Value| {
        let findings = run["findings"].as_array().unwrap().iter();
        findings.map(|finding| finding["text"].to_string()).collect::<Vec<_>>()
    };
    assert_eq!(texts(&run), texts(&before));
}

#[test]
fn a_column_under_another_known_name_whose_rows_say_other_things_is_not_read_until_that_is_written() {
    let mut later = machines();
    for row in &mut later {
        row[2] = row[2].replace("/12/2025", "/07/2026");
    }
    let mut last_tests = machines();
    for row in &mut last_tests {
        row[3] = row[3].replace("2028", "2027");
    }
    let mut halved = machines();
    for row in &mut halved {
        row[4] = (row[4].parse::<usize>().unwrap() / 2).to_string();
    }
    for (place, to, field, rows) in [
        (2, "Handover date", "handover", later),
        (3, "MOT due", "mot expiry", last_tests),
        (4, "Odometer", "clock", halved),
    ] {
        let yard = crate::changed_sheets::yard();
        let mut headers = HEADERS;
        let from = std::mem::replace(&mut headers[place].0, to);
        for day in ["2026-03-03", "2026-03-04", "2026-03-20"] {
            yard.put("sheets/machines.csv", sheet(&headers, &rows));
            let (run, code) = yard.kept_morning(day);
            says(&run, &[&format!("the column `{from}` is gone"), &format!("`{to}` in column")]);
            says(&run, &[&format!("write `\"{to}\" = \"{field}\"` in tickover.toml in place of")]);
            assert_eq!((code, settled(&run), open(&run, "doubtful-reading")), (Some(1), 0, 0), "{to}");
        }
    }
}

// Other files.

#[test]
fn a_file_of_the_same_name_and_another_ending_is_compared_with_the_one_that_it_replaces() {
    let yard = crate::changed_sheets::yard();
    std::fs::remove_file(yard.path().join("sheets/machines.csv")).unwrap();
    let mut rows = machines();
    for row in &mut rows {
        row[4] = format!("{:.0}", row[4].parse::<f64>().unwrap() * 1.609_344);
    }
    yard.put("sheets/machines.tsv", sheet(&HEADERS, &rows).replace(',', "\t"));
    let (run, _) = yard.kept_morning("2026-03-03");
    let said = of_sheets(&run).join("\n");
    assert!(said.contains("as if they were miles before and km now"), "{said}");
    // The settings still name the file that it replaces.
    assert!(
        said.contains("the sheet machines.csv was agreed, and is not among those that were read"),
        "{said}"
    );
    assert!(said.contains("sheets/machines.tsv looks like it"), "{said}");
    assert!(said.contains("write `file = \"machines.tsv\"`"), "{said}");
    assert_eq!((open(&run, "doubtful-reading"), settled(&run)), (0, 0), "{said}");
    yard.put("sheets/machines.tsv", sheet(&HEADERS, &ridden(9)).replace(',', "\t"));
    let (run, _) = yard.kept_morning("2026-03-04");
    let said = of_sheets(&run).join("\n");
    assert!(!said.contains("km"), "{said}");
}

#[test]
fn a_yard_whose_only_list_of_machines_is_left_unread_is_told_so_at_the_top() {
    let yard = crate::changed_sheets::yard();
    let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    yard.put("tickover.toml", settings.replace("rows = \"machine\"", "rows = \"nothing\""));
    for day in ["2026-03-03", "2026-03-20"] {
        let (run, code) = yard.kept_morning(day);
        let said = of_sheets(&run).join("\n");
        assert!(said.contains("no sheet of machines is read"), "{said}");
        assert_eq!(code, Some(1), "{said}");
    }
}

#[test]
fn an_ordinary_day_says_nothing() {
    let mut rows = ridden(60);
    for row in &mut rows[..4] {
        row[2] = row[2].replace("/12/2025", "/01/2026");
    }
    for row in &mut rows[4..10] {
        row[2] = row[2].replace("/12/2025", "/11/2025");
    }
    for row in &mut rows[..3] {
        row[4] = (row[4].parse::<usize>().unwrap() - 80).to_string();
        row[3] = row[3].replace("2028", "2029");
    }
    rows.push([
        "AC99 CDE".into(),
        "Customer New".into(),
        "20/12/2025".into(),
        "20/12/2028".into(),
        "9".into(),
    ]);
    let (_, _, run) = after(&rows);
    is_silent(&run);
}
