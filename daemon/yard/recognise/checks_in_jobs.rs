//! Checks and road tests in a log that looks like one of jobs: taken for checks where their results stand, else told.

use super::assign::{Assigned, Assignment, Columns, Found, is_item_name, is_plain_result};
use super::beside::EVIDENCE_SCORE;
use super::header::is_of;
use super::perhaps::is_name;
use super::shape::{LEAST_SHARE, SURE_SHARE};
use super::visits::says_only_what_kind;
use crate::problem::{Problem, counted};
use crate::sheets::Cell;
use crate::yard::named_checks::{is_check, is_passed_check, is_road_test};
use crate::yard::{Field, RecordKind};

impl Columns<'_> {
    /// A check's item under a header of what was done, or under one that nothing knows, where most of it names checks.
    pub(super) fn candidate_by_items(&self, column: usize, kind: RecordKind) -> Option<(Assigned, f64)> {
        let header = &self.headers[column];
        let may_be_one = is_of(header.fields(RecordKind::Job), Field::Done)
            || !header.is_known()
            || says_only_what_kind(header);
        let is_one = kind == RecordKind::Check
            && may_be_one
            && !header.shown.is_empty()
            && !is_of(header.fields(kind), Field::Item)
            && self.names_checks(column);
        let (found, score) = (Found::Evidence, EVIDENCE_SCORE);
        is_one.then_some((Assigned { column, field: Field::Item, score, found }, score))
    }

    /// How checks came out, under a header that says nothing of it, where all of it are results and another column names
    /// checks.
    pub(super) fn candidate_by_results(&self, column: usize, kind: RecordKind) -> Option<(Assigned, f64)> {
        let header = &self.headers[column];
        let is_one = kind == RecordKind::Check
            && !header.shown.is_empty()
            && !is_item_name(&header.shown)
            && match header.fields(kind) {
                [] => self.samples[column].share_where(is_plain_result) >= SURE_SHARE,
                // Signs that nobody has explained are results all the same, which pass nothing.
                fields => {
                    is_of(fields, Field::Result) && self.samples[column].share_where(is_a_sign) >= SURE_SHARE
                }
            }
            && (0..self.headers.len()).any(|other| other != column && self.names_checks(other));
        let (found, score) = (Found::Evidence, EVIDENCE_SCORE);
        is_one.then_some((Assigned { column, field: Field::Result, score, found }, score))
    }

    /// Who did it, under a header that nothing knows and that ends in `by`: `created_by`, `BY1`.
    pub(super) fn candidate_by_by(&self, column: usize, kind: RecordKind) -> Option<(Assigned, f64)> {
        let header = &self.headers[column];
        let words = header.words();
        let is_by = match words.as_slice() {
            [.., last] if last == "by" => true,
            [.., by, which] if by == "by" => which == "first",
            _ => false,
        };
        let is_one = is_by
            && matches!(kind, RecordKind::Check | RecordKind::Job | RecordKind::Ride)
            && !header.is_known()
            && self.samples[column].share_where(is_name) >= SURE_SHARE;
        let (found, score) = (Found::Evidence, EVIDENCE_SCORE);
        is_one.then_some((Assigned { column, field: Field::By, score, found }, score))
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

/// Whether a cell holds a sign or two, and neither letter nor figure.
fn is_a_sign(cell: Cell<'_>) -> bool {
    /// More of them are a line or a rating.
    const MOST: usize = 2;
    matches!(cell, Cell::Text(text) if {
        let text = text.trim();
        !text.is_empty() && text.chars().count() <= MOST && !text.chars().any(char::is_alphanumeric)
    })
}
