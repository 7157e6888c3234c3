//! A file's bytes become tables, which keep to the limits, and the tables' rows records.

use std::io::{Cursor, Write};

use tickover::settings::{DateOrder, Limits};
use tickover::sheets::{Cell, Fault, ReadFile, Reader, read_bytes};
use tickover::yard::{proposal, recognise, records};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::way::TODAY;

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
        read(bytes);
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
    recognised(&read(&archive.into_inner()));
}

fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK") || bytes.starts_with(b"\xd0\xcf\x11\xe0")
}

/// The file, read and held to the limits.
fn read(bytes: &[u8]) -> ReadFile {
    let limits = limits();
    let read = read_bytes(bytes, "sheets/any", &limits, &Reader::Here);
    assert!(!read.tables.is_empty() || !read.problems.is_empty(), "nothing was read, and nobody is told");
    let mut cells = 0;
    for table in &read.tables {
        assert!(table.rows().len() <= limits.rows, "more rows than allowed");
        assert!(table.rows().iter().is_sorted_by(|one, next| one.number < next.number), "rows out of order");
        for row in table.rows().iter() {
            assert!(row.cells().len() <= limits.columns, "more columns than allowed");
            cells += row.cells().filter(|cell| !cell.is_blank()).count();
            row.cells().for_each(|cell| hold_to_limit(cell, limits.cell_characters));
        }
    }
    assert!(cells <= limits.cells, "more cells than allowed");
    for problem in &read.problems {
        assert!(!problem.to_string().is_empty());
    }
    read
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
