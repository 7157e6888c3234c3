//! What a sheet said of a machine and has taken back since: a check, a ride or a service that was written down by
//! mistake.
//!
//! What has only rolled out of a log, was overwritten by what came after it, or went with a whole column, was so, and
//! is none of this.

mod columns;

use std::cmp::Reverse;
use std::collections::{BTreeSet, HashMap, HashSet};
use std::mem::Discriminant;

use super::{CheckResult, Correction, Identity, Job, Part, ReadAs, Record, RecordKind, Records, parts};
use crate::sheets::Table;
use columns::Columns;

/// A log from which a machine is gone with so many rows at once is a list of other machines now. Our decision.
const LEFT_WITH: usize = 3;

/// What a row said of a machine.
type Said = (Identity, Record);

/// One of two exports of a sheet.
#[derive(Debug, Clone, Copy)]
pub struct SheetSide<'s> {
    /// Its cells.
    pub table: &'s Table,
    /// How it is read.
    pub read_as: &'s ReadAs,
    /// What it says.
    pub said: &'s Records,
}

/// How something was taken back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum How {
    /// Its row stands, and is blank there or says no.
    Blank,
    /// Its row stands, and says something else.
    Otherwise,
    /// Its row stands, and says the same and more.
    Fuller,
    /// Its row is gone, and older ones are not.
    RowGone,
    /// Another machine has it now.
    Moved,
}

/// What a sheet says no more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Withdrawn<'s> {
    /// What it was.
    pub said: &'s Said,
    /// How it was taken back.
    pub how: How,
}

/// What was taken back of what only the earlier export says; `new` is what only the later one says.
///
/// A check that failed never is: what an export lacks settles nothing.
pub fn withdrawn<'s>(
    (before, now): (&SheetSide<'s>, &SheetSide<'_>),
    gone: &[&'s Said],
    new: &[&Said],
) -> Vec<Withdrawn<'s>> {
    let columns = Columns::of(before, now);
    let gone: Vec<&'s Said> = gone.iter().copied().filter(|said| may_settle(&said.1)).collect();
    let how: Vec<(&Said, Option<How>)> = if before.read_as.kind == Some(RecordKind::Machine) {
        let by_name = ByName::of(now.said.records.iter().map(|(identity, _)| identity));
        gone.into_iter().map(|said| (said, of_machine_row(&columns, (now, &by_name), said))).collect()
    } else {
        of_log(&columns, (before, now), &gone, new)
    };
    how.into_iter().filter_map(|(said, how)| Some(Withdrawn { said, how: how? })).collect()
}

/// Whether something due may be done with by it.
fn may_settle(record: &Record) -> bool {
    match record {
        Record::Check(check) => check.result.value == CheckResult::Passed,
        Record::Ride(_) | Record::Job(_) => true,
        Record::Reading(reading) => !reading.is_undated(),
        Record::Machine(_) | Record::Fill(_) => false,
    }
}

/// The places of rows by each name that they give their machine.
struct ByName<'s> {
    places: HashMap<(usize, &'s str), Vec<usize>>,
}

impl<'s> ByName<'s> {
    fn of(identities: impl Iterator<Item = &'s Identity>) -> ByName<'s> {
        let mut places: HashMap<(usize, &str), Vec<usize>> = HashMap::new();
        for (place, identity) in identities.enumerate() {
            for (kind, name) in identity.names().into_iter().enumerate() {
                if let Some(name) = name {
                    places.entry((kind, name)).or_default().push(place);
                }
            }
        }
        ByName { places }
    }

    /// The rows that have a name of their machine in common with this one, in their order.
    fn with_name_of(&self, identity: &Identity) -> BTreeSet<usize> {
        let names = identity.names().into_iter().enumerate();
        names.filter_map(|(kind, name)| self.places.get(&(kind, name?))).flatten().copied().collect()
    }
}

/// What has become of a value of a machine's row.
fn of_machine_row(
    columns: &Columns<'_>,
    (now, by_name): (&SheetSide<'_>, &ByName<'_>),
    said: &Said,
) -> Option<How> {
    let (identity, record) = said;
    // A clock in a machine's row is overwritten by the next one.
    if matches!(record, Record::Reading(_)) {
        return None;
    }
    let group = columns.group_before(record)?;
    let named: Vec<&Said> =
        by_name.with_name_of(identity).into_iter().map(|place| &now.said.records[place]).collect();
    // A stock number may have come to another machine.
    let likest = named.iter().map(|(other, _)| likeness(identity, other)).max()?;
    let of_machine = || named.iter().filter(|(other, _)| likeness(identity, other) == likest);
    // A machine that is gone from the sheet takes nothing back.
    of_machine().find(|(_, other)| matches!(other, Record::Machine(_)))?;
    let mut there = of_machine()
        .filter(|(_, other)| is_one_kind(record, other) && columns.group_now(other) == Some(group));
    let other = there.next().copied();
    let is_overwritten = matches!(group.0, "last service" | "annual service" | "brake fluid")
        && other.is_some_and(|(_, other)| is_later(other, record));
    if is_overwritten { None } else { how(columns, said, other) }
}

/// What has become of the rows of a log.
fn of_log<'s>(
    columns: &Columns<'_>,
    (before, now): (&SheetSide<'_>, &SheetSide<'_>),
    gone: &[&'s Said],
    new: &[&Said],
) -> Vec<(&'s Said, Option<How>)> {
    let names_before = ByName::of(before.said.records.iter().map(|(identity, _)| identity));
    let names_now = ByName::of(now.said.records.iter().map(|(identity, _)| identity));
    let names_new = ByName::of(new.iter().map(|(identity, _)| identity));
    let by_values: HashMap<Values, &Said> =
        new.iter().rev().map(|said| ((kind(&said.1), values(&said.1)), *said)).collect();
    let first_left = now.said.records.iter().filter_map(|(_, record)| record.day()).min();
    let of_first =
        gone.iter().filter(|(_, record)| first_left.is_some() && record.day() == first_left).count();
    let mut taken = HashSet::new();
    let mut become_of = |said: &Said| {
        let (identity, record) = said;
        let is_older = record.day().zip(first_left).is_some_and(|(day, left)| day < left);
        let near = names_new.with_name_of(identity).into_iter().filter(|place| {
            // In the row of what rolled off stands something else.
            !is_older || row(new[*place]) != row(said) || new[*place].1.day().is_none()
        });
        let near: Vec<usize> = near.collect();
        if let Some(place) = in_its_place(said, near.iter().filter(|place| !taken.contains(*place)), new) {
            taken.insert(place);
            // Of two readings of one day the sheet's last one counts in any case.
            let is_reading = matches!(record, Record::Reading(_));
            return if is_reading { None } else { how(columns, said, Some(new[place])) };
        }
        if let Some(other) = by_values.get(&(kind(record), values(record))) {
            return (row(said) != row(other)).then_some(How::Moved);
        }
        // What a clock showed is never forgotten for want of a row: something may be due by it.
        if matches!(record, Record::Reading(_)) {
            return None;
        }
        let is_read_on = parts(record).iter().all(|part| columns.are_read_on(part.cell.column));
        let left = first_left?;
        let has_rolled_off =
            record.day().is_some_and(|day| day < left || (day == left && new.len() >= of_first));
        let has_left = names_now.with_name_of(identity).is_empty()
            && names_before.with_name_of(identity).len() >= LEFT_WITH;
        (is_read_on && !has_rolled_off && !has_left).then_some(How::RowGone)
    };
    gone.iter().map(|said| (*said, become_of(said))).collect()
}

/// The place among the new rows of the one that tells of the same: of the same machine and day, or in the same row.
fn in_its_place<'p>(said: &Said, near: impl Iterator<Item = &'p usize>, new: &[&Said]) -> Option<usize> {
    let record = &said.1;
    let is_it = |place: &&usize| {
        let other = &new[**place].1;
        let is_near = other.day() == record.day() || other.day().is_none();
        is_one_kind(record, other) && (is_near || row(new[**place]) == row(said))
    };
    let was = values(record);
    let rank = |place: usize| {
        let others = values(&new[place].1);
        let equal = was.iter().filter(|value| others.contains(value)).count();
        (likeness(&said.0, &new[place].0), equal, row(new[place]) == row(said), Reverse(place))
    };
    near.filter(is_it).copied().max_by_key(|place| rank(*place))
}

/// Whether what was said counts no more, where its row says this in its place now.
fn how(columns: &Columns<'_>, said: &Said, other: Option<&Said>) -> Option<How> {
    let record = &said.1;
    let was = parts(record);
    let Some(other) = other else {
        // Who signed may stand there still, and shows nothing by itself.
        let mut shown = was.iter().filter(|part| part.what != "by");
        return shown.any(|part| is_lost(columns, record, part)).then_some(How::Blank);
    };
    let is = values(&other.1);
    let now = |part: &Part<'_>| is.iter().find(|(what, _)| *what == part.what).map(|(_, value)| value);
    let says_no = matches!(&other.1, Record::Check(check) if check.result.value == CheckResult::NotDone);
    let is_blank = |part: &&Part<'_>| now(part).is_none() || (says_no && part.what == "result");
    let (blank, there): (Vec<&Part<'_>>, Vec<&Part<'_>>) = was.iter().partition(is_blank);
    let is_lost = blank.iter().any(|part| is_lost(columns, record, part));
    let changed: Vec<&&Part<'_>> = there.iter().filter(|part| now(part) != Some(&part.value)).collect();
    if changed.iter().any(|part| !columns.are_read_on(part.cell.column)) {
        return None;
    }
    if is_lost {
        return Some(if changed.is_empty() { How::Blank } else { How::Otherwise });
    }
    let is_slip = matches!(
        Correction::between(said, other),
        Some(Correction::Day | Correction::Value | Correction::Machine)
    );
    if changed.is_empty() {
        let is_the_same = !blank.is_empty() || is.len() == was.len();
        let is_put_right = is_slip && row(said) == row(other);
        return (!is_the_same && !is_put_right).then_some(How::Fuller);
    }
    // What was put right in its place the ledger puts right, too.
    (!is_slip || row(said) != row(other)).then_some(How::Otherwise)
}

/// Whether a value that is there no more was taken away by somebody, and something may hang on it.
fn is_lost(columns: &Columns<'_>, record: &Record, part: &Part<'_>) -> bool {
    let counts: &[&str] = match record {
        Record::Check(_) => &["day", "item", "result", "by"],
        Record::Ride(_) => &["day", "distance"],
        Record::Job(_) => &["day", "done"],
        Record::Machine(_) | Record::Reading(_) | Record::Fill(_) => &[],
    };
    counts.contains(&part.what) && columns.are_read_on(part.cell.column)
}

/// Whether a service came after another one: what overwrites it is the next one then.
fn is_later(record: &Record, was: &Record) -> bool {
    let (Record::Job(Job { day, clock, .. }), Record::Job(Job { day: was_day, clock: was_clock, .. })) =
        (record, was)
    else {
        return false;
    };
    match (day, was_day) {
        (Some(day), Some(was_day)) => day.value > was_day.value,
        (None, None) => clock.as_ref().zip(was_clock.as_ref()).is_some_and(|(clock, was)| {
            clock.value.unit == was.value.unit && clock.value.tenths > was.value.tenths
        }),
        _ => false,
    }
}

/// What a record says of what, whatever its machine.
type Values = (Discriminant<Record>, Vec<(&'static str, String)>);

fn kind(record: &Record) -> Discriminant<Record> {
    std::mem::discriminant(record)
}

fn values(record: &Record) -> Vec<(&'static str, String)> {
    parts(record).into_iter().map(|part| (part.what, part.value)).collect()
}

fn is_one_kind(one: &Record, other: &Record) -> bool {
    let is_one_item = match (one, other) {
        (Record::Check(one), Record::Check(other)) => one.item.value == other.item.value,
        _ => true,
    };
    kind(one) == kind(other) && is_one_item
}

/// How many names of their machines two rows have in common, less those in which they differ.
fn likeness(one: &Identity, other: &Identity) -> i32 {
    let names = one.names().into_iter().zip(other.names());
    names.filter_map(|(one, other)| Some(if one? == other? { 1 } else { -1 })).sum()
}

fn row((identity, _): &Said) -> Option<u32> {
    identity.cell().map(|cell| cell.row)
}
