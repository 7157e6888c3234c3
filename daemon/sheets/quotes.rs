//! The guard against a stray quote mark, which would swallow the rows after it without a word.

use std::collections::BTreeMap;

/// How many rows are looked at to find how many delimiters a row usually has.
const SAMPLE_ROWS: usize = 1_000;

/// How many delimiters a row of this text usually has, told by the rows that stand on one line; rows of one cell do
/// not count. Where two widths are as frequent, the wider: titles are narrower than the table below them.
pub(super) fn usual_delimiters(text: &str, delimiter: u8) -> usize {
    let mut widths = BTreeMap::<usize, usize>::new();
    let mut reader = super::text::reader(text, delimiter);
    let mut record = csv::StringRecord::new();
    for _ in 0..SAMPLE_ROWS {
        if !reader.read_record(&mut record).unwrap_or(false) {
            break;
        }
        if record.len() > 1 && !has_several_lines(&record) {
            *widths.entry(record.len() - 1).or_default() += 1;
        }
    }
    widths.into_iter().max_by_key(|&(_, rows)| rows).map_or(0, |(delimiters, _)| delimiters)
}

fn has_several_lines(record: &csv::StringRecord) -> bool {
    record.iter().any(|cell| cell.contains(['\n', '\r']))
}

/// Whether a record has swallowed rows: one of its cells holds line breaks, and lines in it look like rows.
///
/// Where the quotes of the record are out of order, a line with two thirds of the usual delimiters is enough;
/// where they are in order, it must be a whole row, so that a note of several lines stays one cell.
pub(super) fn swallowed(stretch: &str, record: &csv::StringRecord, delimiter: u8, usual: usize) -> bool {
    if usual == 0 || !has_several_lines(record) {
        return false;
    }
    let in_order = in_order(stretch, delimiter) && record.len() == usual + 1;
    let enough = if in_order { usual } else { (usual * 2).div_ceil(3) };
    record
        .iter()
        .filter(|cell| cell.contains(['\n', '\r']))
        .any(|cell| lines(cell).skip(1).any(|line| delimiters(line, delimiter) >= enough))
}

/// The lines of a stretch, whatever ends them.
pub(super) fn lines(stretch: &str) -> impl Iterator<Item = &str> {
    stretch
        .trim_end_matches(['\r', '\n'])
        .split('\n')
        .flat_map(|line| line.trim_end_matches('\r').split('\r'))
}

/// One line read by itself: with its quotes where they pair up, else with quotes as plain characters.
pub(super) fn line_alone(line: &str, delimiter: u8) -> csv::StringRecord {
    let quoting = in_order(line, delimiter);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .quoting(quoting)
        .from_reader(line.as_bytes());
    let mut record = csv::StringRecord::new();
    // A line of valid text has nothing to fail of; an empty one gives an empty record.
    let _ = reader.read_record(&mut record);
    record
}

/// Whether every quote that opens a cell is closed at that cell's end.
fn in_order(stretch: &str, delimiter: u8) -> bool {
    let bytes = stretch.as_bytes();
    let parts = |byte: &u8| *byte == delimiter || matches!(byte, b'\r' | b'\n');
    let (mut at, mut cell_begins) = (0, true);
    while at < bytes.len() {
        if cell_begins && bytes[at] == b'"' {
            let Some(after) = closing(bytes, at + 1) else { return false };
            if bytes.get(after).is_some_and(|byte| !parts(byte)) {
                return false;
            }
            at = after;
            cell_begins = false;
            continue;
        }
        cell_begins = parts(&bytes[at]);
        at += 1;
    }
    true
}

/// Where a quoted cell's closing quote is over; doubled quotes are part of the cell. `None` if it never closes.
fn closing(bytes: &[u8], from: usize) -> Option<usize> {
    let mut at = from;
    loop {
        at += bytes.get(at..)?.iter().position(|&byte| byte == b'"')? + 1;
        if bytes.get(at) != Some(&b'"') {
            return Some(at);
        }
        at += 1;
    }
}

fn delimiters(line: &str, delimiter: u8) -> usize {
    line.bytes().filter(|&byte| byte == delimiter).count()
}
