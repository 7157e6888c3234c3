//! What the rows of a sheet say: readings, jobs, checks, rides and fills, each with the cell it came from.

use jiff::civil::{Date, Time};

use super::{CheckResult, EthanolLabel, HandedOn, Identity, KnownAs, MachineKind, SpeedSource, UnreadDay};
use crate::origin::Entry;
use crate::units::{Distance, DistanceUnit, Speed, Volume};

/// A distance as it was written: the count, and the unit where the cell, its header or the sheet's settings gave
/// one. Only once the machine is known can the rest be resolved by the unit of its clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
pub struct WrittenDistance {
    /// The count in tenths.
    pub tenths: i64,
    /// The unit, where anything near the cell gave one.
    pub unit: Option<DistanceUnit>,
}

impl WrittenDistance {
    /// The distance meant, when the machine's clock counts in the given unit.
    pub fn resolved(self, clock_unit: DistanceUnit) -> Distance {
        Distance::of_tenths(self.tenths, self.unit.unwrap_or(clock_unit))
    }
}

/// An odometer reading. `D` is [`WrittenDistance`] in a sheet's record and [`Distance`] on a machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading<D = Distance> {
    /// The day it was read.
    pub day: Entry<Date>,
    /// What the clock showed.
    pub clock: Entry<D>,
}

impl<D> Reading<D> {
    /// Whether no day was written beside the clock, so that its day is the one on which the sheet was exported: the
    /// clock showed this then or at some time before.
    pub fn is_undated(&self) -> bool {
        self.day.origin == self.clock.origin
    }
}

/// A finished workshop job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Job<D = Distance> {
    /// The day it was finished.
    pub day: Option<Entry<Date>>,
    /// What was done, in the workshop's own words.
    pub done: Entry<String>,
    /// What the clock showed then.
    pub clock: Option<Entry<D>>,
    /// The oil that went in, as written.
    pub oil: Option<Entry<String>>,
    /// Who did it.
    pub by: Option<Entry<String>>,
    /// What stands in another cell by which nobody can tell whether it was done: a credit note for it, `void` beside it.
    pub doubt: Option<Entry<String>>,
}

/// One inspection item with its result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Check {
    /// The day it was done.
    pub day: Option<Entry<Date>>,
    /// The time of that day, where its cell tells it.
    pub time: Option<Time>,
    /// Which item: `brakes`, `pre-delivery inspection`, `quality check`; from its cell or its column's header.
    pub item: Entry<String>,
    /// How it came out.
    pub result: Entry<CheckResult>,
    /// What stands in the cell of the result, where that is more than the bare result or is not understood.
    pub remark: Option<String>,
    /// Who signed for it.
    pub by: Option<Entry<String>>,
}

/// A road test or a recorded trip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ride<D = Distance> {
    /// The day it was ridden.
    pub day: Option<Entry<Date>>,
    /// How far.
    pub distance: Option<Entry<D>>,
    /// The highest speed.
    pub top_speed: Option<Entry<Speed>>,
    /// What that speed was read from.
    pub speed_source: Option<Entry<SpeedSource>>,
    /// What the clock showed at the end.
    pub clock: Option<Entry<D>>,
    /// Who rode.
    pub by: Option<Entry<String>>,
}

/// A fuel fill.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fill<D = Distance> {
    /// The day.
    pub day: Option<Entry<Date>>,
    /// What the clock showed.
    pub clock: Option<Entry<D>>,
    /// How much went in.
    pub volume: Option<Entry<Volume>>,
    /// The grade on the pump, as written.
    pub grade: Option<Entry<String>>,
    /// Whether the tank was full afterwards.
    pub full: Option<Entry<bool>>,
}

/// What a row says of the machine itself.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MachineRow {
    /// The maker.
    pub make: Option<Entry<String>>,
    /// The model.
    pub model: Option<Entry<String>>,
    /// The kind.
    pub kind: Option<Entry<MachineKind>>,
    /// The engine's size in cubic centimetres.
    pub engine_cc: Option<Entry<u32>>,
    /// The unit that its clock counts in.
    pub clock_unit: Option<Entry<DistanceUnit>>,
    /// First registered.
    pub registered: Option<Entry<Date>>,
    /// Made.
    pub built: Option<Entry<Date>>,
    /// Came into the shop.
    pub arrived: Option<Entry<Date>>,
    /// Sold.
    pub sold: Option<Entry<Date>>,
    /// Handed over, or to be handed over.
    pub handover: Option<Entry<Date>>,
    /// The customer's name.
    pub customer: Option<Entry<String>>,
    /// The customer's telephone number, as written.
    pub telephone: Option<Entry<String>>,
    /// Whether that number stands in a row of a workshop's book that leaves the name blank, so that it may be another's.
    pub number_alone: bool,
    /// Whether no sheet lists the machine, and only logs name it.
    pub is_from_logs: bool,
    /// The highest ethanol label that this machine may be filled with.
    pub fuel_allowed: Option<Entry<EthanolLabel>>,
    /// The oil it asks for, as written.
    pub oil_asked: Option<Entry<String>>,
    /// The last day of its MOT certificate.
    pub mot_expiry: Option<Entry<Date>>,
    /// What stands in place of that day, where it says that the machine is exempt, as written.
    pub mot_exempt: Option<Entry<String>>,
    /// The last day of its warranty.
    pub warranty_end: Option<Entry<Date>>,
    /// What somebody noted.
    pub note: Option<Entry<String>>,
    /// Why the clock that stands in the row does not count, as a sentence says it: ``the clock `c. 1400` cannot be read``.
    pub clock_unread: Option<Entry<String>>,
    /// The days of registration, sale and handover that are written down and not known.
    pub unread: Vec<UnreadDay>,
}

/// One thing that a row said, before it is known which machine it joins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Record {
    /// The machine itself.
    Machine(Box<MachineRow>),
    /// An odometer reading.
    Reading(Reading<WrittenDistance>),
    /// A finished job.
    Job(Job<WrittenDistance>),
    /// An inspection item.
    Check(Check),
    /// A ride.
    Ride(Ride<WrittenDistance>),
    /// A fill.
    Fill(Fill<WrittenDistance>),
}

impl Record {
    /// The day that it is of; `None` where it has none.
    pub fn day(&self) -> Option<Date> {
        let day = match self {
            Record::Machine(_) => None,
            Record::Reading(reading) => Some(&reading.day),
            Record::Job(job) => job.day.as_ref(),
            Record::Check(check) => check.day.as_ref(),
            Record::Ride(ride) => ride.day.as_ref(),
            Record::Fill(fill) => fill.day.as_ref(),
        };
        day.map(|day| day.value)
    }
}

/// All that the sheets (or the kept history) say, each with the machine that its row named.
#[derive(Debug, Clone, Default)]
pub struct Records {
    /// The records in the order of files, sheets and rows.
    pub records: Vec<(Identity, Record)>,
    /// Why a clock that stands in a row of a log does not count, as [`MachineRow::clock_unread`] says it.
    pub clocks_unread: Vec<(Identity, Entry<String>)>,
    /// What rows of logs say of the machine beside what they are of, each with its row's day: whose it is, when its MOT ends.
    pub said_beside: Vec<(Identity, Option<Date>, MachineRow)>,
    /// What machines were known by before, and no row gives now.
    pub known_as: Vec<KnownAs>,
    /// The marks that another machine has now than before.
    pub handed_on: Vec<HandedOn>,
}
