//! Rows of a log of jobs that are no work done, by a column that nobody has named: quotes, credit notes, what was cancelled.

use std::collections::{BTreeMap, HashMap};

use jiff::civil::Date;

use super::papers::{self, About, Paper};
use crate::origin::Entry;
use crate::problem::{Problem, counted};
use crate::sheets::{Row, Table};
use crate::units::Days;
use crate::yard::cell_words::plain;
use crate::yard::no_work_header::{ByAYes, NoWorkColumn, NoWorkHeader};
use crate::yard::outcome_words::{is_a_sign_beside_work, says_not_done_in_words, was_done};
use crate::yard::recognise::LeftOut;
use crate::yard::{CheckResult, ColumnRead, Field, Identity, ReadAs, Reading, Record, RecordKind};

/// A job of longer ago is not the one that a credit takes back. Our decision.
const CREDITED_WITHIN: Days = Days(183);

/// A row that is no work done, or may be none.
struct Said {
    paper: Paper,
    /// What stands in the cell that says so.
    cell: Entry<String>,
}

/// The rows that one column says so of.
struct Told {
    header: String,
    first: Entry<String>,
    count: usize,
    /// Whether a yes says so, so that the column never says of others that they were done.
    by_a_yes: bool,
}

/// The rows of a sheet that are no work done.
#[derive(Default)]
pub(super) struct NoWork {
    /// By the row's number.
    rows: BTreeMap<u32, Said>,
    /// What columns that nobody has named take out, by the column.
    taken_out: BTreeMap<usize, Told>,
    /// What they leave in doubt.
    in_doubt: BTreeMap<usize, Told>,
}

/// A column beside the jobs.
struct Column<'s> {
    index: usize,
    header: &'s str,
    about: About,
    /// Whether its sums below nothing are of papers that take back another.
    tells_by_sums: bool,
    /// How a yes in it says that a row is no work.
    by_a_yes: Option<NoWorkColumn>,
    unanswered: Unanswered,
}

/// Whether nobody has said yet that a column tells which jobs were done, while it may.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Unanswered {
    No,
    /// By its words.
    InWords,
    /// By signs that nobody can read, or by a blank beside them.
    BySigns,
}

impl<'s> Column<'s> {
    /// A column that is not read.
    fn left_out(rows: &[Row<'_>], column: &'s LeftOut) -> Column<'s> {
        let cells = || rows.iter().map(|row| row.cell(column.index)).filter(|cell| !cell.is_blank());
        let unanswered = match column.may_be.contains(&Field::Outcome) {
            true if cells().any(is_a_sign_beside_work) => Unanswered::BySigns,
            true => Unanswered::InWords,
            false => Unanswered::No,
        };
        Column { unanswered, ..Column::of(rows, column.index, &column.header) }
    }

    /// One of remarks.
    fn of_remarks(column: &'s ColumnRead) -> Column<'s> {
        Column {
            index: column.index,
            header: &column.header,
            about: About::remarks(),
            tells_by_sums: false,
            by_a_yes: None,
            unanswered: Unanswered::No,
        }
    }

    fn of(rows: &[Row<'_>], index: usize, header: &'s str) -> Column<'s> {
        let cells = || rows.iter().map(|row| row.cell(index));
        let about = About::of(header, cells());
        // Where most sums are below nothing, that is how the book writes what it takes.
        let tells_by_sums = about.is_total && {
            let filled = cells().filter(|cell| !cell.is_blank()).count();
            2 * cells().filter(|cell| papers::is_negative(*cell)).count() < filled
        };
        let by_a_yes = NoWorkHeader::of(header).map(|header| header.over(cells()));
        Column { index, header, about, tells_by_sums, by_a_yes, unanswered: Unanswered::No }
    }

    fn paper(&self, row: Row<'_>) -> Option<Paper> {
        let cell = row.cell(self.index);
        let by_its_sum = || (self.tells_by_sums && papers::is_negative(cell)).then_some(Paper::PerhapsCredit);
        let by_a_yes = || {
            Some(match self.by_a_yes?.said(cell)? {
                ByAYes::NoWork => Paper::Planned,
                ByAYes::Perhaps => Paper::Doubtful,
                ByAYes::PerhapsTakenBack => Paper::PerhapsCredit,
            })
        };
        let until_answered = || {
            let may_be_undone = match self.unanswered {
                Unanswered::No => false,
                Unanswered::InWords => says_not_done_in_words(cell),
                Unanswered::BySigns => was_done(cell) != Ok(Some(true)),
            };
            may_be_undone.then_some(Paper::Doubtful)
        };
        self.about.paper(cell).or_else(by_its_sum).or_else(by_a_yes).or_else(until_answered)
    }
}

impl NoWork {
    /// Those that columns which are not read say so of, and remarks; and credits by the column that says whether a job was
    /// done. A column that `tickover.toml` leaves out says nothing.
    pub(super) fn of(table: &Table, read_as: &ReadAs) -> NoWork {
        let mut found = NoWork::default();
        let Some(header_row) = read_as.header_row.filter(|_| read_as.kind == Some(RecordKind::Job)) else {
            return found;
        };
        let end = read_as.ends_before.unwrap_or(usize::MAX).min(table.rows().len());
        let rows: Vec<Row<'_>> = table.rows().part((header_row + 1).min(end)..end).iter().collect();
        let left_out = read_as.left_out.iter().filter(|column| !column.is_refused);
        let remarks = read_as.columns.iter().filter(|column| column.field == Field::Note);
        let outcome = read_as.columns.iter().find(|column| column.field == Field::Outcome);
        let contrary = outcome.filter(|column| NoWorkHeader::of(&column.header).is_some());
        let columns: Vec<Column<'_>> = left_out
            .map(|column| Column::left_out(&rows, column))
            .chain(remarks.map(Column::of_remarks))
            .chain(contrary.map(|column| Column::of(&rows, column.index, &column.header)))
            .collect();
        for row in rows {
            let cell =
                |index| Entry::new(row.cell(index).shown().trim().to_owned(), table.origin(row, index));
            let said = columns.iter().filter_map(|column| Some((column.paper(row)?, column)));
            let by_outcome =
                outcome.filter(|outcome| papers::outcome(row.cell(outcome.index)) == Some(Paper::Credit));
            // What is sure goes before what is not.
            if let Some((paper, column)) = said.min_by_key(|(paper, _)| paper.is_in_doubt()) {
                let cell = cell(column.index);
                let told = if paper.is_in_doubt() { &mut found.in_doubt } else { &mut found.taken_out };
                let by_a_yes = column.by_a_yes.is_some();
                let header = column.header.to_owned();
                let first = || Told { header, first: cell.clone(), count: 0, by_a_yes };
                let told = told.entry(column.index).or_insert_with(first);
                told.count += 1;
                if told.first.value.is_empty() {
                    told.first = cell.clone();
                }
                found.rows.insert(row.number, Said { paper, cell });
            } else if let Some(outcome) = by_outcome {
                found.rows.insert(row.number, Said { paper: Paper::Credit, cell: cell(outcome.index) });
            }
        }
        found
    }

    fn paper(&self, row: u32) -> Option<Paper> {
        self.rows.get(&row).map(|said| said.paper)
    }

    /// Whether a row was only planned, or called off.
    pub(super) fn is_planned(&self, row: u32) -> bool {
        self.paper(row) == Some(Paper::Planned)
    }

    /// Whether a row takes back another one.
    pub(super) fn is_credit(&self, row: u32) -> bool {
        self.paper(row) == Some(Paper::Credit)
    }

    /// Takes out what credits say, and has the job that each takes back say so: whether that was done nobody can tell. Nor
    /// can it be told of a row that is in doubt by itself, which passes no check either.
    pub(super) fn take_back(&self, records: &mut Vec<(Identity, Record)>) {
        if self.rows.values().all(|said| said.paper == Paper::Planned) {
            return;
        }
        let said = |record: &Record| self.rows.get(&row_of(record)?);
        let mut plain_jobs = PlainJobs::of(records, |record| said(record).is_some());
        for place in 0..records.len() {
            let (identity, Record::Job(job)) = &records[place] else { continue };
            let Some(Said { paper, cell }) = self.rows.get(&job.done.origin.row) else { continue };
            let day = job.day.as_ref().map(|day| day.value);
            let earlier =
                if paper.takes_back() { plain_jobs.take(key(identity, &job.done.value), day) } else { None };
            let itself = paper.is_in_doubt().then_some(place);
            for doubted in earlier.into_iter().chain(itself) {
                if let Record::Job(job) = &mut records[doubted].1 {
                    job.doubt = Some(cell.clone());
                }
            }
            if let Record::Job(job) = &records[place].1
                && *paper == Paper::Credit
                && let Some((day, clock)) = job.day.clone().zip(job.clock.clone())
            {
                records[place].1 = Record::Reading(Reading { day, clock });
            }
        }
        records.retain(|(_, record)| {
            let paper = said(record).map(|said| said.paper);
            let is_pass = matches!(record, Record::Check(check) if check.result.value == CheckResult::Passed);
            match paper {
                Some(Paper::Credit) => !matches!(record, Record::Job(_) | Record::Check(_)),
                Some(paper) if paper.is_in_doubt() => !is_pass,
                _ => true,
            }
        });
    }

    /// What is told once of each column of a sheet with such rows.
    pub(super) fn problems(&self) -> Vec<Problem> {
        let taken_out = self.taken_out.values().map(|told| match told.count {
            1 => told.problem("is", ", and counts as not done"),
            _ => told.problem("are", ", and count as not done"),
        });
        let in_doubt = self.in_doubt.values();
        let in_doubt = in_doubt.map(|told| told.problem("may be", ": nobody can tell whether it was done"));
        taken_out.chain(in_doubt).collect()
    }
}

impl Told {
    /// How sure it is that they are none, and what comes of it.
    fn problem(&self, are: &str, so: &str) -> Problem {
        let Told { header, first, count, by_a_yes } = self;
        let what = format!(
            "{} {are} no work done by the column `{header}`, such as this `{}`{so}",
            counted(*count, "row"),
            first.value
        );
        if *by_a_yes {
            let help = format!(
                "If the column says nothing of that, write `\"{header}\" = \"nothing\"` below this sheet's [sheet.columns] in \
                 tickover.toml."
            );
            return Problem::note(&first.origin, what, help).with_value(first.value.clone());
        }
        let help = format!(
            "Write `\"{header}\" = \"outcome\"` below this sheet's [sheet.columns] in tickover.toml if it says whether a job was \
             done; if it says nothing of that, `\"{header}\" = \"nothing\"`."
        );
        Problem::note(&first.origin, what, help).with_value(first.value.clone())
    }
}

/// What two rows of one piece of work have in common: their machine and text.
type Key = ([Option<String>; 3], String);

fn key(identity: &Identity, done: &str) -> Key {
    (identity.names().map(|name| name.map(str::to_owned)), plain(done))
}

/// The jobs that no paper speaks of, by machine and text, each with its day and place; the newest last, and first of all
/// those without a day.
struct PlainJobs(HashMap<Key, Vec<(Option<Date>, usize)>>);

impl PlainJobs {
    fn of(records: &[(Identity, Record)], is_spoken_of: impl Fn(&Record) -> bool) -> PlainJobs {
        let mut found: HashMap<Key, Vec<(Option<Date>, usize)>> = HashMap::new();
        for (place, (identity, record)) in records.iter().enumerate() {
            let Record::Job(job) = record else { continue };
            if !is_spoken_of(record) {
                found.entry(key(identity, &job.done.value)).or_default().push((record.day(), place));
            }
        }
        found.values_mut().for_each(|jobs| jobs.sort_unstable());
        PlainJobs(found)
    }

    /// The newest job of the same, no later than the credit and not credited yet; one without a day where no other is.
    fn take(&mut self, of: Key, credit: Option<Date>) -> Option<usize> {
        let jobs = self.0.get_mut(&of)?;
        let until = credit.map_or(jobs.len(), |credit| jobs.partition_point(|(day, _)| *day <= Some(credit)));
        let first = credit.and_then(|credit| CREDITED_WITHIN.before(credit));
        let is_near = |(day, _): &(Option<Date>, usize)| first.is_none() || day.is_none() || *day >= first;
        let newest = until.checked_sub(1)?;
        let undated = || jobs.partition_point(|(day, _)| day.is_none()).checked_sub(1);
        let taken = if is_near(&jobs[newest]) { newest } else { undated()? };
        Some(jobs.remove(taken).1)
    }
}

/// The row that a job or a check stands in.
fn row_of(record: &Record) -> Option<u32> {
    match record {
        Record::Job(job) => Some(job.done.origin.row),
        Record::Check(check) => Some(check.item.origin.row),
        _ => None,
    }
}
