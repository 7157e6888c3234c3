//! An inspection item with all that is recorded of it, and whether it has passed.

use crate::origin::Evidence;
use crate::units::shown_day;
use crate::yard::{Check, CheckResult, is_bare_sign};

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
    /// Nobody can tell from what is written, why, and the check of which that is true.
    Unclear(String, &'a Check),
    /// It is open, why, and what shows it.
    Open(String, Vec<Evidence>),
}

impl<'a> Item<'a> {
    /// How the item stands: passed only when a pass is there and nothing after it, or of an unknown or the same
    /// day, says otherwise or cannot be read. A check without a result that a pass on its day or later answers is done
    /// with.
    pub(super) fn outcome(&self) -> Outcome<'a> {
        let day = |check: &Check| check.day.as_ref().map(|day| day.value);
        let of = |result: CheckResult| {
            self.checks.iter().copied().filter(move |check| check.result.value == result)
        };
        let passed = of(CheckResult::Passed).max_by_key(|check| (day(check), check.time));
        // Of an unknown time it may have come last.
        let latest = |result| {
            of(result)
                .max_by_key(|check| (day(check).is_none(), day(check), check.time.is_none(), check.time))
        };
        let (failed, unclear) = (latest(CheckResult::Failed), latest(CheckResult::Unclear));
        let not_done = of(CheckResult::NotDone).max_by_key(|check| day(check));
        let undated = of(CheckResult::Undated).next();
        if let Some(failed) = failed
            && let Some(why) = still_failed(failed, passed)
        {
            return Outcome::Failed(format!("{why}{}", quoted(failed)), vec![check_cell(failed)]);
        }
        if let Some(unclear) =
            unclear.filter(|unclear| !passed.is_some_and(|passed| came_after(passed, unclear)))
        {
            let when = day(unclear).map_or_else(String::new, |day| format!(" of {}", shown_day(day)));
            let why = match unclear.remark.as_deref().filter(|remark| is_bare_sign(remark)) {
                Some(sign) => format!("\"{sign}\"{when} may mean done or failed"),
                None => format!("the result{when} does not say pass or fail{}", quoted(unclear)),
            };
            return Outcome::Unclear(why, unclear);
        }
        match (passed, not_done) {
            (Some(passed), Some(blank)) if day(blank) > day(passed) => {
                let when = day(blank).map_or_else(String::new, |day| format!(" on {}", shown_day(day)));
                Outcome::Open(format!("not done{when}"), vec![check_cell(blank)])
            }
            (Some(passed), _) => Outcome::Passed(passed),
            (None, _) if let Some(undated) = undated => {
                Outcome::Open("passed, on an unknown day".to_owned(), vec![check_cell(undated)])
            }
            (None, Some(blank)) => Outcome::Open("not done".to_owned(), vec![check_cell(blank)]),
            (None, None) => Outcome::Open("not recorded".to_owned(), Vec::new()),
        }
    }
}

/// Why a failed check is not put right by the latest pass; `None` when it is.
fn still_failed(failed: &Check, passed: Option<&Check>) -> Option<String> {
    if passed.is_some_and(|passed| came_after(passed, failed)) {
        return None;
    }
    let day = |check: &Check| check.day.as_ref().map(|day| day.value);
    let is_known = passed.is_some_and(|passed| came_after(failed, passed));
    match (day(failed), passed.and_then(day)) {
        (Some(failed), Some(passed)) if passed == failed && !is_known => {
            Some(format!("failed and passed on {}, and nothing says which came last", shown_day(failed)))
        }
        (Some(failed), _) => Some(format!("failed on {}", shown_day(failed))),
        (None, _) => Some("failed, on an unknown day".to_owned()),
    }
}

/// Whether one check came after another for sure: on a later day, or at a later time of the same one.
fn came_after(one: &Check, other: &Check) -> bool {
    let (Some(day), Some(other_day)) = (&one.day, &other.day) else { return false };
    let is_later = one.time.zip(other.time).is_some_and(|(time, other)| time > other);
    day.value > other_day.value || (day.value == other_day.value && is_later)
}

/// A check as evidence: `passed on 3 Nov 2026, signed by J. Miller`.
pub(super) fn check_cell(check: &Check) -> Evidence {
    let result = match check.result.value {
        CheckResult::Passed => "passed",
        CheckResult::Failed => "failed",
        CheckResult::Undated => "passed, on an unknown day",
        CheckResult::NotDone => "not done",
        CheckResult::Unclear => "neither pass nor fail",
    };
    let day = check.day.as_ref().map_or(String::new(), |day| format!(" on {}", shown_day(day.value)));
    let by = check.by.as_ref().map_or(String::new(), |by| format!(", signed by {}", by.value));
    let said = format!("{result}{day}{by}{}", quoted(check));
    Evidence::of(check.item.value.clone(), said, &check.result.origin)
}

/// What stands in the cell beside the bare result, as a sentence quotes it; empty where nothing does.
fn quoted(check: &Check) -> String {
    /// More of a remark makes a letter long; the whole of it stands in the cell.
    const LONGEST: usize = 60;
    let Some(remark) = &check.remark else { return String::new() };
    let remark = remark.split_whitespace().collect::<Vec<_>>().join(" ");
    match remark.char_indices().nth(LONGEST) {
        Some((end, _)) => format!(": \"{}…\"", remark[..end].trim_end()),
        None => format!(": \"{remark}\""),
    }
}
