//! Columns whose header is no field's, and which may be one all the same: what is asked rather than left out.

use super::assign::{Assigned, Columns};
use super::header::{Header, is_of};
use super::shape::{LEAST_SHARE, SURE_SHARE};
use crate::sheets::Cell;
use crate::yard::field::Shape;
use crate::yard::{Field, RecordKind};

/// Words for a machine's going to its customer, whatever stands beside them.
const WORDS_OF_A_HANDOVER: [&str; 12] = [
    "handover",
    "handovers",
    "hover",
    "collect",
    "collects",
    "collected",
    "collecting",
    "collection",
    "delivery",
    "delivered",
    "pickup",
    "pick",
];

/// Words that may speak of a handover where nothing else is named, as `Ready for` does and `MOT required by` does not.
const WORDS_OF_A_PROMISE: [&str; 7] =
    ["ready", "promised", "promise", "required", "due", "wanted", "leaving"];

/// Words that may stand beside these.
const WORDS_BESIDE_A_PROMISE: [&str; 13] = [
    "date",
    "day",
    "time",
    "for",
    "by",
    "on",
    "est",
    "estimated",
    "expected",
    "planned",
    "agreed",
    "customer",
    "booked",
];

impl Columns<'_> {
    /// The columns that nothing has taken, each with a field that it may be.
    pub(super) fn perhaps(&mut self, kind: RecordKind, assigned: &[Assigned]) -> Vec<(usize, Field)> {
        let mut suggested = Vec::new();
        let has = |field: Field| assigned.iter().any(|taken| taken.field == field);
        for column in self.open_columns(assigned) {
            let header = &self.headers[column];
            let is_days = self.samples[column].share(Shape::Day) >= SURE_SHARE;
            if is_days && header.is_arrived_or_handover(kind) {
                suggested.extend([(column, Field::Arrived), (column, Field::Handover)]);
            } else if is_days && is_of(header.fields(kind), Field::MotExpiry) {
                suggested.push((column, Field::MotExpiry));
                if kind == RecordKind::Machine && !has(Field::MotTested) {
                    suggested.push((column, Field::MotTested));
                }
            } else if is_days
                && kind == RecordKind::Machine
                && !has(Field::Handover)
                && header.fields(kind).is_empty()
                && !self.samples[column].is_blank()
                && speaks_of_a_handover(header)
            {
                suggested.push((column, Field::Handover));
            } else if kind == RecordKind::Machine
                && !has(Field::Model)
                && is_of(header.fields(kind), Field::Kind)
                && header.words().iter().any(|word| word == "type")
                && !self.samples[column].is_blank()
                && self.samples[column].share_where(is_name) >= SURE_SHARE
            {
                // Values that are no kinds of machine name the model, as `Heron 400` does.
                suggested.push((column, Field::Model));
            }
        }
        if kind == RecordKind::Job {
            let mot = self.perhaps_mot_beside_the_work(assigned);
            suggested.extend(mot.into_iter().map(|column| (column, Field::MotExpiry)));
        }
        suggested.extend(self.clock_of_a_day(assigned).into_iter().map(|column| (column, Field::Clock)));
        let by_values = self.by_plain_values(kind, assigned, &suggested);
        suggested.extend(by_values);
        suggested
    }

    /// The figures that a day belongs to on which clocks were read, where none is taken for the clock: the unit in their
    /// header tells, or that they stand right before the day.
    fn clock_of_a_day(&mut self, assigned: &[Assigned]) -> Vec<usize> {
        let has_clock = assigned.iter().any(|taken| taken.field == Field::Clock);
        let Some(day) = assigned.iter().find(|taken| taken.field == Field::ClockDay && !has_clock) else {
            return Vec::new();
        };
        let mut open = self.open_columns(assigned);
        open.retain(|&column| {
            let header = &self.headers[column];
            let is_about_it = header.distance_unit.is_some() || column + 1 == day.column;
            let sample = &mut self.samples[column];
            is_about_it
                && header.fields(RecordKind::Machine).is_empty()
                && !sample.is_blank()
                && sample.share(Shape::Distance) >= SURE_SHARE
                && sample.share(Shape::Day) < LEAST_SHARE
        });
        open
    }
}

/// Whether a cell holds words, as the name of a model does.
pub(super) fn is_name(cell: Cell<'_>) -> bool {
    matches!(cell, Cell::Text(text) if text.chars().any(char::is_alphabetic))
}

/// Whether a header may be of the day on which the machine goes to its customer.
fn speaks_of_a_handover(header: &Header) -> bool {
    let words = header.words();
    let is_any_of = |word: &String, list: &[&str]| list.contains(&word.as_str());
    // A pre-delivery inspection comes before.
    let is_before = words.iter().any(|word| matches!(word.as_str(), "pre" | "predelivery"));
    let is_named = words.iter().any(|word| is_any_of(word, &WORDS_OF_A_HANDOVER))
        || words.windows(2).any(|pair| matches!(pair[0].as_str(), "hand" | "handed") && pair[1] == "over");
    let is_promised = words.iter().any(|word| is_any_of(word, &WORDS_OF_A_PROMISE))
        && words
            .iter()
            .all(|word| is_any_of(word, &WORDS_OF_A_PROMISE) || is_any_of(word, &WORDS_BESIDE_A_PROMISE));
    !is_before && (is_named || is_promised)
}
