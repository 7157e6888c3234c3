//! The job that did an item, as evidence, and its day read back from what a finding of an earlier day rests on.
//!
//! The ledger keeps evidence as it was printed, so the day stands in its words alone.

use jiff::civil::Date;

use crate::origin::Evidence;
use crate::units::shown_day;
use crate::yard::Job;

/// What the evidence calls the job that surely did an item last.
pub(super) const LAST_DONE: &str = "last done";

/// A job that did an item as evidence, with its day.
pub(super) fn done_cell(what: &str, job: &Job) -> Evidence {
    let shown = job.day.as_ref().map_or_else(
        || format!("{}, no day", job.done.value),
        |day| format!("{} on {}", job.done.value, shown_day(day.value)),
    );
    Evidence::of(what, shown, &job.done.origin)
}

/// The day on which an item was surely done last, of the evidence that shows it; `None` of any other evidence, and of a job
/// without a day.
pub fn day_last_done(shown: &Evidence) -> Option<Date> {
    let (_, day) = shown.value.rsplit_once(" on ").filter(|_| shown.what == LAST_DONE)?;
    Date::strptime("%d %b %Y", day).ok()
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use jiff::civil::date;

    use super::*;
    use crate::origin::{Entry, Origin, SheetName};

    #[test]
    fn the_day_of_a_job_is_read_back_from_its_evidence_and_none_from_its_words() {
        let name = Arc::new(SheetName { file: "jobs.csv".to_owned(), sheet: None });
        let origin = Origin { name, row: 2, column: 0 };
        let day = date(2026, 3, 2);
        for (done, on) in [
            ("annual service", Some(day)),
            ("as agreed on 1 Mar 2025", Some(day)),
            ("oil on 1 Mar 2025", None),
        ] {
            let job = Job {
                day: on.map(|day| Entry::new(day, origin.clone())),
                done: Entry::new(done.to_owned(), origin.clone()),
                clock: None,
                oil: None,
                by: None,
                doubt: None,
            };
            assert_eq!(day_last_done(&done_cell(LAST_DONE, &job)), on, "{done}");
            assert_eq!(day_last_done(&done_cell("done since", &job)), None, "{done}");
        }
    }
}
