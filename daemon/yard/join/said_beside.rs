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
    /// and for nobody else; beside a blank, in a book that names customers, it stands alone.
    pub(super) fn fill_in(mut self, identity: &Identity, row: &mut MachineRow, problems: &mut Vec<Problem>) {
        // Of two rows of one day the one further down was written later.
        self.rows.sort_by(|(day, row), (other_day, other)| (day, cell(row)).cmp(&(other_day, cell(other))));
        let newest_first = || self.rows.iter().rev().map(|(_, row)| row);
        if row.make.is_none() && row.model.is_none() {
            let with_model = newest_first().find(|said| said.model.is_some());
            let said = with_model.or_else(|| newest_first().find(|said| said.make.is_some()));
            (row.make, row.model) =
                said.map(|said| (said.make.clone(), said.model.clone())).unwrap_or_default();
        }
        if row.customer.is_none() {
            row.customer = newest_first().find_map(|said| said.customer.clone());
        }
        if row.telephone.is_none() {
            let is_of_customer = |said: &&MachineRow| match (&said.customer, &row.customer) {
                (Some(said), Some(own)) => same_name(&said.value, &own.value),
                (None, _) => true,
                (Some(_), None) => false,
            };
            let found = newest_first().filter(is_of_customer).find(|said| said.telephone.is_some());
            row.telephone = found.and_then(|said| said.telephone.clone());
            row.number_alone =
                found.is_some_and(|said| said.customer.is_none() && self.names_another(&row.telephone));
        }
        let said = newest_first().find_map(|said| said.mot_expiry.clone());
        match (&row.mot_expiry, said) {
            (Some(own), Some(said)) if said.value > own.value => {
                problems.extend([later_mot(identity, own, &said)])
            }
            (None, said) => row.mot_expiry = said,
            _ => {}
        }
        if row.mot_expiry.is_none() && row.mot_exempt.is_none() {
            row.mot_exempt = newest_first().find_map(|said| said.mot_exempt.clone());
        }
    }

    /// Whether customers are named in the book, and none beside that number.
    fn names_another(&self, number: &Option<Entry<String>>) -> bool {
        let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
        let number = number.as_ref().map(|number| digits(&number.value));
        let mut named = self.rows.iter().filter(|(_, said)| said.customer.is_some()).peekable();
        let is_beside =
            |(_, said): &(_, MachineRow)| said.telephone.as_ref().map(|own| digits(&own.value)) == number;
        named.peek().is_some() && !named.any(is_beside)
    }
}

/// The first cell of what a row says.
fn cell(row: &MachineRow) -> Option<&crate::origin::Origin> {
    let customer = row.customer.as_ref().map(|entry| &entry.origin);
    let telephone = row.telephone.as_ref().map(|entry| &entry.origin);
    let machine = row.model.as_ref().or(row.make.as_ref()).map(|entry| &entry.origin);
    customer.or(telephone).or(row.mot_expiry.as_ref().map(|entry| &entry.origin)).or(machine)
}

/// A book in which a later end of the MOT stands than in the machine's own row, which may have been left behind.
fn later_mot(identity: &Identity, own: &Entry<Date>, said: &Entry<Date>) -> Problem {
    let what = format!("the row of {} gives an earlier MOT expiry than this one", identity.shown());
    let help =
        format!("The machine's row counts; {} says `{}`. Correct the wrong one.", own.origin, own.value);
    Problem::note(&said.origin, what, help).with_value(said.value.to_string())
}
