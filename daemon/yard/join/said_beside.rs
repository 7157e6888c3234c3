//! What a workshop's book says of a machine beside its jobs: the newest row counts, and the machine's own row before it.

use jiff::civil::Date;

use crate::origin::Entry;
use crate::problem::Problem;
use crate::yard::handbook::same_name;
use crate::yard::{Identity, MachineRow};

/// What the rows of logs say of one machine.
#[derive(Debug, Default)]
pub(super) struct SaidBeside {
    rows: Vec<(Option<Date>, MachineRow)>,
}

impl SaidBeside {
    /// Takes what one more row says.
    pub(super) fn add(&mut self, day: Option<Date>, row: MachineRow) {
        self.rows.push((day, row));
    }

    /// Fills in what the machine's own row leaves open. A telephone number counts for the customer beside whom it stands,
    /// and for nobody else.
    pub(super) fn fill_in(mut self, identity: &Identity, row: &mut MachineRow, problems: &mut Vec<Problem>) {
        // Of two rows of one day the one further down was written later.
        self.rows.sort_by(|(day, row), (other_day, other)| (day, cell(row)).cmp(&(other_day, cell(other))));
        let newest_first = || self.rows.iter().rev().map(|(_, row)| row);
        if row.customer.is_none() {
            row.customer = newest_first().find_map(|said| said.customer.clone());
        }
        if row.telephone.is_none() {
            let is_of_customer = |said: &&MachineRow| match (&said.customer, &row.customer) {
                (Some(said), Some(own)) => same_name(&said.value, &own.value),
                (None, _) => true,
                (Some(_), None) => false,
            };
            row.telephone = newest_first().filter(is_of_customer).find_map(|said| said.telephone.clone());
        }
        let said = newest_first().find_map(|said| said.mot_expiry.clone());
        match (&row.mot_expiry, said) {
            (Some(own), Some(said)) if said.value > own.value => {
                problems.extend([later_mot(identity, own, &said)])
            }
            (None, said) => row.mot_expiry = said,
            _ => {}
        }
    }
}

/// The first cell of what a row says.
fn cell(row: &MachineRow) -> Option<&crate::origin::Origin> {
    let customer = row.customer.as_ref().map(|entry| &entry.origin);
    let telephone = row.telephone.as_ref().map(|entry| &entry.origin);
    customer.or(telephone).or(row.mot_expiry.as_ref().map(|entry| &entry.origin))
}

/// A book in which a later end of the MOT stands than in the machine's own row, which may have been left behind.
fn later_mot(identity: &Identity, own: &Entry<Date>, said: &Entry<Date>) -> Problem {
    let what = format!("the row of {} gives an earlier MOT expiry than this one", identity.shown());
    let help =
        format!("The machine's row counts; {} says `{}`. Correct the wrong one.", own.origin, own.value);
    Problem::note(&said.origin, what, help).with_value(said.value.to_string())
}
