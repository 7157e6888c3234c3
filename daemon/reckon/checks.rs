//! An inspection item with all that is recorded of it, and whether it has passed.

use jiff::civil::Date;

use crate::origin::Evidence;
use crate::units::shown_day;
use crate::yard::{Check, CheckResult};

/// One item with all that is recorded of it.
pub(super) struct Item<'a> {
    /// Its name as somebody wrote it, or as the shop's settings word it.
    pub(super) name: String,
    /// Its records, without passes that are dated after today.
    pub(super) checks: Vec<&'a Check>,
}

/// How an item stands.
pub(super) enum Outcome<'a> {
    /// It passed, and this check shows it.
    Passed(&'a Check),
    /// It failed and nothing shows that it was put right, why, and what shows it.
    Failed(String, Vec<Evidence>),
    /// It is open, why, and what shows it.
    Open(String, Vec<Evidence>),
}

impl<'a> Item<'a> {
    /// How the item stands: passed only when a pass is there and nothing after it, or of an unknown or the same
    /// day, says otherwise. A check without a result that a pass on its day or later answers is done with.
    pub(super) fn outcome(&self) -> Outcome<'a> {
        let day = |check: &Check| check.day.as_ref().map(|day| day.value);
        let of = |result: CheckResult| {
            self.checks.iter().copied().filter(move |check| check.result.value == result)
        };
        let passed = of(CheckResult::Passed).max_by_key(|check| day(check));
        let failed = of(CheckResult::Failed).max_by_key(|check| (day(check).is_none(), day(check)));
        let not_done = of(CheckResult::NotDone).max_by_key(|check| day(check));
        if let Some(failed) = failed
            && let Some(why) = still_failed(day(failed), passed.and_then(day))
        {
            return Outcome::Failed(why, vec![check_cell(failed)]);
        }
        match (passed, not_done) {
            (Some(passed), Some(blank)) if day(blank) > day(passed) => {
                let when = day(blank).map_or_else(String::new, |day| format!(" on {}", shown_day(day)));
                Outcome::Open(format!("not done{when}"), vec![check_cell(blank)])
            }
            (Some(passed), _) => Outcome::Passed(passed),
            (None, Some(blank)) => Outcome::Open("not done".to_owned(), vec![check_cell(blank)]),
            (None, None) => Outcome::Open("not recorded".to_owned(), Vec::new()),
        }
    }
}

/// Why a failed check is not put right by the latest pass; `None` when it is.
fn still_failed(failed: Option<Date>, passed: Option<Date>) -> Option<String> {
    match (failed, passed) {
        (Some(failed), Some(passed)) if passed > failed => None,
        (Some(failed), Some(passed)) if passed == failed => {
            Some(format!("failed and passed on {}, and nothing says which came last", shown_day(failed)))
        }
        (Some(failed), _) => Some(format!("failed on {}", shown_day(failed))),
        (None, _) => Some("failed, on an unknown day".to_owned()),
    }
}

/// A check as evidence: `passed on 3 Nov 2026, signed by J. Miller`.
pub(super) fn check_cell(check: &Check) -> Evidence {
    let result = match check.result.value {
        CheckResult::Passed => "passed",
        CheckResult::Failed => "failed",
        CheckResult::NotDone => "not done",
    };
    let day = check.day.as_ref().map_or(String::new(), |day| format!(" on {}", shown_day(day.value)));
    let by = check.by.as_ref().map_or(String::new(), |by| format!(", signed by {}", by.value));
    Evidence::of(check.item.value.clone(), format!("{result}{day}{by}"), &check.result.origin)
}
