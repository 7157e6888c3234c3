//! A new export that lacks much of what the last one had: it may have broken off, and nothing is taken to be gone by that.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::left_for_good::is_left;
use crate::problem::counted;
use crate::yard::{Identity, MachineRow, Record, RecordKind, Records};

/// A larger share that is missing is not a day's work. The figure of the prototypes; our decision.
const MOST_MISSING: f64 = 0.3;

/// So few missing rows can be a day's work, however small the sheet. Our decision.
const LEAST_MISSING: usize = 4;

/// What a new export lacks.
pub(super) struct Fewer {
    /// How many machines or rows the new one has.
    pub(super) count: usize,
    /// How much the last one had, and the new one has, in words: `12 machines`.
    pub(super) before: String,
    pub(super) now: String,
    /// Whether nothing at all is left of a list of machines: that is never meant.
    pub(super) is_all: bool,
    /// What the last one says of machines that the new one does not list.
    pub(super) missing: Vec<(Identity, Record)>,
}

/// Compares what two exports of one sheet say; `None` where the new one lacks no more than may be. The machines in `gone`
/// have left for good, and are not missing.
pub(super) fn fewer(
    kind: RecordKind,
    before: &Records,
    now: &Records,
    (gone, today): (&[String], Date),
) -> Option<Fewer> {
    if kind == RecordKind::Machine {
        fewer_machines(before, now, (gone, today))
    } else {
        fewer_rows(before, now)
    }
}

/// Of a small list of machines so many may go at once, and from that many on not all or all but one. Our decision.
const SMALL_LIST: usize = 3;

fn is_too_few(missing: usize, before: usize, now: usize) -> bool {
    before > 0 && (now == 0 || (missing >= LEAST_MISSING && missing as f64 > MOST_MISSING * before as f64))
}

/// Of machines that a filter hides so large a share of the list, or so many, are no day's work. Our decision.
const LEAST_HIDDEN: f64 = 0.2;
const MANY_HIDDEN: usize = 8;

/// A list from which machines go once they went out may still have fewer that went out before. Our decision.
const LEFT_BEHIND: usize = 3;

/// The day on which a machine's row says that it went out, where that is past.
fn went_out(record: &Record, today: Date) -> Option<Date> {
    let Record::Machine(row) = record else { return None };
    let day = row.sold.as_ref().or(row.handover.as_ref())?.value;
    (day <= today).then_some(day)
}

/// How many of these machines nothing says of why the list names them no more: it still has machines that went out before.
fn untold<'r>(missing: impl Iterator<Item = &'r Record>, now: &Records, today: Date) -> usize {
    let mut out: Vec<Date> = now.records.iter().filter_map(|(_, record)| went_out(record, today)).collect();
    out.sort_unstable();
    let is_told = |record: &&Record| {
        let day = went_out(record, today);
        day.is_some_and(|day| out.partition_point(|other| *other <= day) < LEFT_BEHIND)
    };
    missing.filter(|record| !is_told(record)).count()
}

/// Whether the machines that are missing are all of one sort, and none that is listed still is: so a filter chooses, where
/// machines that are sold leave others of their sort behind.
fn are_of_a_sort(missing: &[&Record], now: &Records, today: Date) -> bool {
    let sorts = |record: &Record| match record {
        Record::Machine(row) => sorts(row, went_out(record, today).is_some()),
        _ => BTreeSet::new(),
    };
    let mut missing = missing.iter().map(|record| sorts(record));
    let first = missing.next().unwrap_or_default();
    let shared = missing.fold(first, |shared, sorts| shared.intersection(&sorts).cloned().collect());
    let listed: BTreeSet<_> = now.records.iter().flat_map(|(_, record)| sorts(record)).collect();
    !shared.is_subset(&listed)
}

/// What a list may be filtered by: what a machine is, and whether somebody has it.
fn sorts(row: &MachineRow, is_out: bool) -> BTreeSet<(&'static str, String)> {
    let in_words = |name: &'static str, value: Option<String>| Some((name, value?.trim().to_lowercase()));
    let make = row.make.as_ref().map(|make| make.value.clone());
    let model = row.model.as_ref().map(|model| model.value.clone());
    let sorts = [
        in_words("make", make),
        in_words("model", model),
        in_words("kind", row.kind.as_ref().map(|kind| format!("{:?}", kind.value))),
        in_words("customer", Some(row.customer.is_some().to_string())),
        in_words("out", Some(is_out.to_string())),
    ];
    sorts.into_iter().flatten().collect()
}

fn fewer_machines(before: &Records, now: &Records, (gone, today): (&[String], Date)) -> Option<Fewer> {
    let named: BTreeSet<(usize, &str)> =
        now.records.iter().flat_map(|(identity, _)| names(identity)).collect();
    let is_missing =
        |identity: &Identity| names(identity).all(|name| !named.contains(&name)) && !is_left(identity, gone);
    let machines = |records: &Records| {
        let rows = records.records.iter().filter(|(_, record)| matches!(record, Record::Machine(_)));
        rows.count()
    };
    let listed = before.records.iter().filter(|(_, record)| matches!(record, Record::Machine(_)));
    let lacking: Vec<&Record> =
        listed.filter(|(identity, _)| is_missing(identity)).map(|(_, record)| record).collect();
    let missing = lacking.len();
    let (count_before, count_now) = (machines(before), machines(now));
    // A list with as many rows as before hides none.
    let are_hidden = || {
        let untold = untold(lacking.iter().copied(), now, today);
        let is_share = untold >= MANY_HIDDEN || untold as f64 >= LEAST_HIDDEN * count_before as f64;
        let is_large = untold >= LEAST_MISSING && is_share;
        is_large && count_now < count_before && are_of_a_sort(&lacking, now, today)
    };
    let is_nearly_all = count_before >= SMALL_LIST && missing + 1 >= count_before;
    (is_nearly_all || is_too_few(missing, count_before, count_now) || are_hidden()).then(|| Fewer {
        count: count_now,
        before: counted(count_before, "machine"),
        now: counted(count_now, "machine"),
        is_all: count_now == 0,
        missing: before.records.iter().filter(|(identity, _)| is_missing(identity)).cloned().collect(),
    })
}

/// A row's names, each with its place among mark, frame number and stock number.
pub(super) fn names(identity: &Identity) -> impl Iterator<Item = (usize, &str)> {
    identity.names().into_iter().enumerate().filter_map(|(place, name)| Some((place, name?)))
}

/// Of a log the ledger keeps every row, so that nothing is missing but what the new one may have yet to say.
fn fewer_rows(before: &Records, now: &Records) -> Option<Fewer> {
    let (count_before, count_now) = (before.records.len(), now.records.len());
    let missing = count_before.saturating_sub(count_now);
    (is_too_few(missing, count_before, count_now) && !has_moved_on(before, now, missing)).then(|| Fewer {
        count: count_now,
        before: counted(count_before, "row"),
        now: counted(count_now, "row"),
        is_all: false,
        missing: Vec::new(),
    })
}

/// Whether a log that tells of the last so many weeks, or was begun anew, has only gone on: it says something later, and
/// what it says no more is older than all else.
fn has_moved_on(before: &Records, now: &Records, missing: usize) -> bool {
    let days =
        |records: &Records| records.records.iter().filter_map(|(_, record)| record.day()).collect::<Vec<_>>();
    let (before, now) = (days(before), days(now));
    let (Some(first), Some(last)) = (now.iter().min(), now.iter().max()) else { return false };
    let older = before.iter().filter(|day| *day < first).count();
    older >= missing && before.iter().max().is_some_and(|before| last > before)
}
