//! Whether a log's `Miles` is what the clock showed or how far a ride went: told by its figures, machine by machine.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::assign::{Assigned, Assignment, Columns, Found};
use super::beside::{EVIDENCE_SCORE, ROWS_BESIDE};
use super::header::{Header, is_of};
use super::shape::SURE_SHARE;
use crate::yard::cells::{self, Meaning};
use crate::yard::field::Shape;
use crate::yard::{Field, RecordKind};

/// What the figures of a column of distances show; they are in miles or in km, which makes no difference here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Figures {
    /// They are large, or rise with the day: a clock's.
    Rising,
    /// They are small and often fall: no clock's.
    Falling,
    /// They are small and mostly stay as they are: rather rides than readings.
    Level,
    /// Too few, or of either kind.
    Open,
}

/// No road test is as long as this, and hardly a trip; a clock is soon past it. Our decision.
const LARGE: i64 = 200;
/// No trip at all is as long as this.
const NO_TRIP: i64 = 1_000;
/// A clock that shows no more than this has not gone further than a few road tests, each of which may happen to be
/// longer than the one before. Our decision.
const LENGTH_OF_TESTS: i64 = 30;
/// Rides before and after a handover are shorter than this. Our decision.
const SMALL: i64 = 100;

/// Words in headers that stand beside what a ride was.
const WORDS_OF_A_RIDE: &[&str] =
    &["rider", "ridden", "rode", "ride", "rides", "tester", "test", "trip", "trips", "speed", "mph", "road"];

impl Columns<'_> {
    /// Whether a column's header is how far a ride went in a log of rides, and what the clock showed in another log.
    pub(super) fn is_clock_or_ride(&self, column: usize) -> bool {
        let is_clock = |kind| is_of(self.headers[column].fields(kind), Field::Clock);
        is_of(self.headers[column].fields(RecordKind::Ride), Field::Distance)
            && [RecordKind::Reading, RecordKind::Job, RecordKind::Fill].into_iter().any(is_clock)
    }

    /// Whether a column's figures are none of the field that its header may be.
    pub(super) fn figures_speak_against(&mut self, column: usize, field: Field, kind: RecordKind) -> bool {
        if !matches!(field, Field::Clock | Field::Distance) || !self.is_clock_or_ride(column) {
            return false;
        }
        match (field, kind, self.figures(column)) {
            (Field::Distance, RecordKind::Ride, Figures::Rising)
            | (Field::Clock, RecordKind::Reading, Figures::Falling | Figures::Level)
            // A machine may have several jobs at one reading.
            | (Field::Clock, RecordKind::Job | RecordKind::Fill, Figures::Falling) => true,
            _ => false,
        }
    }

    /// A ride's `Miles` that rise like a clock's are what it showed.
    pub(super) fn candidate_by_figures(
        &mut self,
        column: usize,
        kind: RecordKind,
    ) -> Option<(Assigned, f64)> {
        let is_clock = kind == RecordKind::Ride
            && self.is_clock_or_ride(column)
            && self.headers[column].has_units_of(Field::Clock, kind)
            && self.figures(column) == Figures::Rising;
        let found = Found::Evidence;
        let score = EVIDENCE_SCORE;
        is_clock.then_some((Assigned { column, field: Field::Clock, score, found }, score))
    }

    /// The other of readings and rides that a sheet may be of as well, where neither its figures nor any header tells.
    pub(super) fn reading_or_ride(&mut self, best: &Assignment, kinds: &[Assignment]) -> Option<RecordKind> {
        let (own, other, other_field) = match best.kind {
            RecordKind::Reading => (Field::Clock, RecordKind::Ride, Field::Distance),
            RecordKind::Ride => (Field::Distance, RecordKind::Reading, Field::Clock),
            _ => return None,
        };
        let column = best.assigned.iter().find(|assigned| assigned.field == own)?.column;
        let is_same = |kind: &&Assignment| {
            let takes = |field, column| {
                kind.assigned.iter().any(|assigned| assigned.field == field && assigned.column == column)
            };
            kind.kind == other && takes(other_field, column) && self.is_enough(kind)
        };
        kinds.iter().find(is_same)?;
        let is_of_rides = best.kind == RecordKind::Ride && self.has_word_of_a_ride();
        let is_open = self.is_clock_or_ride(column) && !is_of_rides && self.figures(column) == Figures::Open;
        is_open.then_some(other)
    }

    fn has_word_of_a_ride(&self) -> bool {
        let is_one =
            |header: &Header| header.words().iter().any(|word| WORDS_OF_A_RIDE.contains(&word.as_str()));
        self.headers.iter().any(is_one)
    }

    /// What the figures of a column show; reckoned once.
    pub(super) fn figures(&mut self, column: usize) -> Figures {
        if let Some(figures) = self.figures.get(&column) {
            return *figures;
        }
        let figures = self.reckon_figures(column);
        self.figures.insert(column, figures);
        figures
    }

    fn reckon_figures(&mut self, column: usize) -> Figures {
        let is_identity = |place: &usize| {
            let fields = self.headers[*place].fields(RecordKind::Reading);
            fields.iter().any(|(field, _)| field.is_identity()) && !self.samples[*place].is_blank()
        };
        let identity = (0..self.headers.len()).find(is_identity);
        let day = (0..self.headers.len()).find(|place| {
            is_of(self.headers[*place].fields(RecordKind::Reading), Field::Day)
                && !self.samples[*place].is_blank()
                && self.samples[*place].share(Shape::Day) >= SURE_SHARE
        });
        let days = day.map(|day| self.days_in(day));
        let mut values = Vec::new();
        let mut machines: BTreeMap<String, Vec<(Date, i64)>> = BTreeMap::new();
        let rows = self.table.rows().part(self.header_row + 1..);
        for (place, row) in rows.iter().enumerate().take(ROWS_BESIDE) {
            let Ok(Some(figure)) = cells::distance(row.cell(column), &Meaning::default()) else { continue };
            values.push(figure.tenths);
            let day = days.as_ref().and_then(|days| days[place]);
            if let Some((identity, day)) = identity.zip(day) {
                let machine = self.table.row_of_value(row, identity).cell(identity).shown().to_uppercase();
                machines.entry(machine).or_default().push((day, figure.tenths));
            }
        }
        told(values, machines)
    }
}

/// What figures show, all of them and those of each machine by their days.
fn told(mut values: Vec<i64>, mut machines: BTreeMap<String, Vec<(Date, i64)>>) -> Figures {
    /// Fewer pairs of figures rise or fall by chance.
    const LEAST_PAIRS: usize = 4;
    values.sort_unstable();
    let Some(median) = values.get(values.len() / 2).map(|tenths| tenths / 10) else { return Figures::Open };
    let (mut pairs, mut falls, mut ties, mut grown) = (0, 0, 0, 0);
    let mut followed = 0;
    for readings in machines.values_mut() {
        readings.sort_unstable();
        for pair in readings.windows(2).filter(|pair| pair[0].0 < pair[1].0) {
            pairs += 1;
            falls += usize::from(pair[1].1 < pair[0].1);
            ties += usize::from(pair[1].1 == pair[0].1);
        }
        if let [(first_day, first), .., (last_day, last)] = readings[..] {
            followed += usize::from(first_day < last_day);
            grown += usize::from(first_day < last_day && last >= 2 * first);
        }
    }
    if median >= LARGE {
        // Days that are read wrongly make a clock fall, too.
        return if median >= NO_TRIP || falls * 10 <= pairs { Figures::Rising } else { Figures::Open };
    }
    if median <= SMALL && falls >= 2 && falls * 4 >= pairs {
        return Figures::Falling;
    }
    if median <= SMALL && pairs >= LEAST_PAIRS && (falls + ties) * 2 >= pairs {
        return Figures::Level;
    }
    let is_past_tests = values.last().is_some_and(|largest| largest / 10 >= LENGTH_OF_TESTS);
    let is_steady = falls == 0 && ties * 4 <= pairs && grown * 2 >= followed;
    let is_rising = is_past_tests && pairs >= LEAST_PAIRS && is_steady;
    if is_rising { Figures::Rising } else { Figures::Open }
}
