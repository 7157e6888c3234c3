//! One machine on one day, with what every sum needs of it: its trusted readings, its clock, its pace.

use jiff::civil::Date;

use super::clock::Series;
use super::usage;
use super::works::Works;
use super::{Clock, Fact, Missing, Usage};
use crate::origin::{Entry, Evidence};
use crate::settings::Practice;
use crate::units::{Distance, Speed, SpeedUnit, shown_day};
use crate::yard::{Field, Machine, MachineRow};

/// A machine on a day, as the sums see it.
pub(super) struct Subject<'a> {
    pub(super) machine: &'a Machine,
    pub(super) practice: &'a Practice,
    pub(super) today: Date,
    /// Its readings without those that a doubt hangs over.
    pub(super) series: Series<'a>,
    /// Its latest trusted reading.
    pub(super) clock: Fact<Clock>,
    /// How far it goes in a day.
    pub(super) usage: Fact<Usage>,
    works: Works<'a>,
}

impl<'a> Subject<'a> {
    /// A machine on a day.
    pub(super) fn new(machine: &'a Machine, practice: &'a Practice, today: Date) -> Subject<'a> {
        let series = Series::of(machine, today);
        let clock = series.clock(machine.clock_unit);
        let usage = usage::usage(machine, &series, today);
        let works = Works::until(today, machine, practice);
        Subject { machine, practice, today, series, clock, usage, works }
    }

    /// What its jobs until today say of its plan.
    pub(super) fn works(&self) -> &Works<'a> {
        &self.works
    }

    /// Whether a record's day has come; a record without a day is taken for one of the past.
    pub(super) fn has_come(&self, day: Option<&Entry<Date>>) -> bool {
        day.is_none_or(|day| day.value <= self.today)
    }

    /// The handover's cell, once that day has come.
    pub(super) fn handed_over(&self) -> Option<&'a Entry<Date>> {
        self.machine.row.handover.as_ref().filter(|handover| handover.value <= self.today)
    }

    /// Whether the machine was sold: on a day that has come, or to a customer for whom it was registered.
    pub(super) fn is_sold(&self) -> bool {
        let row = &self.machine.row;
        let to_customer = row.customer.is_some() && row.registered.is_some();
        row.sold.as_ref().map_or(to_customer, |sold| sold.value <= self.today)
    }

    /// Whether the machine stands in the shop, and no months run yet: it is the shop's own, as its row, its stock number
    /// or its arrival shows, and nothing says that it was ever sold. What only logs tell of may be anybody's, and of a shop
    /// that hands nothing over all are its customers'.
    pub(super) fn is_stock(&self) -> bool {
        let row = &self.machine.row;
        let is_the_shops =
            self.machine.identity.stock_no.is_some() || (!row.is_from_logs && *row != MachineRow::default());
        is_the_shops
            && self.practice.hands_over
            && row.handover.is_none()
            && row.sold.is_none()
            && [Field::Handover, Field::Sold].into_iter().all(|field| row.unread_day(field).is_none())
            && row.customer.is_none()
    }

    /// Why a clock that somebody wrote down does not count; `None` where one counts, or nobody wrote any down.
    pub(super) fn clock_unread(&self) -> Option<Evidence> {
        if self.clock.is_ok() {
            return None;
        }
        if let Some(unread) = &self.machine.row.clock_unread {
            return Some(Evidence::of("clock", unread.value.clone(), &unread.origin));
        }
        let ahead = self.machine.readings.first()?;
        let what = format!("the clock is dated {}, after today", shown_day(ahead.day.value));
        Some(Evidence::of("clock", what, &ahead.clock.origin))
    }

    /// A distance in the unit of the machine's own clock.
    pub(super) fn shown(&self, distance: Distance) -> String {
        distance.shown_in(self.machine.clock_unit)
    }

    /// A speed in the unit that the machine's speedometer has beside its clock.
    pub(super) fn shown_speed(&self, speed: Speed) -> String {
        speed.shown_in(SpeedUnit::beside(self.machine.clock_unit))
    }

    /// The day that a plan's months count from: handover, else registration; not for a machine that is not sold.
    pub(super) fn months_count_from(&self) -> Result<(Date, Evidence), Missing> {
        let row = &self.machine.row;
        if let Some(handover) = &row.handover {
            return Ok((handover.value, day_cell("handover", handover)));
        }
        match &row.registered {
            Some(registered) if self.is_sold() => Ok((registered.value, day_cell("registered", registered))),
            _ => Err(Missing::fact("handover")),
        }
    }
}

/// A cell that holds a day, as evidence.
pub(super) fn day_cell(what: &str, entry: &Entry<Date>) -> Evidence {
    Evidence::of(what, shown_day(entry.value), &entry.origin)
}

/// A cell of the handbook as evidence, marked where it is a rule of thumb and not this model's own.
pub(super) fn handbook_cell<T>(what: &str, shown: String, entry: &Entry<T>, is_default: bool) -> Evidence {
    let evidence = Evidence::of(what, shown, &entry.origin);
    if is_default { evidence.as_common_practice() } else { evidence }
}

/// The keys of records by their day and what they are: `2026-11-03 E10`, `no day 46 mph`. Those that are the same
/// are counted in the order of all else that is known of them, so that the order of the rows does not matter.
pub(super) fn content_keys<R, C: Ord>(
    records: &[&R],
    day: impl Fn(&R) -> Option<Date>,
    what: impl Fn(&R) -> String,
    content: impl Fn(&R) -> C,
) -> Vec<String> {
    let named = |record: &R| {
        let day = day(record).map_or_else(|| "no day".to_owned(), |day| day.to_string());
        format!("{day} {}", what(record))
    };
    let mut order: Vec<usize> = (0..records.len()).collect();
    order.sort_by_cached_key(|place| (named(records[*place]), content(records[*place])));
    let mut counted = CountedKeys::default();
    let mut keys = vec![String::new(); records.len()];
    for place in order {
        keys[place] = counted.counted(named(records[place]));
    }
    keys
}

/// Keys of which some may come more than once: `clock goes down 2026-11-03`, `clock goes down 2026-11-03 (2)`.
#[derive(Default)]
pub(super) struct CountedKeys {
    seen: std::collections::BTreeMap<String, usize>,
}

impl CountedKeys {
    /// A key, with a count from its second time on.
    pub(super) fn counted(&mut self, key: String) -> String {
        let count = self.seen.entry(key.clone()).or_default();
        *count += 1;
        if *count == 1 { key } else { format!("{key} ({count})") }
    }
}
