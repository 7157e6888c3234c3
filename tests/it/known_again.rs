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

/// Ten machines that are known by their marks alone, each with the clock of its last visit; the marks begin so.
fn marks_alone(begin: &str, clock: bool) -> String {
    let mut rows = format!("Reg,Model,Customer{}\n", if clock { ",Mileage" } else { "" });
    for (number, letter) in "ABCDEFGHJK".chars().enumerate() {
        write!(rows, "{begin}24 A{letter}V,Alder 650,Mr {letter} Two").expect("a text takes it");
        let clock = if clock { format!(",{}", 9_200 + 37 * number) } else { String::new() };
        writeln!(rows, "{clock}").expect("a text takes it");
    }
    rows
}

/// A service of each of them, weeks ago.
fn jobs_of_marks() -> String {
    let mut rows = "Date,Reg,Work,Mileage\n".to_owned();
    for (number, letter) in "ABCDEFGHJK".chars().enumerate() {
        let clock = 9_000 + 37 * number;
        writeln!(rows, "20/05/2026,KP24 A{letter}V,Annual service + brake fluid change,{clock}")
            .expect("a text takes it");
    }
    rows
}

/// A yard of them, read on 15 June 2026.
fn yard_of_marks(clock: bool) -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/bikes.csv", marks_alone("KP", clock));
    yard.put("sheets/jobs.csv", jobs_of_marks());
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-06-15");
    yard
}

/// What stands open, whatever it is.
fn all_open(run: &Value) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    let shown = |finding: &Value| format!("{}: {}", finding["rule"], finding["text"]);
    findings.filter(|finding| finding["state"] != "settled").map(shown).collect()
}

#[test]
fn a_private_plate_on_a_row_that_is_as_before_takes_its_history_along_and_that_is_said_at_the_top() {
    let yard = yard_of_marks(true);
    let plated = marks_alone("KP", true).replace("KP24 ACV", "B19 ACV");
    for day in ["2026-06-16", "2026-06-17"] {
        yard.put("sheets/bikes.csv", &plated);
        let (run, _) = yard.kept_morning(day);
        assert_eq!(all_open(&run), [] as [String; 0], "{day}");
        let said = of_sheets(&run);
        let is_it = |line: &&String| line.contains("looks like the machine that was KP24 ACV until");
        assert_eq!(said.iter().filter(is_it).count(), 1, "{day}: {said:#?}");
    }
    // The owner knows better.
    let settings = yard.settings();
    let is_another = settings.replacen("gone = []", "gone = [\"KP24 ACV\"]", 1);
    assert_ne!(settings, is_another);
    yard.put("tickover.toml", &is_another);
    let (run, _) = yard.kept_morning("2026-06-18");
    assert!(!of_sheets(&run).iter().any(|line| line.contains("looks like")), "{:#?}", of_sheets(&run));
    let unlisted = "no machine that is listed has the mark KP24 ACV";
    assert!(of_sheets(&run).iter().any(|line| line.contains(unlisted)), "{:#?}", of_sheets(&run));
}

#[test]
fn a_plate_that_is_put_back_leaves_nothing_behind_under_the_other_mark() {
    for clock in [true, false] {
        let yard = yard_of_marks(clock);
        yard.put("sheets/bikes.csv", marks_alone("KP", clock).replace("KP24 ACV", "WRONG 77"));
        let (run, _) = yard.kept_morning("2026-06-16");
        let said = of_sheets(&run);
        let counts = if clock { "elsewhere counts for it" } else { "elsewhere does not count for it" };
        assert!(said.iter().any(|line| line.contains(counts)), "{said:#?}");
        // No such mark was ever issued.
        assert_eq!(all_open(&run).len(), 1, "{:#?}", all_open(&run));
        for day in ["2026-06-17", "2026-07-20"] {
            yard.put("sheets/bikes.csv", marks_alone("KP", clock));
            let (run, _) = yard.kept_morning(day);
            assert_eq!(all_open(&run), [] as [String; 0], "{day}");
        }
    }
}

#[test]
fn marks_that_are_replaced_in_most_rows_that_nothing_else_names_are_held_with_one_headline() {
    for clock in [true, false] {
        let yard = yard_of_marks(clock);
        for day in ["2026-06-16", "2026-06-17"] {
            yard.put("sheets/bikes.csv", marks_alone("KB", clock));
            let (run, _) = yard.kept_morning(day);
            assert_eq!(all_open(&run), [] as [String; 0], "{day}");
            assert_eq!(run["machines"], 10);
            let said = of_sheets(&run);
            let about_marks: Vec<&String> =
                said.iter().filter(|line| line.contains("mark") || line.contains("KB24")).collect();
            assert_eq!(about_marks.len(), 1, "{said:#?}");
            assert!(about_marks[0].contains("10 of 10 rows have another mark"), "{about_marks:#?}");
        }
        yard.put("sheets/bikes.csv", marks_alone("KP", clock));
        let (run, _) = yard.kept_morning("2026-06-18");
        assert_eq!(all_open(&run), [] as [String; 0]);
    }
}

#[test]
fn a_mark_that_is_new_in_a_row_of_another_customer_or_was_another_rows_takes_nothing_along() {
    let list = marks_alone("KP", true);
    let sold_on = list.replace("KP24 ACV,Alder 650,Mr C Two", "B19 ACV,Alder 650,Ms N Three");
    let exchanged = list.replace("KP24 ACV", "KP24 AVX").replace("KP24 ADV", "KP24 ACV");
    for changed in [sold_on, exchanged] {
        let yard = yard_of_marks(true);
        yard.put("sheets/bikes.csv", changed);
        let (run, _) = yard.kept_morning("2026-06-16");
        let said = of_sheets(&run);
        assert!(!said.iter().any(|line| line.contains("elsewhere counts for it")), "{said:#?}");
    }
}

/// A list by stock numbers or by marks alone; the sixth machine has this mark and the seventh that one.
fn list_with((sixth, seventh): (&str, &str), stock: bool) -> String {
    let mut rows = format!("{}Reg,Model,Customer,Phone,Handover\n", if stock { "Stock," } else { "" });
    for (number, letter) in "ABCDEFGHJK".chars().enumerate() {
        let mark = match number {
            5 => sixth.to_owned(),
            6 => seventh.to_owned(),
            _ => format!("KP24 A{letter}V"),
        };
        let stock = if stock { format!("{},", 1_042 + number) } else { String::new() };
        writeln!(rows, "{stock}{mark},Alder 650,Mr {letter} Two,07700 90011{number},{}/05/2024", 14 + number)
            .expect("a text takes it");
    }
    rows
}

/// Ten machines of which nine were serviced last month, and the seventh was not since its handover two years ago.
fn yard_to_hand_on(stock: bool) -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/bikes.csv", list_with(("KP24 AFV", "KP24 AGV"), stock));
    let done: Vec<String> =
        jobs_of_marks().lines().filter(|row| !row.contains("AGV")).map(str::to_owned).collect();
    yard.put("sheets/jobs.csv", done.join("\n") + "\n");
    yard.run("setup", &["--accept"]);
    yard
}

/// The services that are rung for, by their machine's mark.
fn rung_for(run: &Value) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    let is_it = |finding: &&Value| finding["rule"] == "service-due" && finding["state"] != "settled";
    findings.filter(is_it).map(|finding| finding["name"].to_string()).collect()
}

#[test]
fn work_under_a_plate_from_before_it_was_handed_on_in_the_list_alone_settles_nothing_for_either() {
    for stock in [true, false] {
        let yard = yard_to_hand_on(stock);
        let (run, _) = yard.kept_morning("2026-06-15");
        assert_eq!(rung_for(&run).len(), 1, "{:#?}", all_open(&run));
        // The sixth machine's plate goes to the seventh, which is due.
        yard.put("sheets/bikes.csv", list_with(("KP24 NEW", "KP24 AFV"), stock));
        for day in ["2026-06-16", "2026-06-17"] {
            let (run, _) = yard.kept_morning(day);
            let said = of_sheets(&run);
            let told = "until 16 Jun 2026 KP24 AFV was the mark of";
            assert!(said.iter().any(|line| line.contains(told)), "{day}: {said:#?}");
            let settled = run["findings"].as_array().unwrap().iter().filter(|it| it["state"] == "settled");
            assert_eq!(settled.count(), 0, "{day}: {:#?}", run["findings"]);
        }
        // The list was wrong, and is put right.
        yard.put("sheets/bikes.csv", list_with(("KP24 AFV", "KP24 AGV"), stock));
        for day in ["2026-06-18", "2026-07-20"] {
            let (run, _) = yard.kept_morning(day);
            assert!(!of_sheets(&run).iter().any(|line| line.contains("was the mark of")), "{day}");
            assert_eq!(rung_for(&run).len(), 1, "{day}: {:#?}", all_open(&run));
        }
    }
}

#[test]
fn where_a_program_renames_a_mark_in_all_sheets_nothing_is_rung_for_falsely_and_the_doubt_is_said() {
    for stock in [true, false] {
        let yard = yard_to_hand_on(stock);
        yard.put("sheets/jobs.csv", jobs_of_marks());
        yard.kept_morning("2026-06-15");
        yard.put("sheets/bikes.csv", list_with(("KP24 NEW", "KP24 AFV"), stock));
        let jobs = jobs_of_marks().replace("KP24 AFV", "KP24 NEW").replace("KP24 AGV", "KP24 AFV");
        yard.put("sheets/jobs.csv", jobs);
        let (run, _) = yard.kept_morning("2026-06-16");
        let said = of_sheets(&run);
        assert!(said.iter().any(|line| line.contains("KP24 AFV was the mark of")), "{said:#?}");
        assert_eq!(all_open(&run), [] as [String; 0]);
        assert_eq!(run["machines"], 10);
    }
}
