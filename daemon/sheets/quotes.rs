//! The guard against a stray quote mark, which would swallow the rows after it without a word.

use std::borrow::Cow;
use std::collections::BTreeMap;

/// How many rows are looked at to find how many delimiters a row usually has: more would not change what is usual.
const SAMPLE_ROWS: usize = 1_000;

/// How much of a text they may take, in bytes: each delimiter of a row takes eight.
const SAMPLE_BYTES: usize = 4 * 1024 * 1024;

/// How many delimiters a row of this text usually has, told by the rows that stand on one line; rows of one cell do
/// not count. Where two widths are as frequent, the wider: titles are narrower than the table below them.
pub(super) fn usual_delimiters(text: &str, delimiter: u8) -> usize {
    let mut widths = BTreeMap::<usize, usize>::new();
    let sample = &text[..text.floor_char_boundary(SAMPLE_BYTES)];
    let mut reader = super::text::reader(sample, delimiter);
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

/// How the quotes of a stretch of text stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Quotes {
    /// Every quote that opens a cell is closed at that cell's end.
    InOrder,
    /// The one that closes a cell stands where another cell begins: it is that cell's own opening quote.
    ClosedByAnOpening,
    /// The one that closes a cell stands in the middle of text.
    ClosedInText,
    /// A cell is never closed.
    Open,
}

/// Whether a quote that opens a cell of this record has swallowed what follows: other cells, or whole rows.
///
/// The more the quotes are in order, the more it takes: a quote that is closed by another cell's opening one says it
/// all; lines inside that have two thirds of the usual delimiters say enough where the quotes are out of order; where
/// they are in order, there must be a whole row inside, so that a note of several lines stays one cell.
pub(super) fn swallowed(stretch: &str, record: &csv::StringRecord, delimiter: u8, usual: usize) -> bool {
    if usual == 0 || !stretch.contains('"') {
        return false;
    }
    let like_a_row = (usual * 2).div_ceil(3);
    match quotes(stretch, delimiter) {
        Quotes::ClosedByAnOpening => true,
        Quotes::Open => {
            let first = cells_of_line(first_line(stretch), delimiter);
            (has_several_lines(record) && first.len() == usual + 1)
                || has_lines_of(record, delimiter, like_a_row)
        }
        Quotes::ClosedInText => has_lines_of(record, delimiter, like_a_row),
        Quotes::InOrder if record.len() == usual + 1 => has_lines_of(record, delimiter, usual),
        Quotes::InOrder => has_lines_of(record, delimiter, like_a_row),
    }
}

/// Whether a cell of several lines has a line, behind its first, with so many delimiters.
fn has_lines_of(record: &csv::StringRecord, delimiter: u8, enough: usize) -> bool {
    record
        .iter()
        .filter(|cell| cell.contains(['\n', '\r']))
        .any(|cell| cell.split(['\n', '\r']).skip(1).any(|line| delimiters(line, delimiter) >= enough))
}

/// The first line of a stretch, without its end.
pub(super) fn first_line(stretch: &str) -> &str {
    &stretch[..stretch.find(['\n', '\r']).unwrap_or(stretch.len())]
}

/// The cells of one line by itself. A quote opens a cell only if another closes it right before a delimiter or the
/// line's end; any other is a plain character.
pub(super) fn cells_of_line(line: &str, delimiter: u8) -> Vec<Cow<'_, str>> {
    let mut cells = Vec::new();
    let mut rest = line;
    loop {
        let bytes = rest.as_bytes();
        let closed = bytes
            .starts_with(b"\"")
            .then(|| closing(bytes, 1))
            .flatten()
            .filter(|&after| bytes.get(after).is_none_or(|&byte| byte == delimiter));
        let after = closed.or_else(|| rest.find(char::from(delimiter))).unwrap_or(rest.len());
        cells.push(match closed {
            Some(after) => Cow::Owned(rest[1..after - 1].replace("\"\"", "\"")),
            None => Cow::Borrowed(&rest[..after]),
        });
        if after == rest.len() {
            return cells;
        }
        rest = &rest[after + 1..];
    }
}

/// How the quotes of a stretch stand, told by the first cell that is out of order.
fn quotes(stretch: &str, delimiter: u8) -> Quotes {
    let bytes = stretch.as_bytes();
    let parts = |byte: u8| byte == delimiter || matches!(byte, b'\r' | b'\n');
    let (mut at, mut cell_begins) = (0, true);
    while at < bytes.len() {
        if cell_begins && bytes[at] == b'"' {
            let Some(after) = closing(bytes, at + 1) else { return Quotes::Open };
            if bytes.get(after).is_some_and(|&byte| !parts(byte)) {
                // Before the closing quote, which is the byte before `after`.
                let before = bytes[after - 2];
                return if parts(before) { Quotes::ClosedByAnOpening } else { Quotes::ClosedInText };
            }
            at = after;
            cell_begins = false;
            continue;
        }
        cell_begins = parts(bytes[at]);
        at += 1;
    }
    Quotes::InOrder
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
