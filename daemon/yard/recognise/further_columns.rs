//! Further columns of what a row says more than once: a second telephone number, the second and third job of a visit.

use super::assign::{Assigned, Columns, Found};
use super::beside::EVIDENCE_SCORE;
use super::header::{Header, is_of};
use super::lookalikes::Like;
use super::shape::SURE_SHARE;
use crate::yard::field::Shape;
use crate::yard::{Field, RecordKind};

/// Words of which the headers of a customer's numbers are made.
const OF_A_NUMBER: &str = "telephone mobile home work landline day daytime evening alt alternative alternate other first \
                           second 3 third no contact cell text ring call customer owner keeper house office best";

/// Words in the headers of what is no work, though its cells may name the same parts.
const NO_WORK: &str = "part parts material materials stock oil next due quote quoted estimate advisory advisories advised note \
                       notes comment comments remark remarks complaint complaints fault faults symptoms required requested \
                       wanted needed request instructions for to model make customer item code product check checked";

impl Columns<'_> {
    /// Gives further columns to the number to ring and to what was done, where one column has it already.
    pub(super) fn add_further_columns(&mut self, kind: RecordKind, assigned: &mut Vec<Assigned>) {
        for column in self.open_columns(assigned) {
            let further = assigned.iter().map(|taken| (taken.column, taken.field)).find(|(first, field)| {
                self.is_further_number(column, *field, kind) || self.is_further_work(column, *first, *field)
            });
            if let Some((_, field)) = further {
                let found = Found::Evidence;
                assigned.push(Assigned { column, field, score: EVIDENCE_SCORE, found });
            }
        }
    }

    /// Whether a column holds telephone numbers of the customer, of whom another column has one.
    fn is_further_number(&self, column: usize, field: Field, kind: RecordKind) -> bool {
        let (header, sample) = (&self.headers[column], &self.samples[column]);
        let words = header.words();
        let is_of_a_number = |word: &String| OF_A_NUMBER.split_whitespace().any(|one| one == word);
        field == Field::Telephone
            && (is_of(header.fields(kind), Field::Telephone) || words.iter().all(is_of_a_number))
            && sample.share_like(Like::Telephone) >= SURE_SHARE
    }

    /// Whether a column is headed as the one of what was done, but for its number: `Job 2` beside `Job 1`.
    fn is_further_work(&mut self, column: usize, first: usize, field: Field) -> bool {
        field == Field::Done
            && is_numbered_alike(&self.headers[first], &self.headers[column])
            && !self.samples[column].is_blank()
            && self.samples[column].share(Shape::Words) >= SURE_SHARE / 2.0
    }

    /// The columns that nothing has taken whose cells name work beside another column of it; what they are is asked.
    pub(super) fn may_be_further_work(&self, column: usize, kind: RecordKind) -> bool {
        let header = &self.headers[column];
        let words = header.words();
        kind == RecordKind::Job
            && header.fields(kind).is_empty()
            && header.fact_of_the_machine().is_none()
            && !words.iter().any(|word| NO_WORK.split_whitespace().any(|one| one == word))
            && self.share_of_work(column) >= SURE_SHARE
    }
}

/// Whether two headers differ by their number only.
fn is_numbered_alike(one: &Header, other: &Header) -> bool {
    let bare = |header: &Header| {
        let letters = header.shown.to_lowercase();
        letters.chars().filter(|letter| letter.is_alphabetic()).collect::<String>()
    };
    let has_number = |header: &Header| header.shown.contains(|letter: char| letter.is_ascii_digit());
    !bare(one).is_empty() && bare(one) == bare(other) && has_number(other)
}
