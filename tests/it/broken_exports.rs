//! Exports that break off, or lack what the last one had: nothing is taken to be gone by that, and it is said.

use crate::changed_sheets::{
    HEADERS, finding, is_silent, machines, of_sheets, open, ridden, says, settled, sheet, yard,
    yard_without_agreement,
};
use crate::program::Yard;
use crate::sheets_made::xlsx;

#[test]
fn machines_that_a_broken_export_lacks_stay_until_the_third_open_day() {
    for yard in [yard(), yard_without_agreement()] {
        let (before, _) = yard.morning("2026-03-03");
        let mut rows = ridden(0);
        rows.truncate(4);
        rows[0][4] = "2000".to_owned();
        rows.push(["AB99 CDE", "Zoe", "25/12/2025", "25/12/2028", "50"].map(str::to_owned));
        // Saturday is open, Sunday is not.
        for (day, is_held) in [("07", true), ("08", true), ("09", true), ("10", false), ("11", false)] {
            yard.put("sheets/machines.csv", sheet(&HEADERS, &rows));
            let (run, code) = yard.kept_morning(&format!("2026-03-{day}"));
            if is_held {
                says(&run, &["this sheet has 5 machines now, and had 12 machines in its export of"]);
                says(&run, &["from Tuesday 10 March on it counts as it is"]);
                assert_eq!((code, run["machines"].as_u64(), settled(&run)), (Some(1), Some(13), 0), "{day}");
                assert_eq!(open(&run, "gone-from-sheets"), 0);
                let shown = finding(&run, "first-service-due", "AB10 CDE");
                assert!(shown.contains("2,000 miles"), "new rows still count: {shown}");
            } else {
                is_silent(&run);
                assert_eq!((run["machines"].as_u64(), open(&run, "gone-from-sheets")), (Some(5), 8), "{day}");
            }
        }
        assert!(open(&before, "first-service-due") > 8);
    }
}

#[test]
fn a_whole_export_ends_the_wait() {
    let yard = yard();
    yard.put("sheets/machines.csv", sheet(&HEADERS, &machines()[..3]));
    let (run, _) = yard.kept_morning("2026-03-03");
    says(&run, &["3 machines now, and had 12 machines"]);
    yard.put("sheets/machines.csv", sheet(&HEADERS, &ridden(3)));
    let (run, _) = yard.kept_morning("2026-03-04");
    is_silent(&run);
    yard.put("sheets/machines.csv", sheet(&HEADERS, &ridden(3)[..3]));
    let (run, _) = yard.kept_morning("2026-03-05");
    says(&run, &["from Saturday 7 March on"]);
}

#[test]
fn a_few_machines_that_are_sold_are_no_broken_export_and_headers_alone_are_one() {
    let yard = yard();
    yard.put("sheets/machines.csv", sheet(&HEADERS, &machines()[..9]));
    let (run, _) = yard.kept_morning("2026-03-03");
    is_silent(&run);
    assert_eq!(run["machines"], 9);
    yard.put("sheets/machines.csv", sheet(&HEADERS, &[]));
    let (run, _) = yard.kept_morning("2026-03-04");
    says(&run, &["this sheet has 0 machines now, and had 9 machines"]);
    assert_eq!(run["machines"], 9);
}

/// A workbook of these worksheets.
pub(crate) fn workbook(sheets: &[(&str, String)]) -> Vec<u8> {
    let cell = |text: &str| format!("<c t=\"inlineStr\"><is><t>{text}</t></is></c>");
    let row = |line: &str| format!("<row>{}</row>", line.split(',').map(cell).collect::<String>());
    let data: Vec<String> = sheets.iter().map(|(_, text)| text.lines().map(row).collect()).collect();
    let parts: Vec<(&str, &str, &str)> =
        sheets.iter().zip(&data).map(|((name, _), data)| (*name, "visible", data.as_str())).collect();
    xlsx(&parts)
}

#[test]
fn a_workbook_with_nothing_but_a_cell_at_its_farthest_corner_is_said_at_the_top_and_its_copy_is_read() {
    let yard = Yard::empty();
    yard.put("sheets/all.xlsx", workbook(&[("Stock", sheet(&HEADERS[..4], &machines()))]));
    yard.kept_morning("2026-03-02");
    let corner = "<row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t>Reg</t></is></c></row>\
        <row r=\"1048576\"><c r=\"XFD1048576\"><v>1</v></c></row>";
    yard.put("sheets/all.xlsx", xlsx(&[("Stock", "visible", corner)]));
    let (run, code) = yard.kept_morning("2026-03-03");
    let said = of_sheets(&run);
    let words = "sheets/all.xlsx: nothing in this file can be taken for rows any more; its copy of";
    assert!(said.iter().any(|said| said.starts_with(words)), "{said:#?}");
    assert_eq!((run["machines"].as_u64(), code), (Some(12), Some(1)));
    let letter = std::fs::read_to_string(yard.path().join("digests/2026-03-03.txt")).unwrap();
    let letter = letter.split_whitespace().collect::<Vec<_>>().join(" ");
    let at = |words: &str| letter.find(words).unwrap_or_else(|| panic!("`{words}` is not in: {letter}"));
    assert!(at("Look at this first") < at("Nothing in this file can be taken for rows any more"), "{letter}");
}

#[test]
fn a_worksheet_that_is_gone_is_read_as_it_was_and_one_that_is_only_renamed_is_read_on() {
    let log = "Reg,Date,Mileage\nAB10 CDE,20/02/2026,1300\nAB11 CDE,25/02/2026,1400\n".to_owned();
    let stock = || sheet(&HEADERS[..4], &machines());
    let yard = Yard::empty();
    yard.put("sheets/all.xlsx", workbook(&[("Stock", stock()), ("Miles", log.clone())]));
    let (run, _) = yard.kept_morning("2026-03-02");
    is_silent(&run);
    for (day, is_held) in [("03", true), ("04", true), ("05", false)] {
        yard.put("sheets/all.xlsx", workbook(&[("Miles", log.clone())]));
        let (run, _) = yard.kept_morning(&format!("2026-03-{day}"));
        if is_held {
            says(&run, &["sheets/all.xlsx: this worksheet is gone; it was read from the export of"]);
            assert_eq!(run["machines"], 12);
        } else {
            is_silent(&run);
        }
    }
    yard.put("sheets/all.xlsx", workbook(&[("Stock", stock()), ("Miles", log.clone())]));
    let (run, _) = yard.kept_morning("2026-03-06");
    is_silent(&run);
    yard.put("sheets/all.xlsx", workbook(&[("Bikes", stock()), ("Miles", log.clone())]));
    let (run, _) = yard.kept_morning("2026-03-07");
    is_silent(&run);
    yard.put(
        "sheets/all.xlsx",
        workbook(&[("Stock", sheet(&HEADERS[..4], &machines()[..2])), ("Miles", log)]),
    );
    let (run, _) = yard.kept_morning("2026-03-09");
    says(&run, &["this sheet has 2 machines now, and had 12 machines"]);
    assert_eq!(run["machines"], 12);
}

#[test]
fn that_no_machine_at_all_is_left_is_never_taken_to_be_meant() {
    let yard = yard();
    for day in ["03", "04", "05", "24"] {
        yard.put("sheets/machines.csv", sheet(&HEADERS, &[]));
        let (run, code) = yard.kept_morning(&format!("2026-03-{day}"));
        says(&run, &["this sheet has 0 machines now, and had 12 machines", "agree `rows = \"nothing\"`"]);
        assert_eq!((code, run["machines"].as_u64(), settled(&run)), (Some(1), Some(12), 0));
    }
}

#[test]
fn the_next_of_a_dated_series_is_compared_with_the_last() {
    let yard = Yard::empty();
    let name = |day: &str| format!("sheets/machines 2026-03-{day}.csv");
    yard.put(&name("02"), sheet(&HEADERS, &machines()));
    yard.kept_morning("2026-03-02");
    for (day, before) in [("03", "02"), ("04", "03")] {
        std::fs::remove_file(yard.path().join(name(before))).unwrap();
        yard.put(&name(day), sheet(&HEADERS, &machines()[..3]));
        let (run, _) = yard.kept_morning(&format!("2026-03-{day}"));
        says(
            &run,
            &[&name(day), "this sheet has 3 machines now, and had 12 machines", "from Thursday 5 March on"],
        );
        assert_eq!(run["machines"], 12);
    }
}

#[test]
fn a_log_that_has_lost_its_newest_rows_is_said_and_one_that_has_moved_on_is_not() {
    let row =
        |day: usize| format!("AB12 CDE,{:02}/0{}/2026,{}\n", day % 28 + 1, 1 + day / 28, 600 + 10 * day);
    let log =
        |days: std::ops::Range<usize>| format!("Reg,Date,Mileage\n{}", days.map(row).collect::<String>());
    let yard = Yard::empty();
    yard.put("sheets/mileages.csv", log(0..50));
    yard.kept_morning("2026-03-02");
    yard.put("sheets/mileages.csv", log(40..52));
    let (run, _) = yard.kept_morning("2026-03-03");
    is_silent(&run);
    yard.put("sheets/mileages.csv", log(40..44));
    let (run, code) = yard.kept_morning("2026-03-04");
    says(&run, &["this sheet has 4 rows now, and had 12 rows", "what was read before still counts"]);
    assert_eq!(code, Some(1));
}

#[test]
fn machines_that_have_moved_to_another_sheet_are_not_missing() {
    let yard = yard_without_agreement();
    yard.put("sheets/machines.csv", sheet(&HEADERS, &machines()[..5]));
    yard.put("sheets/sold.csv", sheet(&HEADERS, &ridden(4)[5..]));
    let (run, _) = yard.kept_morning("2026-03-03");
    is_silent(&run);
    assert_eq!((run["machines"].as_u64(), open(&run, "doubtful-reading")), (Some(12), 0));
}
