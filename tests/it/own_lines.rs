//! The lines that the letter gives: once written, the sheet is read right on every later day, whatever else of it is open.
//!
//! The thresholds are our decision; what is expected is reckoned by hand, with 1.609344 km a mile (the Weights and
//! Measures Act 1985, schedule 1).

use serde_json::Value;

use crate::changed_sheets::{of_sheets, open, settled};
use crate::program::Yard;

/// Writes what a header is into the settings in place of what stood there.
fn agree(yard: &Yard, header: &str, field: &str) {
    let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    let begins = format!("\"{header}\" = ");
    let is_it = |line: &&str| line.starts_with(&begins);
    assert_eq!(settings.lines().filter(is_it).count(), 1, "{header} stands once in {settings}");
    let put = |line: &str| if is_it(&line) { format!("{begins}\"{field}\"\n") } else { format!("{line}\n") };
    yard.put("tickover.toml", settings.lines().map(put).collect::<String>());
}

/// What is open or settled of the machines, as the letter says it.
fn texts(run: &Value) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    findings.map(|finding| format!("{} {}", finding["state"] == "settled", finding["text"])).collect()
}

// What distances count in.

const COLUMNS: &str = "\"Reg\" = \"mark\"\n\"Customer\" = \"customer\"\n\"Handover\" = \"handover\"\n\"Odometer\" = \"clock\"\n\
     \"Read on\" = \"clock day\"\n\"Ride 1\" = \"first ride day\"\n\"Ride 1 dist\" = \"first ride distance\"\n\
     \"Ride 2\" = \"second ride day\"\n\"Ride 2 dist\" = \"second ride distance\"\n\"Remarks\" = \"note\"\n";

/// Eight machines with two rides each, of 5.1 and 3.4 miles and a little more by each row, and with their clocks; the
/// column of remarks is there or gone.
fn rides(are_km: bool, clocks_are_km: bool, has_remarks: bool, ridden: f64) -> String {
    let factor = |is_km: bool| if is_km { 1.609_344 } else { 1.0 };
    let row = |number: usize| {
        let more = 0.1 * number as f64;
        let clock = (900.0 + 137.0 * number as f64 + ridden) * factor(clocks_are_km);
        let (first, second) = ((5.1 + more) * factor(are_km), (3.4 + more) * factor(are_km));
        let remarks = if has_remarks { ",blue key" } else { "" };
        format!(
            "AB{} CDE,Customer {number},0{}/03/2026,{clock:.0},26/02/2026,26/02/2026,{first:.1},27/02/2026,{second:.1}{remarks}\n",
            10 + number,
            7 + number % 3
        )
    };
    let remarks = if has_remarks { ",Remarks" } else { "" };
    let headers = "Reg,Customer,Handover,Odometer,Read on,Ride 1,Ride 1 dist,Ride 2,Ride 2 dist";
    format!("{headers}{remarks}\n{}", (0..8).map(row).collect::<String>())
}

/// A yard that has read these rides on Monday 2 March 2026, with the unit agreed of both.
fn yard_of_rides(are_km: bool) -> (Yard, &'static str) {
    let (unit, other) = if are_km { ("km", "miles") } else { ("miles", "km") };
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", rides(are_km, false, true, 0.0));
    let columns = COLUMNS.replace("distance\"", &format!("distance in {unit}\""));
    yard.put(
        "tickover.toml",
        format!("[shop]\nclock_unit = \"miles\"\n\n[[sheet]]\nfile = \"machines.csv\"\nrows = \"machine\"\n[sheet.columns]\n{columns}"),
    );
    yard.kept_morning("2026-03-02");
    (yard, other)
}

#[test]
fn rides_in_another_unit_are_read_right_on_every_day_after_their_lines_while_another_column_is_gone() {
    for are_km in [true, false] {
        let (yard, other) = yard_of_rides(are_km);
        yard.put("sheets/machines.csv", rides(!are_km, false, false, 0.0));
        let (run, _) = yard.kept_morning("2026-03-03");
        let (before, said) = (texts(&run), of_sheets(&run).join("\n"));
        // 5.1 and 3.4 miles are 8.5 of the ten, and one row in two is below them.
        assert!(before.iter().any(|text| text.contains("8.5 miles of 10 miles")), "{before:#?}");
        // Lines that belong together stand in one sentence.
        let lines = format!(
            "`\"Ride 1 dist\" = \"first ride distance in {other}\"` and `\"Ride 2 dist\" = \"second ride distance in {other}\"`"
        );
        assert!(said.contains(&lines), "{said}");
        assert_eq!(said.matches("have changed as if they were").count(), 1, "{said}");
        agree(&yard, "Ride 1 dist", &format!("first ride distance in {other}"));
        agree(&yard, "Ride 2 dist", &format!("second ride distance in {other}"));
        for day in ["2026-03-04", "2026-03-05", "2026-03-06"] {
            yard.put("sheets/machines.csv", rides(!are_km, false, false, 0.0));
            let (run, _) = yard.kept_morning(day);
            let said = of_sheets(&run).join("\n");
            assert!(said.contains("the column `Remarks` (note) is gone"), "{said}");
            assert!(!said.contains("Ride 1 dist") && !said.contains("Ride 2 dist"), "{day}: {said}");
            assert_eq!(settled(&run), 0, "{day}: {:#?}", texts(&run));
            assert!(
                texts(&run).iter().any(|text| text.contains("8.5 miles of 10 miles")),
                "{day}: {:#?}",
                texts(&run)
            );
        }
        // In the unit of before again, it is said, and nothing of it counts until the line is put back.
        for (day, unit) in [("2026-03-09", other), ("2026-03-10", if are_km { "km" } else { "miles" })] {
            agree(&yard, "Ride 1 dist", &format!("first ride distance in {unit}"));
            agree(&yard, "Ride 2 dist", &format!("second ride distance in {unit}"));
            yard.put("sheets/machines.csv", rides(are_km, false, false, 0.0));
            let (run, _) = yard.kept_morning(day);
            let said = of_sheets(&run).join("\n");
            assert_eq!(said.contains("Ride 1 dist"), unit == other, "{day}: {said}");
            assert_eq!(settled(&run), 0, "{day}: {:#?}", texts(&run));
        }
    }
}

#[test]
fn clocks_in_kilometres_are_read_on_every_day_after_their_line_while_another_column_is_gone() {
    let (yard, _) = yard_of_rides(false);
    yard.put("sheets/machines.csv", rides(false, true, false, 0.0));
    yard.kept_morning("2026-03-03");
    agree(&yard, "Odometer", "clock in km");
    for (day, ridden) in
        [("2026-03-04", 0.0), ("2026-03-05", 0.0), ("2026-03-06", 90.0), ("2026-03-09", 150.0)]
    {
        yard.put("sheets/machines.csv", rides(false, true, false, ridden));
        let (run, _) = yard.kept_morning(day);
        let said = of_sheets(&run).join("\n");
        assert!(!said.contains("Odometer"), "{day}: {said}");
        assert_eq!((settled(&run), open(&run, "doubtful-reading")), (0, 0), "{day}: {:#?}", texts(&run));
    }
}

// Which of day and month comes first.

/// Six machines with a handover, a registration and the end of an MOT; the days of the handovers are above the twelfth or
/// not, and have the month first or not. The MOT of the first ended on 5 February, which is 2 May the other way round.
fn one_column_of_dates(above_twelfth: usize, is_month_first: bool, has_remarks: bool) -> String {
    let row = |number: usize| {
        let day = if number < above_twelfth { 20 + number } else { 3 + number };
        let (month, registered) = (10 + number % 2, 14 + number);
        let (first, second) = if is_month_first { (month, day) } else { (day, month) };
        let test = if number == 0 { "05/02/2026".to_owned() } else { format!("{}/06/2026", 20 + number) };
        let remarks = if has_remarks { ",blue key" } else { "" };
        format!(
            "AB{} CDE,Customer {number},{first:02}/{second:02}/2025,{registered}/06/2023,{test}{remarks}\n",
            10 + number
        )
    };
    let remarks = if has_remarks { ",Remarks" } else { "" };
    format!("Reg,Customer,Handover,Registered,MOT expiry{remarks}\n{}", (0..6).map(row).collect::<String>())
}

/// Of which machine each rule says something, and whether it is settled.
fn told(run: &Value) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    let told =
        findings.map(|it| format!("{} {} {}", it["rule"], it["machine"]["mark"], it["state"] == "settled"));
    told.collect()
}

#[test]
fn one_column_whose_dates_were_turned_round_has_a_line_of_its_own_and_no_other_date_is_read_by_it() {
    for (above, stays) in [(0, true), (0, false), (3, true), (3, false)] {
        let yard = Yard::empty();
        yard.put("sheets/machines.csv", one_column_of_dates(above, false, true));
        yard.run("setup", &["--accept"]);
        let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
        // Agreed of the sheet, or told by its other columns alone.
        if above > 0 {
            yard.put(
                "tickover.toml",
                settings.replace("rows = \"machine\"", "rows = \"machine\"\ndates = \"day first\""),
            );
        }
        let (first, _) = yard.kept_morning("2026-03-02");
        assert_eq!(open(&first, "mot-due"), 1, "{:#?}", texts(&first));
        yard.put("sheets/machines.csv", one_column_of_dates(above, true, stays));
        let (run, _) = yard.kept_morning("2026-03-03");
        let said = of_sheets(&run).join("\n");
        let line = "write `\"Handover\" = \"handover, month first\"` in tickover.toml in place of the line of that header";
        assert!(said.contains(line) && !said.contains("dates = "), "{above}: {said}");
        assert_eq!(told(&run), told(&first), "{above}: {said}");
        agree(&yard, "Handover", "handover, month first");
        for day in ["2026-03-04", "2026-03-05", "2026-03-06"] {
            yard.put("sheets/machines.csv", one_column_of_dates(above, true, stays));
            let (run, _) = yard.kept_morning(day);
            let said = of_sheets(&run).join("\n");
            assert_eq!(of_sheets(&run).len(), usize::from(!stays), "{above} {day}: {said}");
            assert_eq!(told(&run), told(&first), "{above} {day}: {said}");
        }
    }
}

// Figures of a log.

/// Four machines with two rides each, whose distances and top speeds are so many times what they were.
fn rides_log(distance: f64, speed: f64) -> String {
    let row = |number: usize| {
        let (machine, ride) = (number / 2, number % 2);
        let (miles, top) = ((3.1 + 0.1 * ride as f64) * distance, (40.0 + number as f64) * speed);
        format!("2{}/02/2026,AB1{machine} CDE,{miles:.1},{top:.0}\n", 5 + ride)
    };
    format!("Date,Reg,Miles,Top speed\n{}", (0..8).map(row).collect::<String>())
}

#[test]
fn figures_of_a_log_that_are_others_in_the_same_rows_do_not_count_until_their_line_says_so() {
    for (distance, speed, column) in
        [(10.0, 1.0, "Miles"), (0.0, 1.0, "Miles"), (1.0, 3.0, "Top speed"), (1.0, 1.609_344, "Top speed")]
    {
        let yard = Yard::empty();
        let machine =
            |number: usize| format!("AB1{number} CDE,Fennel 125,Customer {number},0{}/03/2026\n", 4 + number);
        let machines = format!("Reg,Model,Customer,Handover\n{}", (0..4).map(machine).collect::<String>());
        yard.put("sheets/machines.csv", machines);
        yard.put("sheets/rides.csv", rides_log(1.0, 1.0));
        yard.run("setup", &["--accept"]);
        let (first, _) = yard.kept_morning("2026-03-02");
        assert!(
            texts(&first).iter().any(|text| text.contains("6.3 miles of 10 miles")),
            "{:#?}",
            texts(&first)
        );
        for day in ["2026-03-03", "2026-03-04", "2026-03-05"] {
            yard.put("sheets/rides.csv", rides_log(1.0, 1.0));
            let (before, _) = yard.morning(day);
            yard.put("sheets/rides.csv", rides_log(distance, speed));
            let (run, code) = yard.kept_morning(day);
            let said = of_sheets(&run).join("\n");
            assert!(
                said.contains("8 of 8 rows have another") && said.contains(&format!("`{column}`")),
                "{said}"
            );
            assert!(said.contains("right since 2026-03-03"), "{said}");
            assert_eq!((texts(&run), code), (texts(&before), Some(1)), "{day}: {column}");
        }
    }
}
