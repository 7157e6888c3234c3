//! Whether a row says now what it said before, with one slip put right.

use jiff::civil::Date;

use super::{Check, CheckResult, Fill, Identity, Job, Reading, Record, Ride};
use crate::origin::Entry;

/// The one thing that differs between what a row said and what it says now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Correction {
    /// Which machine it is about.
    Machine,
    /// The day, and it can be no second event.
    Day,
    /// A later day. Where a sheet overwrites what it said before, this can be the next reading, service or check.
    LaterDay,
    /// Any other value.
    Value,
}

impl Correction {
    /// What was put right, where a row said the first and now says the second; `None` where it says the same, or
    /// where so much differs that it tells of something else.
    pub fn between(was: &(Identity, Record), now: &(Identity, Record)) -> Option<Correction> {
        let ((was_of, was), (now_of, now)) = (was, now);
        let compared = Compared::records(was, now)?;
        let names_differ = was_of.names() != now_of.names();
        if !names_differ && puts_right(was, now) {
            return Some(Correction::Value);
        }
        match (names_differ, compared.day, compared.values) {
            (true, None, 0) => Some(Correction::Machine),
            (false, Some(Change::Later), 0) if may_come_again(now) && !is_year_put_right(was, now) => {
                Some(Correction::LaterDay)
            }
            (false, Some(_), 0) => Some(Correction::Day),
            // Without a day nothing says that it is about the same event still.
            (false, None, 1) if compared.is_dated => Some(Correction::Value),
            _ => None,
        }
    }
}

/// Whether the same figure of a clock now stands beside the same day of another year: the year was mistyped, since hardly a
/// clock shows the same on two days that lie exactly a year apart. Our decision.
fn is_year_put_right(was: &Record, now: &Record) -> bool {
    let (Record::Reading(was), Record::Reading(now)) = (was, now) else { return false };
    let (was, now) = (was.day.value, now.day.value);
    (was.month(), was.day()) == (now.month(), now.day())
}

/// Whether a result has another in its place, of the same check and of no other day, that is the newest word of it: where
/// nobody could read the one before, or neither has a day.
fn puts_right(was: &Record, now: &Record) -> bool {
    let (Record::Check(was), Record::Check(now)) = (was, now) else { return false };
    let day = |check: &Check| check.day.as_ref().map(|day| day.value);
    let is_replaced = match was.result.value {
        CheckResult::Unclear | CheckResult::Undated => {
            !matches!(now.result.value, CheckResult::Unclear | CheckResult::Undated)
        }
        CheckResult::Failed => day(was).is_none() && now.result.value == CheckResult::Passed,
        CheckResult::Passed | CheckResult::NotDone => false,
    };
    is_replaced && was.item.value == now.item.value && (day(was).is_none() || day(was) == day(now))
}

/// Whether a bad result is gone from its row, and what stood there earlier stands there again. Whoever signed, and
/// whatever the row called its check while nobody could read it, are no second check.
pub fn is_put_back(was: &(Identity, Record), now: &(Identity, Record)) -> bool {
    let ((was_of, Record::Check(was)), (now_of, Record::Check(now))) = (was, now) else { return false };
    let day = |check: &Check| check.day.as_ref().map(|day| day.value);
    let is_of_it = match was.result.value {
        CheckResult::Unclear => true,
        CheckResult::Failed => was.item.value == now.item.value,
        CheckResult::Passed | CheckResult::Undated | CheckResult::NotDone => false,
    };
    is_of_it
        && now.result.value != was.result.value
        && was.result.origin.column == now.result.origin.column
        && was_of.names() == now_of.names()
        && (day(was).is_none() || day(was) == day(now))
}

/// Whether the same can truly be said again of a later day: a clock stood still, a check passed once more. A ride, a
/// fill or a job at the same figure on the clock is rather the same one, and a test ride must never count twice.
fn may_come_again(record: &Record) -> bool {
    match record {
        Record::Reading(_) | Record::Check(_) => true,
        Record::Job(job) => job.clock.is_none(),
        Record::Machine(_) | Record::Ride(_) | Record::Fill(_) => false,
    }
}

/// How a day changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Change {
    Later,
    /// It went back, or one of the two is missing.
    Otherwise,
}

/// What differs between two records of one kind.
struct Compared {
    is_dated: bool,
    day: Option<Change>,
    /// How many other values differ.
    values: usize,
    /// Whether all that both say stands in the same columns. A row can tell of several rides or checks.
    same_columns: bool,
}

impl Compared {
    /// `None` for different kinds or columns, what a row says of the machine itself, and a clock without a day of its
    /// own, which is read anew with every export.
    fn records(was: &Record, now: &Record) -> Option<Compared> {
        let compared = match (was, now) {
            (Record::Reading(was), Record::Reading(now)) if !was.is_undated() && !now.is_undated() => {
                let Reading { day, clock } = was;
                Compared::days(Some(day), Some(&now.day)).and(Some(clock), Some(&now.clock))
            }
            (Record::Job(Job { day, done, clock, oil, by, doubt }), Record::Job(now)) => {
                Compared::days(day.as_ref(), now.day.as_ref())
                    .and(Some(done), Some(&now.done))
                    .and(clock.as_ref(), now.clock.as_ref())
                    .and(oil.as_ref(), now.oil.as_ref())
                    .and(by.as_ref(), now.by.as_ref())
                    .and(doubt.as_ref(), now.doubt.as_ref())
            }
            (Record::Check(Check { day, time: _, item, result, remark: _, by }), Record::Check(now)) => {
                Compared::days(day.as_ref(), now.day.as_ref())
                    .and(Some(item), Some(&now.item))
                    .and(Some(result), Some(&now.result))
                    .and(by.as_ref(), now.by.as_ref())
            }
            (Record::Ride(Ride { day, distance, top_speed, speed_source, clock, by }), Record::Ride(now)) => {
                Compared::days(day.as_ref(), now.day.as_ref())
                    .and(distance.as_ref(), now.distance.as_ref())
                    .and(top_speed.as_ref(), now.top_speed.as_ref())
                    .and(speed_source.as_ref(), now.speed_source.as_ref())
                    .and(clock.as_ref(), now.clock.as_ref())
                    .and(by.as_ref(), now.by.as_ref())
            }
            (Record::Fill(Fill { day, clock, volume, grade, full }), Record::Fill(now)) => {
                Compared::days(day.as_ref(), now.day.as_ref())
                    .and(clock.as_ref(), now.clock.as_ref())
                    .and(volume.as_ref(), now.volume.as_ref())
                    .and(grade.as_ref(), now.grade.as_ref())
                    .and(full.as_ref(), now.full.as_ref())
            }
            _ => return None,
        };
        compared.same_columns.then_some(compared)
    }

    fn days(was: Option<&Entry<Date>>, now: Option<&Entry<Date>>) -> Compared {
        let (was_day, now_day) = (was.map(|day| day.value), now.map(|day| day.value));
        let is_later = was_day.is_some() && was_day < now_day;
        let change = if is_later { Change::Later } else { Change::Otherwise };
        Compared {
            is_dated: now.is_some(),
            day: (was_day != now_day).then_some(change),
            values: 0,
            same_columns: in_same_column(was, now),
        }
    }

    fn and<T: PartialEq>(mut self, was: Option<&Entry<T>>, now: Option<&Entry<T>>) -> Compared {
        self.values += usize::from(was.map(|entry| &entry.value) != now.map(|entry| &entry.value));
        self.same_columns &= in_same_column(was, now);
        self
    }
}

fn in_same_column<T>(was: Option<&Entry<T>>, now: Option<&Entry<T>>) -> bool {
    was.zip(now).is_none_or(|(was, now)| was.origin.column == now.origin.column)
}
