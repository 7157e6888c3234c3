//! Rows of a log of jobs that are no work done, by a column that nobody has named: quotes, credit notes, what was cancelled.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::origin::Origin;
use crate::problem::{Problem, counted};
use crate::settings::words_of;
use crate::sheets::{Cell, Table};
use crate::units::{Days, shown_day};
use crate::yard::LeftOut;
use crate::yard::cell_words::plain;
use crate::yard::{ColumnRead, Field, Identity, ReadAs, Reading, Record, RecordKind};

/// What such a row says of itself where it stands alone in a cell. Common practice, no source.
const NO_WORK: &str = "cancelled canceled deleted draft estimate proforma quotation quote void voided";
const NO_WORK_IN_WORDS: [&str; 3] = ["pro forma", "sales order", "pro forma invoice"];

/// The same of one that takes back an earlier one.
const TAKEN_BACK: &str = "credit credited refund refunded reversal reversed";
const TAKEN_BACK_IN_WORDS: [&str; 4] = ["credit memo", "credit note", "sales credit", "sales credit note"];

/// Headers of what the whole row comes to.
const TOTALS: &str = "amount gross net total value";

/// A job of longer ago is not the one that a credit takes back. Our decision.
const CREDITED_WITHIN: Days = Days(183);

/// How a row is none of work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Paper {
    /// It was only planned, or called off.
    Planned,
    /// It takes back what an earlier row of the same says.
    Credit,
    /// It comes to less than nothing.
    Negative,
}

/// The rows of a sheet that are no work done.
#[derive(Default)]
pub(super) struct NoWork {
    /// By the row's number.
    rows: BTreeMap<u32, Paper>,
    /// The first cell of a column that nobody has named which says so in words, what stands there, and its header; and how
    /// many rows there are.
    first: Option<(Origin, String, String, usize)>,
}

impl NoWork {
    /// Those that columns which are not read say so of, and credits by the column that says whether a job was done. A column
    /// that `tickover.toml` leaves out says nothing.
    pub(super) fn of(table: &Table, read_as: &ReadAs) -> NoWork {
        let mut found = NoWork::default();
        let Some(header_row) = read_as.header_row.filter(|_| read_as.kind == Some(RecordKind::Job)) else {
            return found;
        };
        let end = read_as.ends_before.unwrap_or(usize::MAX).min(table.rows().len());
        let columns: Vec<&LeftOut> = read_as.left_out.iter().filter(|column| !column.is_refused).collect();
        let totals: Vec<usize> =
            columns.iter().filter(|column| is_total(&column.header)).map(|column| column.index).collect();
        let outcome = read_as.columns.iter().find(|column| column.field == Field::Outcome);
        for row in table.rows().part((header_row + 1).min(end)..end).iter() {
            let is_credit = |column: &&ColumnRead| paper(row.cell(column.index)) == Some(Paper::Credit);
            if let Some((paper, column)) =
                columns.iter().find_map(|column| Some((paper(row.cell(column.index))?, *column)))
            {
                found.rows.insert(row.number, paper);
                let first = || {
                    let said = row.cell(column.index).shown().trim().to_owned();
                    (table.origin(row, column.index), said, column.header.clone(), 0)
                };
                found.first.get_or_insert_with(first).3 += 1;
            } else if outcome.filter(is_credit).is_some() {
                found.rows.insert(row.number, Paper::Credit);
            } else if totals.iter().any(|total| is_negative(row.cell(*total))) {
                found.rows.insert(row.number, Paper::Negative);
            }
        }
        found
    }

    /// Whether a row was only planned, or called off.
    pub(super) fn is_planned(&self, row: u32) -> bool {
        self.rows.get(&row) == Some(&Paper::Planned)
    }

    /// Whether a row takes back another one.
    pub(super) fn is_credit(&self, row: u32) -> bool {
        self.rows.get(&row) == Some(&Paper::Credit)
    }

    /// Takes out what credits say, and has the job that each takes back say so: whether that was done nobody can tell. Nor
    /// can it be told of a row that comes to less than nothing and takes back no other one.
    pub(super) fn take_back(&self, records: &mut Vec<(Identity, Record)>) {
        if self.rows.values().all(|paper| *paper == Paper::Planned) {
            return;
        }
        let paper = |record: &Record| self.rows.get(&row_of(record)?).copied();
        for place in 0..records.len() {
            let Some(credit) = paper(&records[place].1) else { continue };
            let day = records[place].1.day();
            let earlier = self.credited(records, place);
            let doubted = earlier.or((credit == Paper::Negative).then_some(place));
            if let Some((_, Record::Job(job))) = doubted.and_then(|place| records.get_mut(place)) {
                job.done.value = with_credit(&job.done.value, day);
            }
            let takes_back = credit == Paper::Credit || earlier.is_some();
            if let (true, (_, record)) = (takes_back, &mut records[place])
                && let Record::Job(job) = record
                && let Some((day, clock)) = job.day.clone().zip(job.clock.clone())
            {
                *record = Record::Reading(Reading { day, clock });
            }
        }
        records.retain(|(_, record)| {
            let is_credit = row_of(record).is_some_and(|row| self.is_credit(row));
            !(is_credit && matches!(record, Record::Job(_) | Record::Check(_)))
        });
    }

    /// The newest job of the same machine and text, no later than the credit and not credited yet.
    fn credited(&self, records: &[(Identity, Record)], credit: usize) -> Option<usize> {
        let (machine, Record::Job(of)) = &records[credit] else { return None };
        let day = records[credit].1.day();
        let is_it = |(identity, record): &(Identity, Record)| match record {
            Record::Job(job) => {
                identity.names() == machine.names()
                    && plain(&job.done.value) == plain(&of.done.value)
                    && !self.rows.contains_key(&job.done.origin.row)
                    && record.day().zip(day).is_none_or(|(job, credit)| {
                        job <= credit && CREDITED_WITHIN.before(credit).is_none_or(|first| job >= first)
                    })
            }
            _ => false,
        };
        let earlier = (0..).zip(records).filter(|(_, record)| is_it(record));
        earlier.max_by_key(|(_, (_, record))| record.day()).map(|(place, _)| place)
    }

    /// What is told once of a sheet with such rows.
    pub(super) fn problem(&self) -> Option<Problem> {
        let (cell, said, header, count) = self.first.as_ref()?;
        let (verb, counts) = if *count == 1 { ("is", "counts") } else { ("are", "count") };
        let what = format!(
            "{} {verb} no work done by the column `{header}`, such as this `{said}`, and {counts} as not done",
            counted(*count, "row")
        );
        let help = format!(
            "Write `\"{header}\" = \"outcome\"` below this sheet's [sheet.columns] in tickover.toml if it says whether a job was \
             done; if it says nothing of that, `\"{header}\" = \"nothing\"`."
        );
        Some(Problem::note(cell, what, help).with_value(said.clone()))
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

/// Whether a header is of what a row comes to.
fn is_total(header: &str) -> bool {
    words_of(header).iter().any(|word| TOTALS.split(' ').any(|total| total == word))
}

/// Whether a sum is below nothing, in whatever way books write that: `-180.00`, `£-180`, `(180.00)`, `180.00-`.
fn is_negative(cell: Cell<'_>) -> bool {
    match cell {
        Cell::Number(sum) => sum < 0.0,
        Cell::Text(text) => {
            let sum = text.trim().trim_matches(['£', ' ']);
            let is_sum = sum.chars().all(|sign| sign.is_ascii_digit() || "-−(),.£ ".contains(sign));
            let is_below = sum.starts_with(['-', '−', '(']) || sum.ends_with(['-', '−']);
            is_sum && is_below && sum.chars().any(|sign| matches!(sign, '1'..='9'))
        }
        _ => false,
    }
}

/// A job's text with the paper that takes it back behind it.
fn with_credit(done: &str, day: Option<Date>) -> String {
    let when = day.map(|day| format!(" of {}", shown_day(day))).unwrap_or_default();
    format!("{done} (credit note{when})")
}

/// What a cell says of its row, where that is all that stands in it.
fn paper(cell: Cell<'_>) -> Option<Paper> {
    /// Longer texts are remarks.
    const LONGEST: usize = 24;
    let Cell::Text(text) = cell else { return None };
    if text.len() > LONGEST {
        return None;
    }
    let said = plain(text);
    let is_among = |list: &str, phrases: &[&str]| {
        list.split(' ').any(|word| word == said) || phrases.contains(&said.as_str())
    };
    if is_among(TAKEN_BACK, &TAKEN_BACK_IN_WORDS) {
        return Some(Paper::Credit);
    }
    is_among(NO_WORK, &NO_WORK_IN_WORDS).then_some(Paper::Planned)
}
