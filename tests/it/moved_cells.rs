//! Columns of few filled cells that were sorted alone or exchanged their headers, be it over blank cells: what the same
//! rows said stands, and that is said.
//!
//! Which edits are ordinary, and the thresholds, are our decision; what is expected is what was said before.

use serde_json::Value;

use crate::changed_sheets::of_sheets;
use crate::program::Yard;

const HEADERS: [&str; 13] = [
    "Stock No",
    "Reg",
    "Model",
    "Customer",
    "Registered",
    "Handover",
    "Mileage",
    "Mileage date",
    "Last service",
    "Last service date",
    "MOT expiry",
    "Brake fluid date",
    "Notes",
];
const LAST_SERVICE: usize = 8;
const LAST_SERVICE_DATE: usize = 9;
const MOT: usize = 10;
const BRAKE_FLUID: usize = 11;
const HANDOVER: usize = 5;
const NOTES: usize = 12;

type Row = [String; 13];

fn rows() -> Vec<Row> {
    let rows = [
        "S1,CE22 ABD,Larkspur 400,Ms A Orchard,04/04/2022,14/04/2022,9120,28/04/2026,annual service,17/06/2025,22/06/2026,28/05/2024,rings back",
        "S2,CE22 ABE,Larkspur 400,Mr B Meadow,05/04/2022,15/04/2022,6412,30/04/2026,annual service,18/08/2025,29/08/2026,25/11/2025,",
        "S3,CE73 ABF,Larkspur 400,Ms C Hedge,06/10/2023,16/10/2023,5870,30/04/2026,annual service,25/11/2025,,27/10/2025,scratch on tank",
        "S4,CE23 ABG,Larkspur 400,Ms D Lane,22/05/2023,02/06/2023,4530,30/04/2026,annual service,27/05/2025,23/05/2026,03/09/2024,",
    ];
    let row = |line: &str| {
        let cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        cells.try_into().unwrap()
    };
    rows.into_iter().map(row).collect()
}

fn sheet(headers: &[&str], rows: &[Row]) -> String {
    let rows: String = rows.iter().map(|row| format!("{}\n", row.join(","))).collect();
    format!("{}\n{rows}", headers.join(","))
}

/// A yard of these machines, set up and read on Monday 11 May.
fn yard(rows: &[Row]) -> Yard {
    Yard::in_miles(&[("machines.csv", &sheet(&HEADERS, rows))], "2026-05-11")
}

/// What is open, without what is estimated of a day.
fn open(run: &Value) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    let open = findings.filter(|it| it["state"] != "settled");
    let words = |it: &Value| {
        let text = it["text"].as_str().unwrap();
        let text: Vec<&str> = text.split("; ").filter(|part| !part.contains("about")).collect();
        format!("{} of {}: {}", it["rule"], it["machine"]["stock_no"], text.join("; "))
    };
    let mut open: Vec<String> = open.map(words).collect();
    open.sort();
    open
}

/// Has the sheet stand so for some mornings: each says these words, and has what the first one had. Then it is put back.
#[track_caller]
fn is_held(before: (&[&str], &[Row]), now: (&[&str], &[Row]), words: &[&str]) {
    let yard = yard(before.1);
    let (first, _) = yard.kept_morning("2026-05-11");
    for day in ["2026-05-12", "2026-05-13"] {
        yard.put("sheets/machines.csv", sheet(now.0, now.1));
        let (run, code) = yard.kept_morning(day);
        let said = of_sheets(&run);
        let says = |said: &&String| words.iter().all(|words| said.contains(words));
        assert_eq!(said.iter().filter(says).count(), 1, "{day}: {words:?} in {said:#?}");
        let of_rows = said.iter().filter(|said| said.contains("what the same rows said before stands"));
        assert_eq!(of_rows.count(), 1, "{day}: {said:#?}");
        assert_eq!((open(&run), code), (open(&first), Some(1)), "{day}: {said:#?}");
    }
    yard.put("sheets/machines.csv", sheet(before.0, before.1));
    let (run, _) = yard.kept_morning("2026-05-13");
    assert_eq!((of_sheets(&run), open(&run)), (Vec::new(), open(&first)));
}

#[test]
fn a_column_of_few_days_that_was_moved_round_by_a_row_stands_as_it_was() {
    for (column, places, header) in [
        (BRAKE_FLUID, &[0, 1, 2, 3][..], "`Brake fluid date`"),
        (BRAKE_FLUID, &[0, 1], "`Brake fluid date`"),
        (MOT, &[0, 1, 3], "`MOT expiry`"),
        (LAST_SERVICE_DATE, &[0, 1, 2, 3], "`Last service date`"),
    ] {
        let mut before = rows();
        for (place, row) in before.iter_mut().enumerate() {
            if !places.contains(&place) {
                row[column].clear();
            }
        }
        let mut now = before.clone();
        for (number, place) in places.iter().enumerate() {
            let next = places[(number + 1) % places.len()];
            now[*place][column].clone_from(&before[next][column]);
        }
        is_held((&HEADERS, &before), (&HEADERS, &now), &[header, "as after a sort without the rest"]);
    }
}

#[test]
fn two_days_that_stand_beside_machines_now_that_had_none_stand_as_they_were() {
    let mut before = rows();
    before[1][MOT].clear();
    let mut now = before.clone();
    // The column has slid down by one row, and its last cell is at the top.
    for (place, row) in now.iter_mut().enumerate() {
        row[MOT].clone_from(&before[(place + 3) % 4][MOT]);
    }
    is_held((&HEADERS, &before), (&HEADERS, &now), &["`MOT expiry`", "as after a sort without the rest"]);
}

#[test]
fn headers_exchanged_over_blank_cells_and_with_notes_stand_as_they_were() {
    let mut few = rows();
    for row in &mut few[1..] {
        row[BRAKE_FLUID].clear();
    }
    let mut no_mot = rows();
    for row in &mut no_mot {
        row[MOT].clear();
    }
    for (before, one, other) in [
        (few, LAST_SERVICE_DATE, BRAKE_FLUID),
        (rows(), LAST_SERVICE, NOTES),
        (rows(), MOT, BRAKE_FLUID),
        (no_mot, HANDOVER, MOT),
    ] {
        let mut now = before.clone();
        for row in &mut now {
            row.swap(one, other);
        }
        let headers = [format!("`{}`", HEADERS[one]), format!("`{}`", HEADERS[other])];
        let words = [&headers[0], &headers[1], "as if their headers had been exchanged"];
        is_held((&HEADERS, &before), (&HEADERS, &now), &words);
    }
}

#[test]
fn two_customers_who_exchange_the_days_of_their_handovers_are_an_ordinary_day() {
    let mut before = rows();
    for (row, day) in before.iter_mut().zip(["20/05/2026", "27/05/2026", "", ""]) {
        row[HANDOVER] = day.to_owned();
    }
    let yard = yard(&before);
    let mut now = before.clone();
    now[0][HANDOVER].clone_from(&before[1][HANDOVER]);
    now[1][HANDOVER].clone_from(&before[0][HANDOVER]);
    yard.put("sheets/machines.csv", sheet(&HEADERS, &now));
    let (run, _) = yard.kept_morning("2026-05-12");
    assert_eq!(of_sheets(&run), [] as [String; 0]);
}

const JOBS: [[&str; 5]; 6] = [
    ["02/02/2026", "S1", "first service", "480", "GH"],
    ["02/02/2026", "S1", "brake fluid", "480", "TR"],
    ["13/02/2026", "S2", "first service", "490", "GH"],
    ["13/02/2026", "S2", "brake fluid", "490", "TR"],
    ["24/02/2026", "S3", "first service", "470", "GH"],
    ["24/02/2026", "S3", "brake fluid", "470", "TR"],
];

#[test]
fn headers_exchanged_in_a_log_with_two_rows_a_day_make_no_new_jobs() {
    let jobs = |header: &str, rows: &[[&str; 5]]| {
        let rows: String = rows.iter().map(|row| format!("{}\n", row.join(","))).collect();
        format!("{header}\n{rows}")
    };
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", sheet(&HEADERS[..8], &[]) + "S1,CE75 ABD,Larkspur 400,Ms A,01/11/2025,02/11/2025,500,01/03/2026\n\
        S2,CE75 ABE,Larkspur 400,Mr B,01/11/2025,02/11/2025,500,01/03/2026\nS3,CE75 ABF,Larkspur 400,Ms C,01/11/2025,02/11/2025,500,01/03/2026\n");
    yard.put("sheets/jobs.csv", jobs("Date,Stock No,Work done,Mileage,Mechanic", &JOBS));
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-05-11");
    let kept = |name: &str| {
        let out = yard.path().join(name);
        assert_eq!(yard.run("export", &[out.to_str().unwrap()]).status.code(), Some(0));
        std::fs::read_to_string(out.join("jobs.csv")).unwrap()
    };
    let before = kept("before");
    assert_eq!(before.lines().count(), 7, "{before}");
    for day in ["2026-05-12", "2026-05-13"] {
        // A new row is written below headers that are exchanged, too.
        let mut rows = JOBS.to_vec();
        rows.push(["11/05/2026", "S3", "TR", "520", "annual service"]);
        for row in &mut rows[..6] {
            row.swap(2, 4);
        }
        yard.put("sheets/jobs.csv", jobs("Date,Stock No,Work done,Mileage,Mechanic", &rows));
        let (run, code) = yard.kept_morning(day);
        let said = of_sheets(&run);
        let is_said = said.iter().any(|said| said.contains("as if their headers had been exchanged"));
        assert!(is_said && code == Some(1), "{day}: {said:#?}");
        assert_eq!(kept(day).replace(&format!(",{day},"), ",2026-05-11,"), before, "{day}");
    }
}
