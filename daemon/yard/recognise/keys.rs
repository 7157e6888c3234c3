//! The shop's own numbers for its machines, such as those of key tags, told by the other sheets that use them.

use std::collections::BTreeSet;

use super::shape::SURE_SHARE;
use super::{ColumnRead, ReadAs};
use crate::sheets::Table;
use crate::yard::{Field, RecordKind};

/// As many rows of a sheet are looked at; more tell nothing more.
const ROWS_LOOKED_AT: usize = 5_000;

/// Where a log names its machines by nothing but numbers that stand once each under the same header in a list of machines,
/// that column of the list may be what names them, and is asked about. By itself a `Key` is left out: it may be the hook that
/// the key hangs on, which is the next machine's once this one is sold.
pub fn weigh_keys(sheets: &mut [(Table, ReadAs)]) {
    let mut found = Vec::new();
    for (log, log_read) in sheets.iter().filter(|(_, read_as)| is_a_log(read_as)) {
        for (index, header) in keys(log_read) {
            let named: BTreeSet<String> = values(log, log_read, index).into_iter().collect();
            for (place, (list, read_as)) in sheets.iter().enumerate() {
                if !lacks_numbers(read_as) {
                    continue;
                }
                let column = read_as.left_out.iter().position(|column| {
                    column.may_be.is_empty()
                        && is_key_of(&column.header, header)
                        && names_most(&named, &values(list, read_as, column.index))
                });
                if let Some(column) = column {
                    found.push((place, column, log.name.without_folders()));
                }
            }
        }
    }
    for (place, column, log) in found {
        let column = &mut sheets[place].1.left_out[column];
        column.may_be = vec![Field::StockNumber];
        column.why = format!("it may be the stock number: {log} names its machines by these");
    }
}

/// Whether a sheet is a log that names its machines by nothing but a number.
fn is_a_log(read_as: &ReadAs) -> bool {
    read_as.is_log() && read_as.columns.iter().filter(|column| column.field.is_identity()).all(is_number)
}

fn is_number(column: &ColumnRead) -> bool {
    column.field == Field::StockNumber
}

/// The columns of a log that are or may be the numbers of the machines, each with its header.
fn keys(read_as: &ReadAs) -> impl Iterator<Item = (usize, &str)> {
    let read = read_as.columns.iter().filter(|column| is_number(column));
    let may_be = read_as.left_out.iter().filter(|column| column.may_be == [Field::StockNumber]);
    let read = read.map(|column| (column.index, column.header.as_str()));
    read.chain(may_be.map(|column| (column.index, column.header.as_str())))
}

/// Whether a list's column may be what a log's is: of the same header, or its `id` where the log has the machine's, as
/// in `vehicle_id`.
fn is_key_of(listed: &str, of_log: &str) -> bool {
    let last = |header: &str| header.rsplit(['_', ' ']).next().unwrap_or_default().to_lowercase();
    is_same_header(listed, of_log) || (listed.trim().eq_ignore_ascii_case("id") && last(of_log) == "id")
}

/// Whether a list of machines has no column yet that is or may be their number.
fn lacks_numbers(read_as: &ReadAs) -> bool {
    read_as.kind == Some(RecordKind::Machine)
        && !read_as.columns.iter().any(|column| column.field == Field::StockNumber)
        && !read_as.left_out.iter().any(|column| column.may_be.contains(&Field::StockNumber))
}

fn is_same_header(one: &str, other: &str) -> bool {
    let bare = |header: &str| {
        let kept = header.chars().filter(|letter| letter.is_alphanumeric());
        kept.flat_map(char::to_lowercase).collect::<String>()
    };
    !bare(one).is_empty() && bare(one) == bare(other)
}

/// Whether most numbers of a log stand in a list, in which each stands once.
fn names_most(named: &BTreeSet<String>, listed: &[String]) -> bool {
    let each: BTreeSet<&String> = listed.iter().collect();
    let known = named.iter().filter(|number| each.contains(number)).count();
    each.len() == listed.len() && known > 0 && known as f64 >= SURE_SHARE * named.len() as f64
}

/// The filled cells of a column below its header, as the stock numbers of both sheets are compared.
fn values(table: &Table, read_as: &ReadAs, column: usize) -> Vec<String> {
    let Some(header) = read_as.header_row else { return Vec::new() };
    let rows = table.rows().part(header + 1..header + 1 + ROWS_LOOKED_AT);
    let cells = rows.iter().map(|row| row.cell(column));
    cells.filter(|cell| !cell.is_blank()).map(|cell| cell.shown().trim().to_uppercase()).collect()
}
