//! The first steps of a row's way: files become tables, tables become records.

use std::path::Path;
use std::sync::Arc;

use jiff::civil::Date;

use crate::digest;
use crate::origin::SheetName;
use crate::problem::{Place, Problem, Severity, Spot};
use crate::settings::{AgreedSheet, Limits, Settings};
use crate::sheets::{self, FoundFile, Reader, Table};
use crate::yard::{self, Handbook, ReadAs, Records};

use super::{YardFolder, zone_of};

/// One sheet with what it was taken for.
pub(super) struct SheetRead {
    pub(super) file: String,
    pub(super) sheet: Option<String>,
    pub(super) read_as: &'static str,
    pub(super) records: usize,
    pub(super) modified: Date,
}

impl SheetRead {
    /// The sheet as the letter tells of it.
    pub(super) fn line(&self) -> digest::SheetRead {
        digest::SheetRead {
            file: self.file.clone(),
            sheet: self.sheet.clone(),
            records: self.records,
            read_as: self.read_as.to_owned(),
            modified: self.modified,
        }
    }
}

/// Everything that the sheets of the yard folder say.
#[derive(Default)]
pub(super) struct Intake {
    pub(super) sheets: Vec<SheetRead>,
    pub(super) records: Records,
    pub(super) problems: Vec<Problem>,
}

/// Reads every sheet of the folders that the settings name. A file that cannot be read never stops the others.
pub(super) fn take_in(folder: &YardFolder, settings: &Settings, today: Date, reader: &Reader) -> Intake {
    let (files, problems) =
        sheets::find(folder.root(), &settings.folders, &zone_of(settings), &settings.limits);
    let mut intake = Intake { problems, ..Intake::default() };
    if files.is_empty() {
        intake.problems.push(Problem::error(
            Place::file(settings.folders.join(", ")),
            "there is no sheet to read",
            "Drop the shop's exports there, or name the right folders in tickover.toml.",
        ));
    }
    let mut names = Vec::new();
    for file in &files {
        let read = sheets::read(&file.path, &file.name, &settings.limits, reader);
        intake.problems.extend(read.problems);
        for table in &read.tables {
            take_in_table(table, file, settings, today, &mut intake);
            names.push(Arc::clone(&table.name));
        }
    }
    intake.problems.extend(settings.sheets.iter().filter_map(|agreed| missed(agreed, &names)));
    intake
}

/// What to do about a sheet that was agreed and is not there.
fn missed(agreed: &AgreedSheet, names: &[Arc<SheetName>]) -> Option<Problem> {
    if yard::is_left_unread(agreed) || names.iter().any(|name| agreed.is_for(name)) {
        return None;
    }
    let sheet = agreed.sheet.as_ref().map(|sheet| format!(", {sheet}")).unwrap_or_default();
    Some(Problem::error(
        agreed.place.clone(),
        format!("the sheet {}{sheet} was agreed, and is not among those that were read", agreed.file),
        "Export it again, or correct or take out its [[sheet]].",
    ))
}

fn take_in_table(table: &Table, file: &FoundFile, settings: &Settings, today: Date, intake: &mut Intake) {
    let read_as = recognise(table, settings);
    intake.problems.extend(read_as.problems.iter().cloned().map(of_whole_sheet));
    let (records, problems) = yard::records(table, &read_as, file.modified.min(today));
    intake.problems.extend(problems);
    if read_as.kind.is_some() && records.records.is_empty() {
        let place = Place { sheet: table.name.sheet.clone(), ..Place::file(table.name.file.clone()) };
        intake.problems.push(Problem::error(
            place,
            "this sheet has headers and no row that could be read",
            "Export it again, and look whether it holds rows.",
        ));
    }
    intake.sheets.push(SheetRead {
        file: table.name.file.clone(),
        sheet: table.name.sheet.clone(),
        read_as: read_as.kind.map_or("nothing", |kind| kind.name()),
        records: records.records.len(),
        modified: file.modified,
    });
    intake.records.records.extend(records.records);
}

/// What is wrong with a sheet's headers is wrong with all its rows, and stands at the top of the letter: not among the
/// slips in single cells.
fn of_whole_sheet(mut problem: Problem) -> Problem {
    if problem.severity == Severity::Error && matches!(problem.place.spot, Spot::Cell { .. }) {
        problem.place.spot = Spot::Whole;
    }
    problem
}

/// What a table is taken for: as agreed in the settings, else as its headers and values say.
pub(super) fn recognise(table: &Table, settings: &Settings) -> ReadAs {
    yard::recognise(table, agreed_for(table, &settings.sheets), settings.date_order)
}

fn agreed_for<'a>(table: &Table, agreed: &'a [AgreedSheet]) -> Option<&'a AgreedSheet> {
    agreed.iter().find(|sheet| sheet.is_for(&table.name))
}

/// Reads the owner's handbook; for a sheet that is missing the shipped rules of thumb stand in, and a problem says
/// so.
pub(super) fn take_in_handbook(
    folder: &YardFolder,
    settings: &Settings,
    reader: &Reader,
) -> (Handbook, Vec<Problem>) {
    let mut problems = Vec::new();
    let mut tables: Vec<Vec<Table>> = Vec::new();
    for (file, shipped) in yard::SHIPPED_HANDBOOK {
        let path = folder.handbook().join(file);
        let name = format!("handbook/{file}");
        let read = if path.is_file() {
            sheets::read(&path, &name, &settings.limits, reader)
        } else {
            problems.push(handbook_missing(&name, &path));
            sheets::read_bytes(shipped.as_bytes(), &name, &settings.limits, reader)
        };
        problems.extend(read.problems);
        tables.push(read.tables);
    }
    let [models, services, stages] = &tables[..] else { unreachable!("the handbook has three sheets") };
    let (handbook, faults) = yard::read_handbook(models, services, stages);
    problems.extend(faults);
    (handbook, problems)
}

fn handbook_missing(name: &str, path: &Path) -> Problem {
    Problem::error(
        Place::file(name),
        "this sheet of the handbook is missing; the trade's rules of thumb stand in for it",
        format!(
            "Run `tickover setup`, which lays a fresh one at {}, then fill in your models.",
            path.display()
        ),
    )
}

/// The handbook as it ships, for a yard of which nothing else is known.
pub fn shipped_handbook() -> Handbook {
    let limits = Limits::default();
    let tables = yard::SHIPPED_HANDBOOK
        .map(|(file, text)| sheets::read_bytes(text.as_bytes(), file, &limits, &Reader::Here).tables);
    let [models, services, stages] = &tables;
    yard::read_handbook(models, services, stages).0
}
