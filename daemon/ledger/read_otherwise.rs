//! Finds the kept records that a sheet would not give as it is read now: its kind, its columns, the order of its dates or
//! its unit were agreed otherwise since. They were never so.
//!
//! What an export has overwritten is no such record: it was read as the sheet is read now.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use jiff::civil::Date;
use rusqlite::Connection;

use super::body;
use super::failure::Trouble;
use super::places::SheetsByNumber;
use super::records::{Content, contents, kind};
use super::words::UNREADABLE;
use crate::origin::{Entry, SheetName};
use crate::sheets::{Row, Table};
use crate::yard::{self, Identity, MachineId, Record, RecordKind, Records};

/// The export that a sheet's records were last read from, as it is read now.
#[derive(Debug)]
pub struct ReadAnew {
    /// Its cells.
    pub table: Table,
    /// What its rows are now; `None` where it is left unread.
    pub kind: Option<RecordKind>,
    /// What it says.
    pub records: Records,
    /// The names that it gave machines, and gives none as it is read now.
    pub misnamed: Misnamed,
}

/// Names of machines that are none, each with what its row calls the machine now; `None` where no one machine stands
/// there.
pub type Misnamed = BTreeMap<MachineId, Option<Identity>>;

/// What is taken back of one sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenBack {
    /// Which sheet.
    pub name: SheetName,
    /// How many records of each kind, by the kind's name.
    pub counts: BTreeMap<&'static str, usize>,
    /// The names that were none.
    pub misnamed: Misnamed,
}

/// What is to be done about kept records that were read otherwise.
#[derive(Debug, Default)]
pub(super) struct Otherwise {
    /// What was never so.
    pub(super) wrong: HashSet<Content>,
    /// What was so of another machine: of that which its row names now.
    pub(super) renamed: BTreeMap<Content, Identity>,
    /// The names that were none, of all sheets.
    pub(super) misnamed: Misnamed,
}

/// A kept record of a sheet.
struct Kept {
    content: Content,
    last_seen: String,
    row: u32,
    identity: Identity,
    record: Record,
}

/// Where the values of a record stand: what each is, and its column.
type Slots = Vec<(&'static str, u32)>;

/// The records that were read otherwise, and how many they are of each sheet.
pub(super) fn find(
    connection: &Connection,
    sheets: &[ReadAnew],
) -> Result<(Otherwise, Vec<TakenBack>), Trouble> {
    let mut wanted: BTreeMap<&SheetName, Vec<Kept>> =
        sheets.iter().map(|sheet| (&*sheet.table.name, Vec::new())).collect();
    let by_number = SheetsByNumber::read(connection)?;
    let mut statement = connection.prepare("SELECT content, last_seen, body FROM record ORDER BY id")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (content, last_seen) = (row.get(0)?, row.get(1)?);
        let (identity, record) = body::read(row.get_ref(2)?.as_str().map_err(|_| UNREADABLE)?, &by_number)?;
        let Some((name, row)) = identity.cell().map(|cell| (cell.name.clone(), cell.row)) else { continue };
        if let Some(kept) = wanted.get_mut(&*name) {
            kept.push(Kept { content, last_seen, row, identity, record });
        }
    }
    let (mut otherwise, mut taken_back) = (Otherwise::default(), Vec::new());
    for sheet in sheets {
        let Some(kept) = wanted.remove(&*sheet.table.name) else { continue };
        let misnamed = || kept.iter().filter_map(|kept| Some((kept, sheet.machine_now(&kept.identity)?)));
        let of_no_machine = misnamed().filter(|(_, now)| now.is_none()).map(|(kept, _)| kept);
        let mut counts = BTreeMap::new();
        for kept in wrong(sheet, &kept).into_iter().chain(of_no_machine) {
            if otherwise.wrong.insert(kept.content) {
                *counts.entry(kind(&kept.record).unwrap_or("record")).or_default() += 1;
            }
        }
        let now = misnamed().filter_map(|(kept, now)| Some((kept.content, now?.clone())));
        otherwise.renamed.extend(now.filter(|(content, _)| !otherwise.wrong.contains(content)));
        otherwise.misnamed.extend(sheet.misnamed.clone());
        if !counts.is_empty() || !sheet.misnamed.is_empty() {
            let (name, misnamed) = (SheetName::clone(&sheet.table.name), sheet.misnamed.clone());
            taken_back.push(TakenBack { name, counts, misnamed });
        }
    }
    Ok((otherwise, taken_back))
}

impl ReadAnew {
    /// What the row calls the machine now that a kept one called by a name that is none; `None` where all its names
    /// still are.
    fn machine_now(&self, identity: &Identity) -> Option<Option<&Identity>> {
        MachineId::each(identity).find_map(|name| self.misnamed.get(&name)).map(Option::as_ref)
    }
}

/// Of a sheet's kept records those that it was never to give.
fn wrong<'k>(sheet: &ReadAnew, kept: &'k [Kept]) -> Vec<&'k Kept> {
    let Some(last) = kept.iter().map(|kept| kept.last_seen.as_str()).max() else { return Vec::new() };
    let said: HashSet<Content> = contents(&sheet.records).map(|(content, _)| content).collect();
    let now = Now::of(sheet);
    let (of_last, older): (Vec<&Kept>, Vec<&Kept>) = kept.iter().partition(|kept| kept.last_seen == last);
    let rows: HashMap<u32, Row<'_>> = sheet.table.rows().iter().map(|row| (row.number, row)).collect();
    let mut wrong: Vec<&Kept> = Vec::new();
    let (mut layouts, mut turned, mut units) = (HashSet::new(), HashSet::new(), HashSet::new());
    let stands_there = |kept: &&Kept| rows.get(&kept.row).is_some_and(|row| is_from(kept, *row));
    for kept in of_last.into_iter().filter(|kept| !said.contains(&kept.content)).filter(stands_there) {
        let layout = (kind(&kept.record), slots(&kept.record));
        if !now.gives(&layout) {
            layouts.insert(layout);
        } else if now.has_turned(kept) {
            turned.insert(layout);
        } else if let Some(unit) = now.has_another_unit(kept) {
            units.insert((layout, unit));
        } else if !now.has_other_words(kept) {
            continue;
        }
        wrong.push(kept);
    }
    // What was read from earlier exports in the same way was wrong, too.
    wrong.extend(older.into_iter().filter(|kept| !said.contains(&kept.content)).filter(|kept| {
        let layout = (kind(&kept.record), slots(&kept.record));
        layouts.contains(&layout)
            || (turned.contains(&layout) && day(&kept.record).is_some_and(|day| turned_round(day).is_some()))
            || units.contains(&(layout, units_of(&kept.record)))
    }));
    wrong
}

/// Whether a kept record was read from this row: it names the machine in the same cell, and has something in each of the
/// others, in those of distances the same figures.
fn is_from(kept: &Kept, row: Row<'_>) -> bool {
    let plain = |text: &str| {
        text.chars().filter(|letter| letter.is_alphanumeric()).collect::<String>().to_uppercase()
    };
    let named = |cell: &crate::origin::Origin| {
        let shown = plain(&row.cell(cell.column as usize).shown());
        kept.identity.names().into_iter().flatten().any(|name| plain(name) == shown)
    };
    let figures = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
    let slots = slots(&kept.record);
    let is_there = |(what, column): &(&str, u32)| {
        let cell = row.cell(*column as usize);
        let [clock, distance] = distances(&kept.record);
        let written = match *what {
            "clock" => clock,
            "distance" => distance,
            _ => None,
        };
        let fits =
            |(tenths, _): (i64, _)| figures(&cell.shown()).starts_with(&figures(&(tenths / 10).to_string()));
        !cell.is_blank() && written.is_none_or(fits)
    };
    kept.identity.cell().is_some_and(named) && slots.iter().filter(|(what, _)| *what != "item").all(is_there)
}

/// How a sheet is read now.
struct Now<'s> {
    sheet: &'s ReadAnew,
    /// The columns of each value of each kind.
    columns: BTreeSet<(Option<&'static str>, &'static str, u32)>,
    by_row: BTreeMap<u32, Vec<&'s (Identity, Record)>>,
}

impl Now<'_> {
    fn of(sheet: &ReadAnew) -> Now<'_> {
        let mut columns = BTreeSet::new();
        let mut by_row: BTreeMap<u32, Vec<&(Identity, Record)>> = BTreeMap::new();
        for said in &sheet.records.records {
            let of_kind = kind(&said.1);
            columns.extend(slots(&said.1).into_iter().map(|(what, column)| (of_kind, what, column)));
            if let Some(cell) = said.0.cell() {
                by_row.entry(cell.row).or_default().push(said);
            }
        }
        Now { sheet, columns, by_row }
    }

    /// Whether the sheet may give a record of that kind from these columns.
    fn gives(&self, (of_kind, slots): &(Option<&'static str>, Slots)) -> bool {
        match self.sheet.kind {
            None => return false,
            Some(RecordKind::Machine) => {}
            Some(log) => {
                if Some(log.name()) != *of_kind {
                    return false;
                }
            }
        }
        let has = |what: &str| self.columns.iter().any(|(kind, other, _)| kind == of_kind && *other == what);
        let is_any = self.columns.iter().any(|(kind, ..)| kind == of_kind);
        let is_of_columns = |(what, column): &(&'static str, u32)| {
            !has(what) || self.columns.contains(&(*of_kind, *what, *column))
        };
        // Without a record of that kind nothing shows where one would stand.
        if is_any { slots.iter().all(is_of_columns) } else { self.sheet.records.records.is_empty() }
    }

    /// The records that stand now where a kept one stood, in the same columns.
    fn in_place<'n>(&'n self, kept: &'n Kept) -> impl Iterator<Item = &'n Record> {
        let here = self.by_row.get(&kept.row).map(Vec::as_slice).unwrap_or_default();
        here.iter()
            .filter(|(identity, _)| identity.names() == kept.identity.names())
            .map(|(_, record)| record)
            .filter(|record| kind(record) == kind(&kept.record) && slots(record) == slots(&kept.record))
    }

    /// Whether its row says the same of the day with day and month changed round.
    fn has_turned(&self, kept: &Kept) -> bool {
        let Some(other) = day(&kept.record).and_then(turned_round) else { return false };
        self.in_place(kept).any(|record| day(record) == Some(other))
    }

    /// Whether its row says something else of the same day and figures: the last service was the first one.
    fn has_other_words(&self, kept: &Kept) -> bool {
        let is_of_same = |record: &Record| {
            day(record).is_some()
                && day(record) == day(&kept.record)
                && distances(record) == distances(&kept.record)
        };
        self.in_place(kept).any(is_of_same)
    }

    /// The units of a kept record, where its row has the same figures in another unit.
    fn has_another_unit(&self, kept: &Kept) -> Option<Units> {
        let figures = |record: &Record| distances(record).map(|distance| distance.map(|(tenths, _)| tenths));
        let is_other = |record: &&Record| {
            figures(record) == figures(&kept.record)
                && units_of(record) != units_of(&kept.record)
                && day(record) == day(&kept.record)
        };
        self.in_place(kept).find(is_other).map(|_| units_of(&kept.record))
    }
}

/// The units of a record's clock and distance as text; `None` where none was written.
type Units = [Option<&'static str>; 2];

/// A distance as written: its tenths, and its unit.
type Written = Option<(i64, Option<&'static str>)>;

fn distances(record: &Record) -> [Written; 2] {
    let written = |entry: Option<&Entry<crate::yard::WrittenDistance>>| {
        entry.map(|entry| (entry.value.tenths, entry.value.unit.map(crate::units::DistanceUnit::plural)))
    };
    match record {
        Record::Machine(_) | Record::Check(_) => [None, None],
        Record::Reading(reading) => [written(Some(&reading.clock)), None],
        Record::Job(job) => [written(job.clock.as_ref()), None],
        Record::Ride(ride) => [written(ride.clock.as_ref()), written(ride.distance.as_ref())],
        Record::Fill(fill) => [written(fill.clock.as_ref()), None],
    }
}

fn units_of(record: &Record) -> Units {
    distances(record).map(|written| written.and_then(|(_, unit)| unit))
}

/// The day of a record that has one of its own.
fn day(record: &Record) -> Option<Date> {
    let day = match record {
        Record::Machine(_) => None,
        Record::Reading(reading) => Some(&reading.day).filter(|_| !reading.is_undated()),
        Record::Job(job) => job.day.as_ref(),
        Record::Check(check) => check.day.as_ref(),
        Record::Ride(ride) => ride.day.as_ref(),
        Record::Fill(fill) => fill.day.as_ref(),
    };
    day.map(|day| day.value)
}

/// The other day that the figures of one may mean; `None` where there is none.
fn turned_round(day: Date) -> Option<Date> {
    let other = Date::new(day.year(), day.day(), day.month()).ok();
    other.filter(|other| *other != day)
}

fn slots(record: &Record) -> Slots {
    yard::parts(record).into_iter().map(|part| (part.what, part.cell.column)).collect()
}
