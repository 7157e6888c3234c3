//! What this room's tests share: a file is read here, and what came of it is drawn as text.

use std::fmt::Write;

use super::{Cell, ReadFile, Reader, read_bytes};
use crate::settings::Limits;

/// Reads bytes as the file `f` and draws all that came of it.
pub(super) fn drawn(bytes: &[u8]) -> String {
    drawn_within(bytes, &Limits::default())
}

/// The same, within other limits.
pub(super) fn drawn_within(bytes: &[u8], limits: &Limits) -> String {
    draw(&read_bytes(bytes, "f", limits, &Reader::Here))
}

/// One line a row, `.` for a blank cell; then the problems as the terminal shows them.
pub(super) fn draw(read: &ReadFile) -> String {
    let mut drawing = String::new();
    for table in &read.tables {
        if let Some(sheet) = &table.name.sheet {
            writeln!(drawing, "[{sheet}]").unwrap();
        }
        for row in table.rows().iter() {
            let cells: Vec<String> = row.cells().map(draw_cell).collect();
            writeln!(drawing, "{}: {}", row.number, cells.join(" | ")).unwrap();
        }
    }
    for problem in &read.problems {
        writeln!(drawing, "{problem}").unwrap();
    }
    drawing
}

/// A cell with its kind.
pub(super) fn draw_cell(cell: Cell<'_>) -> String {
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
