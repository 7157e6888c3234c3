//! The rows of a text file, written in three ways that no reader may tell apart: bare, in quotes, and so that no row is
//! a plain line.

use std::collections::BTreeMap;

use tickover::settings::{Limits, TextForm};
use tickover::sheets::{Cell, Reader, Table, read_bytes_as_agreed};

/// What may part the fields; the first byte chooses.
const DELIMITERS: [u8; 4] = *b",;\t|";

/// A field that only the slower reading of a row takes, since its quotes are doubled.
const NO_LINE: &str = "\"a\"\"b\"";

/// So many odd characters are a text's in any way of writing.
const ODD_MOST: usize = 2;

/// The first byte chooses what parts the fields that are written; in the bytes themselves it is a comma. Quotes in them
/// part nothing and are left out.
pub(super) fn quoted(bytes: &[u8]) {
    let Some((first, rest)) = bytes.split_first() else { return };
    let Ok(text) = std::str::from_utf8(rest) else { return };
    // What is no text, or another encoding, is told by how much of it is odd: in one way of writing and not in another.
    let is_odd =
        |letter: &char| *letter == '\u{fffd}' || letter.is_control() && !matches!(letter, '\n' | '\t');
    if text.contains('\0') || text.chars().filter(is_odd).count() > ODD_MOST {
        return;
    }
    let delimiter = DELIMITERS[usize::from(*first) % DELIMITERS.len()];
    let text = text.replace(['"', '\r'], "");
    let rows: Vec<Vec<&str>> = text.split('\n').map(|row| row.split(',').collect()).collect();
    let bare = |field: &str| {
        if field.contains(char::from(delimiter)) { format!("\"{field}\"") } else { field.to_owned() }
    };
    let in_quotes = |field: &str| format!("\"{field}\"");
    let as_bare = table(&rows, delimiter, bare, None);
    let as_bare = cells(&as_bare, &rows);
    let as_quoted = table(&rows, delimiter, in_quotes, None);
    assert_eq!(as_bare, cells(&as_quoted, &rows), "in quotes it is read otherwise");
    let no_lines = table(&rows, delimiter, bare, Some(NO_LINE));
    assert_eq!(as_bare, cells(&no_lines, &rows), "no row is a plain line, and it is read otherwise");
}

/// The rows below a header, so that neither way begins as some other file does.
fn table(rows: &[Vec<&str>], delimiter: u8, write: impl Fn(&str) -> String, last: Option<&str>) -> Table {
    let parted = char::from(delimiter).to_string();
    let mut text = ["Reg", "Customer", "Sold\n"].join(&parted);
    for row in rows {
        let fields = row.iter().map(|field| write(field)).chain(last.map(str::to_owned));
        text.push_str(&fields.collect::<Vec<_>>().join(&parted));
        text.push('\n');
    }
    let form = TextForm { delimiter: Some(delimiter), ..TextForm::default() };
    let read = read_bytes_as_agreed(text.into_bytes(), "any.csv", form, &Limits::default(), &Reader::Here);
    read.tables.into_iter().next().expect("the header is read")
}

/// What stands in the fields that were given, by row and column, blank ones aside.
fn cells<'t>(table: &'t Table, rows: &[Vec<&str>]) -> BTreeMap<(u32, usize), Cell<'t>> {
    let given =
        |number: u32| (number as usize).checked_sub(2).and_then(|row| rows.get(row)).map_or(0, Vec::len);
    let mut cells = BTreeMap::new();
    for row in table.rows().iter().filter(|row| row.number > 1) {
        let filled = row.cells().enumerate().take(given(row.number)).filter(|(_, cell)| !cell.is_blank());
        cells.extend(filled.map(|(column, cell)| ((row.number, column), cell)));
    }
    cells
}
