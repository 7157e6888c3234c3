//! Clocks that fell and are put right: a figure that was doubted as soon as it stood there is believed again once it
//! goes with the others.

use std::cell::OnceCell;
use std::collections::BTreeMap;

use jiff::civil::Date;

use super::matched_rows::squeezed;
use super::meanings::Pair;
use super::{Change, ColumnRead, Lasts, Side, values};
use crate::problem::Problem;
use crate::sheets::Row;
use crate::units::Days;
use crate::yard::Field;

/// For so long a figure that fell may wait to be put right. Our decision.
const WAITS: Days = Days(28);

/// So many fallen figures of a column are noted; more are no slips of a day. Our decision.
const NOTED: usize = 200;

/// A figure that was rounded has not fallen.
const ROUNDED: f64 = 1.0;

/// The days and figures of each machine in a log, looked up once for all rows that are put right.
pub(super) type Clocks = OnceCell<BTreeMap<String, Vec<(Date, f64)>>>;

/// What a row is known by from one export to the next: its machine and, in a log, its day.
fn name(row: Row<'_>, side: &Side<'_>) -> Option<String> {
    let machine = machine(row, side)?;
    let day =
        side.is_log().then(|| day_column(side).map(|column| squeezed(row.cell(column.index)))).flatten();
    Some(format!("{machine} {}", day.unwrap_or_default()))
}

fn machine(row: Row<'_>, side: &Side<'_>) -> Option<String> {
    let names = side.read_as.columns.iter().filter(|column| column.field.is_identity());
    names.map(|column| squeezed(row.cell(column.index))).find(|name| !name.is_empty())
}

fn day_column<'s>(side: &'s Side<'_>) -> Option<&'s ColumnRead> {
    side.read_as.columns.iter().find(|column| column.field == Field::Day)
}

impl Pair<'_> {
    /// What is to be noted of each clock that fell, so that it is known when it is put right: nothing else of the export
    /// before is compared with for it.
    pub(super) fn fallen(&self) -> Vec<Change> {
        if self.column.field != Field::Clock {
            return Vec::new();
        }
        let fell = self.rows.pairs().filter_map(|(earlier, later)| {
            let is = self.measure_now(later)?;
            let name = name(later, self.now)?;
            let noted = self.shown_before(&name).map(|(stood, _)| stood);
            let stood =
                noted.or_else(|| self.measure_before(earlier)).filter(|stood| is + ROUNDED < *stood)?;
            Some((name, stood))
        });
        fell.take(NOTED).map(|(name, stood)| self.note_of(&name, stood)).collect()
    }

    fn note_of(&self, name: &str, stood: f64) -> Change {
        let what = format!("a clock in {} fell", self.subject());
        Change {
            key: format!("{}{stood:.1}", self.key_of(name)),
            lasts: Lasts::SaidRight,
            problem: Problem::note(self.now.table.whole(), what, ""),
        }
    }

    fn key_of(&self, name: &str) -> String {
        format!("fell {} / {name} / ", self.column.header)
    }

    /// What a clock showed before it fell, and when it did.
    fn shown_before(&self, name: &str) -> Option<(f64, Date)> {
        let key = self.key_of(name);
        let (known, since) = self.terms.known.range(key.clone()..).next()?;
        let stood = known.strip_prefix(&key)?;
        let waits = Days::between(*since, self.terms.today) <= WAITS;
        waits.then(|| Some((stood.parse().ok()?, *since))).flatten()
    }

    /// Whether a clock was doubted as it stood, and is put right now: it goes with what the machine showed before and
    /// showed later.
    pub(super) fn is_put_right(&self, (earlier, later): (Row<'_>, Row<'_>)) -> bool {
        let (Some(was), Some(is)) = (self.measure_before(earlier), self.measure_now(later)) else {
            return false;
        };
        let noted = name(later, self.now).and_then(|name| self.shown_before(&name));
        let goes_with_noted = noted.is_some_and(|(stood, since)| {
            let days = Days(Days::between(since, self.terms.today).0.max(1));
            was + ROUNDED < stood && may_follow(stood, is, days)
        });
        goes_with_noted || self.goes_with_the_others(later, was, is)
    }

    /// Whether in a log a figure was less than one of an earlier day, and goes with those of earlier and later days now.
    fn goes_with_the_others(&self, later: Row<'_>, was: f64, is: f64) -> bool {
        if !self.now.is_log() {
            return false;
        }
        let (Some(machine), Some(own)) = (machine(later, self.now), self.day_in_log(later)) else {
            return false;
        };
        let (mut before, mut behind): (Option<(f64, Date)>, Option<f64>) = (None, None);
        let clocks = self.clocks.get_or_init(|| self.clocks_now());
        for &(day, miles) in clocks.get(&machine).into_iter().flatten() {
            if day < own && before.is_none_or(|(most, _)| miles > most) {
                before = Some((miles, day));
            } else if day > own {
                behind = Some(behind.map_or(miles, |least| least.min(miles)));
            }
        }
        before.is_some_and(|(stood, day)| {
            was + ROUNDED < stood
                && may_follow(stood, is, Days::between(day, own))
                && behind.is_none_or(|behind| is <= behind)
        })
    }

    fn day_in_log(&self, row: Row<'_>) -> Option<Date> {
        values::day(row, day_column(self.now)?)
    }

    fn clocks_now(&self) -> BTreeMap<String, Vec<(Date, f64)>> {
        let mut clocks: BTreeMap<String, Vec<(Date, f64)>> = BTreeMap::new();
        for row in self.now.body().iter() {
            let said = machine(row, self.now).zip(self.day_in_log(row).zip(self.measure_now(row)));
            if let Some((machine, said)) = said {
                clocks.entry(machine).or_default().push(said);
            }
        }
        clocks
    }
}

/// Whether a figure may stand behind another one. One that is less than that is doubted where readings are, as it was.
fn may_follow(stood: f64, is: f64, days: Days) -> bool {
    is < stood || values::may_be_ridden(stood, is, days)
}
