//! Finds the row of headers in a sheet: below its titles, and in two rows where the upper one groups columns.

use super::header::Header;
use super::header_words::says_how_to_write;
use crate::settings::AgreedSheet;
use crate::sheets::{Cell, Row, Table};
use crate::yard::cells;
use crate::yard::{Field, RecordKind, day_row};

/// How many rows from the top may be titles and notes; further down nobody looks for headers.
const SEARCHED_ROWS: usize = 40;

/// The row of headers of a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct HeaderRow {
    /// Its place among the table's rows; the lower one of two.
    pub(super) index: usize,
    /// One header a column; an empty one where the column has none.
    pub(super) headers: Vec<Header>,
}

/// The row with the most headers that are known or agreed; the first of equals. `None` when no row has any.
pub(super) fn find(table: &Table, agreed: Option<&AgreedSheet>) -> Option<HeaderRow> {
    let agreed: Vec<Header> = agreed
        .map(|sheet| sheet.columns.iter().map(|column| Header::new(&column.header)).collect())
        .unwrap_or_default();
    let mut best: Option<(usize, HeaderRow)> = None;
    let mut consider = |index: usize, headers: Vec<Header>, is_grouped: bool| {
        let known = known_columns(&headers, &agreed) + if is_grouped { kept_groups(&headers) } else { 0 };
        let most = best.as_ref().map_or(0, |(most, _)| *most);
        // Groups above a row of headers say what the names below them mean, even where these are known alone.
        let is_same_row = best.as_ref().is_some_and(|(_, row)| row.index == index);
        if known > most || (known == most && known > 0 && is_grouped && is_same_row) {
            best = Some((known, HeaderRow { index, headers }));
        }
    };
    for (index, row) in table.rows().iter().enumerate().take(SEARCHED_ROWS) {
        if !is_mostly_words(row) || day_row::day_of(row).is_some() {
            continue;
        }
        consider(index, row.cells().map(header_of).collect(), false);
        let above = index.checked_sub(1).map(|above| table.row(above));
        if let Some(above) = above.filter(|above| above.number + 1 == row.number && is_mostly_words(*above)) {
            consider(index, joined(above, row), has_groups(above, row));
            let top = index.checked_sub(2).map(|top| table.row(top)).filter(|_| only_parts_of_groups(row));
            if let Some(top) = top.filter(|top| top.number + 1 == above.number && is_mostly_words(*top)) {
                consider(index, joined_below(top, above, row), true);
            }
        }
    }
    // One known word may be a title such as `Stock`; a header stands among others.
    best.filter(|(known, row)| {
        *known > 1 || row.headers.iter().filter(|header| !header.shown.is_empty()).count() > 1
    })
    .map(|(_, row)| with_units_below(table, row))
}

/// The headers with the units of the row right below them, where that row says nothing else.
fn with_units_below(table: &Table, mut found: HeaderRow) -> HeaderRow {
    let header_number = table.row(found.index).number;
    let below = table.rows().get(found.index + 1).filter(|below| below.number == header_number + 1);
    let Some(below) = below.filter(|below| is_of_units(*below)) else { return found };
    for (header, cell) in found.headers.iter_mut().zip(below.cells()) {
        if let Some(text) = text_of(cell) {
            header.take_unit_below(text);
        }
    }
    found.index += 1;
    found
}

/// Whether a row's filled cells all say how to write what stands below them: `(km)`, `(dd/mm/yyyy)`.
fn is_of_units(row: Row<'_>) -> bool {
    let mut filled = row.cells().filter(|cell| !cell.is_blank()).peekable();
    filled.peek().is_some() && filled.all(|cell| text_of(cell).is_some_and(says_how_to_write))
}

/// How many columns one kind of row, with what was agreed, knows by these headers.
fn known_columns(headers: &[Header], agreed: &[Header]) -> usize {
    let by_agreement = |header: &Header| agreed.iter().any(|agreed| agreed.is_same(header));
    if !headers.iter().any(|header| header.is_known() || by_agreement(header)) {
        return 0;
    }
    let of_kind = |kind: RecordKind| {
        let mut fields: Vec<Field> = Vec::new();
        let mut count = 0;
        for header in headers {
            let known = header.fields(kind).iter().map(|(field, _)| *field);
            let new = known.into_iter().find(|field| !fields.contains(field));
            fields.extend(new);
            count += usize::from(new.is_some() || by_agreement(header));
        }
        count
    };
    RecordKind::ALL.into_iter().map(of_kind).max().unwrap_or(0)
}

/// How many columns keep the name of a group that is not known; bare, they may look like something else.
fn kept_groups(headers: &[Header]) -> usize {
    headers.iter().filter(|header| header.is_in_an_unknown_group()).count()
}

fn header_of(cell: Cell<'_>) -> Header {
    text_of(cell).map(Header::new).unwrap_or_default()
}

fn text_of(cell: Cell<'_>) -> Option<&str> {
    match cell {
        Cell::Text(text) => Some(text),
        _ => None,
    }
}

/// Whether at least half of a row's filled cells are words, as headers are.
pub(super) fn is_mostly_words(row: Row<'_>) -> bool {
    let filled = row.cells().filter(|cell| !cell.is_blank()).count();
    let words = row.cells().filter_map(text_of);
    let words = words.filter(|text| text.chars().any(char::is_alphabetic) || text.starts_with('#')).count();
    filled > 0 && words * 2 >= filled
}

/// Whether the upper row groups columns: a title stands alone above the first of them.
fn has_groups(above: Row<'_>, below: Row<'_>) -> bool {
    let filled = |row: Row<'_>| {
        let columns = row.cells().enumerate().filter(|(_, cell)| text_of(*cell).is_some());
        columns.map(|(column, _)| column).collect::<Vec<_>>()
    };
    let (upper, lower) = (filled(above), filled(below));
    upper.len() > 1 || upper.first() != lower.first()
}

/// Whether a row says no more than what stands below a group: `Date`, `Miles`, `By`.
fn only_parts_of_groups(row: Row<'_>) -> bool {
    const PARTS: [&str; 12] =
        ["date", "day", "by", "who", "initials", "signed", "time", "miles", "mls", "km", "mph", "result"];
    let mut texts = row.cells().filter_map(text_of).peekable();
    texts.peek().is_some() && texts.all(|text| PARTS.contains(&text.trim().to_lowercase().as_str()))
}

/// Three rows as one, where the groups of the middle one are grouped again: `Test rides / 1st / Date`.
fn joined_below(top: Row<'_>, above: Row<'_>, below: Row<'_>) -> Vec<Header> {
    let (mut outer, mut inner) = (None, None);
    let width = top.cells().len().max(above.cells().len()).max(below.cells().len());
    let header = |column: usize| {
        let [upper, middle, lower] = [top, above, below].map(|row| text_of(row.cell(column)));
        if upper.is_some() {
            (outer, inner) = (middle.or(lower).and(upper), None);
        }
        if middle.is_some() {
            inner = lower.and(middle);
        }
        // `Test rides` is of more than one; below it stands one of them.
        let outer_one = outer.map(|outer: &str| outer.trim_end().strip_suffix('s').unwrap_or(outer));
        let group = [outer_one, inner].into_iter().flatten().collect::<Vec<_>>().join(" ");
        match (lower, middle) {
            (Some(text), _) if !group.is_empty() => Header::below(&group, text, true),
            (None, Some(text)) => {
                outer.map_or_else(|| Header::new(text), |outer| Header::below(outer, text, true))
            }
            (text, _) => text.or(upper).map(Header::new).unwrap_or_default(),
        }
    };
    (0..width).map(header).collect()
}

/// Whether the upper row names groups beyond doubt, and is neither a title nor the headers of a row of values: several
/// stand there, one of them above more than one header, and one is known, or the same stands below two of them.
fn are_groups(above: Row<'_>, below: Row<'_>) -> bool {
    let upper: Vec<&str> = above.cells().filter_map(text_of).collect();
    let lower: Vec<&str> = below.cells().filter_map(text_of).collect();
    let stands_twice =
        |text: &&&str| lower.iter().filter(|other| other.eq_ignore_ascii_case(text)).count() > 1;
    let has_a_gap = |column: usize| {
        column > 0 && text_of(above.cell(column)).is_none() && text_of(below.cell(column)).is_some()
    };
    // A row of values with blanks above another one is none: `AB12 CDE | pass |  | pass`.
    let is_value = |cell: Cell<'_>| {
        let is_figure =
            |text: &str| text.chars().any(char::is_numeric) && !text.chars().any(char::is_alphabetic);
        let has_figures = |text: &str| text.chars().filter(char::is_ascii_digit).count() > 1;
        let is_mark = |text: &str| has_figures(text) && matches!(cells::mark(cell), Ok(Some(_)));
        text_of(cell).is_some_and(|text| is_figure(text) || is_mark(text))
    };
    upper.len() > 1
        && !above.cells().chain(below.cells()).any(is_value)
        && (0..below.cells().len()).any(has_a_gap)
        && (upper.iter().any(|text| Header::new(text).is_known())
            || lower.iter().any(|text| stands_twice(&text)))
}

/// Two rows as one: a cell above that has one below it groups the columns to its right, as a merged cell does.
fn joined(above: Row<'_>, below: Row<'_>) -> Vec<Header> {
    let are_groups = are_groups(above, below);
    let mut parent = None;
    (0..above.cells().len().max(below.cells().len()))
        .map(|column| {
            let (upper, lower) = (text_of(above.cell(column)), text_of(below.cell(column)));
            if upper.is_some() {
                parent = lower.and(upper);
            }
            match (parent, lower) {
                (Some(parent), Some(lower)) => Header::below(parent, lower, are_groups),
                (None, Some(lower)) => Header::new(lower),
                (_, None) => upper.map(Header::new).unwrap_or_default(),
            }
        })
        .collect()
}
