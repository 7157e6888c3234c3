//! Agreements that can never count, because another one stands before them for every sheet that they are for.

use std::sync::Arc;

use crate::origin::SheetName;
use crate::problem::Problem;
use crate::settings::AgreedSheet;

/// What is said of each of them.
pub(super) fn say(agreed: &[AgreedSheet], names: &[Arc<SheetName>]) -> Vec<Problem> {
    let counts_for = |name: &SheetName| agreed.iter().find(|sheet| sheet.is_for(name));
    let never = agreed.iter().filter_map(|sheet| {
        let mut meant = names.iter().filter(|name| sheet.is_for(name)).peekable();
        let first = counts_for(meant.peek()?)?;
        meant
            .all(|name| counts_for(name).is_some_and(|other| !std::ptr::eq(other, sheet)))
            .then(|| never_counts(sheet, first))
    });
    never.collect()
}

fn never_counts(sheet: &AgreedSheet, first: &AgreedSheet) -> Problem {
    let what = format!(
        "this [[sheet]] is for `{}`, of which the one before it counts, so that it never does",
        sheet.file
    );
    let help = format!(
        "One sheet has one [[sheet]]: put what both say into the one at {}, and take this one out.",
        first.place
    );
    Problem::error(sheet.place.clone(), what, help)
}
