//! A file's bytes become tables, which keep to the limits, and the tables a letter.

use std::io::{Cursor, Write};

use tickover::settings::{DateOrder, Limits};
use tickover::sheets::{Cell, Fault, ReadFile, Reader, Table, read_bytes};
use tickover::units::DistanceUnit;
use tickover::yard;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::way;

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
    if is_workbook(bytes) {
        return;
    }
    whole_way(&read(bytes));
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
    whole_way(&read(&archive.into_inner()));
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
        assert!(table.rows.len() <= limits.rows, "more rows than allowed");
        assert!(table.rows.is_sorted_by(|one, next| one.number < next.number), "rows out of order");
        for row in &table.rows {
            assert!(row.cells.len() <= limits.columns, "more columns than allowed");
            cells += row.cells.iter().filter(|cell| !cell.is_blank()).count();
            row.cells.iter().for_each(|cell| hold_to_limit(cell, limits.cell_characters));
        }
    }
    assert!(cells <= limits.cells, "more cells than allowed");
    for problem in &read.problems {
        assert!(!problem.to_string().is_empty());
    }
    read
}

fn hold_to_limit(cell: &Cell, characters: usize) {
    match cell {
        Cell::Text(text) => assert!(text.chars().count() <= characters, "a text longer than allowed"),
        Cell::Fault(Fault::TooLong(count)) => assert!(*count > characters, "a short text is said to be long"),
        _ => {}
    }
}

/// What the tables are, what their records say, and what the letter makes of it.
fn whole_way(read: &ReadFile) {
    let mut records = yard::Records::default();
    let mut problems = read.problems.clone();
    for table in &read.tables {
        recognised(table, &mut records, &mut problems);
    }
    way::to_the_letter(records, DistanceUnit::Miles, problems, &[]);
}

fn recognised(table: &Table, records: &mut yard::Records, problems: &mut Vec<tickover::problem::Problem>) {
    let read_as = yard::recognise(table, None, DateOrder::DayFirst);
    assert!(yard::proposal(table, &read_as).len() < 10_000_000);
    // What setup agrees is taken as agreed the next morning.
    let agreed = yard::agreed(table, &read_as);
    let again = yard::recognise(table, Some(&agreed), DateOrder::DayFirst);
    for read_as in [&read_as, &again] {
        let (more, complaints) = yard::records(table, read_as, way::TODAY);
        records.records.extend(more.records);
        problems.extend(complaints);
    }
}
