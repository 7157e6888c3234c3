//! Why a column of a sheet is not read.

use std::collections::BTreeSet;
use std::fmt;

use super::assign::{Assigned, Assignment, Columns};
use super::header::is_of;
use crate::yard::no_work_header::NoWorkHeader;
use crate::yard::{Field, RecordKind};

/// Why a column is not read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Why {
    /// The owner leaves it out.
    Refused,
    /// A column with the header given is that field already.
    Taken(String, Field),
    /// Its header would make it a field, its values are something else.
    Unlike(Field),
    /// It may be one of these fields, but that is not clear enough.
    MayBe(Vec<Field>),
    /// It says what the machine is, which is taken from a sheet with one row a machine only.
    OfTheMachine(Field),
    /// It says when something falls due, which is worked out and not read.
    WorkedOut,
    /// It says of some rows that they are no work done.
    SaysNoWork,
    /// Rows of this kind have no such field.
    Unknown(RecordKind),
}

impl Why {
    /// Why this column is not among the assigned ones.
    pub(super) fn of(index: usize, columns: &Columns<'_>, assignment: &Assignment) -> Why {
        if columns.refused.contains(&index) {
            return Why::Refused;
        }
        let header = &columns.headers[index];
        let known = header.fields(assignment.kind).iter();
        let known: Vec<&(Field, usize)> =
            known.filter(|(field, _)| header.has_units_of(*field, assignment.kind)).collect();
        let takes = |taken: &&Assigned| known.iter().any(|(field, _)| *field == taken.field);
        let suggested = assignment.suggested.iter().filter(|(column, _)| *column == index);
        let mut seen = BTreeSet::new();
        let suggested = suggested.map(|(_, field)| *field).filter(|field| seen.insert(*field));
        let suggested: Vec<Field> = suggested.collect();
        // `Done` may be the day of a job, and what says whether it was done.
        let is_another = suggested
            .iter()
            .any(|field| *field == Field::Outcome || !is_of(header.fields(assignment.kind), *field));
        if let Some(taken) = assignment.assigned.iter().find(takes).filter(|_| !is_another) {
            return Why::Taken(columns.headers[taken.column].shown.clone(), taken.field);
        }
        match known.first() {
            _ if !suggested.is_empty() => Why::MayBe(suggested),
            Some((field, _)) => Why::Unlike(*field),
            None => match header.fact_of_the_machine() {
                Some(field) if assignment.kind != RecordKind::Machine => Why::OfTheMachine(field),
                None if header.is_when_serviced_next() => Why::WorkedOut,
                None if assignment.kind == RecordKind::Job && NoWorkHeader::of(&header.shown).is_some() => {
                    Why::SaysNoWork
                }
                _ => Why::Unknown(assignment.kind),
            },
        }
    }
}

/// A field's name as a sentence says it after `the`.
fn as_a_thing(field: Field) -> &'static str {
    match field {
        Field::Arrived => "day it arrived",
        Field::Sold => "day it was sold",
        Field::Registered => "day of registration",
        Field::Mark => "registration mark",
        Field::MotExpiry => "end of its MOT",
        Field::LastServiceDay => "day of the last service",
        Field::LastServiceDone => "work of the last service",
        Field::ClockDay => "day on which the clock was read",
        Field::BrakeFluidDay => "day on which the brake fluid was changed",
        Field::Day => "day of the row",
        Field::Telephone => "telephone number",
        Field::Done => "work that was done",
        Field::Grade => "fuel that went in",
        Field::Outcome => "word that a job was done or a sale went through",
        Field::MotTested => "day of its last MOT test",
        other => other.name(),
    }
}

impl fmt::Display for Why {
    /// As a phrase that follows the column's name.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Why::Refused => formatter.write_str("tickover.toml leaves it out"),
            Why::Taken(header, field) => {
                write!(formatter, "column `{header}` is taken as the {} already", field.name())
            }
            Why::Unlike(field) => {
                let name = field.name();
                write!(formatter, "by its header it is the {name}, but its values do not look like one")
            }
            Why::MayBe(fields) => {
                let names: Vec<&str> = fields.iter().map(|field| as_a_thing(*field)).collect();
                let (last, others) = names.split_last().unwrap_or((&"", &[]));
                let or = if others.is_empty() { "" } else { " or the " };
                write!(formatter, "it may be the {}{or}{last}", others.join(", the "))
            }
            Why::OfTheMachine(field) => {
                write!(formatter, "the {} is taken from a sheet with one row a machine", field.name())
            }
            Why::WorkedOut => formatter.write_str(
                "when a service is due is worked out from the last one and the handbook, and a day or distance that \
                 has passed here is not told",
            ),
            Why::SaysNoWork => formatter
                .write_str("no field of its own; where it says yes, the work of its row is not done, or in doubt"),
            Why::Unknown(kind) => write!(formatter, "no field of a {} has a header like it", kind.name()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_column_may_be_is_said_in_words() {
        let why = Why::MayBe(vec![Field::Arrived, Field::Handover]);
        assert_eq!(why.to_string(), "it may be the day it arrived or the handover");
    }
}
