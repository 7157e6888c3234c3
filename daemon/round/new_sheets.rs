//! Sheets that nobody has agreed on, beside others that somebody has: each is named once, with how it was read and what
//! to write.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;

use super::gone::without_figures;
use super::{Run, Tells};
use crate::origin::SheetName;
use crate::problem::{Place, Problem, Spot};
use crate::settings::Settings;
use crate::sheets::Table;
use crate::watch::Shelf;
use crate::yard::{CheckResult, ReadAs, Record, RecordKind, Records};

/// Under this name the shelf has which new sheets were told, and when.
const TOLD: &str = "new sheets";

/// The most of them that are remembered, so that the note stays small.
const REMEMBERED: usize = 300;

/// How many columns are named of a sheet; the others are counted.
const NAMED: usize = 6;

/// A sheet that was read by its looks alone.
pub(super) struct NewSheet {
    pub(super) name: Arc<SheetName>,
    kind: RecordKind,
    /// Each column with what it was taken for.
    columns: Vec<(String, &'static str)>,
    /// The checks that it says are passed, each with its machine and cell.
    passed: Vec<String>,
}

impl NewSheet {
    /// A sheet that nobody has agreed on; `None` where one has, or where none is agreed at all, or it gives nothing.
    pub(super) fn of(
        table: &Table,
        (read_as, records): (&ReadAs, &Records),
        settings: &Settings,
    ) -> Option<NewSheet> {
        if settings.sheets.is_empty() || settings.sheets.iter().any(|agreed| agreed.is_for(&table.name)) {
            return None;
        }
        let columns = read_as.columns.iter().map(|column| (column.header.clone(), column.field.name()));
        let passed = records.records.iter().filter_map(|(identity, record)| match record {
            Record::Check(check) if check.result.value == CheckResult::Passed => Some(format!(
                "{} of {} in {}",
                check.item.value,
                identity.shown(),
                check.result.origin.cell()
            )),
            _ => None,
        });
        let (columns, passed) = (columns.collect(), passed.collect());
        Some(NewSheet { name: Arc::clone(&table.name), kind: read_as.kind?, columns, passed })
    }

    /// What it is known by from day to day; the next of a dated series is no new one.
    fn key(&self) -> String {
        let file = without_figures(&self.name.file);
        let plain = |text: &str| text.replace(|letter: char| letter.is_control(), " ");
        format!("{}\t{}", plain(&file), plain(self.name.sheet.as_deref().unwrap_or_default()))
    }

    /// Which checks count as passed by it: one that nobody agreed on may let a machine go.
    fn passes(&self) -> String {
        let Some(first) = self.passed.first() else { return String::new() };
        let more = match self.passed.len() - 1 {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        format!("; checks count as passed by it ({first}{more}): look whether it belongs there")
    }

    fn problem(&self) -> Problem {
        let name = &self.name;
        let place = Place { file: name.file.clone(), sheet: name.sheet.clone(), spot: Spot::Whole };
        let read = self.columns.iter().take(NAMED).map(|(header, field)| format!("`{header}` as {field}"));
        let mut read: Vec<String> = read.collect();
        if self.columns.len() > NAMED {
            read.push(format!("and {} more", self.columns.len() - NAMED));
        }
        let kind = self.kind.name();
        let what = format!(
            "this sheet is new, and nothing was agreed of it: by its looks a row was read as a {kind}, {}{}",
            read.join(", "),
            self.passes()
        );
        let help = format!(
            "Run `tickover setup`, which writes down each of its columns; or write `[[sheet]]`, {} and `rows = \"{kind}\"` at \
             the end of tickover.toml, or `rows = \"nothing\"` to leave it unread. This is said once.",
            lines(name).join(", ")
        );
        Problem::error(place, what, help)
    }
}

/// The lines of a `[[sheet]]` that say which sheet is meant.
pub(super) fn lines(name: &SheetName) -> Vec<String> {
    let line = |key: &str, value: &str| format!("`{key} = {value:?}`");
    let sheet = name.sheet.as_ref().map(|sheet| line("sheet", sheet));
    [line("file", name.file_name())].into_iter().chain(sheet).collect()
}

/// Names the new sheets: today where a morning letter tells it, else until one does.
pub(super) fn say(run: &Run, shelf: &Shelf, new: &[NewSheet], today: Date) -> Vec<Problem> {
    let mut told = read(&shelf.noted_changes(TOLD));
    let is_told = matches!(run.tells, Tells::Morning | Tells::MorningAgain);
    let mut problems = Vec::new();
    for sheet in new {
        let key = sheet.key();
        if told.get(&key).is_some_and(|day| *day < today) {
            continue;
        }
        problems.push(sheet.problem());
        if is_told && told.len() < REMEMBERED {
            told.insert(key, today);
        }
    }
    if run.keeps && !problems.is_empty() {
        let note: String = told.iter().map(|(key, day)| format!("{day}\t{key}\n")).collect();
        // Where it cannot be noted it is said again, and what keeps the shelf from being written is said already.
        let _ = shelf.note_changes(TOLD, &note);
    }
    problems
}

/// The day on which each was told. A line that is none is passed over.
fn read(note: &str) -> BTreeMap<String, Date> {
    let line = |line: &str| {
        let (day, key) = line.split_once('\t')?;
        Some((key.to_owned(), day.parse().ok()?))
    };
    note.lines().filter_map(line).collect()
}
