//! What the rows of a sheet are, and what its columns hold, weighed by what stands in them where their headers say little or
//! the wrong thing. What each sheet means, and what is due by it, was worked out by hand.

use std::fs;

use crate::program::{Yard, printed, said};
use crate::setup::at_a_terminal;

/// What `setup --accept` prints of these sheets.
fn proposed(sheets: &[(&str, &str)]) -> String {
    let yard = Yard::with(sheets);
    printed(&yard.run("setup", &["--accept"]))
}

/// How each sheet is read on a morning after `setup --accept`.
fn read_as(yard: &Yard, day: &str) -> Vec<String> {
    yard.run("setup", &["--accept"]);
    let (run, _) = yard.morning(day);
    let sheets = run["sheets"].as_array().unwrap().iter();
    sheets.map(|sheet| sheet["read_as"].as_str().unwrap().to_owned()).collect()
}

/// An account's book: the kind of each paper, and under `Memo` what it is of.
const LEDGER: &str = "Type,Date,Num,Name,Phone,Reg (ref),Memo,Odo,Amount\n\
    Invoice,13/02/2026,101,Mr A,07700 900701,BT19 NAA,Annual service,6100,180.00\n\
    Invoice,14/03/2026,102,Mr B,07700 900702,BT19 NAB,Annual service,4100,180.00\n\
    Invoice,20/12/2026,103,Mr A,07700 900701,BT19 NAA,Rear tyre,8100,150.00\n\
    Invoice,21/12/2026,104,Mr B,07700 900702,BT19 NAB,Brake fluid change,6000,60.00\n";

#[test]
fn a_book_in_which_machines_come_again_is_no_list_of_machines() {
    let shown = proposed(&[("ledger.csv", LEDGER)]);
    assert!(shown.contains("ledger.csv: one job a row"), "{shown}");
    assert!(shown.contains("G Memo       Annual service, Rear tyre, Brake fluid change  done"), "{shown}");
}

#[test]
fn the_work_counts_under_whatever_header_it_stands() {
    for header in ["Memo", "Line", "Category", "Kind", "DSC", "Was"] {
        let sheet = format!(
            "Date,Reg,Name,Phone,{header},Odo\n13/02/2026,BT19 NAA,Mr A,07700 900701,Annual service,6100\n\
             14/03/2026,BT19 NAB,Mr B,07700 900702,Annual service,4100\n20/12/2026,BT19 NAA,Mr A,07700 900701,Rear \
             tyre,8100\n21/12/2026,BT19 NAB,Mr B,07700 900702,Brake fluid change,6000\n"
        );
        assert_eq!(read_as(&Yard::with(&[("j.csv", &sheet)]), "2027-02-08"), ["job"], "{header}");
    }
}

#[test]
fn a_list_in_which_machines_come_again_is_asked_about() {
    let sheet = "Reg,Model,Seen,Colour\nBT19 NAA,Heron,13/02/2026,red\nBT19 NAB,Heron,14/03/2026,blue\n\
                 BT19 NAA,Heron,20/12/2026,red\nBT19 NAB,Heron,21/12/2026,blue\n";
    let yard = Yard::with(&[("a.csv", sheet)]);
    let shown = printed(&yard.run("setup", &["--accept"]));
    assert!(shown.contains("Open: a.csv: What are the rows of this sheet?"), "{shown}");
}

#[test]
fn a_log_whose_days_nobody_can_read_stays_a_log_and_says_so() {
    let sheet = "Date,Reg,Customer,Tel,Work done,Miles\n1770474731,BT19 NAA,Mr A,07700 900701,Annual service,6100\n\
                 1770474732,BT19 NAB,Mr B,07700 900702,Annual service,4100\n\
                 1770474733,BT19 NAC,Mr C,07700 900703,Annual service,5100\n";
    let yard = Yard::with(&[("j.csv", sheet)]);
    let output = yard.run("setup", &["--accept"]);
    let shown = printed(&output);
    assert!(
        shown.contains("j.csv: one job a row") && shown.contains("Open: j.csv: What is column `Date`?"),
        "{shown}"
    );
    assert_eq!(output.status.code(), Some(1));
    let letter = yard.letter_in_a_line("2027-02-08");
    let top = letter.find("Look at this first").expect("the letter has a top");
    let said = letter.find("A1: `Date`").unwrap_or_else(|| panic!("{letter}"));
    assert!(top < said, "{letter}");
}

#[test]
fn days_of_a_german_program_and_of_a_database_are_read() {
    for day in ["7. Februar 2026", "\"Sa., 07.02.2026\"", "7.2.2026 14:32 Uhr", "2026-02-07-14.32.11.123"] {
        let sheet = format!(
            "Date,Reg,Customer,Tel,Work done,Miles\n{day},BT19 NAA,Mr A,07700 900701,Annual service,6100\n\
             {day},BT19 NAB,Mr B,07700 900702,Annual service,4100\n"
        );
        let yard = Yard::with(&[("j.csv", &sheet)]);
        assert_eq!(read_as(&yard, "2027-02-01"), ["job"], "{day}");
        let letter = yard.letter_in_a_line("2027-02-01");
        assert!(letter.contains("7 Feb 2027"), "{day}: {letter}");
    }
}

#[test]
fn the_nought_of_a_clock_is_no_day() {
    let sheet = "Reg,Model,Registered,Handover,Customer,Tel,MOT expiry\n\
                 BT19 NAA,Heron,04/04/2019,13/05/2019,Mr A,07700 900701,1970-01-01\n\
                 BT19 NAB,Heron,04/04/2019,14/05/2019,Mr B,07700 900702,2027-03-15\n";
    let yard = Yard::with(&[("m.csv", sheet)]);
    yard.run("setup", &["--accept"]);
    let (run, _) = yard.morning("2027-02-08");
    let complaints = run["complaints"].as_array().unwrap();
    let of_it = complaints.iter().find(|it| it["cell"] == "G2").unwrap_or_else(|| panic!("{run}"));
    assert!(of_it["problem"].as_str().unwrap().contains("the day from which programs count"), "{of_it}");
}

/// Machines that go out on 8 February 2027, and their road tests.
const STOCK: &str = "Reg,Model,Registered,Handover,Customer,Tel\n\
    LV76 KAA,Lark,13/01/2027,08/02/2027,Mr A,07700 900601\nLV76 KAB,Lark,13/01/2027,08/02/2027,Mr B,07700 900602\n";
const RIDES: &str = "Date,Reg,Miles,Speed\n14/01/2027,LV76 KAA,6.1,38\n15/01/2027,LV76 KAA,6.2,38\n\
    14/01/2027,LV76 KAB,6.1,38\n15/01/2027,LV76 KAB,6.2,38\n";

/// Who must stay in the yard for want of checks and road tests, on 8 February 2027.
fn kept(sheets: &[(&str, &str)]) -> Vec<String> {
    let yard = Yard::with(sheets);
    yard.run("setup", &["--accept"]);
    let (run, _) = yard.morning("2027-02-08");
    let findings = run["findings"].as_array().unwrap().iter().filter(|it| it["rule"] == "missed-checks");
    let mut kept: Vec<String> =
        findings.map(|it| it["machine"]["mark"].as_str().unwrap().to_owned()).collect();
    kept.sort();
    kept
}

#[test]
fn checks_are_told_by_what_they_name_and_how_they_came_out() {
    let headers = [
        "ITM,RES,TEC",
        "CHK,RES,SIG",
        "TST,OUT,BY1",
        "inspection_type,status,created_by",
        "Kind,Passed?,Mechanic",
    ];
    for header in headers {
        let checks = format!(
            "DAY,VRM,{header}\n14/01/2027,LV76 KAA,PDI,ok,Kay\n15/01/2027,LV76 KAA,QC,FAIL,Sam\n\
             14/01/2027,LV76 KAB,PDI,ok,Kay\n15/01/2027,LV76 KAB,QC,ok,Sam\n"
        );
        let kept = kept(&[("stock.csv", STOCK), ("c.csv", &checks), ("rides.csv", RIDES)]);
        assert_eq!(kept, ["LV76 KAA"], "{header}");
    }
}

#[test]
fn who_checked_is_asked_where_no_header_says_it() {
    let checks = "DAY,VRM,Form,Score,User\n14/01/2027,LV76 KAA,PDI,ok,Kay\n15/01/2027,LV76 KAA,QC,ok,Sam\n\
                  14/01/2027,LV76 KAB,PDI,ok,Kay\n15/01/2027,LV76 KAB,QC,ok,Sam\n";
    let shown = proposed(&[("c.csv", checks)]);
    assert!(shown.contains("Open: c.csv: What is column `User`?"), "{shown}");
}

#[test]
fn short_headers_of_rides_are_told_by_their_values() {
    let checks = "Date,Reg,Item,Result,By\n14/01/2027,LV76 KAA,PDI,ok,Kay\n15/01/2027,LV76 KAA,QC,ok,Sam\n\
                  14/01/2027,LV76 KAB,PDI,ok,Kay\n15/01/2027,LV76 KAB,QC,ok,Sam\n";
    // Comma and point: 6.4 and 5.2 miles are enough, 4.4 and 5.2 are not.
    let rides = "Date|REG|DIS|SPD\n14.01.2027|LV76 KAA|6,4|38\n15.01.2027|LV76 KAA|5,2|38\n\
                 14.01.2027|LV76 KAB|4,4|38\n15.01.2027|LV76 KAB|5,2|38\n";
    let kept = kept(&[("stock.csv", STOCK), ("checks.csv", checks), ("rid.csv", rides)]);
    assert_eq!(kept, ["LV76 KAB"]);
    let shown =
        proposed(&[("r.csv", "Date,Reg,Zk,Speed\n14/01/2027,LV76 KAA,6.1,38\n15/01/2027,LV76 KAA,6.2,38\n")]);
    assert!(
        shown.contains("Open: r.csv: What is column `Zk`?") && shown.contains("\"Zk\" = \"distance\""),
        "{shown}"
    );
}

#[test]
fn two_rides_told_apart_by_letters_are_both_read() {
    let wide = "Reg,Model,Registered,Handover,Customer,Tel,PDI,PDI by,QC,QC by,Ride A,Ride A miles,Ride B,Ride B miles\n\
                LV76 KAA,Lark,13/01/2027,08/02/2027,Mr A,07700 900601,14/01/2027,Kay,15/01/2027,Sam,14/01/2027,6,15/01/2027,5\n\
                LV76 KAB,Lark,13/01/2027,08/02/2027,Mr B,07700 900602,14/01/2027,Kay,15/01/2027,Sam,14/01/2027,6,15/01/2027,3\n";
    assert_eq!(kept(&[("stock.csv", wide)]), ["LV76 KAB"]);
}

#[test]
fn a_check_sheet_whose_only_day_says_when_a_row_was_written_is_asked_about() {
    let checks = "Created at,Reg,Item,Result,By\n2025-02-03T10:02:11Z,LV76 KAA,PDI,ok,Kay\n2025-02-03T15:00:00Z,LV76 KAA,QC,ok,Sam\n";
    let yard = Yard::with(&[("c.csv", checks), ("stock.csv", STOCK), ("rides.csv", RIDES)]);
    let shown = printed(&yard.run("setup", &["--accept"]));
    assert!(shown.contains("Open: c.csv: What is column `Created at`?\n"), "{shown}");
    let letter = yard.letter_in_a_line("2027-02-08");
    assert!(letter.contains("it may be the day of the row"), "{letter}");
}

#[test]
fn a_plain_day_is_asked_about_beside_a_handover_as_well() {
    let sheet = "Reg,Customer,Tel,Registered,Handover,SER,EXP,B/F,LST ANN SVC\n\
                 BT20 NAA,Mr A,07700 900701,14/04/2020,14/05/2020,14/06/2026,14/09/2027,14/02/2025,14/06/2026\n\
                 BT20 NAB,Mr B,07700 900702,15/04/2020,15/05/2020,15/06/2026,15/09/2027,15/02/2025,15/06/2026\n";
    let shown = proposed(&[("m.csv", sheet)]);
    for line in [
        "Open: m.csv: What is column `SER`?",
        "\"SER\" = \"last service day\"",
        "\"EXP\" = \"mot expiry\"",
        "\"B/F\" = \"brake fluid day\"",
    ] {
        assert!(shown.contains(line), "{line}: {shown}");
    }
    let annual = shown.lines().find(|line| line.contains("I LST ANN SVC")).unwrap_or_default();
    assert!(annual.contains("annual service day"), "{shown}");
}

/// A dump of a database: numbers that count from 1 join its sheets, and a row is marked as deleted.
const VEHICLES: &str = "id,reg_no,chassis_no,model,registered,handover,customer,telephone,is_deleted\n\
    1,LV76 KAA,NULL,Lark,2027-01-13,2027-02-08,Mr A,07700 900601,FALSE\n\
    2,LV76 KAB,NULL,Lark,2027-01-13,2027-02-08,Mr B,07700 900602,TRUE\n\
    3,LV76 KAC,NULL,Lark,2027-01-13,2027-02-08,Mr C,07700 900603,FALSE\n";
const TEST_RIDES: &str = "id,vehicle_id,ride_date,distance_miles\n\
    901,1,2027-01-14,6.1\n902,1,2027-01-15,6.2\n903,2,2027-01-14,6.1\n904,3,2027-01-15,6.1\n905,3,2027-01-16,6.1\n";

#[test]
fn numbers_by_which_the_sheets_of_a_database_are_joined_are_seen_by_the_join() {
    let yard = Yard::with(&[("vehicle.csv", VEHICLES), ("test_ride.csv", TEST_RIDES)]);
    // The number, by the join; then all is written, by Enter.
    let (shown, code) = at_a_terminal(&yard, "1\n\n");
    assert!(shown.contains("What is column `id`? (test_ride.csv names its machines by these)"), "{shown}");
    let joined = shown.lines().find(|line| line.contains("B vehicle_id")).unwrap_or_default();
    assert!(joined.contains("stock number"), "{shown}");
    let (run, _) = yard.morning("2027-02-08");
    assert!(
        run["complaints"].to_string().contains("1 row is marked as deleted by `is_deleted`"),
        "{code} {run}"
    );
    let rides = run["findings"].as_array().unwrap().iter().filter(|it| it["rule"] == "missed-checks");
    let of_a = rides.clone().find(|it| it["machine"]["mark"] == "LV76 KAA").unwrap()["text"].to_string();
    let of_b = rides.clone().find(|it| it["machine"]["mark"] == "LV76 KAB").unwrap()["text"].to_string();
    assert!(!of_a.contains("road test") && of_b.contains("road test"), "{of_a} {of_b}");
}

#[test]
fn what_a_database_writes_for_nothing_may_become_blank() {
    let yard = Yard::with(&[("vehicle.csv", VEHICLES)]);
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2027-02-07");
    yard.put("sheets/vehicle.csv", VEHICLES.replace("NULL", ""));
    let (run, _) = yard.kept_morning("2027-02-08");
    assert!(!run["complaints"].to_string().contains("something stood"), "{run}");
}

#[test]
fn a_sheet_with_a_column_for_each_month_says_what_to_save_instead() {
    let shown = Yard::with(&[(
        "work.csv",
        "Row Labels,Jan-26,Feb-26,Mar-26,Grand Total\nBT19 NAA,,Ann,,1\nBT19 NAB,Ann,,,1\n",
    )]);
    let output = shown.run("setup", &["--accept"]);
    let told =
        format!("{}{}", printed(&output), said(&output)).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("this sheet has a column for each month"), "{told}");
    assert!(told.contains("Save the list that it was made from instead"), "{told}");
    assert_eq!(output.status.code(), Some(1));
}

#[test]
fn a_new_form_of_a_file_that_is_named_by_itself_is_not_passed_over_in_silence() {
    let yard = Yard::empty();
    yard.put(
        "exports/JOBS.CSV",
        "Date,Reg,Work done\n2026-03-01,BT19 NAA,Annual service\n2026-04-01,BT19 NAB,Annual service\n",
    );
    let named = yard.path().join("exports/JOBS.CSV");
    yard.run("setup", &["--accept", named.to_str().unwrap()]);
    yard.kept_morning("2027-02-01");
    fs::rename(&named, yard.path().join("exports/JOBS.txt")).unwrap();
    // Backups and downloads under way are no new form, though they come first by their names.
    for backup in ["JOBS.CSV~", "JOBS.bak", "JOBS.old", "JOBS.part"] {
        yard.put(&format!("exports/{backup}"), "no sheet");
    }
    let (run, _) = yard.kept_morning("2027-02-02");
    let told = run["complaints"].to_string();
    assert!(told.contains("`JOBS.txt`, which lies beside it, is not read"), "{run}");
}
