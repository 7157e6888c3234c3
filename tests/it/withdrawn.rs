//! What stood in yesterday's sheet and is taken back by today's: a check, a ride or a service that was written down by
//! mistake counts no more, and what only rolled out of a log, was overwritten or went with its column counts on.
//!
//! What must be safe is the mission's (nothing blank is a pass); where a case can be either, and the figures, are our
//! decision.

use serde_json::Value;

use crate::changed_sheets::{finding, of_sheets};
use crate::program::{MACHINES, Yard};

/// Three machines that are to be handed over soon, with all their checks and rides in their rows.
pub(crate) const HEADERS: &str =
    "Reg,Model,Handover,PDI date,PDI by,QC date,QC by,Ride 1 date,Ride 1 miles,Ride 2 date,Ride 2 miles\n";
const KDE: &str =
    "AB24 KDE,Burdock 400,26/04/2024,14/04/2024,GH,19/04/2024,TR,15/04/2024,6.1,18/04/2024,5.3\n";
const RGH: &str =
    "AB75 RGH,Sallow 125,06/03/2026,25/02/2026,GH,27/02/2026,TR,25/02/2026,5.6,26/02/2026,5.2\n";

/// The sheet with these cells of one machine's quality check and first ride.
pub(crate) fn ready(quality: &str, ride: &str) -> String {
    let rjk = format!("AB75 RJK,Burdock 400,07/03/2026,26/02/2026,GH,{quality},{ride},27/02/2026,5.5\n");
    format!("{HEADERS}{KDE}{rjk}{RGH}")
}

pub(crate) const QUALITY: &str = "28/02/2026,TR";
pub(crate) const RIDE: &str = "26/02/2026,6.2";

/// A yard of these sheets, set up and read on Monday 2 March.
pub(crate) fn yard(sheets: &[(&str, &str)]) -> Yard {
    Yard::in_miles(sheets, "2026-03-02")
}

/// What a run says of things that were taken back.
pub(crate) fn taken_back(run: &Value) -> Vec<String> {
    let said = of_sheets(run);
    said.into_iter().filter(|said| said.contains("stood here until")).collect()
}

/// What is said of a machine before its handover; empty where nothing is open.
pub(crate) fn before_handover(run: &Value, mark: &str) -> String {
    let mut findings = run["findings"].as_array().unwrap().iter();
    let found = findings.find(|it| {
        it["rule"] == "missed-checks" && it["machine"]["mark"] == mark && it["state"] != "settled"
    });
    found.map(|finding| finding["text"].as_str().unwrap().to_owned()).unwrap_or_default()
}

/// A sheet without these of its columns, or with nothing below their headers.
pub(crate) fn without(sheet: &str, columns: &[&str], is_gone: bool) -> String {
    let headers: Vec<&str> = sheet.lines().next().unwrap().split(',').collect();
    assert!(columns.iter().all(|column| headers.contains(column)), "{columns:?} of {headers:?}");
    let row = |(number, line): (usize, &str)| {
        let cells = line.split(',').zip(&headers).filter(|(_, header)| !is_gone || !columns.contains(header));
        let cell = |(cell, header)| if number > 0 && columns.contains(header) { "" } else { cell };
        cells.map(cell).collect::<Vec<&str>>().join(",") + "\n"
    };
    sheet.lines().enumerate().map(row).collect()
}

#[test]
fn a_quality_check_that_is_blanked_or_refused_in_its_row_is_open_again_and_that_is_said_once() {
    for refused in [",", "not done,", "no,", "failed,TR", "x,"] {
        let yard = yard(&[("ready.csv", &ready(QUALITY, RIDE))]);
        let (run, _) = yard.kept_morning("2026-03-02");
        assert_eq!(before_handover(&run, "AB75 RJK"), "", "{refused}");
        yard.put("sheets/ready.csv", ready(refused, RIDE));
        for day in ["2026-03-03", "2026-03-03", "2026-03-04", "2026-03-05", "2026-03-06"] {
            let (run, _) = yard.kept_morning(day);
            let open = before_handover(&run, "AB75 RJK");
            assert!(open.contains("quality check"), "{refused} on {day}: {open}");
            assert_eq!(before_handover(&run, "AB75 RGH"), "", "{refused} on {day}");
            let said = taken_back(&run);
            assert_eq!(said.len(), usize::from(day == "2026-03-03"), "{refused} on {day}: {said:#?}");
            if day == "2026-03-03" {
                let words = "AB75 RJK: the quality check of 28 Feb 2026 stood here until";
                assert!(said[0].contains(words) && said[0].contains("open again"), "{refused}: {said:#?}");
            }
        }
        // Written there again it counts again.
        yard.put("sheets/ready.csv", ready(QUALITY, RIDE));
        for day in ["2026-03-07", "2026-03-09"] {
            let (run, _) = yard.kept_morning(day);
            let open = before_handover(&run, "AB75 RJK");
            assert_eq!((open.as_str(), taken_back(&run)), ("", Vec::new()), "{refused} on {day}");
        }
    }
}

#[test]
fn the_letter_says_where_it_stood() {
    let yard = yard(&[("ready.csv", &ready(QUALITY, RIDE))]);
    yard.put("sheets/ready.csv", ready(",", RIDE));
    yard.run("morning", &["--today", "2026-03-03"]);
    let letter = std::fs::read_to_string(yard.path().join("digests/2026-03-03.txt")).unwrap();
    assert!(letter.contains("ready.csv, F3"), "{letter}");
}

#[test]
fn a_dry_run_and_a_look_during_the_day_lose_nothing_that_is_to_be_told() {
    let yard = yard(&[("ready.csv", &ready(QUALITY, RIDE))]);
    // After the letter of the day.
    yard.put("sheets/ready.csv", ready(",", RIDE));
    let (run, _) = yard.morning("2026-03-02");
    assert_eq!(taken_back(&run).len(), 1);
    let (run, _) = yard.kept_morning("2026-03-02");
    assert!(before_handover(&run, "AB75 RJK").contains("quality check"), "{run:#}");
    assert_eq!(taken_back(&run).len(), 1);
    let (run, _) = yard.kept_morning("2026-03-03");
    assert!(before_handover(&run, "AB75 RJK").contains("quality check"), "{run:#}");
}

#[test]
fn a_ride_that_is_blanked_or_moved_to_another_day_and_length_counts_once_or_not_at_all() {
    for (ride, is_open) in [(",", "road test"), ("27/02/2026,7.9", "road tests on 2 days")] {
        let yard = yard(&[("ready.csv", &ready(QUALITY, RIDE))]);
        yard.put("sheets/ready.csv", ready(QUALITY, ride));
        for day in ["2026-03-03", "2026-03-04", "2026-03-05"] {
            let (run, _) = yard.kept_morning(day);
            let open = before_handover(&run, "AB75 RJK");
            assert!(open.contains(is_open), "{ride} on {day}: {open}");
        }
    }
}

#[test]
fn a_check_that_failed_stays_failed_when_its_cell_is_emptied() {
    let check = |result: &str| format!("Reg,Date,Check,Result,By\nAB12 CDE,20/02/2026,Brakes,{result},GH\n");
    let machines = MACHINES.replace("01/12/2025,Ann", "05/03/2026,Ann");
    let yard = yard(&[("machines.csv", &machines), ("checks.csv", &check("failed"))]);
    yard.put("sheets/checks.csv", check(""));
    for day in ["2026-03-03", "2026-03-04"] {
        let (run, _) = yard.kept_morning(day);
        let open = before_handover(&run, "AB12 CDE");
        assert!(open.contains("Brakes (failed on 20 Feb 2026)"), "{day}: {open}");
    }
}

/// Checks of two machines that are to be handed over on 5 March.
pub(crate) const LOG: &str = "Reg,Date,Check,Result,By\nAB13 CDE,10/02/2026,Brakes,passed,GH\nAB13 CDE,15/02/2026,Lights,passed,GH\n\
    AB12 CDE,20/02/2026,Brakes,passed,GH\nAB13 CDE,21/02/2026,Lights,passed,GH\n";
pub(crate) const BRAKES: &str = "AB12 CDE,20/02/2026,Brakes,passed,GH\n";

/// A yard in which brakes alone are asked for, with that log.
pub(crate) fn yard_with_log() -> Yard {
    let machines =
        MACHINES.replace("01/12/2025,Ann", "05/03/2026,Ann").replace("15/01/2026,Bob", "05/03/2026,Bob");
    let yard = yard(&[("machines.csv", &machines), ("checks.csv", LOG)]);
    let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    let line = settings.lines().find(|line| line.starts_with("checks_before_handover")).unwrap();
    yard.put("tickover.toml", settings.replace(line, "checks_before_handover = [\"Brakes\"]"));
    let (run, _) = yard.kept_morning("2026-03-02");
    for mark in ["AB12 CDE", "AB13 CDE"] {
        assert!(!before_handover(&run, mark).contains("Brakes"), "{run:#}");
    }
    yard
}

#[test]
fn a_row_that_rolls_off_a_log_counts_on() {
    let yard = yard_with_log();
    let rolled =
        LOG.replace("AB13 CDE,10/02/2026,Brakes,passed,GH\n", "") + "AB12 CDE,02/03/2026,Lights,passed,GH\n";
    for day in ["2026-03-03", "2026-03-04", "2026-03-05"] {
        yard.put("sheets/checks.csv", &rolled);
        let (run, _) = yard.kept_morning(day);
        assert_eq!(taken_back(&run), [] as [String; 0], "{day}");
        assert!(!before_handover(&run, "AB13 CDE").contains("Brakes"), "{day}: {run:#}");
    }
}

#[test]
fn a_row_that_is_taken_out_of_a_log_or_given_to_another_machine_counts_no_more_for_this_one() {
    let other = "AB13 CDE,20/02/2026,Brakes,passed,TR\n";
    let longer = format!("{LOG}AB13 CDE,22/02/2026,Horn,passed,GH\n");
    for (rows, is_said) in [
        (LOG.replace(BRAKES, ""), true),
        (longer.replace(BRAKES, ""), true),
        (format!("{}{}", LOG.replace(BRAKES, ""), BRAKES.replace("AB12", "AB13")), true),
        (LOG.replace(BRAKES, other), true),
        // Put right in its place.
        (LOG.replace(BRAKES, &BRAKES.replace("AB12", "AB13")), false),
    ] {
        let yard = yard_with_log();
        yard.put("sheets/checks.csv", &rows);
        for day in ["2026-03-03", "2026-03-04", "2026-03-05"] {
            let (run, _) = yard.kept_morning(day);
            let open = before_handover(&run, "AB12 CDE");
            assert!(open.contains("Brakes") && open.contains("not recorded"), "{rows} on {day}: {open}");
            let said = taken_back(&run).len();
            assert_eq!(
                said,
                usize::from(is_said && day == "2026-03-03"),
                "{rows} on {day}: {:#?}",
                of_sheets(&run)
            );
        }
    }
}

/// Machines with a first and a last service in their rows.
pub(crate) fn services(first: &str, last: &str) -> String {
    let headers = "Reg,Model,Registered,Handover,Mileage,First service date,First service miles,Last service date,Last service miles";
    let row = |mark: &str, first: &str, last: &str| {
        format!("{mark},Burdock 400,10/06/2025,10/06/2025,900,{first},{last}\n")
    };
    let others: String =
        (13..18).map(|number| row(&format!("AB{number} CDE"), "01/08/2025,480", "01/12/2025,800")).collect();
    format!("{headers}\n{}{others}", row("AB12 CDE", first, last))
}

#[test]
fn a_first_service_on_the_wrong_row_that_is_blanked_is_due_again() {
    let yard = yard(&[("machines.csv", &services("01/08/2025,480", ","))]);
    let (run, _) = yard.kept_morning("2026-03-02");
    assert_eq!(finding(&run, "first-service-due", "AB12 CDE"), "");
    yard.put("sheets/machines.csv", services(",", ","));
    for day in ["2026-03-03", "2026-03-04", "2026-03-05"] {
        let (run, _) = yard.kept_morning(day);
        assert_ne!(finding(&run, "first-service-due", "AB12 CDE"), "", "{day}");
        assert_eq!(taken_back(&run).len(), usize::from(day == "2026-03-03"), "{day}: {:#?}", of_sheets(&run));
    }
}

#[test]
fn a_last_service_that_a_later_one_overwrites_counts_on_and_one_that_an_earlier_one_does_not() {
    for (last, is_taken_back) in [("02/03/2026,900", false), (",", true), ("03/09/2025,520", true)] {
        let yard = yard(&[("machines.csv", &services("01/08/2025,480", "01/12/2025,800"))]);
        yard.put("sheets/machines.csv", services("01/08/2025,480", last));
        let (run, _) = yard.kept_morning("2026-03-03");
        assert_eq!(taken_back(&run).len(), usize::from(is_taken_back), "{last}: {:#?}", of_sheets(&run));
        let out = yard.path().join("out");
        assert_eq!(yard.run("export", &[out.to_str().unwrap()]).status.code(), Some(0));
        let jobs = std::fs::read_to_string(out.join("jobs.csv")).unwrap();
        let row = jobs.lines().find(|line| line.contains("AB12CDE") && line.contains("2025-12-01")).unwrap();
        assert_eq!(row.ends_with(",2026-03-03"), is_taken_back, "{row}");
    }
}

#[test]
fn a_ride_stays_one_when_its_miles_go() {
    for sheet in [
        "Date,Reg,Ridden by\n26/02/2026,AB75 RJK,GH\n",
        "Date,Reg,Miles,Ridden by\n26/02/2026,AB75 RJK,,GH\n",
    ] {
        let rides = "Date,Reg,Miles,Ridden by\n26/02/2026,AB75 RJK,11,GH\n";
        let machines = "Reg,Model,Handover\nAB75 RJK,Burdock 400,07/03/2026\n";
        let yard = yard(&[("machines.csv", machines), ("rides.csv", rides)]);
        let (run, _) = yard.kept_morning("2026-03-02");
        let before = before_handover(&run, "AB75 RJK");
        assert!(before.contains("second road test (1 of 2 recorded)"), "{before}");
        yard.put("sheets/rides.csv", sheet);
        for day in ["2026-03-03", "2026-03-04", "2026-03-05", "2026-03-06"] {
            let (run, _) = yard.kept_morning(day);
            let open = before_handover(&run, "AB75 RJK");
            assert!(open.contains("second road test (1 of 2 recorded)"), "{sheet} on {day}: {open}");
        }
    }
}

#[test]
fn a_column_that_is_emptied_leaves_what_stood_in_it_as_one_that_is_gone_does() {
    let all = ready(QUALITY, RIDE);
    for name in ["PDI date", "PDI by", "QC date", "QC by", "Ride 1 date", "Ride 1 miles"] {
        for is_gone in [false, true] {
            let yard = yard(&[("ready.csv", &all)]);
            let emptied = without(&all, &[name], is_gone);
            for day in ["2026-03-03", "2026-03-04", "2026-03-05", "2026-03-06"] {
                yard.put("sheets/ready.csv", &emptied);
                let (run, _) = yard.kept_morning(day);
                for mark in ["AB75 RJK", "AB75 RGH"] {
                    assert_eq!(before_handover(&run, mark), "", "{name}, gone: {is_gone}, on {day}");
                }
                assert_eq!(taken_back(&run), [] as [String; 0], "{name}, gone: {is_gone}, on {day}");
            }
        }
    }
}

/// Rides of three machines with their customers, one of them far too fast.
fn rides(speeds: bool, fast: &str) -> String {
    let rows = [
        ("AB12 CDE", "20/02/2026", "12", "88", fast),
        ("AB13 CDE", "21/02/2026", "9", "30", "GH"),
        ("AB12 CDE", "22/02/2026", "8", "31", "GH"),
        ("AB13 CDE", "23/02/2026", "7", "32", "GH"),
    ];
    let line = |(mark, day, miles, speed, by): &(&str, &str, &str, &str, &str)| {
        let speed = if speeds { *speed } else { "" };
        format!("{day},{mark},{miles},{speed},speedometer,{by}\n")
    };
    let rows: String = rows.iter().filter(|row| !row.4.is_empty()).map(line).collect();
    format!("Date,Reg,Miles,Top speed,Speed source,Ridden by\n{rows}")
}

#[test]
fn a_breach_stands_when_its_ride_is_taken_out_or_its_speed_is_not_exported_any_more() {
    let gone = rides(true, "GH").replace(",Top speed", "");
    let gone: String = gone
        .lines()
        .enumerate()
        .map(|(number, line)| {
            let mut cells: Vec<&str> = line.split(',').collect();
            if number > 0 {
                cells.remove(3);
            }
            cells.join(",") + "\n"
        })
        .collect();
    let emptied = rides(false, "GH");
    let moved = rides(true, "GH").replace("20/02/2026,AB12 CDE,12", "22/02/2026,AB12 CDE,13");
    for now in [gone, emptied, moved] {
        let yard = yard(&[("machines.csv", MACHINES), ("rides.csv", &rides(true, "GH"))]);
        let (run, _) = yard.kept_morning("2026-03-02");
        let before = finding(&run, "running-in-breach", "AB12 CDE");
        assert!(before.contains("88 mph"), "{before}");
        for day in ["2026-03-03", "2026-03-04", "2026-03-05"] {
            yard.put("sheets/rides.csv", &now);
            let (run, _) = yard.kept_morning(day);
            let found = finding(&run, "running-in-breach", "AB12 CDE");
            assert!(found.contains("88 mph on 20 Feb 2026"), "{now} on {day}: {found}");
        }
    }
}

#[test]
fn a_row_that_stood_twice_and_stands_once_takes_nothing_back() {
    let machines =
        "Reg,Model,Registered,Handover,Customer\nAB24 KDE,Burdock 400,20/04/2024,26/04/2024,K Poole\n";
    let log = |rows: &[&str]| format!("Date,Reg,Work done,Tech\n{}", rows.concat());
    let service = "10/02/2026,AB24 KDE,annual service,GH\n";
    let others = ["09/02/2026,AB24 KDE,new tyre,GH\n", "22/02/2026,AB24 KDE,battery,GH\n"];
    let twice = log(&[others[0], service, service, others[1]]);
    let yard = yard(&[("machines.csv", machines), ("jobs.csv", &twice)]);
    yard.put("sheets/jobs.csv", log(&[others[0], service, others[1]]));
    let (run, _) = yard.kept_morning("2026-03-03");
    assert_eq!(taken_back(&run), Vec::<String>::new());
    assert_eq!(finding(&run, "service-due", "AB24 KDE"), "", "the service counts");
    // Once the other is gone, too, it counts no more.
    yard.put("sheets/jobs.csv", log(&others));
    let (run, _) = yard.kept_morning("2026-03-04");
    assert_eq!(taken_back(&run).len(), 1, "{run}");
}

#[test]
fn half_a_log_that_is_gone_takes_nothing_back() {
    let row = |number: usize| format!("AB12 CDE,{:02}/02/2026,Item {number},passed,GH\n", 1 + number);
    let log = |rows: &[usize]| {
        let rows: String = rows.iter().map(|number| row(*number)).collect();
        format!("Reg,Date,Check,Result,By\n{rows}")
    };
    let machines = MACHINES.replace("01/12/2025,Ann", "05/03/2026,Ann");
    let yard = yard(&[("machines.csv", &machines), ("checks.csv", &log(&(0..20).collect::<Vec<_>>()))]);
    for day in ["2026-03-03", "2026-03-04", "2026-03-05", "2026-03-06"] {
        yard.put("sheets/checks.csv", log(&(0..20).step_by(2).collect::<Vec<_>>()));
        let (run, _) = yard.kept_morning(day);
        assert_eq!(taken_back(&run), [] as [String; 0], "{day}");
    }
}

#[test]
fn a_column_of_a_log_that_is_emptied_takes_nothing_back_and_raises_nothing() {
    for name in ["Result", "By", "Date"] {
        let yard = yard_with_log();
        let place = LOG.lines().next().unwrap().split(',').position(|header| header == name).unwrap();
        let cells = |(number, line): (usize, &str)| {
            let mut cells: Vec<&str> = line.split(',').collect();
            if number > 0 {
                cells[place] = "";
            }
            cells.join(",") + "\n"
        };
        let emptied: String = LOG.lines().enumerate().map(cells).collect();
        for day in ["2026-03-03", "2026-03-04", "2026-03-05", "2026-03-06"] {
            yard.put("sheets/checks.csv", &emptied);
            let (run, _) = yard.kept_morning(day);
            assert_eq!(taken_back(&run), [] as [String; 0], "{name} on {day}");
            for mark in ["AB12 CDE", "AB13 CDE"] {
                let open = before_handover(&run, mark);
                assert!(!open.contains("Brakes") && !open.contains("Lights"), "{name} on {day}: {open}");
            }
        }
    }
}
