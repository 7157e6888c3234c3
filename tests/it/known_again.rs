//! A mark or stock number that is blank or mistyped for a day: what the other sheets say of the machine still counts, and
//! nothing that was found meanwhile stays for ever.
//!
//! Our decision throughout; that a service which stands in the sheet is not rung for is the mission's.

use std::fmt::Write as _;

use serde_json::Value;

use crate::changed_sheets::of_sheets;
use crate::program::Yard;
use crate::withdrawn::without;

const HEADERS: &str = "Stock,Reg,Model,Customer,Phone,Handover\n";
const FIRST: &str = "0042,KP24 ZZV,Alder 650,Ms A One,07700 900101,22/05/2024\n";

/// The other five machines.
fn others() -> String {
    let mut rows = String::new();
    for (number, letter) in "BCDEF".chars().enumerate() {
        writeln!(
            rows,
            "00{},KP24 A{letter}V,Alder 650,Mr {letter} Two,07700 90011{number},{}/05/2024",
            43 + number,
            23 + number
        )
        .expect("a text takes it");
    }
    rows
}

/// Two services of each machine.
fn jobs() -> String {
    let marks = ["KP24 ZZV", "KP24 ABV", "KP24 ACV", "KP24 ADV", "KP24 AEV", "KP24 AFV"];
    let mut rows = "Date,Reg,Work,Mileage\n".to_owned();
    for (number, mark) in marks.iter().enumerate() {
        writeln!(rows, "{}/07/2024,{mark},First service,{}", 21 + number, 600 + number)
            .expect("a text takes it");
        writeln!(
            rows,
            "{}/05/2026,{mark},Annual service + brake fluid change,{}",
            20 + number,
            9000 + number
        )
        .expect("a text takes it");
    }
    rows
}

/// A yard in which all six have had their services, agreed and read on 15 June 2026.
fn yard(first: &str) -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/bikes.csv", format!("{HEADERS}{first}{}", others()));
    yard.put("sheets/jobs.csv", jobs());
    yard.run("setup", &["--accept"]);
    let (run, _) = yard.kept_morning("2026-06-15");
    assert_eq!(services(&run), [] as [String; 0]);
    yard
}

/// What stands open of services and brake fluid.
fn services(run: &Value) -> Vec<String> {
    let is_service = |finding: &&Value| {
        matches!(
            finding["rule"].as_str(),
            Some("service-due" | "first-service-due" | "brake-fluid-due" | "gone-from-sheets")
        ) && finding["state"] != "settled"
    };
    let found = run["findings"].as_array().unwrap().iter().filter(is_service);
    found.map(|finding| finding["text"].as_str().unwrap().to_owned()).collect()
}

/// Writes the first machine's row so for two days, and puts it right on the third.
fn goes_wrong_and_right(wrong: &str, said: &str) {
    let yard = yard(FIRST);
    for day in ["2026-06-16", "2026-06-17"] {
        yard.put("sheets/bikes.csv", format!("{HEADERS}{wrong}{}", others()));
        let (run, _) = yard.kept_morning(day);
        assert_eq!(services(&run), [] as [String; 0], "{day} {wrong}");
        assert_eq!(run["machines"], 6);
        let all = of_sheets(&run);
        assert!(all.iter().any(|line| line.contains(said)), "{day} {wrong}: `{said}` is not in {all:#?}");
    }
    for day in ["2026-06-18", "2026-06-19", "2026-07-20"] {
        yard.put("sheets/bikes.csv", format!("{HEADERS}{FIRST}{}", others()));
        let (run, _) = yard.kept_morning(day);
        assert_eq!(services(&run), [] as [String; 0], "{day} {wrong}");
        assert!(!of_sheets(&run).iter().any(|line| line.contains("known as")), "{:#?}", of_sheets(&run));
    }
}

#[test]
fn a_mark_that_is_blank_mistyped_or_made_a_date_for_a_day_still_joins_the_machines_jobs() {
    let known = "this machine was known as KP24 ZZV until";
    for mark in ["", "KP24 ZZX", "01-Mar"] {
        goes_wrong_and_right(&FIRST.replace("KP24 ZZV", mark), known);
    }
}

#[test]
fn a_stock_number_that_is_mistyped_leaves_nothing_behind_under_the_wrong_one() {
    goes_wrong_and_right(&FIRST.replace("0042", "0024"), "this machine was known as 0042 until");
}

#[test]
fn a_mark_alone_that_is_a_slip_in_its_row_still_joins_too() {
    let right = without(&format!("{HEADERS}{FIRST}{}", others()), &["Stock"], true);
    let yard = Yard::empty();
    yard.put("sheets/bikes.csv", &right);
    yard.put("sheets/jobs.csv", jobs());
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-06-15");
    for (day, sheet) in [
        ("2026-06-16", right.replace("KP24 ZZV", "KP24 ZZX")),
        ("2026-06-17", right.clone()),
        ("2026-07-20", right.clone()),
    ] {
        yard.put("sheets/bikes.csv", sheet);
        let (run, _) = yard.kept_morning(day);
        assert_eq!(services(&run), [] as [String; 0], "{day}");
    }
}

#[test]
fn a_row_that_is_written_over_with_another_machine_has_none_of_the_jobs_of_the_one_before() {
    let yard = yard(FIRST);
    let other = "0042,KP25 NEW,Fern 125,Ms G Three,07700 900199,01/06/2024\n";
    yard.put("sheets/bikes.csv", format!("{HEADERS}{other}{}", others()));
    let (run, _) = yard.kept_morning("2026-06-16");
    assert!(!services(&run).is_empty());
    assert!(!of_sheets(&run).iter().any(|line| line.contains("known as")), "{:#?}", of_sheets(&run));
}

#[test]
fn of_many_machines_that_are_numbered_anew_a_dozen_are_named_and_the_others_counted() {
    // Of most of the rows at once it would be held as a whole.
    let list = |numbered_anew: u8| {
        let mut rows = HEADERS.to_owned();
        for number in 0..100 {
            let stock = 1_000 + u32::from(number) + if number < numbered_anew { 7_000 } else { 0 };
            let (one, other) = (char::from(b'A' + number / 10), char::from(b'K' + number % 10));
            let (phone, day) = (100 + u32::from(number), 1 + number % 28);
            writeln!(
                rows,
                "{stock},KP24 A{one}{other},Alder 650,Mr {one}{other},07700 900{phone},{day:02}/05/2024"
            )
            .expect("a text takes it");
        }
        rows
    };
    let yard = Yard::empty();
    yard.put("sheets/bikes.csv", list(0));
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-06-15");
    for day in ["2026-06-16", "2026-06-17"] {
        yard.put("sheets/bikes.csv", list(15));
        let (run, _) = yard.kept_morning(day);
        let said = of_sheets(&run);
        let named = said.iter().filter(|line| line.contains("this machine was known as")).count();
        assert_eq!(named, 12, "{day}: {said:#?}");
        assert!(
            said.iter().any(|line| line.contains("3 more machines were known by another name")),
            "{said:#?}"
        );
    }
}
