//! Workbooks and text files that mean harm: small ones that would take their reader minutes or gigabytes are told of, and
//! cost next to nothing.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use tickover::settings::Limits;
use tickover::sheets::{ReadFile, Reader, read_bytes};

use crate::sheets_made::{archive, xlsx, xlsx_with_formats, xlsx_with_strings};

/// The longest that any of these may take, a build for tests on a busy machine; without their limits they take minutes.
const SECONDS: u64 = 20;

/// What a part must unpack to before it is looked at how dense it is, and a little more.
const DENSE_MEGABYTES: u32 = 130;

fn read(bytes: &[u8], limits: &Limits) -> ReadFile {
    let begun = Instant::now();
    let read =
        read_bytes(bytes, "f", limits, &Reader::InChild(PathBuf::from(env!("CARGO_BIN_EXE_tickover"))));
    assert!(begun.elapsed() < Duration::from_secs(SECONDS), "it took {:?}", begun.elapsed());
    read
}

fn said(read: &ReadFile) -> Vec<String> {
    read.problems.iter().map(|problem| format!("{} ({})", problem.what, problem.place)).collect()
}

/// The parts of a workbook, to be changed.
fn parts_of(workbook: Vec<u8>) -> Vec<(String, String)> {
    let mut whole = zip::ZipArchive::new(std::io::Cursor::new(workbook)).expect("the archive is whole");
    (0..whole.len())
        .map(|index| {
            let mut part = whole.by_index(index).expect("a part");
            (part.name().expect("a name").into_owned(), std::io::read_to_string(&mut part).expect("its text"))
        })
        .collect()
}

fn archive_of(parts: &[(String, String)]) -> Vec<u8> {
    let parts: Vec<_> = parts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    archive(&parts)
}

const ROW: &str = "<row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t>one</t></is></c></row>";

#[test]
fn of_sheets_that_are_made_of_one_part_only_the_first_is_read() {
    let rows: String = (1..=2_000).fold(String::new(), |mut rows, row| {
        let _ = write!(rows, "<row r=\"{row}\"><c r=\"A{row}\"><v>{row}</v></c></row>");
        rows
    });
    let mut parts = parts_of(xlsx(&[("First", "visible", ROW), ("Rows", "visible", &rows)]));
    let listed: String = (1..1_000).fold(String::new(), |mut listed, number| {
        // Some through one relation, some through others to the same part.
        let relation = if number % 2 == 0 { "r2" } else { "more" };
        let _ = write!(listed, "<sheet name=\"S{number}\" sheetId=\"9{number}\" r:id=\"{relation}\"/>");
        listed
    });
    for (name, text) in &mut parts {
        match name.as_str() {
            "xl/workbook.xml" => *text = text.replace("</sheets>", &format!("{listed}</sheets>")),
            "xl/_rels/workbook.xml.rels" => {
                let from = text.find("<Relationship Id=\"r2\"").expect("the second sheet's");
                let relation = text[from..=from + text[from..].find('>').unwrap()].replace("r2", "more");
                *text = text.replace("</Relationships>", &format!("{relation}</Relationships>"));
            }
            _ => {}
        }
    }
    let read = read(&archive_of(&parts), &Limits::default());
    let rows: Vec<usize> = read.tables.iter().map(|table| table.rows().len()).collect();
    assert_eq!(rows, [1, 2_000]);
    assert_eq!(
        said(&read),
        [
            "the sheet is made of the same part of the file as one before it; nothing was read from here on (f, S1)"
        ]
    );
}

#[test]
fn two_sheets_of_one_name_are_never_the_first_one_twice() {
    let second = ROW.replace("one", "two");
    let read = read(&xlsx(&[("Stock", "visible", ROW), ("Stock", "visible", &second)]), &Limits::default());
    assert_eq!(read.tables.len(), 1);
    assert!(said(&read)[0].contains("the same part of the file as one before it"), "{:?}", said(&read));
}

#[test]
fn a_workbook_with_more_kinds_of_cells_than_any_is_refused_before_they_are_read() {
    let data = "<row r=\"1\"><c r=\"A1\" s=\"1\"><v>5</v></c></row>";
    let mut parts = parts_of(xlsx_with_formats(data, &["0\" km\""]));
    let sound = read(&archive_of(&parts), &Limits::default());
    assert_eq!((sound.tables.len(), said(&sound)), (1, Vec::new()));
    for (prefix, kinds) in [("", 199_997), ("", 200_001), ("x:", 200_001)] {
        let (_, styles) = parts.iter_mut().find(|(name, _)| name == "xl/styles.xml").expect("its styles");
        let before = styles.clone();
        let more = format!("<{prefix}xf numFmtId=\"0\"/>").repeat(kinds);
        *styles = styles.replace("</cellXfs>", &format!("{more}</cellXfs>"));
        let read = read(&archive_of(&parts), &Limits::default());
        let refused: &[&str] = &["the workbook has more than 200000 kinds of cells, and was not read (f)"];
        assert_eq!(said(&read), if kinds < 200_000 { &[] } else { refused }, "{prefix}{kinds}");
        parts.iter_mut().find(|(name, _)| name == "xl/styles.xml").expect("its styles").1 = before;
    }
}

#[test]
fn cells_without_a_value_count_until_there_are_three_times_as_many_as_a_file_may_have_others() {
    let limits = Limits { cells: 1_000, ..Limits::default() };
    let blank = |cells: usize| format!("{ROW}<row r=\"2\">{}</row>", "<c s=\"0\"/>".repeat(cells));
    let sound = read(&xlsx(&[("Stock", "visible", &blank(3_000))]), &limits);
    assert_eq!((sound.tables.len(), said(&sound)), (1, Vec::new()));
    let read =
        read(&xlsx(&[("Stock", "visible", &blank(1_600)), ("More", "visible", &blank(1_600))]), &limits);
    assert_eq!(read.tables.len(), 1);
    assert_eq!(said(&read), ["the file has more than 1000 cells; nothing was read from here on (f, More)"]);
}

#[test]
fn a_text_that_is_longer_than_a_cell_counts_in_each_that_names_it() {
    let strings = format!("<sst><si><t>{}</t></si></sst>", "x".repeat(3_000_000));
    let cells = |count: usize| format!("<row>{}</row>", "<c t=\"s\"><v>0</v></c>".repeat(count));
    let of = |count: usize| xlsx_with_strings(&[("Stock", "visible", &cells(count))], &strings);
    let few = "2 cells with more than 32767 characters were not read (f, Stock, A1)";
    assert_eq!(said(&read(&of(2), &Limits::default())), [few]);
    let many = "the file holds more than 64 MB of text; nothing was read from here on (f, Stock)";
    assert_eq!(said(&read(&of(500), &Limits::default())), [many]);
}

#[test]
fn a_part_that_says_one_thing_over_and_over_is_refused_by_its_size_alone() {
    let mut workbook = xlsx(&[("Stock", "visible", ROW)]);
    // The size that the list gives of the sheet (APPNOTE 6.3.10, section 4.3.12); to fill it would take the test a minute.
    let name = b"xl/worksheets/sheet1.xml";
    let at = workbook.windows(name.len()).rposition(|part| part == name).unwrap() - 46;
    assert_eq!(workbook[at..at + 4], *b"PK\x01\x02");
    workbook[at + 24..at + 28].copy_from_slice(&(DENSE_MEGABYTES * 1024 * 1024).to_le_bytes());
    let read = read(&workbook, &Limits::default());
    let expected = "a part of the workbook unpacks to more than 250 times its size, as no table does; it was not read (f)";
    assert_eq!((read.tables.len(), said(&read)), (0, vec![expected.to_owned()]));
}

#[test]
fn a_list_of_names_that_no_workbook_has_is_refused_by_its_size_alone() {
    let mut parts = parts_of(xlsx(&[("Stock", "visible", ROW)]));
    let names = "<definedName name=\"n\">Stock!A1</definedName>";
    for (count, is_read) in [(60_000, true), (1_000_000, false)] {
        let (_, list) = parts.iter_mut().find(|(name, _)| name == "xl/workbook.xml").unwrap();
        let before = list.clone();
        let more = format!("</sheets><definedNames>{}</definedNames>", names.repeat(count));
        *list = list.replace("</sheets>", &more);
        let read = read(&archive_of(&parts), &Limits::default());
        let refused =
            "the workbook's list of its sheets and names takes more than 32 MB; it was not read (f)";
        assert_eq!(said(&read), if is_read { vec![] } else { vec![refused.to_owned()] }, "{count}");
        parts.iter_mut().find(|(name, _)| name == "xl/workbook.xml").unwrap().1 = before;
    }
}

#[test]
fn of_two_parts_of_one_name_neither_is_taken_for_the_one_that_is_meant() {
    let sound = xlsx(&[("Stock", "visible", ROW), ("Later", "visible", ROW)]);
    // The writer refuses such an archive, so a part gets the name of another: in its own header and in the list.
    let mut twice = sound.clone();
    let (from, to) = (b"xl/worksheets/sheet2.xml", b"xl/worksheets/sheet1.xml");
    let places: Vec<usize> =
        twice.windows(from.len()).enumerate().filter(|(_, name)| name == from).map(|(at, _)| at).collect();
    for at in &places {
        twice[*at..at + to.len()].copy_from_slice(to);
    }
    assert_eq!((places.len(), read(&sound, &Limits::default()).tables.len()), (2, 2));
    let read = read(&twice, &Limits::default());
    let expected =
        "the workbook has two parts of one name, of which each program reads another; it was not read (f)";
    assert_eq!((read.tables.len(), said(&read)), (0, vec![expected.to_owned()]));
}

#[test]
fn a_row_of_a_text_with_a_million_columns_is_told_of_and_the_others_are_read() {
    let wide = "1,".repeat(1_000_000);
    let read = read(format!("Reg,Mileage\n{wide}\nAB12 CDE,620\n").as_bytes(), &Limits::default());
    let rows: Vec<usize> = read.tables[0].rows().iter().map(|row| row.cells().len()).collect();
    assert_eq!(rows, [2, 512, 2]);
    assert_eq!(said(&read), ["999488 cells beyond column SR were not read (f, SS2)"]);
}

#[test]
fn a_quote_that_stays_open_for_a_hundred_thousand_lines_is_told_at_its_own() {
    let lines = |from: usize, to: usize| {
        (from..to).fold(String::new(), |mut lines, row| {
            let _ = writeln!(lines, "AB12 CDE,{row},12/01/2026");
            lines
        })
    };
    let text =
        format!("Reg,Mileage,Date\n{}AB12 CDE,\"12,12/01/2026\n{}", lines(0, 50_000), lines(0, 50_000));
    let read = read(text.as_bytes(), &Limits::default());
    assert_eq!(read.tables[0].rows().len(), 100_002);
    assert_eq!(
        said(&read),
        ["a quote mark opens here and does not close; the row was read as it stands (f, A50002)"]
    );
}
