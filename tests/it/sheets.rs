//! Workbooks read as the program reads them, in a process of their own. The workbooks in tests/sheets are made by
//! make_workbooks.py with other people's writers; what must be read from them was written from that script by hand.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use tickover::settings::Limits;
use tickover::sheets::{Cell, ReadFile, Reader, read};

fn in_child() -> Reader {
    Reader::InChild(PathBuf::from(env!("CARGO_BIN_EXE_tickover")))
}

fn workbook(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sheets").join(name)
}

/// All that came of a file: the sheets, one line a row, `.` for a blank cell; then the problems.
fn draw(read: &ReadFile) -> String {
    let mut drawing = String::new();
    for table in &read.tables {
        let epoch = if table.counts_from_1904 { " from 1904" } else { "" };
        writeln!(drawing, "[{}{epoch}]", table.name.sheet.as_deref().unwrap_or_default())
            .expect("a string takes all");
        for row in &table.rows {
            let cells: Vec<String> = row.cells.iter().map(draw_cell).collect();
            writeln!(drawing, "{}: {}", row.number, cells.join(" | ")).expect("a string takes all");
        }
    }
    for problem in &read.problems {
        writeln!(drawing, "{problem}").expect("a string takes all");
    }
    drawing
}

fn draw_cell(cell: &Cell) -> String {
    match cell {
        Cell::Blank => ".".to_owned(),
        Cell::Text(text) => text.replace('\n', "\\n"),
        Cell::Number(number) => format!("number {number}"),
        Cell::Day(day) => format!("day {day}"),
        Cell::Time(seconds) => format!("{seconds} seconds"),
        Cell::Flag(flag) => format!("flag {flag}"),
        Cell::Fault(text) => format!("fault {text}"),
    }
}

const HEADERS: &str =
    "1: Mark | Miles | Sold | Sold at | Hours run | Passed | Checked | Note | Code | Left\n";
const REST: &str = "[Rides]\n5: . | . | GPS\n\
    note: the sheet is hidden and was not read\n  --> FILE, Old\n\
    help: Show the sheet in the spreadsheet program, if it is meant to be read.\n";
const LEFT: &str = "fault formula without a value; open the file in the spreadsheet program and save it once";

#[test]
fn the_same_cells_come_from_every_form_of_workbook() {
    let second = "2: AB12 CDE | number 1234 | day 2026-04-03T00:00:00 | 52200 seconds | 108300 seconds | \
                  flag true | fault #N/A | café £5 🏍\\nsecond line | 00123";
    let fourth =
        "4: XY34 ZZZ | number 12.5 | day 2024-02-29T09:15:30 | . | . | flag false | . | fault #REF!\n";
    let whole = format!("{HEADERS}{second} | {LEFT}\n{fourth}");
    let without_formula = format!("{HEADERS}{second}\n{fourth}");
    // Its writer knows no times and no formulas, and loses a letter behind an emoji.
    let binary = without_formula.replace("52200 seconds | 108300 seconds", ". | .").replace(" 🏍", "");
    let cases = [
        ("yard.xlsx", "[Stock]\n", &whole),
        ("yard-1904.xlsx", "[Stock from 1904]\n", &whole),
        ("yard.xls", "[Stock]\n", &without_formula),
        ("yard-1904.xls", "[Stock from 1904]\n", &without_formula),
        ("yard.xlsb", "[Stock]\n", &binary),
        ("yard.ods", "[Stock]\n", &whole),
    ];
    for (name, sheet, rows) in cases {
        let rest = REST.replace("FILE", name);
        let rest = if name.contains("1904") { rest.replace("[Rides]", "[Rides from 1904]") } else { rest };
        let expected = format!("{sheet}{rows}{rest}");
        for reader in [in_child(), Reader::Here] {
            let read = read(&workbook(name), name, &Limits::default(), &reader);
            assert_eq!(draw(&read), expected, "{name}, {reader:?}");
        }
    }
}
