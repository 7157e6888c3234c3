//! Rows of a list that say all but their machine's names as they did before: a machine that has got another mark.

use std::collections::{BTreeMap, BTreeSet};

use super::{Field, ReadAs};
use crate::sheets::{Row, Table};

/// How sure it is that two rows are about one machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sureness {
    /// By a name, or by one that is a slip apart.
    Named,
    /// By all the rest of its row, of which something is that machine's alone: its clock or one of its days.
    Rest,
    /// By its customer and the rest of its row, which may be another machine's of that customer.
    Likely,
}

/// Rows of today by their number, each with the number of the row that said the same before.
pub struct SameRest(BTreeMap<u32, (u32, Sureness)>);

/// What a row says under each header.
type Said = Vec<(String, String)>;

impl SameRest {
    /// Pairs the rows of two exports that say the same in every column but those of names, as no other row does; then those
    /// of which only the clock went on.
    pub fn of(before: (&Table, &ReadAs), now: (&Table, &ReadAs)) -> SameRest {
        let goes_on = |field: Field| matches!(field, Field::Clock | Field::ClockDay | Field::Note);
        let alike = |is_left_out: &dyn Fn(Field) -> bool, sureness: &dyn Fn(Row<'_>) -> Option<Sureness>| {
            let earlier = unique_rows(before, is_left_out);
            let later = unique_rows(now, is_left_out).into_iter();
            let pair = |(said, row): (Said, Row<'_>)| {
                Some((row.number, (earlier.get(&said)?.number, sureness(row)?)))
            };
            later.filter_map(pair).collect::<BTreeMap<_, _>>()
        };
        let has_customer = |row: Row<'_>| says_any(row, now.1, &[Field::Customer]);
        let in_all = alike(&|_| false, &|row| {
            let sure = if says_its_own(row, now.1) { Sureness::Rest } else { Sureness::Likely };
            has_customer(row).then_some(sure)
        });
        let in_most = alike(&goes_on, &|row| has_customer(row).then_some(Sureness::Likely));
        let matched: BTreeSet<u32> = in_all.values().map(|(was, _)| *was).collect();
        let mut pairs = in_all;
        for (row, (was, sureness)) in in_most {
            if !matched.contains(&was) {
                pairs.entry(row).or_insert((was, sureness));
            }
        }
        SameRest(pairs)
    }

    /// Which row said the same before as this one, and how sure that is.
    pub fn before(&self, row: u32) -> Option<(u32, Sureness)> {
        self.0.get(&row).copied()
    }
}

/// What no two machines of a customer have alike, beside their clocks.
const ITS_OWN: [Field; 4] = [Field::Registered, Field::Arrived, Field::Sold, Field::Handover];

/// A clock of fewer figures may be any new machine's. Our decision.
const FIGURES: usize = 3;

/// Whether a row holds something that is its machine's alone: one of its days, or its clock, which goes up with every ride.
fn says_its_own(row: Row<'_>, read_as: &ReadAs) -> bool {
    let figures = |text: &str| text.chars().filter(char::is_ascii_digit).count();
    let mut clocks = read_as.columns.iter().filter(|column| column.field == Field::Clock);
    says_any(row, read_as, &ITS_OWN)
        || clocks.any(|column| figures(&row.cell(column.index).shown().to_string()) >= FIGURES)
}

fn says_any(row: Row<'_>, read_as: &ReadAs, fields: &[Field]) -> bool {
    let mut columns = read_as.columns.iter().filter(|column| fields.contains(&column.field));
    columns.any(|column| !row.cell(column.index).is_blank())
}

/// The rows of a list that no other row is like, in all columns but those of names and those that are left out.
fn unique_rows<'t>(
    (table, read_as): (&'t Table, &ReadAs),
    is_left_out: &dyn Fn(Field) -> bool,
) -> BTreeMap<Said, Row<'t>> {
    let Some(header_row) = read_as.header_row else { return BTreeMap::new() };
    let read = read_as.columns.iter();
    let read = read.filter(|column| !column.field.is_identity() && !is_left_out(column.field));
    let columns: Vec<(usize, &String)> = read
        .map(|column| (column.index, &column.header))
        .chain(read_as.left_out.iter().map(|column| (column.index, &column.header)))
        .collect();
    let mut rows: BTreeMap<Said, Option<Row<'t>>> = BTreeMap::new();
    for row in table.rows().part(header_row + 1..).iter() {
        let filled = columns.iter().filter(|(index, _)| !row.cell(*index).is_blank());
        let mut said: Said =
            filled.map(|(index, header)| ((*header).clone(), row.cell(*index).shown().to_string())).collect();
        said.sort_unstable();
        rows.entry(said).and_modify(|other| *other = None).or_insert(Some(row));
    }
    rows.into_iter().filter_map(|(said, row)| Some((said, row?))).collect()
}
