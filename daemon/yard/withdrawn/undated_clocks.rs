//! Clocks that a machine's row said without a day, until it said less again: a slip that was put right, and no other clock.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::{ByName, Group, Standing, likeness};
use crate::units::{Days, Distance, DistanceUnit};
use crate::yard::{Identity, MachineId, Reading, Record, WrittenDistance};

/// For so long a slip may wait to be put right, as one that fell may. Our decision.
const WAITS: Days = Days(28);

/// So many times a figure, and so much more than it, is no ride, as in a row whose day stayed. Our decision.
const TIMES: i64 = 3;
const DAYS_RIDE: Distance = Distance::of_tenths(2_500, DistanceUnit::Miles);

/// The farthest clock of each machine beside which a day is written, wherever it stands.
#[derive(Debug, Default)]
pub struct DatedClocks(BTreeMap<MachineId, Distance>);

impl DatedClocks {
    /// Those of all that is said and that counts.
    pub fn of<'s>(said: impl Iterator<Item = &'s (Identity, Record)>) -> DatedClocks {
        let mut farthest: BTreeMap<MachineId, Distance> = BTreeMap::new();
        for (identity, record) in said {
            let Some(clock) = dated_clock(record) else { continue };
            for name in MachineId::each(identity) {
                let known = farthest.entry(name).or_insert(clock);
                *known = clock.max(*known);
            }
        }
        DatedClocks(farthest)
    }

    fn of_machine(&self, identity: &Identity) -> Option<Distance> {
        MachineId::each(identity).filter_map(|name| self.0.get(&name).copied()).max()
    }
}

fn dated_clock(record: &Record) -> Option<Distance> {
    let clock = match record {
        Record::Reading(reading) if !reading.is_undated() => Some(&reading.clock),
        Record::Job(job) if job.day.is_some() => job.clock.as_ref(),
        Record::Ride(ride) if ride.day.is_some() => ride.clock.as_ref(),
        Record::Fill(fill) if fill.day.is_some() => fill.clock.as_ref(),
        _ => None,
    };
    clock.map(|clock| counted(clock.value))
}

/// Where nothing tells the unit, all of a machine are in one, and any will do to compare them.
fn counted(clock: WrittenDistance) -> Distance {
    clock.resolved(DistanceUnit::Miles)
}

fn is_leap(was: Distance, is: Distance) -> bool {
    is.tenth_millimetres() >= TIMES * was.tenth_millimetres() && is - was > DAYS_RIDE
}

/// The undated clocks of machines' rows that stand in the history of a sheet.
pub(super) struct UndatedClocks<'s> {
    clocks: Vec<(&'s Standing<'s>, Date, Distance)>,
    by_name: ByName<'s>,
}

impl<'s> UndatedClocks<'s> {
    pub(super) fn of(standing: &'s [Standing<'s>]) -> UndatedClocks<'s> {
        let undated = |standing: &'s Standing<'s>| match &standing.said.1 {
            Record::Reading(reading) if reading.is_undated() && !standing.is_let_go => {
                Some((standing, reading.day.value, counted(reading.clock.value)))
            }
            _ => None,
        };
        let clocks: Vec<_> = standing.iter().filter_map(undated).collect();
        let by_name = ByName::of(clocks.iter().map(|(standing, ..)| &standing.said.0));
        UndatedClocks { clocks, by_name }
    }

    /// Whether a row's clock was a slip, by what the row says now: it stood in the exports of one day alone, between lower
    /// ones or far above this one; or however
    /// often it stood so, it had leapt from what the row says again. What other days have shown in between, or another
    /// source, is a doubt: one of the two may be mistyped, or another clock was put in.
    pub(super) fn is_slip(
        &self,
        (identity, was): (&Identity, &Reading<WrittenDistance>),
        now: &Reading<WrittenDistance>,
        (group, dated): (Group<'_>, &DatedClocks),
    ) -> bool {
        let (day, today) = (was.day.value, now.day.value);
        let (was, now) = (counted(was.clock.value), counted(now.clock.value));
        if now >= was || day >= today || Days::between(day, today) > WAITS {
            return false;
        }
        if dated.of_machine(identity).is_some_and(|dated| dated > now && !is_leap(dated, was)) {
            return false;
        }
        let in_row = self.by_name.with_name_of(identity).into_iter().map(|place| &self.clocks[place]);
        let in_row: Vec<_> = in_row
            .filter(|(other, other_day, _)| {
                *other_day < today
                    && other.witness.group() == Some(group)
                    && likeness(identity, &other.said.0) > 0
            })
            .collect();
        let lower = in_row.iter().filter(|(_, other, clock)| *other < day && *clock <= now);
        let before = lower.max_by_key(|(_, other, _)| *other);
        let higher = in_row
            .iter()
            .filter(|(_, other, clock)| *clock > now && before.is_none_or(|(_, before, _)| other > before));
        let (days, figures): (BTreeSet<Date>, BTreeSet<Distance>) =
            higher.map(|(_, day, clock)| (*day, *clock)).unzip();
        let has_leapt = || before.is_some_and(|(_, _, before)| is_leap(*before, was));
        let is_of_one_day = days.len() == 1 && (before.is_some() || is_leap(now, was));
        is_of_one_day || (figures.len() == 1 && has_leapt())
    }
}
