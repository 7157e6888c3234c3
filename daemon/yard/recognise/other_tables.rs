//! Several tables in one sheet: where another one begins below, above or beside the one that is read.

use super::header::Header;
use super::header_row;
use crate::problem::Problem;
use crate::sheets::{Cell, Row, Table};
use crate::yard::RecordKind;

/// What of a sheet belongs to the table whose headers were found, and what was told of the others.
#[derive(Debug, Default)]
pub(super) struct OtherTables {
    /// The place among the rows at which another table begins below.
    pub(super) below: Option<usize>,
    /// The first column of another table to the right.
    pub(super) beside: Option<usize>,
    /// One problem for each table that is not read.
    pub(super) problems: Vec<Problem>,
}

/// Looks for other tables around the row of headers. Each one's rows would else be read under headers that are not
/// theirs: litres as miles.
pub(super) fn find(table: &Table, index: usize, headers: &[Header]) -> OtherTables {
    let mut found = OtherTables::default();
    let identities: Vec<usize> = (0..headers.len()).filter(|&column| is_identity(&headers[column])).collect();
    if identities.is_empty() {
        return found;
    }
    let begins_another = |row: Row<'_>| {
        let may_be = identities.iter().all(|&column| is_without_figures(row.cell(column)));
        may_be && is_another_row_of_headers(row, headers)
    };
    // The row right above may group the columns of this one.
    let above = table.rows().part(..index.saturating_sub(1)).iter().find(|row| begins_another(*row));
    let below = table.rows().part(index + 1..).iter().position(begins_another).map(|place| index + 1 + place);
    found.below = below;
    found.problems.extend(above.into_iter().chain(below.map(|place| table.row(place))).map(|row| {
        let column = row.cells().position(|cell| !cell.is_blank()).unwrap_or_default();
        not_read(table, row, column)
    }));
    found.beside = beside(headers, &identities);
    found.problems.extend(found.beside.map(|column| not_read(table, table.row(index), column)));
    found
}

fn not_read(table: &Table, row: Row<'_>, column: usize) -> Problem {
    let what = "another table begins here, and was not read";
    let help = "Put each table on a sheet or in a file of its own.";
    Problem::error(&table.origin(row, column), what, help).with_value(row.cell(column).shown())
}

/// The first column of a table to the right: a header that names the machine comes again, with a gap before it.
fn beside(headers: &[Header], identities: &[usize]) -> Option<usize> {
    let is_again =
        |&&later: &&usize| identities.iter().any(|&one| one < later && headers[one].is_same(&headers[later]));
    let again = *identities.iter().find(is_again)?;
    let gap = (identities[0]..again).rfind(|&column| headers[column].shown.is_empty())?;
    Some(gap + 1)
}

/// Whether a row consists of headers, one of which names the machine, and is not this table's own row come again.
fn is_another_row_of_headers(row: Row<'_>, headers: &[Header]) -> bool {
    if !header_row::is_mostly_words(row) {
        return false;
    }
    let filled = row.cells().filter(|cell| !cell.is_blank()).count();
    let (mut known, mut is_named, mut is_other) = (0, false, false);
    for (column, cell) in row.cells().enumerate() {
        let Cell::Text(text) = cell else { continue };
        let header = Header::new(text);
        if !header.is_known() {
            continue;
        }
        known += 1;
        is_named |= is_identity(&header);
        is_other |= !headers.get(column).is_some_and(|own| repeats(own, &header));
    }
    known > 1 && known * 2 >= filled && is_named && is_other
}

/// Whether a header is a table's own again, or of its two rows one, or another name for the same.
fn repeats(own: &Header, again: &Header) -> bool {
    let is_part = own.shown.split(" / ").any(|part| part.eq_ignore_ascii_case(&again.shown));
    let means_the_same = |kind: RecordKind| {
        let fields = again.fields(kind);
        own.fields(kind).iter().any(|(field, _)| fields.iter().any(|(other, _)| other == field))
    };
    is_part || own.is_same(again) || RecordKind::ALL.into_iter().any(means_the_same)
}

/// Whether a header names the machine, in rows of whatever kind.
fn is_identity(header: &Header) -> bool {
    RecordKind::ALL.into_iter().any(|kind| header.fields(kind).iter().any(|(field, _)| field.is_identity()))
}

/// Whether a cell can be no number of a machine; nearly every row below the headers is told by this alone.
fn is_without_figures(cell: Cell<'_>) -> bool {
    match cell {
        Cell::Blank => true,
        Cell::Text(text) => !text.bytes().any(|byte| byte.is_ascii_digit()),
        _ => false,
    }
}
