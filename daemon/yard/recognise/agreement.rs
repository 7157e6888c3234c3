//! What the owner agreed of a sheet in `tickover.toml`, looked up in the sheet itself.

use super::assign::Columns;
use super::header::Header;
use crate::problem::{Problem, nearest};
use crate::settings::{AgreedColumn, AgreedSheet};
use crate::sheets::Table;
use crate::yard::{Field, RecordKind};

/// The word in `tickover.toml` for a sheet or a column that is left unread.
pub(super) const NOTHING: &str = "nothing";

/// What the rows of a sheet were agreed to be.
pub(super) enum AgreedRows {
    /// To be left unread.
    Nothing,
    /// Of a kind.
    Kind(RecordKind),
}

/// What was agreed; `None` (and told) when its word is not known.
pub(super) fn agreed_rows(agreed: &AgreedSheet, problems: &mut Vec<Problem>) -> Option<AgreedRows> {
    if super::is_left_unread(agreed) {
        return Some(AgreedRows::Nothing);
    }
    if let Some(kind) = RecordKind::named(&agreed.rows) {
        return Some(AgreedRows::Kind(kind));
    }
    let allowed = RecordKind::ALL.map(RecordKind::name);
    let near = nearest(&agreed.rows, allowed.into_iter().chain([NOTHING]));
    let meant = near.map(|word| format!("Did you mean `{word}`? ")).unwrap_or_default();
    let help = format!(
        "{meant}Write {}, or {NOTHING} to leave the sheet unread. Until then the sheet is read as it looks.",
        allowed.join(", ")
    );
    let what = "these rows are of no kind that is known";
    problems.push(Problem::error(agreed.place.clone(), what, help).with_value(agreed.rows.clone()));
    None
}

/// Looks up the agreed columns in the sheet, and says which of them cannot be; of the headers in `told` that is told
/// elsewhere.
pub(super) fn take_agreed(
    agreed: &AgreedSheet,
    kind: RecordKind,
    told: &[String],
    columns: &mut Columns<'_>,
    problems: &mut Vec<Problem>,
) {
    for column in &agreed.columns {
        let header = Header::new(&column.header);
        let taken = |index: usize| {
            columns.agreed.iter().any(|(taken, _)| *taken == index) || columns.refused.contains(&index)
        };
        let exact = |other: &Header| other.shown == header.shown;
        let find = |fits: &dyn Fn(&Header) -> bool| {
            columns.headers.iter().enumerate().find(|(index, other)| fits(other) && !taken(*index))
        };
        let found = find(&exact).or_else(|| find(&|other| other.is_same(&header))).map(|(index, _)| index);
        let Some(index) = found else {
            if !told.contains(&column.header) {
                problems.push(header_gone(column, columns));
            }
            continue;
        };
        if column.field.trim().eq_ignore_ascii_case(NOTHING) {
            columns.refused.push(index);
            continue;
        }
        match Field::named(&column.field, kind) {
            Some(field)
                if !field.may_have_many_columns()
                    && columns.agreed.iter().any(|(_, taken)| *taken == field) =>
            {
                let help = "Keep one of the two lines. Until then the first one counts.";
                let what = format!("two columns are agreed to be the {}", field.name());
                problems
                    .push(Problem::error(column.place.clone(), what, help).with_value(column.header.clone()));
                columns.refused.push(index);
            }
            Some(field) => columns.agreed.push((index, field)),
            None => problems.push(unknown_field(column, kind)),
        }
    }
}

fn header_gone(column: &AgreedColumn, columns: &Columns<'_>) -> Problem {
    let near = nearest(&column.header, columns.headers.iter().map(|header| header.shown.as_str()));
    let meant = near.filter(|near| !near.is_empty()).map(|near| format!("Did you mean `{near}`? "));
    let help = format!(
        "{}Write the header as it stands in the sheet, or take the line out. Until then the column is looked for \
         by its name alone.",
        meant.unwrap_or_default()
    );
    let file = columns.name.file.as_str();
    if near.is_none() && column.field.trim().eq_ignore_ascii_case(NOTHING) {
        let what = format!("no column of {file} has this header, so there is nothing to leave out");
        let help = "Take the line out, unless the column comes again.";
        return Problem::note(column.place.clone(), what, help).with_value(column.header.clone());
    }
    Problem::error(column.place.clone(), format!("no column of {file} has this header"), help)
        .with_value(column.header.clone())
}

fn unknown_field(column: &AgreedColumn, kind: RecordKind) -> Problem {
    let names: Vec<&str> = Field::of(kind).map(Field::name).collect();
    let near = nearest(&column.field, names.iter().copied());
    let meant = near.map(|name| format!("Did you mean `{name}`? ")).unwrap_or_default();
    let help = format!(
        "{meant}A {} has: {}; or {NOTHING} to leave the column out. Until then the column is looked for by its \
         name alone.",
        kind.name(),
        names.join(", ")
    );
    Problem::error(column.place.clone(), "this is no field that is known", help)
        .with_value(column.field.clone())
}

/// Whether an agreement can be meant for this sheet. One that names no worksheet is for the worksheets that have one
/// of its headers; the others of the workbook are read as they look.
pub(super) fn is_meant_for(agreed: &AgreedSheet, table: &Table, headers: &[Header]) -> bool {
    let has = |column: &AgreedColumn| {
        let wanted = Header::new(&column.header);
        headers.iter().any(|header| header.is_same(&wanted))
    };
    agreed.sheet.is_some()
        || table.name.sheet.is_none()
        || agreed.columns.is_empty()
        || agreed.columns.iter().any(has)
}
