//! Workbooks read as the program reads them, in a process of their own. The workbooks in tests/sheets are made by
//! make_workbooks.py with other people's writers; what must be read from them was written from that script by hand.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

use tickover::problem::Severity;
use tickover::settings::Limits;
use tickover::sheets::{Cell, ReadFile, Reader, read, read_bytes};

use crate::program::Yard;
use crate::sheets_made::{archive, ods, xlsx, xlsx_with_formats, xlsx_with_strings};

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
        for row in table.rows().iter() {
            let cells: Vec<String> = row.cells().map(draw_cell).collect();
            writeln!(drawing, "{}: {}", row.number, cells.join(" | ")).expect("a string takes all");
        }
    }
    for problem in &read.problems {
        writeln!(drawing, "{problem}").expect("a string takes all");
    }
    drawing
}

fn draw_cell(cell: Cell<'_>) -> String {
    match cell {
        Cell::Blank => ".".to_owned(),
        Cell::Text(text) => text.replace('\n', "\\n"),
        Cell::Number(number) => format!("number {number}"),
        Cell::Day(day) => format!("day {day}"),
        Cell::Time(seconds) => format!("{seconds} seconds"),
        Cell::Flag(flag) => format!("flag {flag}"),
        Cell::Fault(fault) => format!("fault {}", fault.shown()),
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
    let with_zeros = whole.replace("fault #REF!\n", "fault #REF! | 00123\n");
    let without_formula = format!("{HEADERS}{second}\n{fourth}");
    // Its writer knows no times and loses a letter behind an emoji; its one formula does not let out which error.
    let binary = without_formula
        .replace("52200 seconds | 108300 seconds", ". | .")
        .replace(" 🏍", "")
        .replace("fault #N/A", "fault formula with an error for a value");
    let cases = [
        ("yard.xlsx", "[Stock]\n", &with_zeros),
        ("yard-1904.xlsx", "[Stock from 1904]\n", &with_zeros),
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

#[test]
fn what_only_an_ods_has_is_read_as_its_program_shows_it() {
    // LibreOffice 7.4 shows the same cells, but for the tab and the line break, which it leaves out behind bold text.
    let again: String = (4..=6).map(|row| format!("{row}: again\n")).collect();
    let expected = format!(
        "[Desk]\n1: Jobs done | covered | . | two  bold a link\\nbelow | cell\n\
         2: number 0.155 | number 1649 | number 2 | fault #N/A | fault #N/A\n\
         3: same | same | same\n{again}9: . | . | . | . | . | . | . | . | end\n"
    );
    for reader in [in_child(), Reader::Here] {
        let read = read(&workbook("desk.ods"), "desk.ods", &Limits::default(), &reader);
        assert_eq!(draw(&read), expected, "{reader:?}");
    }
}

/// Reads bytes as the file `f` in a process of its own.
fn read_made(bytes: &[u8], limits: &Limits) -> String {
    draw(&read_bytes(bytes, "f", limits, &in_child()))
}

#[test]
fn a_damaged_sheet_does_not_lose_the_workbook() {
    let bytes = xlsx(&[
        ("First", "visible", "<row><c t=\"inlineStr\"><is><t>one</t></is></c></row>"),
        ("Second", "visible", "<row><c><v>1</v></c><c t=\"odd\"><v>2</v></c></row>"),
        ("Third", "visible", "<row r=\"3\"><c r=\"B3\"><v>3</v></c></row>"),
        ("Fourth", "veryHidden", "<row><c><v>4</v></c></row>"),
    ]);
    assert_eq!(
        read_made(&bytes, &Limits::default()),
        "[First]\n1: one\n[Third]\n3: . | number 3\n\
         error: the sheet is damaged and was not read (Unknown cell 't' attribute: \"odd\")\n  --> f, Second\n\
         help: Open it in the spreadsheet program and save it again, as .xlsx or .csv; if it was still being copied, \
         wait.\n\
         note: the sheet is hidden and was not read\n  --> f, Fourth\n\
         help: Show the sheet in the spreadsheet program, if it is meant to be read.\n"
    );
}

#[test]
fn a_workbook_in_which_nothing_shows_is_told_of() {
    let nothing = "error: the file holds no sheet with anything in it\n  --> f\n\
                   help: Export it again, and look whether it holds rows.\n";
    assert_eq!(read_made(&xlsx(&[("Stock", "visible", "")]), &Limits::default()), nothing);
    assert_eq!(read_made(&ods("", ""), &Limits::default()), nothing);
    assert_eq!(
        read_made(&xlsx(&[("Stock", "hidden", "<row><c><v>1</v></c></row>")]), &Limits::default()),
        format!(
            "note: the sheet is hidden and was not read\n  --> f, Stock\n\
             help: Show the sheet in the spreadsheet program, if it is meant to be read.\n{nothing}"
        )
    );
}

#[test]
fn a_sheet_that_its_reader_panics_on_does_not_lose_the_workbook() {
    let read = read(&workbook("damaged.xlsb"), "damaged.xlsb", &Limits::default(), &in_child());
    let rides = REST.replace("FILE", "damaged.xlsb");
    let (rides, hidden) = rides.split_once("note").expect("both are there");
    assert_eq!(
        draw(&read),
        format!(
            "{rides}error: the sheet is damaged and was not read (its reader gave up)\n  --> damaged.xlsb, Stock\n\
             {SAVE_AGAIN}note{hidden}"
        )
    );
}

#[test]
fn cells_that_only_other_programs_write_are_read() {
    let bytes = xlsx(&[(
        "Stock",
        "visible",
        "<row r=\"2\"><c r=\"A2\" t=\"d\"><v>2026-04-03</v></c><c r=\"B2\" t=\"d\"><v>14:30:00</v></c>\
         <c r=\"C2\" t=\"b\"><v>1</v></c><c r=\"D2\" t=\"e\"><v>#DIV/0!</v></c>\
         <c r=\"E2\" t=\"str\"><f>\"\"</f><v></v></c><c r=\"F2\"><f>B9</f></c>\
         <c r=\"G2\"><f t=\"shared\" si=\"0\" ref=\"G2:G3\">B9</f><v>7</v></c></row>\
         <row r=\"1\"><c r=\"B1\"><v>1</v></c><c r=\"A1\"><v>2</v></c></row>\
         <row r=\"3\"><c r=\"G3\"><f t=\"shared\" si=\"0\"/></c></row>",
    )]);
    assert_eq!(
        read_made(&bytes, &Limits::default()),
        format!(
            "[Stock]\n1: number 2 | number 1\n\
             2: day 2026-04-03T00:00:00 | 52200 seconds | flag true | fault #DIV/0! | . | {LEFT} | number 7\n\
             3: . | . | . | . | . | . | {LEFT}\n"
        )
    );
}

#[test]
fn a_file_is_what_its_content_says_whatever_its_name() {
    let folder = tempfile::tempdir().expect("a folder is made");
    for (original, name) in [
        ("yard.xlsx", "stock.xls"),
        ("yard.xls", "stock.xlsx"),
        ("yard.ods", "stock.xlsx"),
        ("yard.xlsb", "stock.csv"),
    ] {
        let path = folder.path().join(name);
        std::fs::copy(workbook(original), &path).expect("the workbook is copied");
        let named = read(&path, "f", &Limits::default(), &in_child());
        let plain = read(&workbook(original), "f", &Limits::default(), &in_child());
        assert!(!plain.tables.is_empty());
        assert_eq!(draw(&named), draw(&plain), "{original} as {name}");
    }
    std::fs::write(folder.path().join("stock.xls"), "Mark\tMiles\nAB12 CDE\t1204\n").expect("it is written");
    let named = read(&folder.path().join("stock.xls"), "f", &Limits::default(), &in_child());
    assert_eq!(draw(&named), "[]\n1: Mark | Miles\n2: AB12 CDE | 1204\n");
}

#[test]
fn a_unit_and_leading_zeros_that_only_a_format_shows_are_read() {
    let bytes = xlsx_with_formats(
        "<row r=\"1\"><c r=\"A1\" s=\"1\"><v>1234</v></c><c r=\"B1\" s=\"2\"><v>12.5</v></c>\
         <c r=\"C1\" s=\"3\"><v>123</v></c><c r=\"D1\" s=\"4\"><v>1649</v></c><c r=\"E1\" s=\"5\"><v>46115</v></c>\
         <c r=\"F1\"><v>1234</v></c></row>",
        &["#,##0\" km\"", "0.0\" miles\";-0.0\" miles\"", "00000", "\"£\"#,##0.00", "dd/mm/yyyy"],
    );
    assert_eq!(
        read_made(&bytes, &Limits::default()),
        "[Stock]\n1: 1234 km | 12.5 miles | 00123 | number 1649 | day 2026-04-03T00:00:00 | number 1234\n"
    );
}

#[test]
fn hidden_rows_and_columns_are_read_and_of_merged_cells_the_first_has_the_value() {
    // Filtered rows are data (our decision). ECMA-376 part 1: `hidden` of a row, `mergeCell`.
    let bytes = xlsx(&[(
        "Stock",
        "visible",
        "<row r=\"1\"><c r=\"A1\"><v>1</v></c><c r=\"C1\"><v>2</v></c></row>\
         <row r=\"2\" hidden=\"1\"><c r=\"A2\"><v>3</v></c></row>\
         </sheetData><mergeCells count=\"1\"><mergeCell ref=\"A1:B1\"/></mergeCells><sheetData>",
    )]);
    assert_eq!(read_made(&bytes, &Limits::default()), "[Stock]\n1: number 1 | . | number 2\n2: number 3\n");
    // OpenDocument calls it `table:visibility`.
    let cell =
        |number: u8| format!("<table:table-cell office:value-type=\"float\" office:value=\"{number}\"/>");
    let rows = format!(
        "<table:table-column table:visibility=\"collapse\"/><table:table-row>{}</table:table-row>\
         <table:table-row table:visibility=\"filter\">{}</table:table-row>\
         <table:table-row table:visibility=\"collapse\">{}</table:table-row>",
        cell(1),
        cell(2),
        cell(3)
    );
    assert_eq!(
        read_made(&ods(&rows, ""), &Limits::default()),
        "[Stock]\n1: number 1\n2: number 2\n3: number 3\n"
    );
}

#[test]
fn which_cells_reach_down_over_others_is_known_of_a_workbook() {
    // ECMA-376 part 1, section 18.3.1.54: `mergeCell`; of B3:C4 the first cell has the value.
    let merged = xlsx(&[(
        "Jobs",
        "visible",
        "<row r=\"1\"><c r=\"A1\"><v>1</v></c></row><row r=\"2\"><c r=\"D2\"><v>2</v></c></row>\
         <row r=\"3\"><c r=\"B3\"><v>3</v></c></row><row r=\"4\"><c r=\"A4\"><v>4</v></c></row>\
         </sheetData><mergeCells count=\"2\"><mergeCell ref=\"A1:A2\"/><mergeCell ref=\"B3:C4\"/></mergeCells><sheetData>",
    )]);
    // OpenDocument 1.2, part 1, section 19.678: `table:number-rows-spanned`.
    let cell = |attributes: &str, number: u8| {
        format!("<table:table-cell {attributes} office:value-type=\"float\" office:value=\"{number}\"/>")
    };
    let covered =
        |count: u8| format!("<table:covered-table-cell table:number-columns-repeated=\"{count}\"/>");
    let blank = "<table:table-cell/>";
    let rows = format!(
        "<table:table-row>{}</table:table-row><table:table-row>{}{blank}{blank}{}</table:table-row>\
         <table:table-row>{blank}{}{}</table:table-row><table:table-row>{}{}</table:table-row>",
        cell("table:number-rows-spanned=\"2\"", 1),
        covered(1),
        cell("", 2),
        cell("table:number-columns-spanned=\"2\" table:number-rows-spanned=\"2\"", 3),
        covered(1),
        cell("", 4),
        covered(2)
    );
    // [MS-XLS], section 2.4.168: `MergeCells`.
    let old = fs::read(workbook("merged.xls")).unwrap();
    for bytes in [merged, ods(&rows, ""), old] {
        let read = read_bytes(&bytes, "f", &Limits::default(), &in_child());
        let table = &read.tables[0];
        let from = |row: usize, column| table.row_of_value(table.row(row), column).number;
        assert_eq!([from(1, 0), from(3, 1), from(2, 0), from(3, 0), from(1, 1)], [1, 3, 3, 4, 2]);
        assert_eq!(table.row_of_value(table.row(1), 0).cell(0), Cell::Number(1.0));
    }
}

#[test]
fn cells_that_reach_down_are_known_of_a_sheet_of_any_size() {
    let mut data = String::new();
    for _ in 1..=30_001 {
        data.push_str("<row>");
        data.push_str(&"<c><v>1</v></c>".repeat(4));
        data.push_str("</row>");
    }
    let with = |merged: &str| {
        let bytes = xlsx(&[(
            "Jobs",
            "visible",
            &format!("{data}<row/><row><c r=\"B30003\"><v>2</v></c></row></sheetData>{merged}<sheetData>"),
        )]);
        let read = read_bytes(&bytes, "f", &Limits::default(), &in_child());
        let table = read.tables[0].clone();
        let last = table.row(table.rows().len() - 1);
        table.row_of_value(last, 0).number
    };
    assert_eq!(with("<mergeCells count=\"1\"><mergeCell ref=\"A30001:A30003\"/></mergeCells>"), 30_001);
    assert_eq!(with(""), 30_003);
}

#[test]
fn a_stray_cell_far_outside_is_told_of_and_costs_nothing() {
    let bytes = xlsx(&[(
        "Stock",
        "visible",
        "<row r=\"1\"><c r=\"A1\"><v>1</v></c></row><row r=\"20000\"><c r=\"XFD20000\"><v>2</v></c></row>\
         <row r=\"1048576\"><c r=\"A1048576\"><v>3</v></c><c r=\"XFD1048576\"><v>4</v></c></row>",
    )]);
    assert_eq!(
        read_made(&bytes, &Limits { reader_bytes: 256 * 1024 * 1024, ..Limits::default() }),
        "[Stock]\n1: number 1\n1048576: number 3\n\
         error: 2 cells beyond column SR were not read\n  --> f, Stock, XFD20000\n\
         help: Move them further left, or empty them, and save the file again.\n"
    );
}

const SAVE_AGAIN: &str = "help: Open it in the spreadsheet program and save it again, as .xlsx or .csv; if it was still \
    being copied, wait.\n";

#[test]
fn a_workbook_that_takes_its_reader_down_is_one_problem() {
    let limits = Limits { reader_bytes: 256 * 1024 * 1024, ..Limits::default() };
    let dead = format!(
        "error: the workbook is damaged, or needs more than 256 MB of memory, and was not read\n  --> f\n{SAVE_AGAIN}"
    );
    let one_cell = ("Stock", "visible", "<row><c t=\"s\"><v>0</v></c></row>");
    // A table of strings that claims four thousand million.
    let bytes = xlsx_with_strings(&[one_cell], "<sst uniqueCount=\"4000000000\"><si><t>a</t></si></sst>");
    assert!(bytes.len() < 5_000, "{} bytes", bytes.len());
    assert_eq!(read_made(&bytes, &limits), dead);
}

#[test]
fn what_an_ods_repeats_without_end_costs_no_more_than_what_is_kept_of_it() {
    let limits = Limits { reader_bytes: 64 * 1024 * 1024, ..Limits::default() };
    let block = |rows: u32| {
        format!(
            "<table:table-row table:number-rows-repeated=\"{rows}\"><table:table-cell \
             table:number-columns-repeated=\"16384\" office:value-type=\"string\"><text:p>x</text:p>\
             </table:table-cell></table:table-row>"
        )
    };
    let read = read_bytes(ods(&block(6_000), ""), "f", &limits, &in_child());
    assert_eq!((read.tables.len(), read.tables[0].rows().len()), (1, 6_000));
    assert!(read.tables[0].rows().iter().all(|row| row.cells().eq([Cell::Text("x"); 512])));
    let problems: Vec<String> = read.problems.iter().map(ToString::to_string).collect();
    // Of 16,384 columns 512 are kept.
    assert_eq!(
        problems,
        ["error: 95232000 cells beyond column SR were not read\n  --> f, Stock, SS1\n\
          help: Move them further left, or empty them, and save the file again."]
    );
    assert_eq!(
        read_made(&ods(&block(1_000_000), ""), &limits),
        "error: the file has more than 10000000 cells; nothing was read from here on\n  --> f, Stock\n\
         help: Split it into several files, or raise the limit under [limits] in tickover.toml.\n"
    );
    let blanks = "<table:table-row><table:table-cell office:value-type=\"string\"><text:p><text:s \
        text:c=\"2000000000\"/></text:p></table:table-cell></table:table-row>";
    assert_eq!(
        read_made(&ods(blanks, ""), &limits),
        "[Stock]\n1: fault text of 2000000000 characters\n\
         error: 1 cell with more than 32767 characters was not read\n  --> f, Stock, A1\n\
         help: Shorten the text, and save the file again.\n"
    );
}

#[test]
fn a_half_copied_xls_is_a_problem_wherever_it_was_cut() {
    let whole = std::fs::read(workbook("yard.xls")).expect("the workbook is there");
    let all = read_made(&whole, &Limits::default());
    // The rest of the file is there already, but its bytes are still zero.
    for part in 1..24 {
        let mut bytes = whole.clone();
        bytes[whole.len() * part / 24..].fill(0);
        let read = read_bytes(&bytes, "f", &Limits::default(), &in_child());
        let refused = read.tables.is_empty()
            && read.problems.iter().filter(|problem| problem.severity == Severity::Error).count() == 1;
        assert!(refused || draw(&read) == all, "cut at {part}/24: {}", draw(&read));
    }
}

#[test]
fn a_workbook_is_cut_short_refused_before_it_is_unpacked_or_under_a_password() {
    let whole = std::fs::read(workbook("yard.xlsx")).expect("the workbook is there");
    let cut = format!("error: the workbook is cut short or damaged\n  --> f\n{SAVE_AGAIN}");
    for part in 1..12 {
        assert_eq!(read_made(&whole[..whole.len() * part / 12], &Limits::default()), cut, "cut at {part}/12");
    }
    let split = "help: Split it, save it as .csv, or raise the limit under [limits] in tickover.toml.\n";
    let small = Limits { unpacked_bytes: 2 * 1024 * 1024, ..Limits::default() };
    let padding = " ".repeat(3 * 1024 * 1024);
    assert_eq!(
        read_made(&xlsx(&[("Stock", "visible", &padding)]), &small),
        format!("error: the workbook unpacks to 4 MB, more than the 2 MB allowed\n  --> f\n{split}")
    );
    let names: Vec<String> = (0..5_001).map(|number| number.to_string()).collect();
    let parts: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), "")).collect();
    assert_eq!(
        read_made(&archive(&parts), &Limits::default()),
        "error: the file is an archive of more than 5000 parts, which no workbook has\n  --> f\n\
         help: Open it in the program it comes from and save or export it as .xlsx or .csv.\n"
    );
    let locked = "<manifest:file-entry><manifest:encryption-data/></manifest:file-entry>";
    assert_eq!(
        read_made(&ods("", locked), &Limits::default()),
        "error: the workbook is protected with a password\n  --> f\n\
         help: Save a copy without a password into this folder.\n"
    );
}

#[test]
fn the_limits_hold_in_the_reading_process_too() {
    let row = "<row><c><v>1</v></c><c t=\"inlineStr\"><is><t>four</t></is></c></row>";
    let bytes = xlsx(&[("Long", "visible", &row.repeat(3)), ("Short", "visible", row)]);
    let split = "help: Split it into several files, or raise the limit under [limits] in tickover.toml.\n";
    assert_eq!(
        read_made(&bytes, &Limits { rows: 2, ..Limits::default() }),
        format!(
            "[Short]\n1: number 1 | four\n\
             error: the sheet has more than 2 rows and was not read\n  --> f, Long\n{split}"
        )
    );
    assert_eq!(
        read_made(&bytes, &Limits { cells: 7, ..Limits::default() }),
        format!(
            "[Long]\n1: number 1 | four\n2: number 1 | four\n3: number 1 | four\n\
             error: the file has more than 7 cells; nothing was read from here on\n  --> f, Short\n{split}"
        )
    );
    assert_eq!(
        read_made(&bytes, &Limits { cell_characters: 3, columns: 2, rows: 1, ..Limits::default() }),
        format!(
            "[Short]\n1: number 1 | fault text of 4 characters\n\
             error: the sheet has more than 1 row and was not read\n  --> f, Long\n{split}\
             error: 1 cell with more than 3 characters was not read\n  --> f, Short, B1\n\
             help: Shorten the text, and save the file again.\n"
        )
    );
    let long = format!("<sst><si><t>{}</t></si></sst>", "a".repeat(64 * 1024 * 1024));
    let bytes = xlsx_with_strings(&[("Stock", "visible", row)], &long);
    assert_eq!(read_made(&bytes, &Limits::default()), "[Stock]\n1: number 1 | four\n");
    assert_eq!(
        read_made(&bytes, &Limits { reader_bytes: 64 * 1024 * 1024, ..Limits::default() }),
        format!(
            "error: the workbook is damaged, or needs more than 64 MB of memory, and was not read\n  --> f\n\
             {SAVE_AGAIN}"
        )
    );
}

#[test]
fn of_a_workbook_with_too_many_sheets_the_first_are_read_and_it_is_told() {
    let names: Vec<String> = (1..=1_001).map(|number| format!("S{number}")).collect();
    let row = "<row><c><v>1</v></c></row>";
    let sheets: Vec<(&str, &str, &str)> = names.iter().map(|name| (name.as_str(), "visible", row)).collect();
    let read = read_bytes(xlsx(&sheets), "f", &Limits::default(), &in_child());
    assert_eq!(read.tables.len(), 1_000);
    let problems: Vec<String> = read.problems.iter().map(ToString::to_string).collect();
    assert_eq!(
        problems,
        ["error: the workbook has more than 1000 sheets; nothing was read from here on\n  --> f, S1001\n\
          help: Split it into several workbooks."]
    );
}

#[test]
fn of_a_workbook_with_too_many_problems_the_first_are_told_and_that_they_are_too_many() {
    let names: Vec<String> = (1..=1_001).map(|number| format!("S{number}")).collect();
    let row = "<row><c><v>1</v></c></row>";
    let sheets: Vec<(&str, &str, &str)> = names.iter().map(|name| (name.as_str(), "hidden", row)).collect();
    let read = read_bytes(xlsx(&sheets), "f", &Limits::default(), &in_child());
    assert_eq!((read.tables.len(), read.problems.len()), (0, 1_001));
    assert_eq!(
        read.problems[1_000].to_string(),
        "error: more than 1000 problems were found in the workbook; nothing was read from here on\n  --> f\n\
         help: Mend the problems told of first, and save the file again."
    );
}

#[test]
fn a_program_that_is_not_there_is_told_of() {
    let reader = Reader::InChild(PathBuf::from("/no/such/program"));
    let read = read_bytes(xlsx(&[]), "f", &Limits::default(), &reader);
    assert_eq!(read.tables, []);
    let [problem] = read.problems.as_slice() else { panic!("one problem: {:?}", read.problems) };
    assert!(problem.what.starts_with("the process that reads workbooks could not be started ("), "{problem}");
}

/// What comes of a workbook when this script stands in for the reading process.
#[cfg(unix)]
fn read_by_script(script: &str) -> String {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().expect("a folder of its own");
    let path = folder.path().join("reader");
    std::fs::write(&path, format!("#!/bin/sh\n{script}\n")).expect("the script is written");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o755)).expect("the script may run");
    let limits = Limits { reader_seconds: 1, reader_bytes: 1024 * 1024, ..Limits::default() };
    draw(&read_bytes(xlsx(&[]), "f", &limits, &Reader::InChild(path)))
}

#[cfg(unix)]
#[test]
fn a_reading_process_is_neither_trusted_nor_waited_for() {
    let damaged = format!(
        "error: the workbook is damaged, or needs more than 1 MB of memory, and was not read\n  --> f\n{SAVE_AGAIN}"
    );
    let raise = "help: Save it again as .xlsx or .csv; if it truly is that large, raise the limit under [limits] in tickover.toml.\n";
    let begun = std::time::Instant::now();
    assert_eq!(
        read_by_script("exec sleep 60"),
        format!("error: the workbook was not read within 1 second\n  --> f\n{raise}")
    );
    assert!(begun.elapsed().as_secs() < 30, "it was waited for");
    assert_eq!(
        read_by_script("kill -XCPU $$"),
        format!("error: the workbook took more than 1 second of work and was not read\n  --> f\n{raise}")
    );
    // A sheet and a row, but no end; our own bytes sent back; nothing at all; a stream without end.
    for script in [
        "printf '\\007\\0\\0\\0S\\0\\0\\0\\0\\0\\0'",
        "exec cat",
        "exit 0",
        "kill -ABRT $$",
        "exec cat /dev/zero",
    ] {
        assert_eq!(read_by_script(script), damaged, "{script}");
    }
    // The end alone: nothing was in it.
    assert_eq!(
        read_by_script("printf '\\001\\0\\0\\0E'; exec sleep 60"),
        "error: the file holds no sheet with anything in it\n  --> f\n\
         help: Export it again, and look whether it holds rows.\n"
    );
}

#[test]
fn the_hidden_subcommand_refuses_what_no_parent_gives() {
    for arguments in [
        &["read-workbook"][..],
        &["read-workbook", "1", "2"],
        &["read-workbook", "1", "2", "3", "4", "5", "6", "7", "x"],
    ] {
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_tickover")).args(arguments).output();
        let output = output.expect("the program runs");
        assert_eq!((output.status.code(), output.stdout.as_slice()), (Some(2), &b""[..]), "{arguments:?}");
    }
}

#[test]
fn parts_of_a_workbook_are_known_whatever_the_case_of_their_names() {
    // ECMA-376 part 2, section 6.2.2.3: names that differ in case alone are the same; some programs write `\` too.
    let data = "<row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t>one</t></is></c></row>";
    let mut whole = zip::ZipArchive::new(std::io::Cursor::new(xlsx(&[("Stock", "visible", data)])))
        .expect("the archive is whole");
    for windows in [false, true] {
        let mut parts = Vec::new();
        for index in 0..whole.len() {
            let mut part = whole.by_index(index).expect("a part");
            let name = part.name().expect("a name").to_ascii_lowercase();
            let name = if windows { name.replace('/', "\\") } else { name };
            parts.push((name, std::io::read_to_string(&mut part).expect("its text")));
        }
        let parts: Vec<_> = parts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        assert_eq!(read_made(&archive(&parts), &Limits::default()), "[Stock]\n1: one\n", "{windows}");
    }
}

const PASSWORD: &str = "error: the workbook is protected with a password\n  --> f\n\
    help: Save a copy without a password into this folder.\n";

#[test]
fn an_old_workbook_that_is_scrambled_by_its_password_is_told_as_one() {
    // [MS-XLS], 2.4.117 FilePass: type 0 is XOR obfuscation. It stands behind the first record, in place of three short ones.
    let mut scrambled = std::fs::read(workbook("yard.xls")).expect("it is in the repository");
    assert_eq!(scrambled[0x214..0x216], [0xe1, 0x00]);
    scrambled[0x214..0x224]
        .copy_from_slice(b"\x2f\x00\x06\x00\x00\x00\x34\x12\x78\x56\xc1\x00\x02\x00\x00\x00");
    assert_eq!(read_made(&scrambled, &Limits::default()), PASSWORD);
    // What is behind it is scrambled, too: here the code page, of which another reader says `Codepage D7CC not found`.
    assert_eq!(scrambled[0x298..0x29e], [0x42, 0x00, 0x02, 0x00, 0xb0, 0x04]);
    scrambled[0x29c..0x29e].copy_from_slice(b"\xcc\xd7");
    assert_eq!(read_made(&scrambled, &Limits::default()), PASSWORD);
}

#[test]
fn a_chart_sheet_and_an_empty_sheet_before_the_data_are_passed_over() {
    let data = "<row r=\"2\"><c r=\"A2\" t=\"inlineStr\"><is><t>one</t></is></c></row>";
    let bytes = xlsx(&[("Chart", "visible", ""), ("Sheet1", "visible", ""), ("Stock", "visible", data)]);
    let mut whole = zip::ZipArchive::new(std::io::Cursor::new(bytes)).expect("the archive is whole");
    let mut parts = Vec::new();
    for index in 0..whole.len() {
        let mut part = whole.by_index(index).expect("a part");
        let name = part.name().expect("a name").replace("worksheets/sheet1", "chartsheets/sheet1");
        let text = std::io::read_to_string(&mut part).expect("its text");
        let text = text
            .replace("/worksheet\" Target=\"worksheets/sheet1", "/chartsheet\" Target=\"chartsheets/sheet1");
        let is_chart = name.contains("chartsheets");
        parts.push((name, if is_chart { "<chartsheet><drawing/></chartsheet>".to_owned() } else { text }));
    }
    assert!(parts.iter().any(|(_, text)| text.contains("/chartsheet\"")), "it is related as a chart");
    let parts: Vec<_> = parts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    assert_eq!(read_made(&archive(&parts), &Limits::default()), "[Stock]\n2: one\n");
}

#[test]
fn what_cannot_be_seen_in_an_old_workbook_is_told_of() {
    let read = read(&workbook("clocks.xls"), "clocks.xls", &Limits::default(), &in_child());
    assert_eq!(
        draw(&read),
        "[Clocks]\n1: Mark | Clock | Twice\n2: AB12 CDE | number 1234\n\
         note: a format of its cells shows `km` behind the figures, which cannot be seen in an .xls\n  \
         --> clocks.xls\n\
         help: Save it as .xlsx, or write `distances = \"km\"` below `rows` in each of its [[sheet]] in tickover.toml.\n\
         note: of 1 formula in this sheet none has a value\n  --> clocks.xls, Clocks\n\
         help: Open the file in the spreadsheet program and save it once, if there should be any.\n"
    );
}

#[test]
fn the_unit_that_cannot_be_seen_in_an_old_workbook_is_told_of_until_it_is_agreed() {
    let yard = Yard::empty();
    yard.put("sheets/clocks.xls", fs::read(workbook("clocks.xls")).unwrap());
    let told = |agreed: &str| {
        let sheet =
            format!("[[sheet]]\nfile = \"clocks.xls\"\nsheet = \"Clocks\"\nrows = \"machine\"\n{agreed}");
        yard.put("tickover.toml", sheet);
        let (run, _) = yard.morning("2026-03-02");
        run["complaints"].to_string().contains("cannot be seen in an .xls")
    };
    assert!(told(""));
    assert!(!told("distances = \"km\"\n"));
    assert!(!told("distances = \"miles\"\n"), "the owner knows better than a format");
}
