//! One column of a sheet that stands in other rows than the rest, as a sort or a shift of it alone leaves it: said at the top
//! of every letter, and nothing is raised or settled by it, until it is put back or the owner says that it is right.
//!
//! The cases are those of shops' own slips; the thresholds are our decision; what is expected is what was said before.

use serde_json::Value;

use crate::changed_sheets::of_sheets;
use crate::program::Yard;

/// The sheets of this shop, each with its headers and rows.
const MACHINES: &str = "Stock No,Reg,Model,Customer,Phone,Registered,Handover,MOT expiry,PDI,Mileage,Mileage date\n\
    S1,CE25 ABD,Larkspur 400,Ms A Orchard,07700 900701,12/05/2025,13/05/2025,22/06/2028,pass,1204,08/05/2026\n\
    S2,CE25 ABE,Larkspur 400,Mr B Meadow,07700 900702,14/05/2025,15/05/2025,29/06/2028,pass,2310,07/05/2026\n\
    S3,CE25 ABF,Larkspur 400,Ms C Hedge,07700 900703,19/05/2025,20/05/2025,04/07/2028,pass,845,06/05/2026\n\
    S4,CE25 ABG,Larkspur 400,Ms D Lane,07700 900704,26/05/2025,27/05/2025,11/07/2028,pass,3977,05/05/2026\n\
    S5,CE25 ABH,Larkspur 400,Mr E Wood,07700 900705,02/06/2025,03/06/2025,25/05/2026,pass,512,04/05/2026\n\
    S6,CE25 ABJ,Larkspur 400,Ms F Moor,07700 900706,09/06/2025,10/06/2025,02/06/2026,pass,1450,03/05/2026\n\
    S7,CE75 ABK,Larkspur 400,Mr G Fell,07700 900707,12/04/2026,30/05/2026,,,9,08/05/2026\n\
    S8,CE75 ABL,Larkspur 400,Ms H Beck,07700 900708,13/04/2026,28/05/2026,,pass,6,08/05/2026\n";

const JOBS: &str = "Date,Stock No,Work done,Mileage,Mechanic\n\
    02/06/2025,S1,first service,498,GH\n03/06/2025,S2,first service,512,TR\n05/06/2025,S3,first service,480,GH\n\
    12/06/2025,S4,first service,505,KB\n20/11/2025,S4,rear tyre,2800,TR\n24/11/2025,S2,chain adjusted,1500,GH\n\
    04/12/2025,S1,front pads,800,TR\n15/01/2026,S3,chain adjusted,700,KB\n20/04/2026,S4,annual service,3900,GH\n\
    28/04/2026,S2,annual service,2290,TR\n";

const RIDES: &str = "Date,Machine,Miles,Top speed mph,Ridden by\n\
    20/04/2026,CE75 ABK,6,42,GH\n22/04/2026,CE75 ABK,7,38,TR\n23/04/2026,CE75 ABL,6,51,GH\n24/04/2026,CE25 ABD,11,60,KB\n\
    28/04/2026,CE75 ABL,8,44,TR\n30/04/2026,CE25 ABG,5,39,KB\n";

const CHECKS: &str = "Date,Stock No,Check,Result,Signed by\n\
    20/04/2026,S7,PDI,pass,GH\n21/04/2026,S8,PDI,pass,GH\n22/04/2026,S7,QC,pass,TR\n24/04/2026,S8,QC,failed,TR\n\
    27/04/2026,S8,QC,pass,TR\n30/04/2026,S4,brakes,pass,KB\n";

const FUEL: &str = "Date,Stock No,Litres,Grade,Mileage\n\
    20/04/2026,S7,4.1,E5,2\n21/04/2026,S8,5.2,E10,1\n22/04/2026,S1,9.4,E5,1190\n24/04/2026,S2,8.8,E10,2280\n\
    28/04/2026,S4,7.5,super unleaded,3940\n30/04/2026,S3,6.6,E5,838\n";

const SHEETS: [(&str, &str); 5] = [
    ("machines.csv", MACHINES),
    ("jobs.csv", JOBS),
    ("road-tests.csv", RIDES),
    ("checks.csv", CHECKS),
    ("fuel.csv", FUEL),
];

/// A yard of these sheets, set up and read on Monday 11 May.
fn yard() -> Yard {
    Yard::in_miles(&SHEETS, "2026-05-11")
}

/// What is open, each finding by its rule and machine.
fn open(run: &Value) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    let open = findings.filter(|it| it["state"] != "settled");
    let mut open: Vec<String> =
        open.map(|it| format!("{} of {} by {}", it["rule"], it["machine"]["stock_no"], it["due"])).collect();
    open.sort();
    open
}

fn cells(text: &str) -> Vec<Vec<String>> {
    text.lines().map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

fn written(rows: &[Vec<String>]) -> String {
    rows.iter().map(|row| format!("{}\n", row.join(","))).collect()
}

/// What becomes of the cells of a column, below its header.
type Slip = fn(Vec<String>) -> Vec<String>;

fn with_slip(text: &str, header: &str, slip: Slip) -> String {
    let mut rows = cells(text);
    let column = rows[0].iter().position(|it| it == header).unwrap();
    let cells = slip(rows[1..].iter().map(|row| row[column].clone()).collect());
    for (row, cell) in rows[1..].iter_mut().zip(cells) {
        row[column] = cell;
    }
    written(&rows)
}

fn sort(mut cells: Vec<String>) -> Vec<String> {
    let was = cells.clone();
    cells.sort();
    if cells == was {
        cells.reverse();
    }
    cells
}

fn move_down(mut cells: Vec<String>) -> Vec<String> {
    cells.rotate_right(1);
    cells
}

fn move_half_down(mut cells: Vec<String>) -> Vec<String> {
    let half = cells.len() / 2;
    cells[half..].rotate_right(1);
    cells
}

fn push_half_down(mut cells: Vec<String>) -> Vec<String> {
    cells.insert(cells.len() / 2, String::new());
    cells
}

/// What is said and open on these mornings while nothing befalls a sheet.
fn as_it_was<const N: usize>(days: [&'static str; N]) -> [(&'static str, Vec<String>, Vec<String>); N] {
    let yard = yard();
    days.map(|day| {
        for (file, text) in SHEETS {
            yard.put(&format!("sheets/{file}"), text);
        }
        let (run, _) = yard.kept_morning(day);
        (day, of_sheets(&run), open(&run))
    })
}

/// The mornings on which it stands so, and the one on which it is put back.
const DAYS: [&str; 4] = ["2026-05-12", "2026-05-13", "2026-05-18", "2026-05-19"];

/// Has a sheet stand so for some mornings: each says it at its top, and has open what it would have without.
#[track_caller]
fn is_held(file: &str, header: &str, slip: Slip, as_it_was: &[(&'static str, Vec<String>, Vec<String>); 4]) {
    let yard = yard();
    let text = SHEETS.iter().find(|(name, _)| *name == file).unwrap().1;
    let [held @ .., (last, said_then, open_then)] = as_it_was;
    for (day, _, open_then) in held {
        yard.put(&format!("sheets/{file}"), with_slip(text, header, slip));
        let (run, code) = yard.kept_morning(day);
        let said = of_sheets(&run);
        let is_it = |said: &&String| {
            said.contains(file)
                && said.contains(&format!("`{header}`"))
                && said.contains("other rows said before")
        };
        assert_eq!(said.iter().filter(is_it).count(), 1, "{file} {header} on {day}: {said:#?}");
        assert_eq!((&open(&run), code), (open_then, Some(1)), "{file} {header} on {day}: {said:#?}");
    }
    yard.put(&format!("sheets/{file}"), text);
    let (run, _) = yard.kept_morning(last);
    assert_eq!((&of_sheets(&run), &open(&run)), (said_then, open_then), "{file} {header}");
}

#[test]
fn a_column_of_a_log_that_was_sorted_alone_settles_and_raises_nothing() {
    let as_it_was = as_it_was(DAYS);
    for (file, header) in [
        ("jobs.csv", "Work done"),
        ("jobs.csv", "Mileage"),
        ("jobs.csv", "Stock No"),
        ("road-tests.csv", "Machine"),
        ("road-tests.csv", "Miles"),
        ("checks.csv", "Check"),
        ("road-tests.csv", "Ridden by"),
        ("fuel.csv", "Grade"),
    ] {
        is_held(file, header, sort, &as_it_was);
    }
}

#[test]
fn half_a_column_that_was_moved_down_by_one_settles_and_raises_nothing() {
    let as_it_was = as_it_was(DAYS);
    for (file, header, slip) in [
        ("machines.csv", "MOT expiry", move_down as Slip),
        ("machines.csv", "MOT expiry", move_half_down),
        ("machines.csv", "Customer", move_half_down),
        ("machines.csv", "Handover", move_half_down),
        ("machines.csv", "Mileage", move_half_down),
        ("jobs.csv", "Work done", move_half_down),
        ("jobs.csv", "Date", move_half_down),
        ("jobs.csv", "Stock No", push_half_down),
        ("road-tests.csv", "Machine", move_half_down),
        ("fuel.csv", "Stock No", push_half_down),
    ] {
        is_held(file, header, slip, &as_it_was);
    }
}

#[test]
fn what_the_owner_says_to_be_right_counts_as_it_stands() {
    let yard = yard();
    yard.put("sheets/jobs.csv", with_slip(JOBS, "Work done", sort));
    let (run, _) = yard.kept_morning("2026-05-12");
    let line = r#""Work done" = "done, right since 2026-05-12""#;
    assert!(of_sheets(&run).iter().any(|said| said.contains(line)), "{:#?}", of_sheets(&run));
    let settings = yard.settings();
    assert!(settings.contains("\"Work done\" = \"done\""), "{settings}");
    yard.put("tickover.toml", settings.replace("\"Work done\" = \"done\"", line));
    let (run, _) = yard.kept_morning("2026-05-13");
    assert!(!of_sheets(&run).iter().any(|said| said.contains("other rows")), "{:#?}", of_sheets(&run));
    let out = yard.path().join("kept-jobs");
    assert_eq!(yard.run("export", &[out.to_str().unwrap()]).status.code(), Some(0));
    let jobs = std::fs::read_to_string(out.join("jobs.csv")).unwrap();
    assert!(jobs.lines().any(|row| row.contains("2025-06-02") && row.contains("annual service")), "{jobs}");
}

#[test]
fn checks_and_results_under_each_others_headers_are_told_every_day_and_stop_nothing() {
    let as_it_was = as_it_was(["2026-05-12", "2026-05-13", "2026-05-18", "2026-05-26", "2026-05-27"]);
    let yard = yard();
    let [held @ .., (last, said_then, open_then)] = &as_it_was;
    let mut rows = cells(CHECKS);
    rows[1..].iter_mut().for_each(|row| row.swap(2, 3));
    for (day, _, open_then) in held {
        yard.put("sheets/checks.csv", written(&rows));
        let (run, code) = yard.kept_morning(day);
        let said = of_sheets(&run);
        let is_it =
            |said: &&String| ["`Check`", "`Result`", "exchanged"].iter().all(|word| said.contains(word));
        assert_eq!(said.iter().filter(is_it).count(), 1, "{day}: {said:#?}");
        assert_eq!((&open(&run), code), (open_then, Some(1)), "{day}: {said:#?}");
    }
    yard.put("sheets/checks.csv", CHECKS);
    let (run, _) = yard.kept_morning(last);
    assert_eq!((&of_sheets(&run), &open(&run)), (said_then, open_then));
}

#[test]
fn clocks_that_are_all_three_times_what_they_were_are_not_believed_though_their_days_are_new() {
    // So few miles that each may have been ridden since the last export.
    let machines = |times: usize, day: &str| {
        let mut rows = cells(MACHINES);
        for (number, row) in rows[1..].iter_mut().enumerate() {
            (row[9], row[10]) = ((times * (104 + 2 * number)).to_string(), day.to_owned());
        }
        written(&rows)
    };
    let shop = || {
        let yard = Yard::empty();
        yard.put("sheets/machines.csv", machines(1, "08/05/2026"));
        yard.run("setup", &["--accept"]);
        yard.kept_morning("2026-05-11");
        yard
    };
    let (yard, as_it_was) = (shop(), shop());
    for day in ["2026-05-12", "2026-05-13", "2026-05-14", "2026-05-18"] {
        let is_put_back = day == "2026-05-18";
        let now = if is_put_back { machines(1, "08/05/2026") } else { machines(3, "12/05/2026") };
        yard.put("sheets/machines.csv", now);
        as_it_was.put("sheets/machines.csv", machines(1, "08/05/2026"));
        let (run, then) = (yard.kept_morning(day).0, as_it_was.kept_morning(day).0);
        let said = of_sheets(&run);
        let is_it = |said: &&String| said.contains("`Mileage` are 3.0 times what they were");
        assert_eq!(said.iter().filter(is_it).count(), usize::from(!is_put_back), "{day}: {said:#?}");
        assert_eq!(open(&run), open(&then), "{day}: {said:#?}");
    }
}
