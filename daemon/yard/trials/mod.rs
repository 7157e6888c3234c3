//! Whole sheets in, records and problems out: what the trials share.

mod clock_or_ride;
mod columns;
mod damaged;
mod date_order;
mod evidence;
mod kinds;
mod put_right;
mod questions;
mod rows;
mod sorted;
mod weeks;

use std::sync::Arc;

use jiff::civil::{Date, date};

use super::{
    Certainty, ColumnRead, Field, Question, ReadAs, Record, RecordKind, Records, Settles, WrittenDistance,
    agreed, as_elsewhere, dates_proving, proposal, questions, recognise, records, tell_of_file,
    unit_question,
};
use crate::origin::Entry;
use crate::origin::SheetName;
use crate::problem::{Problem, Severity};
use crate::settings::{AgreedColumn, AgreedSheet, DateOrder, TextForm};
use crate::sheets::{Cell, Fault, Merged, Table};
use crate::units::DistanceUnit;

/// The day on which the sheets of these tests were written.
const WRITTEN: Date = date(2026, 4, 30);

/// A table from lines of cells parted by `|`, all text, blanks trimmed; rows without any cell are not in it.
fn table(name: &str, lines: &str) -> Table {
    let (file, sheet) =
        name.split_once('!').map_or((name, None), |(file, sheet)| (file, Some(sheet.to_owned())));
    let mut rows = Vec::new();
    for (number, line) in (1..).zip(lines.lines()) {
        let cells = line.split('|').map(|cell| match cell.trim() {
            "" => Cell::Blank,
            "#N/A" => Cell::Fault(Fault::ErrorValue("#N/A")),
            text => Cell::Text(text),
        });
        rows.push((number, cells));
    }
    Table::new(Arc::new(SheetName { file: file.to_owned(), sheet }), false, rows)
}

/// A table with one column of real cells below a header, beside a column of marks.
fn column(header: &str, cells: &[Cell<'_>]) -> Table {
    let name = Arc::new(SheetName { file: "stock.csv".to_owned(), sheet: None });
    let marks: Vec<String> = (2..cells.len() + 2).map(|number| format!("AB{number:02} CDE")).collect();
    let below = marks.iter().zip(cells).map(|(mark, cell)| [Cell::Text(mark), *cell]);
    let rows = [[Cell::Text("Reg"), Cell::Text(header)]].into_iter().chain(below);
    Table::new(name, false, (1..).zip(rows))
}

/// What each record says, one line a record: its machine, what it is, its values.
fn said(records: &Records) -> Vec<String> {
    records
        .records
        .iter()
        .map(|(identity, record)| format!("{}: {}", identity.shown(), record_shown(record)))
        .collect()
}

fn record_shown(record: &Record) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut part =
        |name: &str, value: Option<String>| parts.extend(value.map(|value| format!("{name} {value}")));
    let written = |entry: &Entry<WrittenDistance>| {
        let unit =
            entry.value.unit.map_or("", |unit| if unit == DistanceUnit::Miles { " mi" } else { " km" });
        format!("{}{unit}", entry.value.tenths as f64 / 10.0)
    };
    let day = |entry: &Entry<Date>| entry.value.to_string();
    let text = |entry: &Entry<String>| entry.value.clone();
    let name = match record {
        Record::Machine(row) => {
            part("make", row.make.as_ref().map(text));
            part("model", row.model.as_ref().map(text));
            part("kind", row.kind.as_ref().map(|entry| entry.value.name().to_owned()));
            part("cc", row.engine_cc.as_ref().map(|entry| entry.value.to_string()));
            part("unit", row.clock_unit.as_ref().map(|entry| entry.value.plural().to_owned()));
            part("registered", row.registered.as_ref().map(day));
            part("built", row.built.as_ref().map(day));
            part("arrived", row.arrived.as_ref().map(day));
            part("sold", row.sold.as_ref().map(day));
            part("handover", row.handover.as_ref().map(day));
            part("customer", row.customer.as_ref().map(text));
            part("telephone", row.telephone.as_ref().map(text));
            part("fuel", row.fuel_allowed.as_ref().map(|entry| entry.value.name().to_owned()));
            part("oil", row.oil_asked.as_ref().map(text));
            part("mot", row.mot_expiry.as_ref().map(day).or(row.mot_exempt.as_ref().map(text)));
            part("warranty", row.warranty_end.as_ref().map(day));
            part("note", row.note.as_ref().map(text));
            "machine"
        }
        Record::Reading(reading) => {
            part("on", Some(day(&reading.day)));
            part("clock", Some(written(&reading.clock)));
            "reading"
        }
        Record::Job(job) => {
            part("on", job.day.as_ref().map(day));
            part("done", Some(text(&job.done)));
            part("clock", job.clock.as_ref().map(written));
            part("oil", job.oil.as_ref().map(text));
            part("by", job.by.as_ref().map(text));
            "job"
        }
        Record::Check(check) => {
            part("on", check.day.as_ref().map(day));
            part("item", Some(text(&check.item)));
            part("result", Some(format!("{:?}", check.result.value)));
            part("by", check.by.as_ref().map(text));
            "check"
        }
        Record::Ride(ride) => {
            part("on", ride.day.as_ref().map(day));
            part("distance", ride.distance.as_ref().map(written));
            part("top speed", ride.top_speed.as_ref().map(|entry| entry.value.to_string()));
            part("by source", ride.speed_source.as_ref().map(|entry| format!("{:?}", entry.value)));
            part("clock", ride.clock.as_ref().map(written));
            part("by", ride.by.as_ref().map(text));
            "ride"
        }
        Record::Fill(fill) => {
            part("on", fill.day.as_ref().map(day));
            part("clock", fill.clock.as_ref().map(written));
            part("volume", fill.volume.as_ref().map(|entry| entry.value.to_string()));
            part("grade", fill.grade.as_ref().map(text));
            part("full", fill.full.as_ref().map(|entry| entry.value.to_string()));
            "fill"
        }
    };
    format!("{name}; {}", parts.join(", ")).trim_end_matches("; ").to_owned()
}

/// What each problem says, one line a problem: cell, value, what.
fn told(problems: &[Problem]) -> Vec<String> {
    let cell = |problem: &Problem| problem.place.cell().unwrap_or_else(|| problem.place.to_string());
    problems.iter().map(|problem| format!("{} `{}` {}", cell(problem), problem.value, problem.what)).collect()
}

/// The records and the problems of a sheet that nobody has agreed anything of.
fn read(table: &Table) -> (Vec<String>, Vec<String>) {
    let read_as = recognise(table, None, DateOrder::DayFirst);
    let (records, problems) = records(table, &read_as, WRITTEN);
    (said(&records), told(&[read_as.problems, read_as.open, problems].concat()))
}

/// Checks a whole sheet: its records, then its problems.
#[track_caller]
fn check(table: &Table, records: &[&str], problems: &[&str]) {
    let (said, told) = read(table);
    assert_eq!((said, told), (owned(records), owned(problems)));
}

/// The kind of a sheet, then each read column as `header: field`, with `?` behind what is not sure.
fn columns_of(table: &Table) -> Vec<String> {
    let read_as = recognise(table, None, DateOrder::DayFirst);
    let kind = read_as.kind.map_or("nothing", |kind| kind.name()).to_owned();
    let column = |column: ColumnRead| {
        let doubt = if column.certainty == Certainty::Likely { "?" } else { "" };
        format!("{}: {}{doubt}", column.header, column.field.name())
    };
    std::iter::once(kind).chain(read_as.columns.into_iter().map(column)).collect()
}

fn owned(lines: &[&str]) -> Vec<String> {
    lines.iter().map(|line| (*line).to_owned()).collect()
}

/// What an owner agreed of a sheet: its rows, and header and field of each column.
fn agreement(rows: &str, columns: &[(&str, &str)]) -> AgreedSheet {
    let place = crate::problem::Place::file("tickover.toml");
    AgreedSheet {
        place: place.clone(),
        file: "sheet.csv".to_owned(),
        sheet: None,
        rows: rows.to_owned(),
        columns: columns
            .iter()
            .map(|(header, field)| AgreedColumn::plain(place.clone(), header, field))
            .collect(),
        date_order: None,
        distances: None,
        down_to: None,
        ticks: None,
        undated_checks_count: None,
        text_form: TextForm::default(),
    }
}
