//! Slips that are put right the next day: a day to come, a service that was none, a clock on another machine's row. What the
//! row says now is the newest word.
//!
//! What is due by which clock is the README's; the rest is our decision.

use serde_json::Value;

use crate::changed_sheets::{finding, of_sheets};
use crate::withdrawn::{before_handover, services, taken_back, yard};

/// What a run says of days after today.
fn of_days_to_come(run: &Value) -> Vec<String> {
    let said = run["findings"].as_array().unwrap().iter().filter(|it| it["state"] != "settled");
    let texts = said.map(|it| it["text"].as_str().unwrap().to_owned());
    texts.chain(of_sheets(run)).filter(|text| text.contains("after today")).collect()
}

/// Keeps a morning of each of these exports of the machines, the first of them on 2 March, and gives the last run.
fn mornings(exports: &[&str]) -> Value {
    let yard = yard(&[("machines.csv", exports[0])]);
    let mut last = yard.kept_morning("2026-03-02").0;
    for (number, export) in exports[1..].iter().enumerate() {
        yard.put("sheets/machines.csv", export);
        last = yard.kept_morning(&format!("2026-03-{:02}", number + 3)).0;
    }
    last
}

#[test]
fn a_check_of_a_day_to_come_that_is_put_right_is_not_asked_for_any_more() {
    let sheet = |day: &str| {
        format!(
            "Stock,Model,Owner,Handover,QC date,QC by,Mileage\nS1,Fennel 125,Ann,07/03/2026,{day},TR,3\n\
             S2,Fennel 125,Bob,08/03/2026,27/02/2026,TR,4\nS3,Fennel 125,Cy,09/03/2026,26/02/2026,TR,5\n"
        )
    };
    let (right, slip) = (sheet("28/02/2026"), sheet("28/08/2026"));
    let run = mornings(&[&right, &slip]);
    assert_ne!(of_days_to_come(&run), [] as [String; 0], "{run:#}");
    for exports in [&[&*right, &slip, &right][..], &[&right, &slip, &right, &right]] {
        let run = mornings(exports);
        assert_eq!(of_days_to_come(&run), [] as [String; 0]);
        let mark = before_handover_of_stock(&run, "S1");
        assert!(!mark.contains("quality check"), "{mark}");
    }
}

/// What is said of a machine without a plate before its handover.
fn before_handover_of_stock(run: &Value, stock_no: &str) -> String {
    let mut findings = run["findings"].as_array().unwrap().iter();
    let found = findings.find(|it| it["rule"] == "missed-checks" && it["machine"]["stock_no"] == stock_no);
    found.map(|finding| finding["text"].as_str().unwrap().to_owned()).unwrap_or_default()
}

/// Machines of which nobody writes down a clock; the log of the first slip has two rows of each.
const WITHOUT_CLOCKS: &str = "Reg,Model,Handover\nAB12 CDE,Burdock 400,20/03/2026\nAB13 CDE,Burdock 400,21/03/2026\n\
    AB14 CDE,Burdock 400,22/03/2026\n";

/// Keeps three mornings with a log that has a slip on the second: none of them but the second says so.
fn is_said_on_its_own_day_alone(log: &str, headers: &str, rows: [&str; 3], slip: &str) {
    let sheet = |last: &str| format!("{headers}\n{}{last}", rows[..2].concat());
    let (right, slip) = (sheet(rows[2]), sheet(slip));
    let yard = yard(&[("machines.csv", WITHOUT_CLOCKS), (log, &right)]);
    let days =
        [("2026-03-03", &right), ("2026-03-04", &slip), ("2026-03-05", &right), ("2026-03-06", &right)];
    for (day, export) in days {
        yard.put(&format!("sheets/{log}"), export);
        let said = of_days_to_come(&yard.kept_morning(day).0);
        assert_eq!(said.is_empty(), day != "2026-03-04", "{log} on {day}: {said:#?}");
    }
}

#[test]
fn a_day_to_come_in_a_log_that_is_put_right_or_taken_out_is_not_asked_for_any_more_without_any_clock_either()
{
    let rides = "Date,Reg,Miles,Rider";
    let first = ["24/02/2026,AB12 CDE,6.1,GH\n", "25/02/2026,AB13 CDE,6.2,TR\n"];
    let [one, two] = first;
    let right = "26/02/2026,AB12 CDE,6.3,TR\n";
    is_said_on_its_own_day_alone("rides.csv", rides, [one, two, right], "26/08/2026,AB12 CDE,6.3,TR\n");
    // The row was another machine's, and is taken out.
    let slip = format!("{right}26/08/2026,AB14 CDE,6.3,TR\n");
    is_said_on_its_own_day_alone("rides.csv", rides, [one, two, right], &slip);
    let checks = "Date,Reg,Check,Result,By";
    let passed = ["24/02/2026,AB12 CDE,PDI,Pass,GH\n", "25/02/2026,AB13 CDE,PDI,Pass,TR\n"];
    let right = "26/02/2026,AB12 CDE,QC,Pass,TR\n";
    is_said_on_its_own_day_alone(
        "checks.csv",
        checks,
        [passed[0], passed[1], right],
        "26/02/2027,AB12 CDE,QC,Pass,TR\n",
    );
    let fuel = "Date,Reg,Litres,Fuel";
    let fills = ["24/02/2026,AB12 CDE,5,E5\n", "25/02/2026,AB13 CDE,6,E5\n", "26/02/2026,AB14 CDE,4,E5\n"];
    is_said_on_its_own_day_alone("fuel.csv", fuel, fills, "26/08/2026,AB14 CDE,4,E5\n");
    let slip = format!("{}26/08/2026,AB14 CDE,5,E5\n", fills[2]);
    is_said_on_its_own_day_alone("fuel.csv", fuel, fills, &slip);
    let clocks = "Date,Reg,Clock";
    let read = ["24/02/2026,AB12 CDE,610\n", "25/02/2026,AB13 CDE,205\n", "26/02/2026,AB14 CDE,20\n"];
    is_said_on_its_own_day_alone("odo.csv", clocks, read, "26/08/2026,AB14 CDE,20\n");
    let slip = format!("{}26/08/2026,AB14 CDE,20\n", read[2]);
    is_said_on_its_own_day_alone("odo.csv", clocks, read, &slip);
}

#[test]
fn a_clock_that_was_said_to_be_read_a_year_ago_for_one_morning_does_not_lay_the_machine_up() {
    let (right, slip) = (clocks("310,24/02/2026"), clocks("310,24/02/2025"));
    let laid_up = |run: &Value| finding(run, "laid-up", "AB12 CDE");
    for exports in [&[&*right, &slip, &right][..], &[&right, &slip, &right, &right]] {
        assert_eq!(laid_up(&mornings(exports)), "", "{exports:#?}");
    }
    // Two readings of a log, a year apart, are two.
    let log = "Date,Reg,Clock\n24/02/2025,AB12 CDE,310\n24/02/2026,AB12 CDE,310\n24/02/2026,AB13 CDE,310\n";
    let machines = "Reg,Model,Registered,Handover\nAB12 CDE,Burdock 400,01/12/2024,01/12/2024\n\
        AB13 CDE,Burdock 400,01/12/2024,01/12/2024\n";
    let yard = yard(&[("machines.csv", machines), ("odo.csv", log)]);
    assert_ne!(laid_up(&yard.kept_morning("2026-03-03").0), "");
}

/// A machine handed over in December with that clock, and five others.
fn clocks(clock: &str) -> String {
    let row = |mark: &str, clock: &str| format!("{mark},Burdock 400,01/12/2025,01/12/2025,{clock}\n");
    let others: String = (13..18).map(|number| row(&format!("AB{number} CDE"), "310,24/02/2026")).collect();
    format!("Reg,Model,Registered,Handover,Mileage,Mileage date\n{}{others}", row("AB12 CDE", clock))
}

#[test]
fn a_clock_read_on_a_day_to_come_that_is_put_right_is_not_asked_for_any_more() {
    let (right, slip) = (clocks("310,24/02/2026"), clocks("310,24/02/2027"));
    let run = mornings(&[&right, &slip]);
    assert_ne!(of_days_to_come(&run), [] as [String; 0], "{run:#}");
    let run = mornings(&[&right, &slip, &right, &right]);
    assert_eq!(of_days_to_come(&run), [] as [String; 0]);
}

#[test]
fn a_clock_typed_on_another_machines_row_counts_no_more_once_it_is_put_back_and_that_is_said_once() {
    let (right, slip) = (clocks("310,24/02/2026"), clocks("900,01/03/2026"));
    let due = |run: &Value| finding(run, "first-service-due", "AB12 CDE");
    assert_ne!(due(&mornings(&[&right, &slip])), due(&mornings(&[&right, &right])));
    let run = mornings(&[&right, &slip, &right]);
    assert_eq!(due(&run), due(&mornings(&[&right, &right, &right])));
    let said = taken_back(&run);
    assert!(said.len() == 1 && said[0].contains("AB12 CDE: the reading of 1 Mar 2026"), "{said:#?}");
    let run = mornings(&[&right, &slip, &right, &right]);
    assert_eq!(due(&run), due(&mornings(&[&right, &right, &right, &right])));
    assert_eq!(taken_back(&run), [] as [String; 0]);
}

#[test]
fn clocks_that_are_many_times_what_they_were_never_count_and_are_forgotten_once_the_sheet_is_put_back() {
    let sheet = |times: u32, day: &str| {
        let row = |number: u32| {
            let clock = (100 + number) * times;
            format!("AB{number} CDE,Burdock 400,01/02/2026,01/02/2026,{clock},{day}\n")
        };
        let rows: String = (12..24).map(row).collect();
        format!("Reg,Model,Registered,Handover,Mileage,Mileage date\n{rows}")
    };
    let (right, wrong) = (sheet(1, "24/02/2026"), sheet(5, "02/03/2026"));
    let yard = yard(&[("machines.csv", &right)]);
    for (day, export) in [("2026-03-03", &wrong), ("2026-03-04", &right), ("2026-03-05", &right)] {
        yard.put("sheets/machines.csv", export);
        let (run, _) = yard.kept_morning(day);
        let due = finding(&run, "first-service-due", "AB12 CDE");
        assert_eq!(due, "", "{day}");
        assert_eq!(of_sheets(&run).is_empty(), day != "2026-03-03", "{day}: {:#?}", of_sheets(&run));
    }
    for day in ["2026-03-06", "2026-03-07"] {
        let (run, _) = yard.kept_morning(day);
        for number in 12..24 {
            let due = finding(&run, "first-service-due", &format!("AB{number} CDE"));
            assert_eq!(due, "", "{day}: {:#?}", of_sheets(&run));
        }
    }
}

#[test]
fn a_clock_that_goes_on_counts_with_all_that_it_showed() {
    let yard = yard(&[("machines.csv", &clocks("310,24/02/2026"))]);
    for (day, clock) in [("2026-03-03", "350,02/03/2026"), ("2026-03-04", "390,04/03/2026")] {
        yard.put("sheets/machines.csv", clocks(clock));
        assert_eq!(taken_back(&yard.kept_morning(day).0), [] as [String; 0]);
    }
    let out = yard.path().join("out");
    assert_eq!(yard.run("export", &[out.to_str().unwrap()]).status.code(), Some(0));
    let readings = std::fs::read_to_string(out.join("readings.csv")).unwrap();
    assert_eq!(readings.lines().filter(|line| line.contains("AB12CDE")).count(), 3, "{readings}");
}

#[test]
fn a_service_whose_day_says_no_is_due_again() {
    let yard = yard(&[("machines.csv", &services("01/08/2025,480", ","))]);
    for day in ["2026-03-03", "2026-03-04"] {
        yard.put("sheets/machines.csv", services("no,480", ","));
        let (run, _) = yard.kept_morning(day);
        assert_ne!(finding(&run, "first-service-due", "AB12 CDE"), "", "{day}: {:#?}", of_sheets(&run));
    }
}

#[test]
fn a_log_may_name_a_machine_without_a_plate_by_its_stock_number_among_marks() {
    let machines = "Stock,Reg,Model,Handover\nS1,,Fennel 125,07/03/2026\nS2,AB75 RJK,Fennel 125,08/03/2026\n";
    let checks = "Machine,Date,Check,Result,By\nS1,26/02/2026,Quality check,passed,TR\n\
        AB75 RJK,26/02/2026,Quality check,passed,TR\nAB75 RJK,27/02/2026,Lights,passed,TR\n";
    let yard = yard(&[("machines.csv", machines), ("checks.csv", checks)]);
    let (run, _) = yard.kept_morning("2026-03-02");
    let said = of_sheets(&run);
    assert!(!said.iter().any(|line| line.contains("no machine that is listed")), "{said:#?}");
    let (plated, unplated) = (before_handover(&run, "AB75 RJK"), before_handover_of_stock(&run, "S1"));
    assert!(!plated.is_empty() && !plated.contains("quality check"), "{plated}");
    assert!(!unplated.is_empty() && !unplated.contains("quality check"), "{unplated}");
}

/// A machine with that clock, and no day beside it, among five others.
fn undated(clock: &str) -> String {
    let row = |mark: &str, clock: &str| format!("{mark},Burdock 400,01/12/2025,01/12/2025,{clock}\n");
    let others: String = (13..18).map(|number| row(&format!("AB{number} CDE"), "310")).collect();
    format!("Reg,Model,Registered,Handover,Mileage\n{}{others}", row("AB12 CDE", clock))
}

/// What is said of the machine's clock and its first service after these mornings, and of what was taken back.
fn after_clocks(clocks: &[&str]) -> (String, String, Vec<String>) {
    let sheets: Vec<String> = clocks.iter().map(|clock| undated(clock)).collect();
    let run = mornings(&sheets.iter().map(String::as_str).collect::<Vec<_>>());
    let said = |rule: &str| finding(&run, rule, "AB12 CDE");
    (said("doubtful-reading"), said("first-service-due"), taken_back(&run))
}

#[test]
fn an_undated_clock_that_its_row_puts_back_counts_no_more_and_that_is_said_once() {
    let due = after_clocks(&["303", "303", "303"]).1;
    for slip in ["3030", "9999", "330"] {
        let (doubt, due_after, said) = after_clocks(&["303", slip, "303"]);
        assert_eq!((&*doubt, &*due_after), ("", &*due), "{slip}");
        // What was held has never been read, and there is nothing to take back.
        let is_told = said.len() == 1 && said[0].contains("AB12 CDE: the reading of 3 Mar 2026");
        assert_eq!(is_told, slip != "3030", "{slip}: {said:#?}");
    }
    let (doubt, _, said) = after_clocks(&["303", "9999", "303", "320"]);
    assert_eq!((&*doubt, said), ("", Vec::new()));
    // It stands for a weekend, or in the first export.
    for (clocks, first) in [
        (&["303", "9999", "9999", "303"][..], "303 miles by 2 Mar"),
        (&["3030", "303"], "303 miles by 3 Mar"),
    ] {
        let (doubt, due, said) = after_clocks(clocks);
        assert_eq!((&*doubt, due.contains(first)), ("", true), "{clocks:?}: {due}");
        assert!(!said.is_empty(), "{clocks:?}");
    }
}

#[test]
fn an_undated_clock_that_falls_below_what_several_days_have_shown_is_a_doubt() {
    for clocks in [&["18190", "18204", "12"][..], &["18204", "18204", "12"], &["303", "310", "320", "305"]] {
        let (doubt, _, said) = after_clocks(clocks);
        assert!(doubt.contains("the clock goes down"), "{clocks:?}: {doubt}");
        assert_eq!(said, [] as [String; 0], "{clocks:?}");
    }
    // So is one that a job has shown as well.
    let jobs = "Date,Reg,Work done,Mileage\n01/03/2026,AB12 CDE,Puncture,3025\n";
    let yard = yard(&[("machines.csv", &undated("3030")), ("jobs.csv", jobs)]);
    yard.kept_morning("2026-03-02");
    yard.put("sheets/machines.csv", undated("303"));
    let run = yard.kept_morning("2026-03-03").0;
    assert_eq!(taken_back(&run), [] as [String; 0]);
}

#[test]
fn an_undated_clock_with_a_digit_more_is_held_and_one_that_was_only_seldom_written_down_is_read() {
    let held =
        "rose to three times what it was or more, and it has the digits of before and one more (AB12 CDE)";
    for (was, is, is_held) in
        [("303", "3030", true), ("411", "9411", true), ("12", "512", false), ("303", "1214", false)]
    {
        let run = mornings(&[&undated(was), &undated(is)]);
        assert_eq!(of_sheets(&run).iter().any(|said| said.contains(held)), is_held, "{was} {is}");
        let read = finding(&run, "first-service-due", "AB12 CDE");
        assert_eq!(
            read == finding(&mornings(&[&undated(was), &undated(was)]), "first-service-due", "AB12 CDE"),
            is_held
        );
    }
}
