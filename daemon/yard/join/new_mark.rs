//! Tells of machines that may be one under two marks, where no frame or stock number joins the two: a private plate that
//! was written into one sheet only.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::origin::Origin;
use crate::problem::Problem;
use crate::units::Distance;
use crate::yard::handbook::same_name;
use crate::yard::{Identity, Machine, MachineRow};

/// The most of such pairs that are told: more are no plates, and the sheets repeat one customer everywhere. Our decision.
const PAIRS_MOST: usize = 20;

/// A telephone number has at least as many figures; with fewer it is a note.
const LEAST_FIGURES: usize = 6;

/// How to say of two rows that they are of one machine.
const JOIN: &str = "If it has got another mark, write the new one here as well, or give its frame number or stock number in \
                    both places; if they are two, nothing is wrong.";

/// Rows of logs whose mark nobody lists and whose customer and telephone are those of one machine that is listed.
pub(super) fn of_unlisted<'m>(
    unlisted: &[(Identity, MachineRow)],
    listed: impl Iterator<Item = (&'m Identity, &'m MachineRow)>,
) -> Vec<Problem> {
    if unlisted.is_empty() {
        return Vec::new();
    }
    let mut of_customer: BTreeMap<String, Vec<(&Identity, &MachineRow)>> = BTreeMap::new();
    for (identity, row) in listed {
        if let Some(number) = number(row) {
            of_customer.entry(number).or_default().push((identity, row));
        }
    }
    let mut told: BTreeMap<String, (&Origin, String)> = BTreeMap::new();
    for (identity, row) in unlisted {
        let (Some(mark), Some(number)) = (&identity.mark, number(row)) else { continue };
        let machines = of_customer.get(&number).map_or(&[][..], Vec::as_slice);
        let alike = machines.iter().filter(|(_, other)| is_alike(row, other));
        // Two are as many as all.
        let [(of, _)] = alike.take(2).collect::<Vec<_>>()[..] else { continue };
        let first = told.entry(mark.value.to_string()).or_insert_with(|| (&mark.origin, of.shown()));
        first.0 = first.0.min(&mark.origin);
    }
    let told = told.into_iter().take(PAIRS_MOST);
    told.map(|(mark, (cell, of))| may_be_one(cell, &mark, &of, "the same customer and telephone")).collect()
}

/// Pairs of machines of one customer, telephone and model of which the one begins where the other ends.
pub(super) fn of_machines(machines: &[Machine]) -> Vec<Problem> {
    let mut of_customer: BTreeMap<String, Vec<&Machine>> = BTreeMap::new();
    for machine in machines.iter().filter(|machine| machine.row.model.is_some()) {
        if let Some(number) = number(&machine.row) {
            of_customer.entry(number).or_default().push(machine);
        }
    }
    let mut problems = Vec::new();
    for group in of_customer.values().filter(|group| group.len() > 1) {
        for (place, one) in group.iter().enumerate() {
            for other in &group[place + 1..] {
                problems.extend(one_machine(one, other));
                if problems.len() == PAIRS_MOST {
                    return problems;
                }
            }
        }
    }
    problems
}

/// What is said of two machines that may be one; `None` where anything speaks against it.
fn one_machine(one: &Machine, other: &Machine) -> Option<Problem> {
    let (mark, other_mark) = (one.identity.mark.as_ref()?, other.identity.mark.as_ref()?);
    let are_both = |is_known: fn(&Identity) -> bool| is_known(&one.identity) && is_known(&other.identity);
    // A sheet that lists both has two of them.
    let is_listed = |machine: &Machine| !machine.row.is_from_logs;
    let in_one_list = is_listed(one) && is_listed(other) && mark.origin.name == other_mark.origin.name;
    let is_told_apart = mark.value == other_mark.value
        || are_both(|identity| identity.frame_no.is_some())
        || are_both(|identity| identity.stock_no.is_some())
        || in_one_list
        || !is_alike(&one.row, &other.row);
    if is_told_apart {
        return None;
    }
    let (from, to) = (Span::of(one), Span::of(other));
    let (Some(first), Some(last)) = (from, to) else {
        // Nobody has read the one's clock. Two lists that agree in all else have it under two marks.
        let why = "the same customer, telephone and model";
        let is_so = is_listed(one) && is_listed(other);
        let of = one.identity.shown();
        return is_so.then(|| may_be_one(&other_mark.origin, &other_mark.value.to_string(), &of, why));
    };
    let is_first = first.from <= last.from;
    let (earlier, later) = if is_first { (first, last) } else { (last, first) };
    let goes_on = earlier.to < later.from && earlier.clock_to <= later.clock_from;
    let (named, of) = if is_first { (other_mark, one) } else { (mark, other) };
    let why = "the same customer, telephone and model, and its clock goes on from there";
    goes_on.then(|| may_be_one(&named.origin, &named.value.to_string(), &of.identity.shown(), why))
}

fn may_be_one(cell: &Origin, mark: &str, of: &str, why: &str) -> Problem {
    let what = format!("{mark} may be {of} under another mark: {why}");
    Problem::note(cell, what, JOIN).with_value(mark.to_owned())
}

/// From when to when a machine's clock was read, and what it showed.
#[derive(Clone, Copy)]
struct Span {
    from: Date,
    to: Date,
    clock_from: Distance,
    clock_to: Distance,
}

impl Span {
    fn of(machine: &Machine) -> Option<Span> {
        let dated = || machine.readings.iter().filter(|reading| !reading.is_undated());
        let (first, last) = (dated().next()?, dated().next_back()?);
        Some(Span {
            from: first.day.value,
            to: last.day.value,
            clock_from: first.clock.value,
            clock_to: last.clock.value,
        })
    }
}

/// Whether two rows are of one customer, and of nothing that tells their machines apart.
fn is_alike(one: &MachineRow, other: &MachineRow) -> bool {
    let has_same = |customer: fn(&MachineRow) -> Option<&str>| {
        customer(one).zip(customer(other)).map(|(one, other)| same_name(one, other))
    };
    has_same(|row| row.customer.as_ref().map(|entry| entry.value.as_str())) == Some(true)
        && has_same(|row| row.model.as_ref().map(|entry| entry.value.as_str())) != Some(false)
        && has_same(|row| row.make.as_ref().map(|entry| entry.value.as_str())) != Some(false)
}

/// The figures of the customer's telephone number.
fn number(row: &MachineRow) -> Option<String> {
    let text = &row.telephone.as_ref()?.value;
    let figures: String = text.chars().filter(char::is_ascii_digit).collect();
    (figures.len() >= LEAST_FIGURES).then_some(figures)
}
