//! What a sheet said of a machine and has taken back since: a check, a ride or a service that was written down by
//! mistake.
//!
//! What has only rolled out of a log, or was overwritten by what came after it, was so, and is none of this; nor is it what
//! went with a whole column or row, until that is back.

mod columns;
mod undated_clocks;

use std::cell::LazyCell;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::mem::Discriminant;

use super::{
    CheckResult, Correction, Identity, Job, Part, Reading, Record, RecordKind, WrittenDistance, parts,
};
use columns::Group;
pub use columns::{ColumnsRead, ToldBy, Witness};
pub use undated_clocks::DatedClocks;
use undated_clocks::UndatedClocks;

/// A log from which a machine is gone with so many rows at once is a list of other machines now. Our decision.
const LEFT_WITH: usize = 3;

/// What a row said of a machine.
type Said = (Identity, Record);

/// A sheet as it is read today.
#[derive(Debug, Clone, Copy)]
pub struct SheetToday<'s> {
    /// Its columns.
    pub columns: &'s ColumnsRead,
    /// What it says.
    pub said: &'s [&'s Said],
    /// What of that it did not say when it was read last.
    pub new: &'s [&'s Said],
    /// What of that it never said.
    pub never_said: &'s [&'s Said],
    /// Whether it lacks many rows.
    pub rows: RowsLacking,
    /// The farthest clocks that any sheet or the history gives with their days.
    pub dated_clocks: &'s DatedClocks,
}

impl SheetToday<'_> {
    /// What it says again, having said something else when it was read last.
    fn said_again(&self) -> HashSet<*const Said> {
        let all = |said: &[&Said]| -> HashSet<*const Said> {
            said.iter().map(|said| std::ptr::from_ref(*said)).collect()
        };
        &all(self.new) - &all(self.never_said)
    }
}

/// Whether a sheet lacks many of the rows that it had.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum RowsLacking {
    /// No more than a day's work takes away.
    #[default]
    Few,
    /// Many, and it is not sure that this is meant.
    Many,
    /// Many, and it is meant.
    ManyAsMeant,
}

/// What a sheet said once and does not say today, and what counts still.
#[derive(Debug, Clone, Copy)]
pub struct Standing<'s> {
    /// What it is.
    pub said: &'s Said,
    /// By which columns it was told.
    pub witness: &'s Witness,
    /// Whether its row need not be there any more.
    pub is_let_go: bool,
    /// Whether its sheet said it when it was read last.
    pub is_of_last: bool,
    /// Whether it is of a day after the one on which its sheet said it last, and so a slip in any case.
    pub is_ahead: bool,
}

/// What is to become of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// It counts, as its row or its columns are gone or are not taken; when they are back it is looked at again.
    Waits,
    /// It was so, and counts on: a later one overwrote it, or its row rolled off its log.
    LetGo,
    /// It counts no more.
    TakenBack(How),
}

/// How something was taken back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum How {
    /// Its row stands, and is blank there or says no.
    Blank,
    /// Its row stands, and says something else.
    Otherwise,
    /// Its row stands, and says the same and more, or says it in other letters or with another signature.
    Fuller,
    /// It was written down twice, and stands there once still.
    StandsOnce,
    /// Its row is gone, and older ones are not.
    RowGone,
    /// Another machine has it now.
    Moved,
}

/// What is to become of each of the things that a sheet said once, counts still, and is not said today.
///
/// It is taken back where its row stands, its columns are read, and the row does not say it; it does not matter when it
/// was said last. A check that failed never is: what an export lacks settles nothing.
pub fn fates(sheet: &SheetToday<'_>, standing: &[Standing<'_>]) -> Vec<Fate> {
    let is_machines = sheet.columns.kind == Some(RecordKind::Machine);
    let beside = if is_machines { in_machine_rows(sheet, standing) } else { in_log(sheet, standing) };
    let columns = Columns::of(sheet, standing, &beside);
    let fate = |(standing, beside): (&Standing<'_>, &Beside<'_>)| {
        let is_fill_ahead = standing.is_ahead && matches!(standing.said.1, Record::Fill(_));
        // A row that says less than its undated clock said.
        let is_slip = is_undated_clock(&standing.said.1) && matches!(beside, Beside::Row(..));
        if !(may_settle(&standing.said.1) || is_fill_ahead || is_slip) || standing.witness.is_unknown() {
            return Fate::Waits;
        }
        match *beside {
            Beside::Nothing => Fate::Waits,
            // A log that broke off seems to begin late.
            Beside::Later if !is_machines && sheet.rows == RowsLacking::Many => Fate::Waits,
            Beside::Later => Fate::LetGo,
            Beside::Moved => Fate::TakenBack(How::Moved),
            Beside::Row(other, row) => columns.how(standing, other, row).map_or(Fate::Waits, Fate::TakenBack),
            Beside::NoRow => match sheet.rows {
                RowsLacking::Many => Fate::Waits,
                RowsLacking::ManyAsMeant => Fate::LetGo,
                RowsLacking::Few if columns.are_all_read(standing) => Fate::TakenBack(How::RowGone),
                RowsLacking::Few => Fate::Waits,
            },
        }
    };
    // Asked for where something is taken back, which is seldom.
    let said = LazyCell::new(|| sheet.said.iter().map(|said| all_of(said)).collect::<HashSet<_>>());
    let once_still = |standing: &Standing<'_>, fate: Fate| match fate {
        Fate::TakenBack(_) if said.contains(&all_of(standing.said)) => Fate::TakenBack(How::StandsOnce),
        _ => fate,
    };
    let with_fates = standing.iter().zip(&beside);
    with_fates.map(|(standing, beside)| once_still(standing, fate((standing, beside)))).collect()
}

/// All that a row says, and of which machine.
fn all_of((identity, record): &Said) -> (Values, [Option<&str>; 3]) {
    ((kind(record), values(record)), identity.names())
}

/// What a sheet has today in the place of what it said once.
#[derive(Debug, Clone, Copy)]
enum Beside<'s> {
    /// Nothing shows what has become of it.
    Nothing,
    /// What came after it, or nothing since it rolled off.
    Later,
    /// The row, by its number, with what it tells of the same thing now, if it does.
    Row(Option<&'s Said>, Option<u32>),
    /// The same in another machine's row.
    Moved,
    /// No row, although older ones stand.
    NoRow,
}

/// Whether something due may be done with by it.
fn may_settle(record: &Record) -> bool {
    match record {
        Record::Check(check) => check.result.value == CheckResult::Passed,
        Record::Ride(_) | Record::Job(_) => true,
        Record::Reading(_) => !is_undated_clock(record),
        Record::Machine(_) | Record::Fill(_) => false,
    }
}

fn is_undated_clock(record: &Record) -> bool {
    matches!(record, Record::Reading(reading) if reading.is_undated())
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

/// What stands in the machines' rows beside what they said once.
fn in_machine_rows<'s>(sheet: &SheetToday<'s>, standing: &[Standing<'_>]) -> Vec<Beside<'s>> {
    let by_name = ByName::of(sheet.said.iter().map(|(identity, _)| identity));
    let said_again = sheet.said_again();
    let undated = LazyCell::new(|| UndatedClocks::of(standing));
    let beside = |standing: &Standing<'_>| {
        let (identity, record) = standing.said;
        let Some(group) = standing.witness.group().filter(|_| !standing.is_let_go) else {
            return Beside::Nothing;
        };
        let named: Vec<&Said> =
            by_name.with_name_of(identity).into_iter().map(|place| sheet.said[place]).collect();
        // A stock number may have come to another machine.
        let likest = named.iter().map(|(other, _)| likeness(identity, other)).max();
        let of_machine = || named.iter().filter(|(other, _)| Some(likeness(identity, other)) == likest);
        // A machine that is gone from the sheet takes nothing back.
        let Some(machine) = of_machine().find(|(_, other)| matches!(other, Record::Machine(_))) else {
            return Beside::Nothing;
        };
        let mut there = of_machine()
            .filter(|(_, other)| is_one_kind(record, other) && sheet.columns.group(other) == Some(group));
        let other = there.next().copied();
        let is_overwritten = match (record, other) {
            (Record::Reading(was), Some((_, Record::Reading(now)))) if was.is_undated() => {
                let is_slip =
                    now.is_undated() && undated.is_slip((identity, was), now, (group, sheet.dated_clocks));
                !is_slip
            }
            (Record::Reading(was), None) if was.is_undated() => return Beside::Nothing,
            // A clock in a machine's row is overwritten by the next one, and by no earlier one.
            (Record::Reading(was), Some(said @ (_, Record::Reading(now)))) => {
                let is_said_again = said_again.contains(&std::ptr::from_ref(said));
                !is_clock_put_back(was, now) && !standing.is_ahead && !is_said_again
            }
            (Record::Reading(_), _) if !standing.is_ahead => return Beside::Nothing,
            (_, Some((_, other))) => {
                matches!(group.0, "last service" | "annual service" | "brake fluid")
                    && is_later(other, record)
            }
            (_, None) => false,
        };
        if is_overwritten { Beside::Later } else { Beside::Row(other, row(machine)) }
    };
    standing.iter().map(beside).collect()
}

/// Whether a row's clock was set to an earlier day, or to another figure of the same one: what the row says now is the
/// newest word.
fn is_clock_put_back(was: &Reading<WrittenDistance>, now: &Reading<WrittenDistance>) -> bool {
    !was.is_undated() && !now.is_undated() && now.day.value <= was.day.value
}

/// What stands in the rows of a log beside what they said once.
fn in_log<'s>(sheet: &SheetToday<'s>, standing: &[Standing<'_>]) -> Vec<Beside<'s>> {
    let new = sheet.new;
    let names_now = ByName::of(sheet.said.iter().map(|(identity, _)| identity));
    let names_gone =
        ByName::of(standing.iter().filter(|standing| !standing.is_let_go).map(|standing| &standing.said.0));
    let names_new = ByName::of(new.iter().map(|(identity, _)| identity));
    let by_values: HashMap<Values, &Said> =
        new.iter().rev().map(|said| ((kind(&said.1), values(&said.1)), *said)).collect();
    let first_left = sheet.said.iter().filter_map(|(_, record)| record.day()).min();
    let is_of_first = |standing: &&Standing<'_>| first_left.is_some() && standing.said.1.day() == first_left;
    let of_first = standing.iter().filter(is_of_first).count();
    let (said_again, mut taken) = (sheet.said_again(), HashSet::new());
    let mut beside = |standing: &Standing<'_>| {
        let (identity, record) = standing.said;
        let is_older = record.day().zip(first_left).is_some_and(|(day, left)| day < left);
        let near = names_new.with_name_of(identity).into_iter().filter(|place| {
            let is_of_day = new[*place].1.day() == record.day();
            // In the row of what rolled off stands something else.
            let may_be_it =
                !is_older || row(new[*place]) != row(standing.said) || new[*place].1.day().is_none();
            if standing.is_let_go { is_of_day } else { may_be_it }
        });
        let near: Vec<usize> = near.filter(|place| !taken.contains(place)).collect();
        if let Some(place) = in_its_place(standing.said, near.iter(), new) {
            taken.insert(place);
            let (other, in_row) = (new[place], row(new[place]));
            let is_slip = !standing.is_let_go
                && (standing.is_ahead
                    || (in_row == row(standing.said) && said_again.contains(&std::ptr::from_ref(other))));
            // Of two readings of one day the sheet's last one counts in any case.
            let counts_on = matches!(record, Record::Reading(_)) && !is_slip;
            return if counts_on { Beside::Later } else { Beside::Row(Some(other), in_row) };
        }
        if standing.is_let_go {
            return Beside::Nothing;
        }
        if let Some(other) = by_values.get(&(kind(record), values(record))) {
            return if row(standing.said) == row(other) { Beside::Nothing } else { Beside::Moved };
        }
        let Some(left) = first_left else { return Beside::Nothing };
        let has_rolled_off =
            record.day().is_some_and(|day| day < left || (day == left && new.len() >= of_first));
        let has_left = names_now.with_name_of(identity).is_empty()
            && names_gone.with_name_of(identity).len() >= LEFT_WITH;
        // What a clock showed is never forgotten for want of a row: something may be due by it.
        let is_clock = matches!(record, Record::Reading(_)) && !standing.is_ahead;
        if has_rolled_off || has_left || is_clock {
            return Beside::Later;
        }
        Beside::NoRow
    };
    standing.iter().map(&mut beside).collect()
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

/// The columns of today's sheet, with how many values each has lost.
struct Columns<'c> {
    today: &'c ColumnsRead,
    lost: BTreeMap<&'c ToldBy, usize>,
    /// What the sheet never said before.
    never_said: HashSet<*const Said>,
}

impl<'c> Columns<'c> {
    fn of(sheet: &SheetToday<'c>, standing: &'c [Standing<'c>], beside: &[Beside<'_>]) -> Columns<'c> {
        let mut lost: BTreeMap<&ToldBy, usize> = BTreeMap::new();
        for (standing, beside) in standing.iter().zip(beside) {
            let Beside::Row(other, _) = beside else { continue };
            for part in parts(&standing.said.1) {
                if let Some(column) = standing.witness.column(part.what).filter(|_| is_blank(&part, *other)) {
                    *lost.entry(column).or_default() += 1;
                }
            }
        }
        let never_said = sheet.never_said.iter().map(|said| std::ptr::from_ref(*said)).collect();
        Columns { today: sheet.columns, lost, never_said }
    }

    /// Whether a row says now what it said when it was read last, with one slip put right: that the ledger puts right,
    /// too.
    fn is_put_right(&self, standing: &Standing<'_>, other: &Said) -> bool {
        let correction = Correction::between(standing.said, other);
        standing.is_of_last
            && self.never_said.contains(&std::ptr::from_ref(other))
            && row(standing.said) == row(other)
            && matches!(correction, Some(Correction::Day | Correction::Value | Correction::Machine))
    }

    /// Whether the column of a value is there today, and is not emptied as a whole, so that a blank in it is somebody's.
    fn is_there(&self, standing: &Standing<'_>, part: &Part<'_>, row: Option<u32>) -> bool {
        standing.witness.column(part.what).is_none_or(|column| {
            let lost = self.lost.get(column).copied().unwrap_or_default();
            self.today.is_there(column, row) && !self.today.is_emptied(column, lost)
        })
    }

    /// Whether that column is read as it was, too.
    fn is_read(&self, standing: &Standing<'_>, part: &Part<'_>, row: Option<u32>) -> bool {
        let column = standing.witness.column(part.what);
        self.is_there(standing, part, row) && column.is_none_or(|column| self.today.is_read(column, row))
    }

    fn are_all_read(&self, standing: &Standing<'_>) -> bool {
        self.today.are_rows_clear()
            && parts(&standing.said.1).iter().all(|part| self.is_read(standing, part, None))
    }

    /// Whether what was said counts no more, where its row says this in its place now.
    fn how(&self, standing: &Standing<'_>, other: Option<&Said>, in_row: Option<u32>) -> Option<How> {
        let said = standing.said;
        let was = parts(&said.1);
        let is_lost =
            |part: &Part<'_>| counts(&said.1).contains(&part.what) && self.is_there(standing, part, in_row);
        let Some(other) = other else {
            // Who signed may stand there still, and shows nothing by itself.
            let mut shown = was.iter().filter(|part| part.what != "by");
            return shown.any(is_lost).then_some(How::Blank);
        };
        let (blank, there): (Vec<&Part<'_>>, Vec<&Part<'_>>) =
            was.iter().partition(|part| is_blank(part, Some(other)));
        let is = values(&other.1);
        let is_changed =
            |part: &&&Part<'_>| !is.iter().any(|(what, value)| *what == part.what && *value == part.value);
        let changed: Vec<&&Part<'_>> = there.iter().filter(is_changed).collect();
        if changed.iter().any(|part| !self.is_read(standing, part, in_row)) {
            return None;
        }
        if blank.iter().any(|part| is_lost(part)) {
            return Some(if changed.is_empty() { How::Blank } else { How::Otherwise });
        }
        if changed.is_empty() {
            let is_the_same = !blank.is_empty() || is.len() == was.len();
            return (!is_the_same && !self.is_put_right(standing, other)).then_some(How::Fuller);
        }
        if changed.iter().all(|part| is_spelt_otherwise(part, &is)) {
            return (!self.is_put_right(standing, other)).then_some(How::Fuller);
        }
        (!self.is_put_right(standing, other)).then_some(How::Otherwise)
    }
}

/// Whether a value that has changed says the same, in other letters or with another signature below it: what stands there
/// now takes its place.
fn is_spelt_otherwise(part: &Part<'_>, now: &[(&'static str, String)]) -> bool {
    match part.what {
        "by" => true,
        "done" | "item" => {
            now.iter().any(|(what, value)| *what == part.what && plain(value) == plain(&part.value))
        }
        _ => false,
    }
}

/// The letters and figures of a text, whatever their case.
fn plain(text: &str) -> String {
    text.chars().filter(|letter| letter.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// Whether a value is not there in what stands in its place today.
fn is_blank(part: &Part<'_>, other: Option<&Said>) -> bool {
    let Some((_, other)) = other else { return true };
    let says_no = matches!(other, Record::Check(check) if check.result.value == CheckResult::NotDone);
    (says_no && part.what == "result") || parts(other).iter().all(|now| now.what != part.what)
}

/// The values of a record on which something may hang.
fn counts(record: &Record) -> &'static [&'static str] {
    match record {
        Record::Check(_) => &["day", "item", "result", "by"],
        Record::Ride(_) => &["day", "distance"],
        Record::Job(_) => &["day", "done", "doubt"],
        Record::Reading(_) => &["day", "clock"],
        Record::Fill(_) => &["day"],
        Record::Machine(_) => &[],
    }
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
        (Record::Check(one), Record::Check(other)) => plain(&one.item.value) == plain(&other.item.value),
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
