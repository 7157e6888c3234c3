//! A record as the ledger writes it: what its row called the machine and what it says, with every value's place.

use jiff::civil::{Date, Time};
use serde::{Deserialize, Serialize};

use super::failure::Trouble;
use super::places::{Kept, KeptNames, SheetsByName, SheetsByNumber};
use super::words::{body, written_body};
use crate::units::{Speed, Volume};
use crate::yard::{
    Check, CheckResult, Fill, Identity, Job, Reading, Record, Ride, SpeedSource, WrittenDistance,
};

/// A record of a row.
#[derive(Serialize, Deserialize)]
struct Body {
    /// What its row called the machine.
    of: KeptNames,
    says: KeptRecord,
}

/// What a record says; the fields are those of the yard's records.
#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum KeptRecord {
    Reading {
        day: Kept<Date>,
        clock: Kept<WrittenDistance>,
    },
    Job {
        day: Option<Kept<Date>>,
        done: Kept<String>,
        clock: Option<Kept<WrittenDistance>>,
        oil: Option<Kept<String>>,
        by: Option<Kept<String>>,
        // Left away where there is none, so that what was kept before there were doubts keeps its content.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        doubt: Option<Kept<String>>,
    },
    Check {
        day: Option<Kept<Date>>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        time: Option<Time>,
        item: Kept<String>,
        result: Kept<CheckResult>,
        // Left away where there is none, so that what was kept before there were remarks keeps its content.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        remark: Option<String>,
        by: Option<Kept<String>>,
    },
    Ride {
        day: Option<Kept<Date>>,
        distance: Option<Kept<WrittenDistance>>,
        top_speed: Option<Kept<Speed>>,
        speed_source: Option<Kept<SpeedSource>>,
        clock: Option<Kept<WrittenDistance>>,
        by: Option<Kept<String>>,
    },
    Fill {
        day: Option<Kept<Date>>,
        clock: Option<Kept<WrittenDistance>>,
        volume: Option<Kept<Volume>>,
        grade: Option<Kept<String>>,
        full: Option<Kept<bool>>,
    },
}

/// A record's body; `None` for what a row says of the machine itself, which is not kept.
pub(super) fn written(
    identity: &Identity,
    record: &Record,
    sheets: &mut SheetsByName<'_>,
) -> Result<Option<String>, Trouble> {
    let says = match record {
        Record::Machine(_) => return Ok(None),
        Record::Reading(Reading { day, clock }) => {
            KeptRecord::Reading { day: sheets.kept(day)?, clock: sheets.kept(clock)? }
        }
        Record::Job(Job { day, done, clock, oil, by, doubt }) => KeptRecord::Job {
            day: sheets.maybe(day)?,
            done: sheets.kept(done)?,
            clock: sheets.maybe(clock)?,
            oil: sheets.maybe(oil)?,
            by: sheets.maybe(by)?,
            doubt: sheets.maybe(doubt)?,
        },
        Record::Check(Check { day, time, item, result, remark, by }) => KeptRecord::Check {
            day: sheets.maybe(day)?,
            time: *time,
            item: sheets.kept(item)?,
            result: sheets.kept(result)?,
            remark: remark.clone(),
            by: sheets.maybe(by)?,
        },
        Record::Ride(Ride { day, distance, top_speed, speed_source, clock, by }) => KeptRecord::Ride {
            day: sheets.maybe(day)?,
            distance: sheets.maybe(distance)?,
            top_speed: sheets.maybe(top_speed)?,
            speed_source: sheets.maybe(speed_source)?,
            clock: sheets.maybe(clock)?,
            by: sheets.maybe(by)?,
        },
        Record::Fill(Fill { day, clock, volume, grade, full }) => KeptRecord::Fill {
            day: sheets.maybe(day)?,
            clock: sheets.maybe(clock)?,
            volume: sheets.maybe(volume)?,
            grade: sheets.maybe(grade)?,
            full: sheets.maybe(full)?,
        },
    };
    let body = Body { of: sheets.names(identity)?, says };
    Ok(Some(written_body(&body)))
}

/// The record that a body holds, and what its row called the machine.
pub(super) fn read(text: &str, sheets: &SheetsByNumber) -> Result<(Identity, Record), Trouble> {
    let Body { of, says } = body(text)?;
    let record = match says {
        KeptRecord::Reading { day, clock } => {
            Record::Reading(Reading { day: sheets.entry(day)?, clock: sheets.entry(clock)? })
        }
        KeptRecord::Job { day, done, clock, oil, by, doubt } => Record::Job(Job {
            day: sheets.maybe(day)?,
            done: sheets.entry(done)?,
            clock: sheets.maybe(clock)?,
            oil: sheets.maybe(oil)?,
            by: sheets.maybe(by)?,
            doubt: sheets.maybe(doubt)?,
        }),
        KeptRecord::Check { day, time, item, result, remark, by } => Record::Check(Check {
            day: sheets.maybe(day)?,
            time,
            item: sheets.entry(item)?,
            result: sheets.entry(result)?,
            remark,
            by: sheets.maybe(by)?,
        }),
        KeptRecord::Ride { day, distance, top_speed, speed_source, clock, by } => Record::Ride(Ride {
            day: sheets.maybe(day)?,
            distance: sheets.maybe(distance)?,
            top_speed: sheets.maybe(top_speed)?,
            speed_source: sheets.maybe(speed_source)?,
            clock: sheets.maybe(clock)?,
            by: sheets.maybe(by)?,
        }),
        KeptRecord::Fill { day, clock, volume, grade, full } => Record::Fill(Fill {
            day: sheets.maybe(day)?,
            clock: sheets.maybe(clock)?,
            volume: sheets.maybe(volume)?,
            grade: sheets.maybe(grade)?,
            full: sheets.maybe(full)?,
        }),
    };
    Ok((sheets.identity(of)?, record))
}
