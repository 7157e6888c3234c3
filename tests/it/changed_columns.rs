//! Columns that are not what their names say any more: the same rows decide, and what they do not bear out is not taken.
//!
//! The thresholds are our decision; what is expected is reckoned by hand.

use serde_json::Value;

use crate::changed_sheets::{is_silent, of_sheets, says};
use crate::program::Yard;
use crate::sheets_made::xlsx_with_formats;

const HEADERS: [&str; 7] = ["Reg", "Model", "Customer", "Phone", "Handover", "MOT due", "Mileage"];

/// So many machines, a row each below those headers.
fn machines(count: usize) -> Vec<Vec<String>> {
    let row = |number: usize| {
        vec![
            format!("AB{} CDE", 10 + number),
            ["Wend 125", "Fell 300", "Tarn 650"][number % 3].to_owned(),
            format!("{} Ashe", ["Ann", "Bob", "Cat", "Dan", "Eve", "Fay"][number % 6]),
            format!("07700 9001{number:02}"),
            format!("{:02}/12/2025", 13 + number),
            format!("{:02}/12/2028", 13 + number),
            format!("{}", 900 + 37 * number),
        ]
    };
    (0..count).map(row).collect()
}

fn sheet(headers: &[&str], rows: &[Vec<String>]) -> String {
    let rows = rows.iter().map(|row| row.join(","));
    [headers.join(",")].into_iter().chain(rows).map(|line| line + "\n").collect()
}

/// A yard whose sheet of so many machines has been agreed and read on Monday 2 March.
fn yard(count: usize) -> Yard {
    yard_with(count, &[])
}

/// The same with other sheets beside it.
fn yard_with(count: usize, others: &[(&str, &str)]) -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", sheet(&HEADERS, &machines(count)));
    for (file, text) in others {
        yard.put(file, text);
    }
    yard.run("setup", &["--accept"]);
    let (run, _) = yard.kept_morning("2026-03-02");
    assert_eq!(run["machines"], count);
    is_silent(&run);
    yard
}

/// What is found of each machine, without the cells that show it.
fn found(run: &Value) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    findings.map(|it| format!("{} {} {}", it["rule"], it["machine"]["mark"], it["text"])).collect()
}

/// The headers, one of them written otherwise.
fn renamed(from: &str, to: &'static str) -> [&'static str; 7] {
    HEADERS.map(|header| if header == from { to } else { header })
}

/// The letter of a day in one line, parted before the first heading that follows what is to be looked at first.
fn letter(yard: &Yard, day: &str) -> (String, String) {
    let letter = std::fs::read_to_string(yard.path().join(format!("digests/{day}.txt"))).unwrap();
    let words = letter.split_whitespace().collect::<Vec<_>>().join(" ");
    let from = words.find("Not read, or read with a doubt").unwrap_or(words.len());
    (words[..from].to_owned(), words[from..].to_owned())
}

// Familiar names.

/// A header and the one that it becomes, its place, its field, and what each row says there now.
type OtherValues = (&'static str, &'static str, usize, &'static str, fn(usize) -> String);

#[test]
fn a_column_under_a_familiar_name_is_read_on_only_where_the_same_rows_say_the_same() {
    let others: [OtherValues; 3] = [
        ("Mileage", "Odo", 6, "clock", |number| (1_100 + 11 * number).to_string()),
        ("Customer", "Name", 2, "customer", |number| format!("{} Howe", ["Pip", "Zoe"][number % 2])),
        ("Phone", "Contact", 3, "telephone", |number| format!("07700 9002{number:02}")),
    ];
    for (from, to, place, field, other) in others {
        let yard = yard(12);
        let headers = renamed(from, to);
        yard.put("sheets/machines.csv", sheet(&headers, &machines(12)));
        let (followed, code) = yard.kept_morning("2026-03-03");
        says(&followed, &[&format!("was `{from}` and is now `{to}`"), &format!("`\"{to}\" = \"{field}\"`")]);
        assert_eq!(code, Some(0), "{to}");
        let mut rows = machines(12);
        for (number, row) in rows.iter_mut().enumerate() {
            row[place] = other(number);
        }
        for day in ["2026-03-04", "2026-03-05", "2026-03-20"] {
            yard.put("sheets/machines.csv", sheet(&HEADERS, &machines(12)));
            let (before, _) = yard.morning(day);
            yard.put("sheets/machines.csv", sheet(&headers, &rows));
            let (run, code) = yard.kept_morning(day);
            says(&run, &[&format!("the column `{from}` is gone"), &format!("`{to}` in column")]);
            says(&run, &[&format!("write `\"{to}\" = \"{field}\"` in tickover.toml in place of")]);
            says(&run, &[&format!("if not, `\"{to}\" = \"nothing\"`")]);
            assert_eq!((code, found(&run)), (Some(1), found(&before)), "{to}");
            assert!(letter(&yard, day).0.contains(&format!("The column `{from}` is gone")), "{to}");
        }
        // After sixty days nothing is left to compare with, and it is asked for still.
        for day in ["2026-05-05", "2026-05-06"] {
            let (run, code) = yard.kept_morning(day);
            says(&run, &[&format!("the column `{from}` is gone"), &format!("`{to}` in column")]);
            says(&run, &[&format!("write `\"{to}\" = \"{field}\"` in tickover.toml in place of")]);
            assert_eq!(code, Some(1), "{to}");
        }
        let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
        let (old, new) = (format!("\"{from}\" = \"{field}\""), format!("\"{to}\" = \"{field}\""));
        yard.put("tickover.toml", settings.replace(&old, &new));
        let (run, _) = yard.kept_morning("2026-05-07");
        is_silent(&run);
    }
}

#[test]
fn a_new_customer_beside_a_familiar_name_is_no_other_column() {
    let yard = yard(12);
    let mut rows = machines(12);
    rows[3][2] = "Zoe Howe".to_owned();
    yard.put("sheets/machines.csv", sheet(&renamed("Customer", "Name"), &rows));
    let (run, _) = yard.kept_morning("2026-03-03");
    says(&run, &["column C was `Customer` and is now `Name`"]);
}

// Columns and rows that are exchanged.

/// Checks that a changed sheet is said with these words, that what was found stands, and that it counts on the third
/// open day.
#[track_caller]
fn stands_as_it_was(count: usize, changed: &str, words: &[&str]) {
    let yard = yard(count);
    // However long it stays so, and as long as nobody says that it is right.
    for day in ["2026-03-03", "2026-03-04", "2026-03-05", "2026-03-20"] {
        yard.put("sheets/machines.csv", sheet(&HEADERS, &machines(count)));
        let (before, _) = yard.morning(day);
        yard.put("sheets/machines.csv", changed);
        let (run, _) = yard.kept_morning(day);
        says(&run, words);
        assert_eq!(found(&run), found(&before), "{day}, {count} machines");
    }
}

#[test]
fn two_columns_of_anything_that_have_exchanged_their_headers_stand_as_they_were() {
    for count in [2, 12] {
        for (one, other) in [(1, 2), (2, 3), (1, 3)] {
            let mut headers = HEADERS;
            headers.swap(one, other);
            let changed = sheet(&headers, &machines(count));
            let (one, other) = (HEADERS[one], HEADERS[other]);
            let named = [format!("`{one}`"), format!("`{other}`")];
            let words = [&named[0], &named[1], "as if their headers had been exchanged"];
            stands_as_it_was(count, &changed, &words);
        }
    }
}

#[test]
fn marks_that_were_sorted_without_the_rest_change_nothing() {
    for count in [2, 3, 12] {
        let mut rows = machines(count);
        for (number, row) in rows.iter_mut().enumerate() {
            row[0] = format!("AB{} CDE", 10 + (number + 1) % count);
        }
        let words = ["`Reg` stands beside what other rows said before", "as after a sort without the rest"];
        stands_as_it_was(count, &sheet(&HEADERS, &rows), &words);
    }
}

#[test]
fn mark_and_frame_number_that_have_exchanged_their_headers_stand_as_they_were() {
    let headers = ["Reg", "Frame no", "Customer", "Handover", "Mileage"];
    let rows: Vec<Vec<String>> = machines(12)
        .into_iter()
        .enumerate()
        .map(|(number, row)| {
            let frame = format!("ZZZTK0000X{:07}", 7_919 * (number + 1));
            vec![row[0].clone(), frame, row[2].clone(), row[4].clone(), row[6].clone()]
        })
        .collect();
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", sheet(&headers, &rows));
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-03-02");
    let (before, _) = yard.morning("2026-03-03");
    let exchanged = ["Frame no", "Reg", "Customer", "Handover", "Mileage"];
    yard.put("sheets/machines.csv", sheet(&exchanged, &rows));
    let (run, _) = yard.kept_morning("2026-03-03");
    says(&run, &["`Reg`", "`Frame no`", "as if their headers had been exchanged"]);
    assert_eq!((run["machines"].as_u64(), found(&run)), (Some(12), found(&before)));
}

// Few rows.

#[test]
fn the_days_of_two_machines_that_are_turned_round_are_read_as_they_were() {
    for count in [2, 3, 4] {
        let rows = |is_month_first: bool| -> String {
            let row = |number: usize| {
                let (day, month) = (3 + number, 1 + number % 2);
                let (first, second) = if is_month_first { (month, day) } else { (day, month) };
                format!("AB{} CDE,XR 700,{first:02}/{second:02}/2026\n", 10 + number)
            };
            (0..count).map(row).collect()
        };
        let yard = Yard::empty();
        yard.put("sheets/machines.csv", format!("Reg,Model,Handover\n{}", rows(false)));
        yard.run("setup", &["--accept"]);
        yard.kept_morning("2026-03-02");
        let (before, _) = yard.morning("2026-03-03");
        yard.put("sheets/machines.csv", format!("Reg,Model,Handover\n{}", rows(true)));
        let (run, _) = yard.kept_morning("2026-03-03");
        let said = of_sheets(&run).join("\n");
        assert!(said.contains("had the day first and have the month first now"), "{count}: {said}");
        assert_eq!(found(&run), found(&before), "{count}: {said}");
        // What is read otherwise stands at the top, though nobody need act at once.
        let (top, _) = letter(&yard, "2026-03-03");
        assert!(top.contains("had the day first and have the month first now"), "{top}");
    }
}

#[test]
fn other_days_customers_and_clocks_of_all_of_a_few_machines_stand_as_they_were() {
    type Change = fn(&mut Vec<String>);
    let changes: [(&str, Change); 3] = [
        ("another day in column E `Handover`", |row| row[4] = row[4].replace("2025", "2024")),
        ("another customer in column C `Customer`", |row| row[2] = format!("Zoe {}", row[0])),
        ("fell, or rose by more than can have been ridden", |row| row[6] = "3".to_owned()),
    ];
    for count in [2, 3, 4] {
        for (words, change) in changes {
            let yard = yard(count);
            let (before, _) = yard.morning("2026-03-03");
            let mut rows = machines(count);
            rows.iter_mut().for_each(change);
            yard.put("sheets/machines.csv", sheet(&HEADERS, &rows));
            let (run, code) = yard.kept_morning("2026-03-03");
            says(&run, &[words]);
            assert_eq!((code, found(&run)), (Some(1), found(&before)), "{count}: {words}");
        }
    }
}

#[test]
fn one_of_two_machines_that_is_sold_again_is_an_ordinary_day() {
    let yard = yard(2);
    let mut rows = machines(2);
    rows[0][2] = "Zoe Howe".to_owned();
    rows[0][3] = "07700 900299".to_owned();
    rows[0][4] = "20/04/2026".to_owned();
    rows[1][6] = "990".to_owned();
    yard.put("sheets/machines.csv", sheet(&HEADERS, &rows));
    let (run, code) = yard.kept_morning("2026-03-03");
    is_silent(&run);
    assert_eq!(code, Some(0));
}

// Workbooks.

/// A workbook of twelve machines and their handovers, so many of them above the twelfth. As text each is the day first;
/// a program that expects the month first has made dates of those that fit, with day and month changed round.
fn workbook(above_twelfth: usize, is_saved_by_another: bool) -> Vec<u8> {
    let low = [3, 9, 11, 4, 7, 6, 5, 12, 8, 10, 2, 9];
    let text = |cell: &str, text: &str| format!("<c r=\"{cell}\" t=\"inlineStr\"><is><t>{text}</t></is></c>");
    let mut data =
        format!("<row r=\"1\">{}{}{}</row>", text("A1", "Reg"), text("B1", "Model"), text("C1", "Handover"));
    for (number, low) in low.into_iter().enumerate() {
        let row = number + 2;
        let (day, month) = (if number < above_twelfth { 20 + number } else { low }, 1 + number % 2);
        let handover = if is_saved_by_another && day <= 12 {
            // 1 January 2026 is day 46,023 of the 1900 system (ECMA-376, 18.17.4.1).
            let before_month = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334][day - 1];
            format!("<c r=\"C{row}\" s=\"1\"><v>{}</v></c>", 46_023 + before_month + month - 1)
        } else {
            text(&format!("C{row}"), &format!("{day:02}/{month:02}/2026"))
        };
        let mark = text(&format!("A{row}"), &format!("AB{} CDE", 10 + number));
        data += &format!("<row r=\"{row}\">{mark}{}{handover}</row>", text(&format!("B{row}"), "XR 700"));
    }
    xlsx_with_formats(&data, &["mm/dd/yyyy"])
}

#[test]
fn dates_that_a_spreadsheet_program_of_another_country_turned_round_stand_as_they_were() {
    for above in 0..=6 {
        let yard = Yard::empty();
        yard.put("sheets/machines.xlsx", workbook(above, false));
        yard.run("setup", &["--accept"]);
        yard.kept_morning("2026-03-02");
        let (before, _) = yard.morning("2026-03-03");
        yard.put("sheets/machines.xlsx", workbook(above, true));
        let (run, code) = yard.kept_morning("2026-03-03");
        says(&run, &["with day and month changed round"]);
        assert_eq!((code, found(&run)), (Some(1), found(&before)), "{above}");
    }
}

// Checks.

/// One check of a shop that keeps them, so that those that are not there are missed.
const A_CHECK: (&str, &str) = ("sheets/points.csv", "Date,Reg,Item,Result\n12/12/2025,AB10 CDE,Chain,ok\n");

/// And one of its road tests.
const A_RIDE: (&str, &str) =
    ("sheets/rides.csv", "Date,Reg,Rider,Miles,Top speed\n12/12/2025,AB10 CDE,KB,6,40\n");

/// The sheet with one more column, the same in every row.
fn with_column(header: &str, value: &str) -> String {
    let mut rows = machines(12);
    rows.iter_mut().for_each(|row| row.push(value.to_owned()));
    sheet(&[&HEADERS[..], &[header]].concat(), &rows)
}

#[test]
fn a_new_column_that_passes_a_check_settles_nothing_until_it_is_agreed() {
    for (header, value, field, looks_like) in [
        ("PDI", "ok", "pre-delivery inspection", "looks like the pre-delivery inspection"),
        ("QC", "passed", "quality check", "looks like the quality check"),
        ("Brakes", "yes", "check item", "looks like a check `Brakes`"),
        ("Road test 1 date", "10/12/2025", "first ride day", "looks like the first ride day"),
    ] {
        let yard = yard_with(12, &[A_CHECK, A_RIDE]);
        for day in ["2026-03-03", "2026-03-20"] {
            yard.put("sheets/machines.csv", sheet(&HEADERS, &machines(12)));
            let (before, _) = yard.morning(day);
            yard.put("sheets/machines.csv", with_column(header, value));
            let (run, code) = yard.kept_morning(day);
            says(&run, &[&format!("column H `{header}` is new and {looks_like}"), "stays open"]);
            says(&run, &[&format!("`\"{header}\" = \"{field}\"`"), &format!("`\"{header}\" = \"nothing\"`")]);
            assert_eq!((code, found(&run)), (Some(1), found(&before)), "{header}");
            assert!(letter(&yard, day).0.contains(&format!("`{header}` is new and")), "{header}");
        }
        let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
        for (written, changes_something) in [("nothing", false), (field, header != "Brakes")] {
            yard.put("sheets/machines.csv", sheet(&HEADERS, &machines(12)));
            let (before, _) = yard.morning("2026-03-21");
            yard.put("sheets/machines.csv", with_column(header, value));
            let agreed = format!("\n[sheet.columns]\n\"{header}\" = \"{written}\"\n");
            yard.put("tickover.toml", settings.replacen("\n[sheet.columns]\n", &agreed, 1));
            let (run, _) = yard.morning("2026-03-21");
            is_silent(&run);
            assert_eq!(found(&run) != found(&before), changes_something, "{header}: {written}");
        }
    }
}

#[test]
fn a_new_column_that_passes_a_check_is_asked_for_longer_than_the_export_before_it_is_kept() {
    for is_agreed in [true, false] {
        let yard = Yard::empty();
        yard.put("sheets/machines.csv", sheet(&HEADERS, &machines(12)));
        yard.put(A_CHECK.0, A_CHECK.1);
        if is_agreed {
            yard.run("setup", &["--accept"]);
        }
        yard.kept_morning("2026-03-02");
        yard.put("sheets/machines.csv", with_column("PDI", "ok"));
        // After sixty days nothing is left to compare with, and then the export itself is another one, too.
        for (day, clock) in
            [("03-03", "936"), ("05-02", "936"), ("05-04", "936"), ("05-05", "936"), ("05-06", "950")]
        {
            yard.put("sheets/machines.csv", with_column("PDI", "ok").replace(",900,", &format!(",{clock},")));
            let (run, code) = yard.kept_morning(&format!("2026-{day}"));
            let said = of_sheets(&run).join("\n");
            let line = "`\"PDI\" = \"pre-delivery inspection\"`";
            assert!(said.contains("`PDI` is new and looks like") && said.contains(line), "{day}: {said}");
            let open = found(&run).into_iter().filter(|it| it.contains("pre-delivery inspection")).count();
            assert_eq!((code, open, said.contains("tickover setup")), (Some(1), 12, !is_agreed), "{day}");
        }
        let kept = std::fs::read_dir(yard.path().join("kept/exports")).unwrap();
        let kept: Vec<String> = kept.map(|it| it.unwrap().file_name().into_string().unwrap()).collect();
        assert!(kept.iter().all(|name| !name.contains("was-")), "{kept:?}");
    }
}

#[test]
fn at_the_first_setup_the_same_columns_are_read_as_accepted() {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", with_column("PDI", "ok"));
    yard.run("setup", &["--accept"]);
    let (run, _) = yard.kept_morning("2026-03-02");
    is_silent(&run);
    let open: Vec<String> = found(&run).into_iter().filter(|it| it.contains("missed-checks")).collect();
    assert_eq!(open.len(), 12);
    assert!(open.iter().all(|it| !it.contains("pre-delivery inspection")), "{open:#?}");
}

#[test]
fn a_column_that_is_followed_under_another_name_and_a_new_one_that_is_read_stand_at_the_top() {
    let yard = yard(12);
    yard.put("sheets/machines.csv", sheet(&renamed("Mileage", "Odometer"), &machines(12)));
    yard.kept_morning("2026-03-03");
    let (top, end) = letter(&yard, "2026-03-03");
    assert!(top.contains("is now `Odometer`") && !end.contains("is now `Odometer`"), "{top}\n{end}");
    let yard = self::yard(12);
    yard.put("sheets/machines.csv", with_column("Warranty until", "20/12/2027"));
    yard.kept_morning("2026-03-03");
    let (top, _) = letter(&yard, "2026-03-03");
    assert!(top.contains("`Warranty until` is new, and is read as the warranty end"), "{top}");
    assert!(top.contains("write `\"Warranty until\" = \"nothing\"` in tickover.toml"), "{top}");
}

#[test]
fn a_new_column_that_no_field_is_like_is_named_once_at_the_end() {
    let yard = yard(12);
    yard.put("sheets/machines.csv", with_column("Recall", "none"));
    for (day, is_named) in [("2026-03-03", true), ("2026-03-04", false)] {
        yard.kept_morning(day);
        let (top, end) = letter(&yard, day);
        assert!(!top.contains("`Recall`"), "{day}: {top}");
        assert_eq!(end.contains("`Recall` is new and is not read"), is_named, "{day}: {end}");
    }
}
