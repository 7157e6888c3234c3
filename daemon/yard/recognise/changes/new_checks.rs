//! New columns that would settle a check: that a machine's brakes are in order is not guessed by a header.

use super::{column_in_words, line};
use crate::yard::Field;

/// Whether a column of that field would settle what keeps a machine in the yard. It does so beside an agreed column of
/// the same check, too: where that one's cell is blank, its own would pass the check.
pub(super) fn settles(field: Field) -> bool {
    field.is_check_before_a_handover()
        || matches!(field, Field::CheckItem | Field::Result | Field::BrakeFluidDay)
}

/// What a new column that settles a check is known by from day to day.
pub(super) fn key(header: &str) -> String {
    format!("new check {header}")
}

/// What is said of it, and what to do; `failed` is how many of its cells say so of a check, which nobody is to
/// miss for want of a line.
pub(super) fn said(
    (index, header): (usize, &str),
    field: Field,
    failed: usize,
    is_sheet_agreed: bool,
) -> (String, String) {
    let check = if field == Field::CheckItem {
        format!("a check `{header}`")
    } else {
        format!("the {}", field.name())
    };
    let failures = match failed {
        0 => String::new(),
        1 => "; in 1 cell it says no or failed".to_owned(),
        _ => format!("; in {failed} cells it says no or failed"),
    };
    let what = format!(
        "{} `{header}` is new and looks like {check}; it is not read until you say so, and what it would settle stays \
         open{failures}",
        column_in_words(index)
    );
    let (is_it, is_nothing) = (line(header, field.name()), line(header, "nothing"));
    let help = if is_sheet_agreed {
        format!(
            "If it is, write {is_it} below this sheet's [sheet.columns] in tickover.toml; if not, {is_nothing}."
        )
    } else {
        // There is no such place yet.
        format!(
            "Run `tickover setup` with this file, which writes {is_it} and the rest of its columns into tickover.toml; if \
             it is not, put {is_nothing} there."
        )
    };
    (what, help)
}
