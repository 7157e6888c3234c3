//! What befalls a whole export at once: another locale, other marks in a log, a filter that was left on, a stray copy.
//!
//! The thresholds are our decision; what is expected is reckoned by hand.

use std::fmt::Write as _;

use serde_json::Value;

use crate::changed_sheets::{is_silent, of_sheets, open, says, settled};
use crate::program::Yard;

/// A yard with these files below `sheets`, set up and read on Monday 8 June 2026.
fn yard(files: &[(&str, &str)]) -> Yard {
    let yard = Yard::empty();
    for (name, text) in files {
        yard.put(&format!("sheets/{name}"), text);
    }
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-06-08");
    yard
}

/// Each finding that is open, by its rule, machine and words.
pub(crate) fn told(run: &Value) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    let open = findings.filter(|it| it["state"] != "settled");
    let mut told: Vec<String> =
        open.map(|it| format!("{} {} {}", it["rule"], it["machine"]["mark"], it["text"])).collect();
    told.sort();
    told
}

fn has(said: &[String], words: &str) -> bool {
    said.iter().any(|said| said.contains(words))
}

const JOBS: &str = "Date|Reg|Work done|Miles|By\n\
    12.04.2025|CE23 SAE|Brake fluid change|5.100,0|JM\n\
    10.02.2026|CE23 SAD|Annual service|8.123,5|JM\n\
    02.06.2026|CE23 SAE|Annual service|6.900,5|JM\n";

#[test]
fn days_and_figures_that_change_their_writing_at_once_are_the_same_rows_and_read_as_they_were() {
    let turned = "Date|Reg|Work done|Miles|By\n\
        4/12/2025|CE23 SAE|Brake fluid change|5,100.0|JM\n\
        2/10/2026|CE23 SAD|Annual service|8,123.5|JM\n\
        6/2/2026|CE23 SAE|Annual service|6,900.5|JM\n";
    let yard = yard(&[("jobs.csv", JOBS)]);
    let before = told(&yard.kept_morning("2026-06-08").0);
    for day in ["2026-06-09", "2026-06-10"] {
        yard.put("sheets/jobs.csv", turned);
        let (run, _) = yard.kept_morning(day);
        let said = of_sheets(&run);
        let words = "the dates in column A `Date` had the day first and have the month first now; the same rows show it";
        assert!(has(&said, words), "{day}: {said:#?}");
        assert!(has(&said, "write `dates = \"month first\"`"), "{day}: {said:#?}");
        assert_eq!((told(&run), settled(&run)), (before.clone(), 0), "{day}: {said:#?}");
    }
    // Put back, all is as it was; and so it is where the owner has agreed.
    yard.put("sheets/jobs.csv", JOBS);
    let (run, _) = yard.kept_morning("2026-06-11");
    assert_eq!((told(&run), settled(&run)), (before.clone(), 0), "{:#?}", of_sheets(&run));
    assert!(!has(&of_sheets(&run), "month first now"), "{:#?}", of_sheets(&run));
    yard.put("sheets/jobs.csv", turned);
    yard.kept_morning("2026-06-12");
    let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    yard.put("tickover.toml", settings.replace("rows = \"job\"", "rows = \"job\"\ndates = \"month first\""));
    for day in ["2026-06-13", "2026-06-15"] {
        let (run, _) = yard.kept_morning(day);
        assert!(!has(&of_sheets(&run), "first"), "{day}: {:#?}", of_sheets(&run));
        assert_eq!((told(&run), settled(&run)), (before.clone(), 0), "{day}");
    }
}

const CLOCKS: [(&str, i64); 6] = [
    ("CE24 AAB", 900),
    ("CE24 BBC", 1_400),
    ("CE24 CCD", 2_100),
    ("CE24 DDE", 3_300),
    ("CE24 EEF", 2_700),
    ("CE24 FFG", 1_900),
];

/// A log of readings in May, a day apart, later by so many years; with a new one of 8 June below them.
fn readings(years: i16, new: &str) -> String {
    let mut text = "Date,Reg,Mileage\n".to_owned();
    for (day, (mark, clock)) in (11..).zip(CLOCKS) {
        writeln!(text, "{day}/05/{},{mark},{clock}", 2026 + years).unwrap();
    }
    text + new
}

#[test]
fn of_a_new_row_nothing_is_taken_in_a_column_that_is_held_for_days_which_moved_together() {
    let machines: String = CLOCKS.iter().fold("Reg,Model,Handover\n".to_owned(), |mut text, (mark, _)| {
        writeln!(text, "{mark},Larkspur 400,15/03/2024").unwrap();
        text
    });
    let yard = yard(&[("machines.csv", &machines), ("clocks.csv", &readings(0, ""))]);
    let before = told(&yard.kept_morning("2026-06-08").0);
    yard.put("sheets/clocks.csv", readings(4, ""));
    let (run, _) = yard.kept_morning("2026-06-09");
    says(&run, &["6 of 6 days in column A `Date` are exactly 4 years later than before"]);
    yard.put("sheets/clocks.csv", readings(4, "08/06/2030,CE24 AAB,980\n"));
    let (run, _) = yard.kept_morning("2026-06-10");
    assert!(has(&of_sheets(&run), "4 years later than before"), "{:#?}", of_sheets(&run));
    assert_eq!((told(&run), settled(&run)), (before, 0), "{:#?}", run["findings"]);
    let kept = yard.path().join("all of it");
    yard.run("export", &[kept.to_str().unwrap()]);
    let kept = std::fs::read_to_string(kept.join("readings.csv")).unwrap();
    assert!(!kept.contains("2030"), "{kept}");
    // Put back, the new row counts by its right day.
    yard.put("sheets/clocks.csv", readings(0, "08/06/2026,CE24 AAB,980\n"));
    let (run, _) = yard.kept_morning("2026-06-11");
    is_silent(&run);
    let kept = yard.path().join("all of it by then");
    yard.run("export", &[kept.to_str().unwrap()]);
    let kept = std::fs::read_to_string(kept.join("readings.csv")).unwrap();
    assert!(kept.contains("2026-06-08") && !kept.contains("2030"), "{kept}");
}

const MARKS: [&str; 6] = ["CE24 AVB", "CE24 BWC", "CE24 CXD", "CE24 DYF", "CE24 EZG", "CE24 FAH"];

/// Two years' work on six machines.
fn jobs() -> String {
    let mut text = "Date,Reg,Work done,Mileage\n".to_owned();
    for (day, mark) in (20..).zip(MARKS) {
        writeln!(text, "{day}/06/2024,{mark},First service,600").unwrap();
        writeln!(text, "{day}/05/2025,{mark},Annual service,4000").unwrap();
        writeln!(text, "{day}/04/2026,{mark},Annual service,8000").unwrap();
        writeln!(text, "{day}/04/2026,{mark},Brake fluid change,8000").unwrap();
    }
    text
}

fn machines() -> String {
    let row = |(day, mark): (i32, &str)| {
        format!("{mark},Larkspur 400,Ms {},07700 9007{day:02},{day}/04/2024\n", &mark[5..6])
    };
    let rows: String = (20..).zip(MARKS).map(row).collect();
    format!("Reg,Model,Customer,Phone,Handover\n{rows}")
}

#[test]
fn marks_that_are_replaced_in_a_whole_log_are_told_and_held_until_they_are_put_back_or_agreed() {
    let yard = yard(&[("machines.csv", &machines()), ("jobs.csv", &jobs())]);
    let before = told(&yard.kept_morning("2026-06-08").0);
    let replaced = jobs().replace("CE24", "CB24");
    for (day, new) in [("2026-06-09", ""), ("2026-06-10", "09/06/2026,CB24 AVB,Chain adjusted,8100\n")] {
        yard.put("sheets/jobs.csv", format!("{replaced}{new}"));
        let (run, code) = yard.kept_morning(day);
        let said = of_sheets(&run);
        assert!(has(&said, "24 of 24 rows in column B `Reg` name another machine than before"), "{said:#?}");
        assert!(has(&said, "`\"Reg\" = \"mark, right since 2026-06-09\"`"), "{said:#?}");
        assert_eq!((told(&run), settled(&run), code), (before.clone(), 0, Some(1)), "{day}: {said:#?}");
    }
    yard.put("sheets/jobs.csv", jobs());
    for day in ["2026-06-11", "2026-06-12"] {
        let (run, _) = yard.kept_morning(day);
        is_silent(&run);
        assert_eq!((told(&run), settled(&run)), (before.clone(), 0), "{day}");
    }
}

#[test]
fn a_replacement_that_reaches_a_part_of_the_marks_in_a_log_is_told_too() {
    let yard = yard(&[("machines.csv", &machines()), ("jobs.csv", &jobs())]);
    let mut replaced = jobs();
    for mark in &MARKS[..3] {
        replaced = replaced.replace(mark, &mark.replace("CE", "CB"));
    }
    yard.put("sheets/jobs.csv", replaced);
    let (run, code) = yard.kept_morning("2026-06-09");
    assert!(
        has(&of_sheets(&run), "12 of 24 rows in column B `Reg` name another machine"),
        "{:#?}",
        of_sheets(&run)
    );
    assert_eq!(code, Some(1));
}

#[test]
fn one_or_two_marks_of_a_log_that_are_corrected_are_a_days_work() {
    let mut slips = jobs();
    for mark in &MARKS[..2] {
        slips = slips.replace(mark, &mark.replace("CE", "CB"));
    }
    let yard = yard(&[("machines.csv", &machines()), ("jobs.csv", &slips)]);
    yard.put("sheets/jobs.csv", jobs());
    is_silent(&yard.kept_morning("2026-06-09").0);
}

#[test]
fn wrong_marks_of_a_log_that_are_put_right_by_find_and_replace_count_at_once() {
    let mut right = jobs();
    for (day, mark) in (1..=16).flat_map(|day| MARKS[3..].iter().map(move |mark| (day, mark))) {
        writeln!(right, "{day:02}/03/2026,{mark},Chain adjusted,").unwrap();
    }
    // Three of the six machines have the wrong mark in all their rows, a fifth of the log or less.
    let slip = |text: String, mark: &&str| text.replace(*mark, &mark.replace("CE", "CB"));
    let wrong = MARKS[..3].iter().fold(right.clone(), slip);
    let yard = yard(&[("machines.csv", &machines()), ("jobs.csv", &wrong)]);
    yard.put("sheets/jobs.csv", right);
    let (run, _) = yard.kept_morning("2026-06-09");
    assert!(!has(&of_sheets(&run), "another machine"), "{:#?}", of_sheets(&run));
}

#[test]
fn a_log_that_begins_to_call_its_machines_by_their_marks_is_read_on() {
    let numbers = |text: String| {
        let numbered =
            (1..).zip(MARKS).fold(text, |text, (number, mark)| text.replace(mark, &format!("S{number}")));
        numbered.replace("Reg,", "Stock No,")
    };
    let list = (1..).zip(machines().lines()).fold(String::new(), |mut text, (line, row)| {
        let number = if line == 1 { "Stock No".to_owned() } else { format!("S{}", line - 1) };
        writeln!(text, "{number},{row}").unwrap();
        text
    });
    let yard = yard(&[("machines.csv", &list), ("jobs.csv", &numbers(jobs()))]);
    let before = told(&yard.kept_morning("2026-06-08").0);
    yard.put("sheets/jobs.csv", jobs().replace("Reg,", "Stock No,"));
    let (run, _) = yard.kept_morning("2026-06-09");
    assert_eq!((told(&run), settled(&run)), (before, 0));
    assert!(!has(&of_sheets(&run), "another machine"), "{:#?}", of_sheets(&run));
}

/// A letter that marks have.
fn letter(number: usize) -> char {
    char::from(b"ABCDEFGHJKLMNPRSTUVW"[number])
}

/// Twenty machines of a workshop's customers, all of them long handed over.
fn customers() -> Vec<String> {
    let row = |number: usize| {
        let (letter, model) =
            (letter(number), ["Larkspur 400", "Moss 50", "Sedge 125", "Sedge 125"][number % 4]);
        format!(
            "{},CE2{} A{letter}B,{model},{:02}/03/202{},Ms {letter} Lane",
            100 + number,
            1 + number % 5,
            1 + number,
            1 + number % 5
        )
    };
    (0..20).map(row).collect()
}

fn list(rows: impl IntoIterator<Item = String>) -> String {
    let rows: String = rows.into_iter().map(|row| row + "\n").collect();
    format!("Stock No,Reg,Model,Handover,Customer\n{rows}")
}

#[test]
fn a_filter_that_hides_a_whole_model_of_a_quarter_of_the_machines_is_said_at_the_top_and_they_stand_meanwhile()
 {
    let yard = yard(&[("machines.csv", &list(customers()))]);
    let filtered =
        || list(customers().into_iter().enumerate().filter(|(at, _)| at % 4 != 1).map(|(_, row)| row));
    for day in ["2026-06-09", "2026-06-10"] {
        yard.put("sheets/machines.csv", filtered());
        let (run, code) = yard.kept_morning(day);
        says(
            &run,
            &["this sheet has 15 machines now, and had 20 machines in its export of", "`down_to = 15`"],
        );
        assert_eq!(
            (open(&run, "gone-from-sheets"), &run["machines"], code),
            (0, &20.into(), Some(1)),
            "{day}"
        );
    }
    // It stays so, and is taken to be meant.
    yard.put("sheets/machines.csv", filtered());
    let (run, _) = yard.kept_morning("2026-06-11");
    is_silent(&run);
    assert_eq!(open(&run, "gone-from-sheets"), 5);
}

#[test]
fn a_few_machines_that_leave_a_list_and_those_that_went_out_first_are_ordinary() {
    // Three of twenty, whichever they are.
    let yard_of_three = yard(&[("machines.csv", &list(customers()))]);
    yard_of_three.put("sheets/machines.csv", list(customers().into_iter().skip(3)));
    is_silent(&yard_of_three.kept_morning("2026-06-09").0);
    // A quarter of them, of no one sort: each of them is said to be gone, and nothing else.
    let yard_of_five = yard(&[("machines.csv", &list(customers()))]);
    let left = customers().into_iter().enumerate().filter(|(at, _)| at % 4 != 2).map(|(_, row)| row);
    yard_of_five.put("sheets/machines.csv", list(left));
    is_silent(&yard_of_five.kept_morning("2026-06-09").0);
    // Four of the machines in stock are sold over the weekend, and others like them stay.
    let in_stock = |number: usize| format!("{},CE26 Z{}B,Sedge 125,,", 200 + number, letter(number));
    let with_stock = |from: usize| list(customers().into_iter().chain((from..8).map(in_stock)));
    let shop = yard(&[("machines.csv", &with_stock(0))]);
    shop.put("sheets/machines.csv", with_stock(4));
    is_silent(&shop.kept_morning("2026-06-09").0);
    // A list that forgets those which went out first, five at a time.
    let stock = |from: usize| {
        let row = |number: usize| {
            format!("{},CE26 A{}B,Sedge 125,{:02}/05/2026,", 100 + number, letter(number), 1 + number)
        };
        list((from..20).map(row))
    };
    let rolling = yard(&[("machines.csv", &stock(0))]);
    rolling.put("sheets/machines.csv", stock(5));
    is_silent(&rolling.kept_morning("2026-06-09").0);
}

#[test]
fn marks_that_were_filled_down_over_some_rows_of_a_list_are_held() {
    let yard = yard(&[("machines.csv", &list(customers()))]);
    let before = told(&yard.kept_morning("2026-06-08").0);
    let filled = list(customers().into_iter().enumerate().map(|(at, row)| {
        let mut cells: Vec<String> = row.split(',').map(str::to_owned).collect();
        if (2..7).contains(&at) {
            cells[1] = format!("CE{} ZZB", 20 + at);
        }
        cells.join(",")
    }));
    for day in ["2026-06-09", "2026-06-10"] {
        yard.put("sheets/machines.csv", &filled);
        let (run, code) = yard.kept_morning(day);
        says(
            &run,
            &["5 of 20 rows have another mark in column B `Reg` than before; what they said before stands"],
        );
        assert_eq!((told(&run), settled(&run), code), (before.clone(), 0, Some(1)), "{day}");
    }
    yard.put("sheets/machines.csv", list(customers()));
    is_silent(&yard.kept_morning("2026-06-11").0);
}

/// The list with other marks, each in the row of its number.
fn with_marks(rows: &[String], marks: &[(usize, &str)]) -> String {
    let mark = |(at, row): (usize, &String)| {
        let mut cells: Vec<&str> = row.split(',').collect();
        cells[1] = marks.iter().find(|(row, _)| *row == at).map_or(cells[1], |(_, mark)| mark);
        cells.join(",")
    };
    list(rows.iter().enumerate().map(mark))
}

/// Once they were corrected, the list and the log are what the owner agreed on at first.
#[test]
fn a_batch_of_marks_that_is_corrected_in_one_morning_is_believed_in_the_list_and_in_the_log() {
    let rows = customers();
    let job = |number: usize, mark: &str| format!("{:02}/06/2025,{mark},Annual service,4000\n", 1 + number);
    let log = |wrong: &[(usize, &str)]| {
        let right = |number: usize| format!("CE2{} A{}B", 1 + number % 5, letter(number));
        let mark = |number: usize| {
            let wrong = wrong.iter().find(|(row, _)| *row == number);
            wrong.map_or_else(|| right(number), |(_, mark)| (*mark).to_owned())
        };
        let jobs: String = (0..20).map(|number| job(number, &mark(number))).collect();
        format!("Date,Reg,Work done,Mileage\n{jobs}")
    };
    // Signs swapped, signs that look alike, and marks that were quite other ones.
    let slips: [&[(usize, &str)]; 3] = [
        &[(3, "CE24 DAB"), (7, "CE23 HAB"), (12, "CE23 NAB"), (16, "CE22 TAB")],
        &[(3, "CE24 AD8"), (7, "CE23 AH8"), (12, "CE23 AN8"), (16, "CE22 AT8")],
        &[(3, "KP24 ZZV"), (7, "KP22 XYV"), (12, "FAH 73T")],
    ];
    for wrong in slips {
        let right = yard(&[("machines.csv", &list(rows.clone())), ("jobs.csv", &log(&[]))]);
        let expected = told(&right.kept_morning("2026-06-09").0);
        assert!(!expected.is_empty());
        for of_log in [wrong, &[][..]] {
            let yard = yard(&[("machines.csv", &with_marks(&rows, wrong)), ("jobs.csv", &log(of_log))]);
            yard.put("sheets/machines.csv", list(rows.clone()));
            yard.put("sheets/jobs.csv", log(&[]));
            let (run, code) = yard.kept_morning("2026-06-09");
            let said = of_sheets(&run);
            assert!(!has(&said, "another mark") && !has(&said, "another machine"), "{wrong:?}: {said:#?}");
            assert_eq!(
                (told(&run), code),
                (expected.clone(), right.kept_morning("2026-06-09").1),
                "{said:#?}"
            );
        }
    }
}

#[test]
fn marks_that_were_exchanged_among_the_rows_of_a_list_or_replaced_in_most_of_it_are_held() {
    let rows = customers();
    let marks: Vec<&str> = rows.iter().map(|row| row.split(',').nth(1).unwrap()).collect();
    let exchanged = [(3, marks[4]), (4, marks[5]), (5, marks[3])];
    let new: Vec<String> = (0..20).map(|number| format!("KP2{} Z{}V", number % 7, letter(number))).collect();
    let replaced: Vec<(usize, &str)> = new.iter().map(String::as_str).enumerate().take(14).collect();
    for (slip, count) in [(&exchanged[..], 3), (&replaced, 14)] {
        let yard = yard(&[("machines.csv", &list(rows.clone()))]);
        let before = told(&yard.kept_morning("2026-06-08").0);
        yard.put("sheets/machines.csv", with_marks(&rows, slip));
        let (run, code) = yard.kept_morning("2026-06-09");
        says(&run, &[&format!("{count} of 20 rows have another mark in column B `Reg` than before")]);
        assert_eq!((told(&run), settled(&run), code), (before, 0, Some(1)));
    }
}

#[test]
fn a_list_of_marks_alone_in_which_some_are_corrected_hides_no_machine() {
    let without_numbers = |text: String| -> String {
        text.lines().map(|row| row.split_once(',').unwrap().1.to_owned() + "\n").collect()
    };
    let wrong = [(3, "CE24 DAB"), (7, "CE23 HAB"), (12, "CE23 NAB"), (16, "CE22 TAB")];
    let rows = customers();
    let yard = yard(&[("machines.csv", &without_numbers(with_marks(&rows, &wrong)))]);
    yard.put("sheets/machines.csv", without_numbers(list(rows)));
    let (run, _) = yard.kept_morning("2026-06-09");
    let said = of_sheets(&run);
    assert!(said.iter().all(|line| line.contains("was known as")), "{said:#?}");
    assert_eq!((said.len(), &run["machines"]), (4, &20.into()));
}

const CHECKED: &str = "Date,Reg,Check,Result,Signed by\n21/05/2026,CE24 AVB,PDI,pass,GH\n\
    22/05/2026,CE24 BWC,PDI,pass,GH\n23/05/2026,CE24 CXD,PDI,failed,TR\n";

#[test]
fn a_stray_copy_that_never_counted_leaves_nothing_to_be_put_back_when_it_goes() {
    let yard = yard(&[("machines.csv", &machines()), ("checks.csv", CHECKED)]);
    let stray = format!("{CHECKED}25/05/2026,CE24 DYF,QC,pass,GH\n");
    yard.put("sheets/checks (1).csv", &stray);
    let (run, _) = yard.kept_morning("2026-06-09");
    assert!(has(&of_sheets(&run), "do not count until you say so"), "{:#?}", of_sheets(&run));
    std::fs::remove_file(yard.path().join("sheets/checks (1).csv")).unwrap();
    for day in ["2026-06-10", "2026-06-11"] {
        is_silent(&yard.kept_morning(day).0);
    }
    // What counted by its looks is missed.
    yard.put("sheets/clocks.csv", "Date,Reg,Mileage\n25/05/2026,CE24 AVB,8400\n26/05/2026,CE24 BWC,8500\n");
    yard.kept_morning("2026-06-12");
    std::fs::remove_file(yard.path().join("sheets/clocks.csv")).unwrap();
    let said = of_sheets(&yard.kept_morning("2026-06-13").0);
    assert!(has(&said, "sheets/clocks.csv: this file is gone"), "{said:#?}");
}
