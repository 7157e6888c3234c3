//! What most rows of a column say alike of a sudden: that checks failed, or another fuel, which counts all the same; or what
//! nobody can read, which does not.

use std::collections::{BTreeMap, BTreeSet};

use super::held::HeldCell;
use super::matched_rows::squeezed;
use super::meanings::{Doubt, Pair, Told};
use super::values::Altered;
use super::{ColumnRead, Lasts};
use crate::problem::Problem;
use crate::sheets::Cell;
use crate::yard::{CheckResult, Field, cell_words, result_words};

/// Fewer may well be put right in a day, and more checks may fail in one. Our decision.
const LEAST_FILLS: usize = 3;
const LEAST_CHECKS: usize = 5;

impl Pair<'_> {
    /// That checks which were passed have failed, or fills are of another fuel, in most of the same rows at once. A failure is
    /// never held back; but nobody is to act on it without a look at the sheet.
    pub(super) fn at_once(&self) -> Option<Told> {
        let is_of_checks = matches!(self.column.field, Field::Result | Field::CheckItem);
        if is_of_checks && let Some(told) = self.unreadable_at_once() {
            return Some(told);
        }
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

    /// That results which passed say what nobody can read in most of the same rows at once: a checklist is exported in other
    /// words, and what each row said before stands.
    fn unreadable_at_once(&self) -> Option<Told> {
        let (mut altered, mut says, mut cells) = (Altered::default(), BTreeMap::new(), Vec::new());
        let (was, place) = (self.was.index, self.column.index);
        for (_, later) in self.rows.pairs().filter(|(earlier, _)| passed(earlier.cell(was), self.was)) {
            let is_unreadable = result(later.cell(place), self.column) == CheckResult::Unclear;
            altered.count(is_unreadable);
            if is_unreadable {
                cells.push(HeldCell { row: later.number, was, place });
                *says.entry(later.cell(place).shown()).or_insert(0) += 1;
            }
        }
        let is_known = self.terms.is_known(&self.key(OTHER_WORDS));
        let is_so = if is_known { altered.speak_against() } else { altered.are_most() };
        let (says, count) = says.into_iter().max_by_key(|(_, count)| *count)?;
        // Each in words of its own, they are what somebody found.
        if cells.len() < LEAST_CHECKS || !is_so || 2 * count <= cells.len() {
            return None;
        }
        let what = format!(
            "{} of {} rows in {} that said a check was passed say `{says}` or the like now, which does not say pass or \
             fail; what they said before stands, and of a new check it cannot be told",
            altered.others,
            altered.rows,
            self.subject()
        );
        let help = "Export it again with the words that it had, or with pass and fail. Of a bare sign such as 👍, `ticks = \
                    \"done\"` in this sheet's [[sheet]] in tickover.toml says what it means.";
        let problem = Problem::error(self.now.table.whole(), what, help);
        Some((self.change(OTHER_WORDS, Lasts::Held, problem), Some(Doubt::Cells(cells))))
    }
}

/// What results that nobody can read are known by, before their header.
const OTHER_WORDS: &str = "other words";

fn result(cell: Cell<'_>, column: &ColumnRead) -> CheckResult {
    result_words::said(cell, column.meaning.signs).result
}

fn passed(cell: Cell<'_>, column: &ColumnRead) -> bool {
    !cell.is_blank() && result(cell, column) == CheckResult::Passed
}

fn has_failed(was: Cell<'_>, is: Cell<'_>) -> bool {
    cell_words::check_result(was) == Ok(CheckResult::Passed)
        && cell_words::check_result(is) == Ok(CheckResult::Failed)
}

fn is_another_fuel(was: Cell<'_>, is: Cell<'_>) -> bool {
    let label = |cell| cell_words::ethanol_label(cell).ok().flatten();
    squeezed(was) != squeezed(is) && (label(was).is_none() || label(was) != label(is))
}
