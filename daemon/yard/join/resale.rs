//! A machine that the shop took back and sold again stands in a row for each owner: the newest handover counts.

use std::collections::BTreeSet;

use jiff::civil::Date;

use crate::problem::Problem;
use crate::yard::handbook::same_name;
use crate::yard::{Identity, MachineRow};

/// Puts the row of the newest handover last, and takes from the others what they say of an owner before; tells of it. Rows
/// of one customer, or that differ in what the machine is, are no two sales, and are left alone.
pub(super) fn settle(rows: &mut [(Identity, MachineRow)]) -> Option<Problem> {
    let handovers: BTreeSet<Date> = rows.iter().filter_map(|(_, row)| handover(row)).collect();
    if handovers.len() < 2 || !are_sales(rows) {
        return None;
    }
    rows.sort_by_key(|(_, row)| handover(row));
    let ((identity, newest), before) = rows.split_last_mut()?;
    let newest_day = newest.handover.clone()?;
    let mut earlier = None;
    for (_, row) in before {
        earlier = row.handover.take().or(earlier);
        (row.sold, row.arrived, row.customer, row.telephone) = (None, None, None, None);
    }
    let earlier = earlier?;
    let what = format!("{} was handed over to two customers", identity.shown());
    let help = format!(
        "The newest handover counts; {} says `{}`, of another customer. If it is one machine and was sold once, correct the \
         wrong row.",
        earlier.origin, earlier.value
    );
    Some(Problem::note(&newest_day.origin, what, help).with_value(newest_day.value.to_string()))
}

fn handover(row: &MachineRow) -> Option<Date> {
    row.handover.as_ref().map(|day| day.value)
}

/// Whether each row has a handover and a customer of its own, of a machine that is the same in all of them.
fn are_sales(rows: &[(Identity, MachineRow)]) -> bool {
    let is_alike = |(one, other): (&Option<String>, &Option<String>)| match (one, other) {
        (Some(one), Some(other)) => same_name(one, other),
        _ => true,
    };
    let text = |entry: &Option<crate::origin::Entry<String>>| entry.as_ref().map(|entry| entry.value.clone());
    rows.iter().all(|(_, row)| row.handover.is_some() && row.customer.is_some())
        && rows.windows(2).all(|pair| {
            let (one, other) = (&pair[0].1, &pair[1].1);
            let registered = |row: &MachineRow| row.registered.as_ref().map(|day| day.value);
            is_alike((&text(&one.make), &text(&other.make)))
                && is_alike((&text(&one.model), &text(&other.model)))
                && (registered(one) == registered(other)
                    || registered(one).is_none()
                    || registered(other).is_none())
                && !is_alike((&text(&one.customer), &text(&other.customer)))
        })
}
