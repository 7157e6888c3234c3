//! Checks and road tests in a log that looks like one of jobs: taken for checks where their results stand, else told.

use super::assign::{Assigned, Assignment, Columns, Found};
use super::beside::EVIDENCE_SCORE;
use super::header::is_of;
use super::shape::LEAST_SHARE;
use crate::problem::{Problem, counted};
use crate::sheets::Cell;
use crate::yard::named_checks::{is_check, is_passed_check, is_road_test};
use crate::yard::{Field, RecordKind};

impl Columns<'_> {
    /// A check's item under a header of what was done, where most of it names checks.
    pub(super) fn candidate_by_items(&self, column: usize, kind: RecordKind) -> Option<(Assigned, f64)> {
        let header = &self.headers[column];
        let is_one = kind == RecordKind::Check
            && is_of(header.fields(RecordKind::Job), Field::Done)
            && !is_of(header.fields(kind), Field::Item)
            && self.names_checks(column);
        let (found, score) = (Found::Evidence, EVIDENCE_SCORE);
        is_one.then_some((Assigned { column, field: Field::Item, score, found }, score))
    }

    /// Whether what was done are checks, each with its result beside it.
    pub(super) fn is_of_checks(&self, check: &Assignment, job: &Assignment) -> bool {
        let column_of = |assignment: &Assignment, field: Field| {
            assignment
                .assigned
                .iter()
                .find(|assigned| assigned.field == field)
                .map(|assigned| assigned.column)
        };
        let item = column_of(check, Field::Item);
        column_of(check, Field::Result).is_some()
            && item.is_some_and(|item| self.names_checks(item))
            && item == column_of(job, Field::Done)
    }

    fn names_checks(&self, column: usize) -> bool {
        let sample = &self.samples[column];
        let is_one = |cell: Cell<'_>| matches!(cell, Cell::Text(text) if is_check(text));
        !sample.is_blank() && sample.share_where(is_one) >= LEAST_SHARE
    }

    /// That rows of a job log name checks or road tests, of which a job says too little to count.
    pub(super) fn checks_in_jobs(&self, assignment: &Assignment) -> Option<Problem> {
        let done = assignment.assigned.iter().find(|assigned| assigned.field == Field::Done)?;
        let rows = self.table.rows().part(self.header_row + 1..);
        let is_one = |text: &str| (is_check(text) && !is_passed_check(text)) || is_road_test(text);
        let (mut first, mut named, mut filled) = (None, 0, 0);
        for row in rows.iter() {
            let Cell::Text(text) = row.cell(done.column) else { continue };
            filled += 1;
            if is_one(text) {
                named += 1;
                first.get_or_insert((row, text));
            }
        }
        let (row, text) = first?;
        let verb = if named == 1 { "names" } else { "name" };
        let what = format!(
            "{named} of {} {verb} a check or a road test, which count for none here: a job does not say how a check \
             came out or how far a ride went",
            counted(filled, "job")
        );
        let help = "Keep checks in a sheet with a column for the result, road tests in one for how far they went. Of \
                    a check that was passed `PDI done` will do.";
        Some(Problem::note(&self.table.origin(row, done.column), what, help).with_value(text.to_owned()))
    }
}
