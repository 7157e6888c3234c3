//! Records dated after today: no facts of today, and each a doubt. Readings are told of with the clock's others.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::Doubt;
use super::subject::{CountedKeys, Subject, day_cell};
use crate::origin::Entry;
use crate::units::{Distance, shown_day};
use crate::yard::CheckResult;

/// The fills, jobs, checks and rides of a machine that are dated after today.
pub(super) fn days_ahead(subject: &Subject<'_>) -> Vec<Doubt> {
    let machine = subject.machine;
    let mut ahead = Ahead { subject, told_of: readings_ahead(subject), found: Vec::new() };
    for fill in &machine.fills {
        let grade =
            fill.grade.as_ref().map_or(String::new(), |grade| format!(" with {}", grade.value.trim()));
        ahead.look("fill", fill.day.as_ref(), fill.clock.as_ref(), &grade);
    }
    for job in &machine.jobs {
        let done = format!(" \"{}\"", job.done.value.trim());
        ahead.look("job", job.day.as_ref(), job.clock.as_ref(), &done);
    }
    for ride in &machine.rides {
        let speed = ride.top_speed.as_ref().map(|speed| format!(" at {}", subject.shown_speed(speed.value)));
        ahead.look("ride", ride.day.as_ref(), ride.clock.as_ref(), &speed.unwrap_or_default());
    }
    // A check that is not done yet may well be planned.
    for check in machine.checks.iter().filter(|check| check.result.value != CheckResult::NotDone) {
        ahead.look("check", check.day.as_ref(), None, &format!(" \"{}\"", check.item.value.trim()));
    }
    ahead.told()
}

/// The readings of days to come, which are doubts of their own.
fn readings_ahead(subject: &Subject<'_>) -> BTreeSet<(Date, Distance)> {
    let readings = subject.machine.readings.iter().map(|reading| (reading.day.value, reading.clock.value));
    readings.filter(|(day, _)| *day > subject.today).collect()
}

/// The records of days to come, as they are found.
struct Ahead<'s, 'a> {
    subject: &'s Subject<'a>,
    told_of: BTreeSet<(Date, Distance)>,
    /// Kind, what it is in words, and its day.
    found: Vec<(&'static str, String, &'a Entry<Date>)>,
}

impl<'a> Ahead<'_, 'a> {
    /// Takes a record down if its day is still to come, and its reading does not say so already.
    fn look(
        &mut self,
        kind: &'static str,
        day: Option<&'a Entry<Date>>,
        clock: Option<&Entry<Distance>>,
        which: &str,
    ) {
        let Some(day) = day.filter(|day| day.value > self.subject.today) else { return };
        if !clock.is_some_and(|clock| self.told_of.contains(&(day.value, clock.value))) {
            self.found.push((kind, format!("the {kind}{which}"), day));
        }
    }

    /// What was found, in an order that the order of the rows does not change.
    fn told(mut self) -> Vec<Doubt> {
        self.found
            .sort_by(|one, other| (one.2.value, one.0, &one.1).cmp(&(other.2.value, other.0, &other.1)));
        let mut keys = CountedKeys::default();
        let today = shown_day(self.subject.today);
        let doubt = |(kind, what, day): (&'static str, String, &Entry<Date>)| Doubt {
            key: keys.counted(format!("{kind} in the future {}", day.value)),
            day: day.value,
            what: format!("{what} is dated {}, after today, {today}", shown_day(day.value)),
            likely: match kind {
                "job" | "check" => "its day is mistyped, or it is not done yet".to_owned(),
                _ => "day, month or year is mistyped".to_owned(),
            },
            shown_by: vec![day_cell("day", day)],
        };
        self.found.into_iter().map(doubt).collect()
    }
}
