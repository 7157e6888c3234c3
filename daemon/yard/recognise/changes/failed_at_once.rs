//! What most rows of a column say alike of a sudden, and counts all the same: that checks failed, or another fuel.

use std::collections::BTreeSet;

use super::Lasts;
use super::matched_rows::squeezed;
use super::meanings::{Pair, Told};
use super::values::Altered;
use crate::problem::Problem;
use crate::sheets::Cell;
use crate::yard::{CheckResult, Field, cell_words};

/// Fewer may well be put right in a day, and more checks may fail in one. Our decision.
const LEAST_FILLS: usize = 3;
const LEAST_CHECKS: usize = 5;

impl Pair<'_> {
    /// That checks which were passed have failed, or fills are of another fuel, in most of the same rows at once. A failure is
    /// never held back; but nobody is to act on it without a look at the sheet.
    pub(super) fn at_once(&self) -> Option<Told> {
        let is_of_checks = matches!(self.column.field, Field::Result | Field::CheckItem);
        if !is_of_checks && !matches!(self.column.field, Field::Grade | Field::LastFillGrade) {
            return None;
        }
        let (mut altered, mut says) = (Altered::default(), BTreeSet::new());
        for (earlier, later) in self.rows.pairs() {
            let (earlier, later) = (earlier.cell(self.was.index), later.cell(self.column.index));
            if earlier.is_blank() || later.is_blank() {
                continue;
            }
            let is_other =
                if is_of_checks { has_failed(earlier, later) } else { is_another_fuel(earlier, later) };
            altered.count(is_other);
            if is_other {
                says.insert(squeezed(later));
            }
        }
        let least = if is_of_checks { LEAST_CHECKS } else { LEAST_FILLS };
        if altered.others < least || !altered.are_most() || says.len() > 1 {
            return None;
        }
        let now = if is_of_checks {
            "say that a check failed which was passed"
        } else {
            "say another fuel than before"
        };
        let what = format!(
            "{} of {} rows in {} {now}, all of them at once; they count",
            altered.others,
            altered.rows,
            self.subject()
        );
        let help = "Look whether the right values stand there, before anybody acts on them, and export it again if not. If \
                    they are right, do nothing: it is said on two open days.";
        let problem = Problem::error(self.now.table.whole(), what, help);
        Some((self.change("at once", Lasts::ForDays, problem), None))
    }
}

fn has_failed(was: Cell<'_>, is: Cell<'_>) -> bool {
    cell_words::check_result(was) == Ok(CheckResult::Passed)
        && cell_words::check_result(is) == Ok(CheckResult::Failed)
}

fn is_another_fuel(was: Cell<'_>, is: Cell<'_>) -> bool {
    let label = |cell| cell_words::ethanol_label(cell).ok().flatten();
    squeezed(was) != squeezed(is) && (label(was).is_none() || label(was) != label(is))
}
