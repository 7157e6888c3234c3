//! A record part by part, so that two can be laid beside each other.

use std::fmt::Debug;

use super::{Check, CheckResult, Fill, Job, Reading, Record, Ride};
use crate::origin::{Entry, Origin};

/// One value of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part<'r> {
    /// What it is: `day`, `clock`, `result`.
    pub what: &'static str,
    /// The value, in letters that are only to be compared.
    pub value: String,
    /// Where it stands.
    pub cell: &'r Origin,
}

/// The values that a record has; none of what a row says of the machine itself.
pub fn parts(record: &Record) -> Vec<Part<'_>> {
    fn part<'r, T: Debug + 'r>(
        what: &'static str,
        entry: impl Into<Option<&'r Entry<T>>>,
    ) -> Option<Part<'r>> {
        let Entry { value, origin } = entry.into()?;
        Some(Part { what, value: format!("{value:?}"), cell: origin })
    }
    let parts = match record {
        Record::Machine(_) => Vec::new(),
        Record::Reading(Reading { day, clock }) => vec![part("day", day), part("clock", clock)],
        Record::Job(Job { day, done, clock, oil, by, doubt }) => vec![
            part("day", day.as_ref()),
            part("done", done),
            part("clock", clock.as_ref()),
            part("oil", oil.as_ref()),
            part("by", by.as_ref()),
            part("doubt", doubt.as_ref()),
        ],
        // The remark stands in the cell of the result, which says the same whether or not a day stands beside it.
        Record::Check(Check { day, time: _, item, result, remark: _, by }) => vec![
            part("day", day.as_ref()),
            part("item", item),
            part("result", result).map(|part| match result.value {
                CheckResult::Undated => Part { value: format!("{:?}", CheckResult::Passed), ..part },
                _ => part,
            }),
            part("by", by.as_ref()),
        ],
        Record::Ride(Ride { day, distance, top_speed, speed_source, clock, by }) => vec![
            part("day", day.as_ref()),
            part("distance", distance.as_ref()),
            part("speed", top_speed.as_ref()),
            part("source", speed_source.as_ref()),
            part("clock", clock.as_ref()),
            part("by", by.as_ref()),
        ],
        Record::Fill(Fill { day, clock, volume, grade, full }) => vec![
            part("day", day.as_ref()),
            part("clock", clock.as_ref()),
            part("volume", volume.as_ref()),
            part("grade", grade.as_ref()),
            part("full", full.as_ref()),
        ],
    };
    parts.into_iter().flatten().collect()
}
