//! The columns of the handbook's sheets, and one row of them, read cell by cell.

use crate::origin::{Entry, Origin};
use crate::problem::{Problem, nearest};
use crate::sheets::{Cell, Row, Table};
use crate::units::{DistanceUnit, SpeedUnit};
use crate::yard::cells::{CellRead, Meaning};

/// The most rows that one file of the handbook may have: a thousand models with five rows each.
const ROWS_MOST: usize = 5_000;

/// A column with the headers that it goes by, in lower case and with letters and figures only.
pub(super) struct Column {
    name: &'static str,
    headers: &'static [&'static str],
}

const fn column(name: &'static str, headers: &'static [&'static str]) -> Column {
    Column { name, headers }
}

const MODEL: Column = column("model", &["model", "machine", "modelname"]);
const KIND: Column = column("kind", &["kind", "type", "machinekind", "machinetype"]);
const ENGINE: Column = column("engine cc", &["enginecc", "cc", "engine", "capacity", "enginesize"]);
const NOTE: Column = column("note", &["note", "notes", "remark", "remarks", "source", "sources"]);

/// The columns of `handbook/models.csv`.
pub(super) const MODELS: [Column; 8] = [
    MODEL,
    KIND,
    ENGINE,
    column("clock unit", &["clockunit", "clock", "odometerunit", "odometer", "unit", "units"]),
    column(
        "highest ethanol label",
        &["highestethanollabel", "ethanollabel", "ethanol", "fuel", "fuelallowed"],
    ),
    column("oil", &["oil", "oilgrade", "engineoil", "oilasked"]),
    column("tank litres", &["tanklitres", "tank", "litres", "fueltank", "tankl", "tanksize"]),
    NOTE,
];

/// The columns of `handbook/service.csv`.
pub(super) const SERVICES: [Column; 11] = [
    MODEL,
    KIND,
    ENGINE,
    column("item", &["item", "service", "serviceitem", "job"]),
    column("first at", &["firstat", "firstdistance", "first"]),
    column("first after months", &["firstaftermonths", "firstmonths", "firstafter"]),
    column("then every", &["thenevery", "every", "everydistance", "interval"]),
    column("then every months", &["theneverymonths", "everymonths", "months", "intervalmonths"]),
    column("tolerance", &["tolerance", "tolerancedistance", "distancetolerance"]),
    column("tolerance days", &["tolerancedays", "daystolerance"]),
    NOTE,
];

/// The columns of `handbook/running-in.csv`.
pub(super) const STAGES: [Column; 9] = [
    MODEL,
    KIND,
    ENGINE,
    column("stage", &["stage", "stagename", "runninginstage"]),
    column("up to", &["upto", "until", "uptodistance", "untildistance"]),
    column("up to months", &["uptomonths", "untilmonths", "months"]),
    column("top speed", &["topspeed", "maxspeed", "speed", "speedlimit", "limit"]),
    column("burst speed", &["burstspeed", "burst", "shortburst", "shortbursts", "bursts"]),
    NOTE,
];

/// A column that was found: its name, its place, and the unit that its header gives in brackets.
struct Found {
    name: &'static str,
    place: usize,
    unit: String,
}

/// One row of a sheet of the handbook.
pub(super) struct Line<'t> {
    table: &'t Table,
    row: Row<'t>,
    columns: &'t [Found],
    meaning: Meaning,
    problems: Vec<Problem>,
}

/// The rows of all files of one sheet of the handbook, as far as `read` makes something of them.
///
/// A row that `read` gives up is told with its faults, and that it is left out.
pub(super) fn rows<T>(
    tables: &[Table],
    columns: &[Column],
    problems: &mut Vec<Problem>,
    mut read: impl FnMut(&mut Line<'_>) -> Option<T>,
) -> Vec<T> {
    let mut kept = Vec::new();
    for table in tables {
        let Some(header) = table.rows().get(0) else { continue };
        let rows = table.rows().part(1..);
        let Some(found) = found_columns(table, header, columns, problems) else { continue };
        if rows.len() > ROWS_MOST {
            let what = format!("the handbook's sheet has {} rows, more than {ROWS_MOST}", rows.len());
            let help = "Check that it is the right file; the rows past that are not read.";
            problems.push(Problem::error(table.whole(), what, help));
        }
        for row in rows.iter().take(ROWS_MOST) {
            let meaning = Meaning { from_1904: table.counts_from_1904, ..Meaning::default() };
            let mut line = Line { table, row, columns: &found, meaning, problems: Vec::new() };
            let value = read(&mut line);
            if value.is_none() {
                line.problems
                    .iter_mut()
                    .for_each(|problem| problem.help.push_str(" Until then this row is left out."));
            }
            problems.append(&mut line.problems);
            kept.extend(value);
        }
    }
    kept
}

/// The columns that the header row names; `None`, and a problem, when it names none of them.
fn found_columns(
    table: &Table,
    header: Row<'_>,
    columns: &[Column],
    problems: &mut Vec<Problem>,
) -> Option<Vec<Found>> {
    let mut found: Vec<Found> = Vec::new();
    let names = || columns.iter().map(|column| column.name);
    let mut strange = Vec::new();
    for (place, cell) in header.cells().enumerate().filter(|(_, cell)| !cell.is_blank()) {
        let text = cell.shown();
        let (words, unit) = text.split_once('(').unwrap_or((&text, ""));
        let plain: String =
            words.chars().filter(|letter| letter.is_alphanumeric()).collect::<String>().to_lowercase();
        let origin = table.origin(header, place);
        let known = columns.iter().find(|column| column.headers.contains(&plain.as_str()));
        match known {
            Some(column) if found.iter().any(|found| found.name == column.name) => {
                let what = format!("a second column says the {}", column.name);
                strange.push(
                    Problem::error(&origin, what, "Take one of them out; the first one counts.")
                        .with_value(text),
                );
            }
            Some(column) => {
                let unit = unit.trim_end_matches(')').trim().to_owned();
                found.push(Found { name: column.name, place, unit });
            }
            None => {
                let near = nearest(&text, names()).map(|near| format!("Did you mean `{near}`? "));
                let columns = names().collect::<Vec<_>>().join(", ");
                let help = format!("{}The columns are {columns}.", near.unwrap_or_default());
                strange.push(
                    Problem::note(&origin, "no column of the handbook has this header", help)
                        .with_value(text),
                );
            }
        }
    }
    if found.is_empty() {
        let help =
            format!("Write the headers into the first row: {}.", names().collect::<Vec<_>>().join(", "));
        problems.push(Problem::error(table.whole(), "the first row names no column of the handbook", help));
        return None;
    }
    problems.append(&mut strange);
    Some(found)
}

impl Line<'_> {
    /// From here on figures without a unit count as the model's clock does.
    pub(super) fn count_in(&mut self, unit: DistanceUnit) {
        self.meaning.distance_unit = Some(unit);
        self.meaning.speed_unit = SpeedUnit::beside(unit);
    }

    /// The value of a column's cell; `None` where it is blank, not there, or cannot be read, which is told.
    pub(super) fn entry<T>(
        &mut self,
        name: &str,
        read: impl FnOnce(Cell<'_>, &Meaning) -> CellRead<T>,
    ) -> Option<Entry<T>> {
        let found = self.columns.iter().find(|found| found.name == name)?;
        let cell = self.row.cell(found.place);
        let origin = self.table.origin(self.row, found.place);
        let mut meaning = self.meaning;
        if let Some(unit) = DistanceUnit::named(&found.unit) {
            meaning.distance_unit = Some(unit);
        }
        if let Some(unit) = SpeedUnit::named(&found.unit) {
            meaning.speed_unit = unit;
        }
        match read(cell, &meaning) {
            Ok(value) => value.map(|value| Entry::new(value, origin)),
            Err(unread) => {
                self.problems.push(unread.problem(&format!("`{name}`"), &origin, cell));
                None
            }
        }
    }

    /// Tells that something is wrong with the row as a whole, at the cell of a column (else at its first one).
    pub(super) fn complain(&mut self, name: &str, what: &str, help: &str) {
        let place = self.columns.iter().find(|found| found.name == name).map_or(0, |found| found.place);
        let origin = self.table.origin(self.row, place);
        let value = self.row.cell(place).shown();
        self.problems.push(Problem::error(&origin, what, help).with_value(value));
    }

    /// Whether nothing in the row was found wrong so far.
    pub(super) fn is_sound(&self) -> bool {
        self.problems.is_empty()
    }

    /// The row's first filled cell.
    pub(super) fn first_cell(&self) -> Origin {
        let place = self.row.cells().position(|cell| !cell.is_blank()).unwrap_or(0);
        self.table.origin(self.row, place)
    }
}
