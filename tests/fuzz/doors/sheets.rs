//! A file's bytes become tables, which keep to the limits, and the tables' rows records; what a reading process says of a
//! workbook becomes the same tables.

use std::io::{Cursor, Write};

use tickover::settings::{DateOrder, Limits};
use tickover::sheets::{Cell, Fault, Heard, ReadFile, Reader, hear, read_bytes, say};
use tickover::yard::{proposal, recognise, records};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::way::TODAY;

/// The name of every file.
const NAME: &str = "sheets/any";

/// No sheet within the limits has as much to propose, in bytes.
const PROPOSAL_BYTES: usize = 1024 * 1024;

/// Small limits, so that they are reached.
fn limits() -> Limits {
    Limits {
        file_bytes: 256 * 1024,
        unpacked_bytes: 1024 * 1024,
        rows: 300,
        columns: 40,
        cells: 3_000,
        cell_characters: 500,
        ..Limits::default()
    }
}

/// A text file: its encoding, its delimiter, its quotes.
pub(super) fn text(bytes: &[u8]) {
    if !is_workbook(bytes) {
        read(bytes);
    }
}

/// A text file, what it is taken for, and what its rows say: far slower than to read it.
pub(super) fn sheet(bytes: &[u8]) {
    if !is_workbook(bytes) {
        recognised(&read(bytes));
    }
}

/// A workbook as it lies on the disk.
pub(super) fn workbook(bytes: &[u8]) {
    if is_workbook(bytes) {
        said_alike(bytes, &read(bytes));
    }
}

/// A workbook by the text of its parts, so that what is inside is reached: each part follows a line `=== its/name`.
pub(super) fn parts(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let as_it_is = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for part in text.split("=== ").skip(1) {
        let (name, content) = part.split_once('\n').unwrap_or((part, ""));
        // Two parts of one name are an archive that this writer does not write.
        if archive.start_file(name, as_it_is).is_ok() {
            archive.write_all(content.as_bytes()).expect("memory takes all");
        }
    }
    let Ok(archive) = archive.finish() else { return };
    let archive = archive.into_inner();
    let read = read(&archive);
    said_alike(&archive, &read);
    recognised(&read);
}

/// What a reading process says, by any bytes.
pub(super) fn frames(bytes: &[u8]) {
    let limits = limits();
    if let Heard::Whole(read) = hear(bytes, NAME, &limits) {
        hold_tables(&read, &limits);
        // Names and messages come as they are; that a cell's text is short the reading process alone sees to.
        read.tables.iter().flat_map(|table| table.rows().iter()).for_each(|row| drop(format!("{row:?}")));
    }
}

/// A workbook that is said as a reading process says it is heard as it was read. One of which nothing is read may have been
/// refused before any process would be started for it, and one that only begins as one is a text.
fn said_alike(bytes: &[u8], read: &ReadFile) {
    let truly_begins_as = [b"PK\x03\x04".as_slice(), b"PK\x05\x06", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"];
    if read.tables.is_empty() || !truly_begins_as.iter().any(|magic| bytes.starts_with(magic)) {
        return;
    }
    let limits = limits();
    let mut said = Vec::new();
    let said_all = say(bytes, &limits, &mut said);
    match hear(said.as_slice(), NAME, &limits) {
        Heard::Whole(heard) => {
            assert!(heard.tables == read.tables, "the tables said are others than those read");
            assert!(read.problems.starts_with(&heard.problems), "other problems are said than told");
        }
        Heard::BrokenOff => assert!(!said_all, "all was said, and not heard"),
        Heard::TooMuch => panic!("more was said than may be heard"),
    }
}

fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK") || bytes.starts_with(b"\xd0\xcf\x11\xe0")
}

/// The file, read and held to the limits.
fn read(bytes: &[u8]) -> ReadFile {
    let limits = limits();
    let read = read_bytes(bytes, NAME, &limits, &Reader::Here);
    assert!(!read.tables.is_empty() || !read.problems.is_empty(), "nothing was read, and nobody is told");
    hold_tables(&read, &limits);
    for row in read.tables.iter().flat_map(|table| table.rows().iter()) {
        row.cells().for_each(|cell| hold_to_limit(cell, limits.cell_characters));
    }
    for problem in &read.problems {
        assert!(!problem.to_string().is_empty());
    }
    read
}

fn hold_tables(read: &ReadFile, limits: &Limits) {
    let mut cells = 0;
    for table in &read.tables {
        assert!(table.rows().len() <= limits.rows, "more rows than allowed");
        assert!(table.rows().iter().is_sorted_by(|one, next| one.number < next.number), "rows out of order");
        for row in table.rows().iter() {
            assert!(row.cells().len() <= limits.columns, "more columns than allowed");
            cells += row.cells().filter(|cell| !cell.is_blank()).count();
        }
    }
    assert!(cells <= limits.cells, "more cells than allowed");
}

fn hold_to_limit(cell: Cell<'_>, characters: usize) {
    match cell {
        Cell::Text(text) => assert!(text.chars().count() <= characters, "a text longer than allowed"),
        Cell::Fault(Fault::TooLong(count)) => assert!(count > characters, "a short text is said to be long"),
        _ => {}
    }
}

/// What the tables are taken for, and what their rows say.
fn recognised(read: &ReadFile) {
    for table in &read.tables {
        let read_as = recognise(table, None, DateOrder::DayFirst);
        assert!(proposal(table, &read_as).len() < PROPOSAL_BYTES, "a proposal without end");
        let (_, complaints) = records(table, &read_as, TODAY);
        for problem in read_as.problems.iter().chain(&complaints) {
            assert!(!problem.to_string().is_empty());
        }
    }
}
