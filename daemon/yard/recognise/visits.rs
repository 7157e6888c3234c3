//! A workshop's book: whether a row of it is a visit or a machine, and which free text is what was done.

use std::collections::{BTreeMap, BTreeSet};

use super::assign::{Assigned, Assignment, Columns, Found, column_of};
use super::beside::{EVIDENCE_SCORE, ROWS_BESIDE};
use super::header::{Header, is_of};
use super::plain_values::is_plainly_a_day;
use super::shape::{LEAST_SHARE, SURE_SHARE};
use crate::settings::words_of;
use crate::sheets::Cell;
use crate::units::{Months, months_after};
use crate::yard::cells::{self, Meaning};
use crate::yard::{Field, RecordKind, day_row};

/// What speaks for a row that is a visit to the workshop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Visit {
    /// It is one.
    Sure,
    /// It may be one, or a machine with what is to be done to it.
    Perhaps,
    /// Nothing speaks for it.
    No,
}

/// Words by which a cell names work, as workshops write them. Common practice, no source.
const WORK: &str = "service serviced servicing mot pdi inspection inspect check checked recall repair repaired replace \
                    replaced fit fitted fitting change changed clean cleaned adjust adjusted diagnose diagnosis tyre tyres \
                    tire tires pads discs disc brake brakes fluid oil filter filters plug plugs valve valves clearances \
                    chain sprocket sprockets fork forks seal seals bearing bearings battery clutch cable cables coolant \
                    puncture leak leaking bulb indicator starter carb carbs exhaust wheel wheels";

/// Words in the headers of what was asked for, which may not have been done.
const ASKED_FOR: [&str; 7] = ["required", "requested", "wanted", "needed", "request", "instructions", "for"];

/// Words in the headers of what somebody wrote beside, whatever it was.
const REMARKS: [&str; 9] =
    ["memo", "note", "notes", "comment", "comments", "remark", "remarks", "details", "info"];

/// Whether a header is that of the work that was asked for, of which nobody says that it was done.
pub(super) fn is_asked_for(header: &Header) -> bool {
    let words = header.words();
    let has = |list: &[&str]| words.iter().any(|word| list.contains(&word.as_str()));
    has(&ASKED_FOR) && !has(&["done", "carried", "completed", "complaint"])
}

/// Whether a field of a job's row says something beside what was done that says nothing of what the rows are.
pub(super) fn is_beside_the_job(field: Field) -> bool {
    matches!(
        field,
        Field::Customer
            | Field::Telephone
            | Field::MotExpiry
            | Field::Outcome
            | Field::Make
            | Field::Model
            | Field::Note
    )
}

/// What a plain header tells beside the work: the make, the model, or remarks.
fn beside_the_work(header: &Header) -> Option<Field> {
    const MACHINE: [&str; 4] = ["bike", "machine", "vehicle", "motorcycle"];
    const NOTES: [&str; 6] = ["note", "notes", "remark", "remarks", "comment", "comments"];
    let words = header.words();
    let mut words: Vec<&str> =
        words.iter().map(String::as_str).filter(|word| !MACHINE.contains(word)).collect();
    words.retain(|word| *word != "and");
    match words[..] {
        ["make" | "maker" | "marque" | "manufacturer"] => Some(Field::Make),
        ["model"] | ["make", "model"] => Some(Field::Model),
        [note] if NOTES.contains(&note) => Some(Field::Note),
        _ => None,
    }
}

/// Whether a header is `MOT` or `MOT date`; a longer name of it, such as `MOT booked`, says something else.
fn is_bare_mot(header: &Header) -> bool {
    let fields = header.fields(RecordKind::Machine);
    is_of(fields, Field::MotExpiry) && !is_of(fields, Field::MotTested)
}

impl Columns<'_> {
    /// Gives the columns beside the work that nothing else wants to what their plain headers tell.
    pub(super) fn add_beside_the_work(&self, assigned: &mut Vec<Assigned>) {
        if !assigned.iter().any(|taken| taken.field == Field::Done) {
            return;
        }
        for column in self.open_columns(assigned) {
            let field = beside_the_work(&self.headers[column]).filter(|_| !self.samples[column].is_blank());
            let Some(field) = field.filter(|field| assigned.iter().all(|taken| taken.field != *field)) else {
                continue;
            };
            assigned.push(Assigned { column, field, score: EVIDENCE_SCORE, found: Found::Name });
        }
        self.add_mot_beside_the_work(assigned);
    }

    /// Gives a column under a bare `MOT` or `MOT date` to the certificate's end where its days show that they are: nearly
    /// all within the longest that one runs from their visit, and most of them months ahead, as no booking is.
    fn add_mot_beside_the_work(&self, assigned: &mut Vec<Assigned>) {
        let is_open = column_of(assigned, Field::MotExpiry).is_none();
        let Some(day) = column_of(assigned, Field::Day).filter(|_| is_open) else { return };
        let is_one = |column: &usize| {
            let header = &self.headers[*column];
            is_bare_mot(header) && self.runs_out_after(*column, day) == Some(true)
        };
        let found = self.open_columns(assigned).into_iter().find(is_one);
        assigned.extend(found.map(|column| Assigned {
            column,
            field: Field::MotExpiry,
            score: EVIDENCE_SCORE,
            found: Found::Evidence,
        }));
    }

    /// The columns under a bare `MOT` beside the work of which some days may be a certificate's end, and nothing shows that
    /// they all are.
    pub(super) fn perhaps_mot_beside_the_work(&self, assigned: &[Assigned]) -> Vec<usize> {
        let is_open =
            column_of(assigned, Field::MotExpiry).is_none() && column_of(assigned, Field::Done).is_some();
        let Some(day) = column_of(assigned, Field::Day).filter(|_| is_open) else { return Vec::new() };
        let mut columns = self.open_columns(assigned);
        columns.retain(|column| {
            is_bare_mot(&self.headers[*column]) && self.runs_out_after(*column, day) == Some(false)
        });
        columns
    }

    /// Whether the days of a column lie ahead of their rows' days as ends of MOT certificates do; `None` where none is
    /// farther ahead than tests are booked.
    fn runs_out_after(&self, column: usize, day: usize) -> Option<bool> {
        /// A test up to a month (minus a day) before the old certificate's end keeps its day (GOV.UK, 'Getting an MOT').
        /// The first MOT is due three years after registration (GOV.UK, 'Getting an MOT').
        const LONGEST: Months = Months(37);
        /// A test is booked no farther ahead, mostly. Our decision.
        const BOOKED_WITHIN: Months = Months(2);
        /// Fewer rows may lie so by chance.
        const LEAST_ROWS: usize = 3;
        let read = |cell: Cell<'_>| cells::day(cell, &Meaning::default()).ok().flatten();
        let rows = self.table.rows().part(self.header_row + 1..);
        let (mut days, mut ends, mut far) = (0, 0, 0);
        for row in rows.iter() {
            let Some((end, day)) = read(row.cell(column)).zip(read(row.cell(day))) else { continue };
            let is_within = |months| months_after(day, months).is_some_and(|last| end <= last);
            days += 1;
            ends += usize::from(end >= day && is_within(LONGEST));
            far += usize::from(end >= day && !is_within(BOOKED_WITHIN));
        }
        // One machine may have come because its MOT had run out.
        let is_sure = days >= LEAST_ROWS && ends as f64 >= SURE_SHARE * days as f64 && 2 * far > days;
        (far > 0).then_some(is_sure)
    }

    /// What was done, under a header that does not say so, such as `Notes`, where its cells name work in most rows.
    pub(super) fn candidate_by_work(&self, column: usize, kind: RecordKind) -> Option<(Assigned, f64)> {
        let header = &self.headers[column];
        let says_nothing = !header.is_known()
            || header.words().iter().all(|word| REMARKS.contains(&word.as_str()))
            || says_only_what_kind(header);
        let is_one = kind == RecordKind::Job
            && says_nothing
            && !header.shown.is_empty()
            && self.share_of_work(column) >= LEAST_SHARE;
        let (found, score) = (Found::Evidence, EVIDENCE_SCORE);
        is_one.then_some((Assigned { column, field: Field::Done, score, found }, score))
    }

    /// Whether a header such as `Type` stands over anything but work while another column names it in nearly every row, as
    /// the kind of each paper stands beside what the paper is of.
    pub(super) fn is_outdone(&self, column: usize) -> bool {
        let header = &self.headers[column];
        let is_vague = |word: &String| matches!(word.as_str(), "type" | "item" | "what" | "event" | "action");
        let is_better = |other: usize| {
            other != column
                && self.candidate_by_work(other, RecordKind::Job).is_some()
                && self.share_of_work(other) >= SURE_SHARE
        };
        header.words().iter().all(is_vague)
            && self.samples[column].count() > 1
            && self.share_of_work(column) == 0.0
            && (0..self.headers.len()).any(is_better)
    }

    /// Whether a plain `Date` stands over texts of which none can be read as a day: a log's row has one all the same.
    pub(super) fn has_unread_day(&self) -> bool {
        (0..self.headers.len()).any(|column| {
            let sample = &self.samples[column];
            let is_day = |cell: Cell<'_>| cells::day(cell, &Meaning::default()).is_ok();
            self.is_plain_day(column) && !sample.is_blank() && sample.share_where(is_day) < LEAST_SHARE
        })
    }

    /// Whether a header is that of the day of any log's row.
    fn is_plain_day(&self, column: usize) -> bool {
        let header = &self.headers[column];
        [RecordKind::Job, RecordKind::Check, RecordKind::Ride, RecordKind::Fill]
            .into_iter()
            .all(|kind| is_of(header.fields(kind), Field::Day))
    }

    /// Whether many machines stand in several rows with another day each, as in a log.
    pub(super) fn come_again(&self, machine: &Assignment) -> bool {
        let identities = identities(machine);
        let holds_days = |column: &usize| {
            self.is_plain_day(*column) || self.samples[*column].share_where(is_plainly_a_day) >= SURE_SHARE
        };
        let days: Vec<usize> = (0..self.headers.len()).filter(holds_days).collect();
        let is_log =
            |identity: &usize| days.iter().any(|day| self.share_of_visits(*identity, *day) >= MANY_VISITS);
        !identities.is_empty() && identities.iter().all(is_log)
    }

    /// Whether the one free text of a log is work in nearly every row, though its header does not say so.
    pub(super) fn is_of_work_by_its_cells(&self, job: &Assignment) -> bool {
        let found = job.assigned.iter().find(|assigned| assigned.field == Field::Done);
        found.is_some_and(|done| {
            done.found == Found::Evidence && self.share_of_work(done.column) >= SURE_SHARE
        })
    }

    /// Whether a log says what was done, so that it is none of clocks alone, whatever the header of its day: by its header
    /// and most of its cells, or by nearly all of them.
    pub(super) fn says_work(&self, job: &Assignment) -> bool {
        let found = job.assigned.iter().find(|assigned| assigned.field == Field::Done);
        let is_named = found
            .is_some_and(|done| done.found == Found::Name && self.share_of_work(done.column) >= LEAST_SHARE);
        is_named || self.is_of_work_by_its_cells(job)
    }

    /// The share of the filled cells that name work; none where most rows have no such cell, as in a log with a remark here
    /// and there.
    pub(super) fn share_of_work(&self, column: usize) -> f64 {
        let rows = self.samples.iter().map(super::shape::Sample::count).max().unwrap_or(0);
        let sample = &self.samples[column];
        if sample.count() * 2 < rows { 0.0 } else { sample.share_where(names_work) }
    }

    /// Whether a row is a visit or a machine, where a job's row and a machine's both explain the sheet: a day and what was
    /// done stand beside what a list of machines has as well.
    pub(super) fn visit(&self, job: &Assignment, machine: &Assignment) -> Visit {
        let in_job = |field: Field| job.assigned.iter().find(|assigned| assigned.field == field);
        let may_be_day = || job.suggested.iter().find(|(_, field)| *field == Field::Day);
        let known_day = in_job(Field::Day).map(|day| day.column);
        let Some(done) = in_job(Field::Done) else { return Visit::No };
        if known_day.is_none() && (self.has_day_rows() || (may_be_day().is_none() && self.has_unread_day())) {
            return if done.found == Found::Name { Visit::Sure } else { Visit::Perhaps };
        }
        let Some(day) = known_day.or(may_be_day().map(|(column, _)| *column)) else { return Visit::No };
        let is_only_of_machine = |assigned: &Assigned| {
            assigned.field != Field::MotExpiry && self.is_only_of(assigned, RecordKind::Job)
        };
        if machine.assigned.iter().any(is_only_of_machine) {
            return Visit::No;
        }
        let in_machine =
            |column: usize| machine.assigned.iter().find(|one| one.column == column).map(|one| one.field);
        let has_mot = machine.assigned.iter().any(|one| one.field == Field::MotExpiry);
        let came_in = in_machine(day) == Some(Field::Arrived);
        // A list of machines has these, too: the day on which each came, beside what is to be done to it.
        let is_contested = has_mot || (came_in && names_what_is_wrong(&self.headers[done.column]));
        let is_plain_work = done.found == Found::Name && in_machine(done.column).is_none();
        let is_of_last_service = [done.column, day].iter().any(|column| self.is_of_the_newest(*column));
        let comes_and_goes =
            (0..self.headers.len()).any(|column| self.comes_or_goes(column) && !self.is_half_a_visit(column));
        let is_of_the_machine = |one: &Assigned| one.field.is_of_the_machine();
        // Bikes in stock come and go, too, and have their model beside.
        let may_be_stock = has_mot
            || names_what_is_wrong(&self.headers[done.column])
            || machine.assigned.iter().any(is_of_the_machine);
        let says_what_was_done = done.found == Found::Name
            && !self.is_of_the_newest(done.column)
            && !names_what_is_wrong(&self.headers[done.column]);
        let identity = identities(machine).first().copied();
        let repeated = identity.map_or(0.0, |identity| self.share_of_visits(identity, day));
        let is_lost = in_machine(done.column).is_none() && self.share_of_work(done.column) >= SURE_SHARE;
        match () {
            // What the day is, is asked once it is known what the rows are.
            () if known_day.is_none() => {
                if repeated > 0.0 || is_lost || says_what_was_done {
                    Visit::Perhaps
                } else {
                    Visit::No
                }
            }
            () if repeated >= MANY_VISITS
                && (done.found == Found::Name || self.is_of_work_by_its_cells(job)) =>
            {
                Visit::Sure
            }
            () if done.found != Found::Name => {
                if repeated > 0.0 || is_lost {
                    Visit::Perhaps
                } else {
                    Visit::No
                }
            }
            () if comes_and_goes && !is_plain_work => Visit::No,
            () if comes_and_goes && may_be_stock => Visit::Perhaps,
            () if !is_contested => Visit::Sure,
            () if is_of_last_service => Visit::No,
            () if is_plain_work && in_machine(day).is_none() => Visit::Sure,
            () => Visit::Perhaps,
        }
    }

    /// Whether a header says that it is of the newest service only, as a list of machines does. `Work done` and a plain
    /// `Date` stand in a book of visits as well, in which each machine may have been once so far.
    fn is_of_the_newest(&self, column: usize) -> bool {
        const NEWEST: [&str; 7] = ["last", "latest", "previous", "prev", "recent", "service", "serviced"];
        self.headers[column].words().iter().any(|word| NEWEST.contains(&word.as_str()))
    }

    /// Whether a header says on which day a machine came or went, as both a visit's row and a list of machines do:
    /// `Came in`, `Collected`.
    fn comes_or_goes(&self, column: usize) -> bool {
        let header = &self.headers[column];
        let of_machine = header.fields(RecordKind::Machine);
        // These stand alone on many a job card.
        let is_of_a_card = matches!(
            header.words().iter().map(String::as_str).collect::<Vec<_>>()[..],
            ["out"] | ["date", "in" | "out"]
        );
        is_of(header.fields(RecordKind::Job), Field::Day)
            && (is_of(of_machine, Field::Arrived) || is_of(of_machine, Field::Handover))
            && !is_of_a_card
    }

    /// Whether a day on which a machine came or went has no other one beside it that makes the two a visit.
    pub(super) fn is_half_a_visit(&self, column: usize) -> bool {
        let goes = is_of(self.headers[column].fields(RecordKind::Machine), Field::Handover);
        let is_other_half = |other: usize| {
            let is_bare_day = goes && is_of(self.headers[other].fields(RecordKind::Reading), Field::Day);
            let is_pair = self.goes_out_after(column, other) || self.goes_out_after(other, column);
            other != column
                && (is_bare_day || is_pair)
                && is_of(self.headers[other].fields(RecordKind::Job), Field::Day)
        };
        self.comes_or_goes(column)
            && !(0..self.headers.len()).any(is_other_half)
            && !self.come_again_for_work(column)
    }

    /// Whether machines stand in several rows with another day each, beside cells that name work.
    fn come_again_for_work(&self, day: usize) -> bool {
        let is_identity = |column: &usize| {
            self.headers[*column].fields(RecordKind::Job).iter().any(|(field, _)| field.is_identity())
        };
        let identity = (0..self.headers.len()).find(is_identity);
        identity.is_some_and(|identity| self.share_of_visits(identity, day) >= MANY_VISITS)
            && (0..self.headers.len()).any(|column| self.share_of_work(column) >= LEAST_SHARE)
    }

    /// Whether the day of the rows stands in a row of its own above them, as in a diary: `Monday 20 October 2025`.
    pub(super) fn has_day_rows(&self) -> bool {
        let rows = self.table.rows().part(self.header_row + 1..);
        rows.iter().take(ROWS_BESIDE).any(|row| day_row::day_of(row).is_some())
    }

    /// The share of the rows whose machine stands in another row with another day.
    fn share_of_visits(&self, identity: usize, day: usize) -> f64 {
        let came_in = (0..self.headers.len()).find(|other| self.goes_out_after(day, *other)).unwrap_or(day);
        let mut visits: BTreeMap<String, (usize, BTreeSet<String>)> = BTreeMap::new();
        let mut rows = 0;
        for row in self.table.rows().part(self.header_row + 1..).iter().take(ROWS_BESIDE) {
            let machine = row.cell(identity);
            // A machine that has not gone out yet is on a visit as well.
            let day = Some(row.cell(day)).filter(|day| !day.is_blank()).unwrap_or(row.cell(came_in));
            if machine.is_blank() || day.is_blank() {
                continue;
            }
            rows += 1;
            let name: String = machine.shown().chars().filter(|letter| letter.is_alphanumeric()).collect();
            let (count, days) = visits.entry(name.to_uppercase()).or_default();
            *count += 1;
            days.insert(day.shown());
        }
        let repeated: usize =
            visits.values().filter(|(_, days)| days.len() > 1).map(|(count, _)| count).sum();
        if rows == 0 { 0.0 } else { repeated as f64 / rows as f64 }
    }
}

/// From this share of rows on whose machine comes again, rows are visits; a list of machines has one twice by a slip. Our
/// decision.
const MANY_VISITS: f64 = 0.3;

/// The columns that name the machines; where none does, those that may.
fn identities(machine: &Assignment) -> Vec<usize> {
    let assigned = machine.assigned.iter().filter(|one| one.field.is_identity()).map(|one| one.column);
    let named: Vec<usize> = assigned.collect();
    if !named.is_empty() {
        return named;
    }
    let may_name = machine.suggested.iter().filter(|(_, field)| field.is_identity());
    may_name.map(|(column, _)| *column).collect()
}

/// Whether a header says of what kind something is, or is a paper's line, and nothing of a job.
pub(super) fn says_only_what_kind(header: &Header) -> bool {
    let of_machine = header.fields(RecordKind::Machine);
    header.fields(RecordKind::Job).is_empty()
        && of_machine.iter().all(|(field, _)| matches!(field, Field::Kind | Field::Note))
        && matches!(
            header.words().iter().map(String::as_str).collect::<Vec<_>>()[..],
            ["category" | "cat" | "kind" | "sort" | "line" | "info" | "other" | "misc"]
        )
}

/// Whether a header is that of what a customer complains of or asks for.
fn names_what_is_wrong(header: &Header) -> bool {
    is_asked_for(header)
        || header
            .words()
            .iter()
            .any(|word| matches!(word.as_str(), "complaint" | "complaints" | "symptoms" | "fault"))
}

/// Whether a cell names work.
fn names_work(cell: Cell<'_>) -> bool {
    let Cell::Text(text) = cell else { return false };
    words_of(text).iter().any(|word| WORK.split_whitespace().any(|work| work == word))
}
