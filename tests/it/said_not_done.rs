//! What a sheet names without saying that it was done, from the sheets to the letter: worked out by hand. Common practice,
//! no source.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use crate::program::Yard;

/// The letter of a day on some sheets, in one line.
fn letter(sheets: &[(&str, &str)], day: &str) -> String {
    let yard = Yard::empty();
    for (file, text) in sheets {
        yard.put(file, text);
    }
    yard.run("setup", &["--accept"]);
    yard.letter_in_a_line(day)
}

#[test]
fn a_brake_fluid_that_was_only_looked_at_is_asked_for_and_a_doubtful_one_is_quoted() {
    let mut machines = "Stock no,Make,Model,Type,Reg,Registered,Handover,Customer,Telephone\n".to_owned();
    let mut jobs = "Date,Stock no,Work done,Miles\n".to_owned();
    let works = [
        "brake fluid changed",
        "brake fluid checked",
        "\"brake fluid level low, topped up\"",
        "brake fluid tested 3% water",
        "advised brake fluid",
        "\"MOT, brake fluid advisory\"",
        "rear brake fluid only",
        "\"annual service, not finished\"",
    ];
    for (row, work) in works.into_iter().enumerate() {
        machines.push_str(&format!(
            "S{row},Marlow,Spruce 125,motorcycle,AB24 CD{},2024-03-01,2024-03-02,K Lane,07700 90010{row}\n",
            char::from(b"ABCDEFGH"[row])
        ));
        jobs.push_str(&format!("2026-02-10,S{row},{work},2100\n"));
    }
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", machines);
    yard.put("sheets/jobs.csv", jobs);
    yard.run("setup", &["--accept"]);
    let (run, _) = yard.morning("2026-03-09");
    let of_fluid = |list: &str| -> Vec<&Value> {
        let list = run[list].as_array().expect("a run has both lists");
        list.iter().filter(|line| line["rule"] == "brake-fluid-due").collect()
    };
    let stock_nos = |lines: &[&Value]| -> BTreeSet<String> {
        lines.iter().map(|line| line["machine"]["stock_no"].as_str().unwrap_or_default().to_owned()).collect()
    };
    let named = |stock_nos: &[&str]| stock_nos.iter().map(|no| (*no).to_owned()).collect::<BTreeSet<_>>();
    assert_eq!(stock_nos(&of_fluid("findings")), named(&["S1", "S2", "S3", "S4", "S5", "S7"]));
    let untold = of_fluid("cannot_tell");
    assert_eq!(stock_nos(&untold), named(&["S6"]));
    assert_eq!(untold[0]["missing"], json!(["what was done at `rear brake fluid only`"]));
    let services = run["findings"].as_array().expect("a run has findings");
    let unfinished = |line: &&Value| line["rule"] == "service-due" && line["machine"]["stock_no"] == "S7";
    assert!(services.iter().any(|line| unfinished(&line)), "a service that was not finished is due: {run}");
}

#[test]
fn a_second_signature_that_is_no_second_persons_keeps_a_machine_in_the_yard() {
    let pairs = [
        ("Ann", "Ben", ""),
        ("AS", "BJ", ""),
        ("Ann Smith", "Ben Jones", ""),
        ("Ann", "ditto", "signed \"ditto\", which names nobody"),
        ("Ann", "as above", "signed \"as above\", which names nobody"),
        ("Ann", "not signed", "signed \"not signed\", which names nobody"),
        ("✓", "Ben", "is signed \"✓\", which names nobody"),
        ("Ann (QC)", "Ann", "signed by Ann, who may be the Ann (QC) of the"),
        ("AS 28/5", "AS 29/5", "signed by AS 29/5, who may be the AS 28/5 of the"),
        ("Ann & Ben", "Ben", "signed by Ben, who may be the Ann & Ben of the"),
        ("Ann", "Ann Smith", "signed by Ann Smith, who may be the Ann of the"),
    ];
    let mut machines =
        "Stock no,Make,Model,Type,Reg,Registered,Sold,Handover,Customer,Telephone\n".to_owned();
    let mut checks = "Date,Stock no,Check,Result,Signed by\n".to_owned();
    let mut rides = "Date,Stock no,Ride miles,Rider\n".to_owned();
    for (row, (first, second, _)) in pairs.iter().enumerate() {
        machines.push_str(&format!(
            "S{row},Marlow,Spruce 125,motorcycle,AB26 CD{},2026-05-01,2026-05-20,2026-06-02,K Lane,07700 900101\n",
            char::from(b"ABCDEFGHJKL"[row])
        ));
        checks.push_str(&format!(
            "2026-05-28,S{row},PDI,passed,{first}\n2026-05-29,S{row},QC,passed,{second}\n"
        ));
        rides.push_str(&format!("2026-05-29,S{row},6,Ann\n2026-05-30,S{row},6,Ann\n"));
    }
    let sheets = [
        ("sheets/machines.csv", machines.as_str()),
        ("sheets/checks.csv", checks.as_str()),
        ("sheets/rides.csv", rides.as_str()),
    ];
    let letter = letter(&sheets, "2026-06-01");
    for (_, _, open) in pairs {
        assert!(letter.contains(open), "{open}: {letter}");
    }
    let count = pairs.iter().filter(|(_, _, open)| !open.is_empty()).count();
    assert_eq!(letter.matches("with this still open: quality check (").count(), count, "{letter}");
}
