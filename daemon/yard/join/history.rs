//! What was recorded of one machine: today's sheets and the kept history as one, in order.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::{Log, first_cell};
use crate::origin::{Entry, Origin, SheetName};
use crate::units::{Distance, DistanceUnit};
use crate::yard::{
    Check, CheckResult, Fill, HandbookPage, Identity, Job, Machine, MachineId, MachineRow, Reading, Record,
    Ride, SpeedSource, TakenOut, WrittenDistance,
};

/// One machine's records, not yet in order and as written.
#[derive(Default)]
pub(super) struct History {
    readings: Vec<Said<Reading<WrittenDistance>>>,
    jobs: Vec<Said<Job<WrittenDistance>>>,
    checks: Vec<Said<Check>>,
    rides: Vec<Said<Ride<WrittenDistance>>>,
    fills: Vec<Said<Fill<WrittenDistance>>>,
    jobs_withdrawn: Vec<Said<Job<WrittenDistance>>>,
    rides_withdrawn: Vec<Said<Ride<WrittenDistance>>>,
}

/// A record with the row that said it.
struct Said<T> {
    record: T,
    row: Origin,
    is_kept: bool,
}

impl History {
    /// Adds what a row said.
    pub(super) fn add(&mut self, log: Log) {
        let Log { identity, record, is_kept, is_withdrawn } = log;
        let Some(row) = first_cell(&identity).cloned() else { return };
        match record {
            Record::Job(record) if is_withdrawn => self.jobs_withdrawn.push(Said { record, row, is_kept }),
            Record::Ride(record) if is_withdrawn => self.rides_withdrawn.push(Said { record, row, is_kept }),
            _ if is_withdrawn => {}
            // Rows about the machine itself are joined elsewhere.
            Record::Machine(_) => {}
            Record::Reading(record) => self.readings.push(Said { record, row, is_kept }),
            Record::Job(record) => self.jobs.push(Said { record, row, is_kept }),
            Record::Check(record) => self.checks.push(Said { record, row, is_kept }),
            Record::Ride(record) => self.rides.push(Said { record, row, is_kept }),
            Record::Fill(record) => self.fills.push(Said { record, row, is_kept }),
        }
    }

    /// The machine with its records in order, their distances in the unit that its clock counts in.
    pub(super) fn machine(
        self,
        id: MachineId,
        identity: Identity,
        row: MachineRow,
        page: HandbookPage,
        clock_unit: DistanceUnit,
    ) -> Machine {
        let readings = settled(self.readings, |reading| Reading {
            day: reading.day,
            clock: resolved(reading.clock, clock_unit),
        });
        let job = |job: Job<WrittenDistance>| Job {
            day: job.day,
            done: job.done,
            clock: job.clock.map(|clock| resolved(clock, clock_unit)),
            oil: job.oil,
            by: job.by,
            doubt: job.doubt,
        };
        let jobs = settled(self.jobs, job);
        let checks = settled(self.checks, |check| check);
        let ride = |ride: Ride<WrittenDistance>| Ride {
            day: ride.day,
            distance: ride.distance.map(|distance| resolved(distance, clock_unit)),
            top_speed: ride.top_speed,
            speed_source: ride.speed_source,
            clock: ride.clock.map(|clock| resolved(clock, clock_unit)),
            by: ride.by,
        };
        let rides = settled(self.rides, ride);
        let fills = settled(self.fills, |fill| Fill {
            day: fill.day,
            clock: fill.clock.map(|clock| resolved(clock, clock_unit)),
            volume: fill.volume,
            grade: fill.grade,
            full: fill.full,
        });
        let readings = all_readings(readings, &jobs, &rides, &fills);
        let withdrawn =
            TakenOut { jobs: settled(self.jobs_withdrawn, job), rides: settled(self.rides_withdrawn, ride) };
        Machine { id, identity, row, clock_unit, readings, jobs, checks, rides, fills, withdrawn, page }
    }
}

fn resolved(entry: Entry<WrittenDistance>, clock_unit: DistanceUnit) -> Entry<Distance> {
    entry.map(|written| written.resolved(clock_unit))
}

/// A machine's readings with those that its other records carry, each day and distance once.
fn all_readings(readings: Vec<Reading>, jobs: &[Job], rides: &[Ride], fills: &[Fill]) -> Vec<Reading> {
    let carried = jobs
        .iter()
        .map(|job| (&job.day, &job.clock))
        .chain(rides.iter().map(|ride| (&ride.day, &ride.clock)))
        .chain(fills.iter().map(|fill| (&fill.day, &fill.clock)))
        .filter_map(|(day, clock)| Some(Reading { day: day.clone()?, clock: clock.clone()? }));
    // A stable sort: of equal ones the reading that was written as one stays.
    let mut all: Vec<Reading> = readings.into_iter().chain(carried).collect();
    all.sort_by_key(|reading| (reading.day.value, reading.clock.value));
    all.dedup_by(|later, earlier| later.said() == earlier.said());
    without_old_news(all)
}

/// The readings without those undated ones that tell nothing new. A clock on a machine's row that lags behind a dated
/// reading was written before it, and one that stands unchanged in export after export was read once, at the first:
/// taken at the export's day the one would seem to fall and the other to stand still.
fn without_old_news(mut readings: Vec<Reading>) -> Vec<Reading> {
    let dated = readings.iter().filter(|reading| !reading.is_undated());
    let farthest_dated = dated.map(|reading| reading.clock.value).max();
    let mut seen = BTreeSet::new();
    readings.retain(|reading| {
        !reading.is_undated()
            || (Some(reading.clock.value) > farthest_dated && seen.insert(reading.clock.value))
    });
    readings
}

/// The records of one kind that count, by day (without one last), then by sheet and row.
///
/// A kept record gives way to a current one that says the same. A kept reading gives way to any that the same sheet now
/// has for that day: it was corrected. Of checks, jobs, rides and fills a day has many, and one that is gone from its
/// sheet is not put right by another: what once failed stays so until it passes. What several sheets say alike is one;
/// what one sheet says twice is two.
fn settled<W, T: Recorded>(records: Vec<Said<W>>, resolve: impl Fn(W) -> T) -> Vec<T> {
    let mut records: Vec<Said<T>> = records
        .into_iter()
        .map(|Said { record, row, is_kept }| Said { record: resolve(record), row, is_kept })
        .collect();
    if T::ONE_A_DAY {
        let (mut kept, current): (Vec<_>, Vec<_>) = records.into_iter().partition(|said| said.is_kept);
        let now: BTreeSet<(Option<Date>, &SheetName)> =
            current.iter().map(|said| (said.record.day(), &*said.row.name)).collect();
        kept.retain(|said| !now.contains(&(said.record.day(), &*said.row.name)));
        records = current;
        records.extend(kept);
    }
    records.sort_by(|one, other| {
        let (said, said_by_other) = (one.record.said(), other.record.said());
        said.cmp(&said_by_other)
            .then_with(|| one.is_kept.cmp(&other.is_kept))
            .then_with(|| one.row.cmp(&other.row))
    });
    let mut counting = once_each(records);
    counting.sort_by(|one, other| {
        let by_day = |said: &Said<T>| (said.record.day().is_none(), said.record.day());
        by_day(one).cmp(&by_day(other)).then_with(|| one.row.cmp(&other.row))
    });
    counting.into_iter().map(|said| said.record).collect()
}

/// Of records that say the same, those of the one sheet that says it most often, current before kept.
///
/// The records come sorted by what they say, then current ones first, then by row.
fn once_each<T: Recorded>(records: Vec<Said<T>>) -> Vec<Said<T>> {
    let mut counting: Vec<Said<T>> = Vec::with_capacity(records.len());
    let mut alike: Vec<Said<T>> = Vec::new();
    for said in records {
        if alike.first().is_some_and(|first| first.record.said() != said.record.said()) {
            counting.extend(of_one_sheet(std::mem::take(&mut alike)));
        }
        alike.push(said);
    }
    counting.extend(of_one_sheet(alike));
    counting
}

/// The largest run of one sheet among records that say the same; the first of equally large ones.
fn of_one_sheet<T>(mut alike: Vec<Said<T>>) -> Vec<Said<T>> {
    if alike.len() < 2 {
        return alike;
    }
    let any_current = !alike[0].is_kept;
    alike.retain(|said| said.is_kept != any_current);
    let runs = alike.chunk_by(|one, other| one.row.name == other.row.name);
    let (mut start, mut largest, mut place) = (0, 0, 0);
    for run in runs {
        if run.len() > largest {
            (start, largest) = (place, run.len());
        }
        place += run.len();
    }
    alike.drain(start..start + largest).collect()
}

/// A record that can be compared by what it says, wherever it says it.
trait Recorded {
    /// Everything that it says.
    type Said<'a>: Ord
    where
        Self: 'a;
    /// Whether a machine has one of them a day, so that another of the day is a correction.
    const ONE_A_DAY: bool = false;
    /// Everything that it says.
    fn said(&self) -> Self::Said<'_>;
    /// Its day.
    fn day(&self) -> Option<Date>;
}

/// The value without its cell.
fn value<T: Copy>(entry: &Option<Entry<T>>) -> Option<T> {
    entry.as_ref().map(|entry| entry.value)
}

/// The text without its cell.
fn words(entry: &Option<Entry<String>>) -> Option<&str> {
    entry.as_ref().map(|entry| entry.value.as_str())
}

impl Recorded for Reading {
    const ONE_A_DAY: bool = true;
    type Said<'a> = (Date, Distance);
    fn said(&self) -> (Date, Distance) {
        (self.day.value, self.clock.value)
    }
    fn day(&self) -> Option<Date> {
        Some(self.day.value)
    }
}

impl Recorded for Job {
    type Said<'a> =
        ((Option<Date>, &'a str, Option<Distance>), (Option<&'a str>, Option<&'a str>, Option<&'a str>));
    fn said(&self) -> Self::Said<'_> {
        (
            (self.day(), &self.done.value, value(&self.clock)),
            (words(&self.oil), words(&self.by), words(&self.doubt)),
        )
    }
    fn day(&self) -> Option<Date> {
        value(&self.day)
    }
}

impl Recorded for Check {
    type Said<'a> = (Option<Date>, &'a str, CheckResult, Option<&'a str>);
    fn said(&self) -> Self::Said<'_> {
        (self.day(), &self.item.value, self.result.value, words(&self.by))
    }
    fn day(&self) -> Option<Date> {
        value(&self.day)
    }
}

impl Recorded for Ride {
    type Said<'a> = (
        Option<Date>,
        (Option<Distance>, Option<Distance>),
        (Option<crate::units::Speed>, Option<SpeedSource>),
        Option<&'a str>,
    );
    fn said(&self) -> Self::Said<'_> {
        let speed = (value(&self.top_speed), value(&self.speed_source));
        (self.day(), (value(&self.distance), value(&self.clock)), speed, words(&self.by))
    }
    fn day(&self) -> Option<Date> {
        value(&self.day)
    }
}

impl Recorded for Fill {
    type Said<'a> =
        (Option<Date>, Option<Distance>, Option<crate::units::Volume>, Option<&'a str>, Option<bool>);
    fn said(&self) -> Self::Said<'_> {
        (self.day(), value(&self.clock), value(&self.volume), words(&self.grade), value(&self.full))
    }
    fn day(&self) -> Option<Date> {
        value(&self.day)
    }
}
