//! New columns that would settle a check: that a machine's brakes are in order is not guessed by a header.

use super::{column_in_words, line};
use crate::yard::Field;

/// Whether a column of that field would settle what keeps a machine in the yard, where the last export was read for
/// those that `reads` tells. A result beside the day that was read for it can only say more of the same check, and to
/// leave it unread would hide that it failed.
pub(super) fn settles(field: Field, reads: &dyn Fn(Field) -> bool) -> bool {
    match field {
        Field::CheckItem
        | Field::Result
        | Field::BrakeFluidDay
        | Field::FirstRideDay
        | Field::SecondRideDay => true,
        Field::InspectionResult | Field::InspectionDay => {
            !reads(Field::InspectionResult) && !reads(Field::InspectionDay)
        }
        Field::QualityResult | Field::QualityDay => !reads(Field::QualityResult) && !reads(Field::QualityDay),
        Field::FirstRideDistance => !reads(Field::FirstRideDay),
        Field::SecondRideDistance => !reads(Field::SecondRideDay),
        _ => false,
    }
}

/// What a new column that settles a check is known by from day to day.
pub(super) fn key(header: &str) -> String {
    format!("new check {header}")
}

/// What is said of it, and what to do.
pub(super) fn said(index: usize, header: &str, field: Field, is_sheet_agreed: bool) -> (String, String) {
    let check = if field == Field::CheckItem {
        format!("a check `{header}`")
    } else {
        format!("the {}", field.name())
    };
    let what = format!(
        "{} `{header}` is new and looks like {check}; it is not read until you say so, and what it would settle stays \
         open",
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
