//! Sheets that nobody has agreed on, beside others that somebody has: each is named with how it was read and what
//! to write.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::Date;

use super::gone::without_figures;
use super::intake::{is_for, recognise};
use super::open_changes::plain;
use super::{Run, Tells};
use crate::origin::SheetName;
use crate::problem::{Place, Problem, Spot};
use crate::settings::{AgreedSheet, Settings};
use crate::sheets::Table;
use crate::units::month_named;
use crate::watch::Shelf;
use crate::yard::{CheckResult, ColumnRead, Field, Identity, ReadAs, Record, RecordKind, Records};

/// Under this name the shelf has which new sheets were told, and when.
const TOLD: &str = "new sheets";

/// Under this name it has which worksheets took the place of which that were agreed.
const RENAMED: &str = "worksheets renamed";

/// The most of each that are remembered, so that the notes stay small.
const REMEMBERED: usize = 300;

/// How many columns are named of a sheet; the others are counted.
const NAMED: usize = 6;

/// A sheet that was read by its looks alone.
pub(super) struct NewSheet {
    pub(super) name: Arc<SheetName>,
    kind: RecordKind,
    /// Each column with what it was taken for.
    columns: Vec<(String, &'static str)>,
    /// Whether it is the next of a dated series that was agreed, or stands where a sheet stood that was.
    is_expected: bool,
    /// The checks and road tests that it says are done, each with its machine and cell.
    done: Vec<String>,
}

/// What a sheet is looked at beside.
pub(super) struct Beside<'a> {
    /// The sheets of its file.
    pub(super) tables: &'a [Table],
    /// Those of the file's last export, where that was another one.
    pub(super) earlier: &'a [Table],
    pub(super) settings: &'a Settings,
}

/// The worksheets that took the place of others that were agreed: file, own name and that of the other.
pub(super) type Renamed = BTreeSet<String>;

impl NewSheet {
    /// A sheet that nobody has agreed on; `None` where one has, or where none is agreed at all, or it gives nothing.
    pub(super) fn of(
        table: &Table,
        (read_as, records): (&ReadAs, &Records),
        beside: &Beside<'_>,
        renamed: &mut Renamed,
    ) -> Option<NewSheet> {
        let settings = beside.settings;
        if settings.sheets.is_empty() || settings.sheets.iter().any(|agreed| agreed.is_for(&table.name)) {
            return None;
        }
        let columns = read_as.columns.iter().map(|column| (column.header.clone(), column.field.name()));
        let done = records.records.iter().filter_map(|said| done(said, read_as)).collect();
        Some(NewSheet {
            name: Arc::clone(&table.name),
            kind: read_as.kind?,
            columns: columns.collect(),
            is_expected: settings
                .sheets
                .iter()
                .any(|agreed| is_expected(agreed, (table, read_as), beside, renamed)),
            done,
        })
    }

    /// Takes out of what it says the checks and road tests that it alone says are done: a sheet that nobody knows lets no
    /// machine go. What failed counts.
    pub(super) fn hold_back(&self, read_as: &ReadAs, records: &mut Records) {
        if self.holds_back() {
            records.records.retain(|said| done(said, read_as).is_none());
        }
    }

    /// Whether something that it says does not count.
    pub(super) fn holds_back(&self) -> bool {
        !self.is_expected && !self.done.is_empty()
    }

    /// What it is known by from day to day; the next of a dated series is no new one.
    fn key(&self) -> String {
        in_one_line(&[&without_figures(&self.name.file), self.name.sheet.as_deref().unwrap_or_default()])
    }

    /// Which checks and road tests it says are done, and whether they count.
    fn says_done(&self) -> String {
        let Some(first) = self.done.first() else { return String::new() };
        let more = match self.done.len() - 1 {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        if self.holds_back() {
            return format!(
                "; the checks, road tests and brake fluid that it says are done do not count until you say so ({first}{more})"
            );
        }
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
            self.says_done()
        );
        let help = format!(
            "Run `tickover setup`, which writes down each of its columns; or write `[[sheet]]`, {} and `rows = \"{kind}\"` at \
             the end of tickover.toml, or `rows = \"nothing\"` to leave it unread. This is said {}.",
            lines(name).join(", "),
            if self.holds_back() { "until then" } else { "once" }
        );
        Problem::error(place, what, help)
    }
}

/// What a record that may let a machine go says is done, with its machine and cell.
fn done((identity, record): &(Identity, Record), read_as: &ReadAs) -> Option<String> {
    let (what, cell) = match record {
        Record::Check(check) if check.result.value == CheckResult::Passed => {
            (check.item.value.as_str(), check.result.origin.cell())
        }
        Record::Ride(ride) => ("road test", ride.day.as_ref()?.origin.cell()),
        Record::Job(job) => {
            let cell = &job.day.as_ref()?.origin;
            let is_it = |column: &ColumnRead| {
                column.field == Field::BrakeFluidDay && column.index == cell.column as usize
            };
            (read_as.columns.iter().any(is_it).then_some(job.done.value.as_str())?, cell.cell())
        }
        _ => return None,
    };
    Some(format!("{what} of {} in {cell}", identity.shown()))
}

/// Whether a sheet is the next of a dated series in which one was agreed, or came as one of its workbook went that was.
fn is_expected(
    agreed: &AgreedSheet,
    (table, read_as): (&Table, &ReadAs),
    beside: &Beside<'_>,
    renamed: &mut Renamed,
) -> bool {
    let name = &*table.name;
    if !is_of_file(agreed, name) {
        return false;
    }
    let (Some(sheet), Some(agreed_sheet)) = (&name.sheet, &agreed.sheet) else { return true };
    if sheet == agreed_sheet {
        return true;
    }
    if read_as.kind != RecordKind::named(&agreed.rows) || !reads_no_more(read_as, agreed) {
        return false;
    }
    let is_next = tab_series(sheet).is_some_and(|series| Some(series) == tab_series(agreed_sheet));
    if is_next {
        return true;
    }
    if of_name(beside.tables, agreed_sheet).is_some() {
        return false;
    }
    let key = in_one_line(&[&without_figures(&name.file), sheet, agreed_sheet]);
    let took_its_place = renamed.contains(&key) || takes_its_place((table, read_as), agreed_sheet, beside);
    if took_its_place && renamed.len() < REMEMBERED {
        renamed.insert(key);
    }
    took_its_place
}

/// Whether a worksheet is the only new one of its kind since the last export, which had the one that is gone, and is read by
/// no columns but that one's. One that went long ago, or stood beside it, has no say.
fn takes_its_place((table, read_as): (&Table, &ReadAs), gone: &str, beside: &Beside<'_>) -> bool {
    let Some(gone) = of_name(beside.earlier, gone) else { return false };
    let is_new = |table: &Table| {
        let sheet = table.name.sheet.as_deref();
        sheet.is_some_and(|sheet| of_name(beside.earlier, sheet).is_none())
    };
    let read = |read_as: &ReadAs| -> BTreeSet<(String, Field)> {
        read_as.columns.iter().map(|column| (column.header.clone(), column.field)).collect()
    };
    let is_of_kind = |other: &&Table| recognise(other, beside.settings).kind == read_as.kind;
    is_new(table)
        && read(read_as).is_subset(&read(&recognise(gone, beside.settings)))
        && beside.tables.iter().filter(|other| is_new(other)).filter(is_of_kind).count() == 1
}

fn of_name<'t>(tables: &'t [Table], sheet: &str) -> Option<&'t Table> {
    tables.iter().find(|table| table.name.sheet.as_deref() == Some(sheet))
}

/// Names as a note has them, on one line with tabs between.
fn in_one_line(names: &[&str]) -> String {
    names.iter().map(|name| plain(name)).collect::<Vec<_>>().join("\t")
}

/// A worksheet's name with signs in the place of its figures and month, which is the same for all of a series: `QC 2026`,
/// `Jan`, `2026-03`; `None` where it has neither.
fn tab_series(name: &str) -> Option<String> {
    let name = name.to_lowercase();
    let mut series = String::new();
    for word in name.split_inclusive(|letter: char| !letter.is_alphanumeric()) {
        let letters: String = word.chars().filter(|letter| letter.is_alphabetic()).collect();
        let is_month = month_named(&letters).is_some();
        let mut signs = if is_month { word.replace(&letters, "@") } else { word.to_owned() };
        while let Some(figure) = signs.find(|letter: char| letter.is_ascii_digit()) {
            let behind =
                signs[figure..].trim_start_matches(|letter: char| letter.is_ascii_digit()).to_owned();
            signs = format!("{}#{behind}", &signs[..figure]);
        }
        series.push_str(&signs);
    }
    series.contains(['#', '@']).then_some(series)
}

/// Whether a sheet is read by columns alone that were agreed of another one as what they are.
fn reads_no_more(read_as: &ReadAs, agreed: &AgreedSheet) -> bool {
    let is_agreed = |column: &ColumnRead| {
        let mut agreed = agreed.columns.iter();
        agreed.any(|agreed| agreed.header == column.header && agreed.field == column.field.name())
    };
    agreed.columns.is_empty() || read_as.columns.iter().all(is_agreed)
}

/// Whether what was agreed is of that file, or of another one of its dated series.
fn is_of_file(agreed: &AgreedSheet, name: &SheetName) -> bool {
    let series = without_figures(&agreed.file);
    let is_dated = series != agreed.file;
    let is_of_series = [name.file.as_str(), name.file_name()].map(without_figures).contains(&series);
    is_for(agreed, &name.file) || (is_dated && is_of_series)
}

/// Which worksheets earlier rounds have seen take the place of others.
pub(super) fn renamed_before(shelf: &Shelf) -> Renamed {
    shelf.noted_changes(RENAMED).lines().map(str::to_owned).collect()
}

/// Notes those that have been found so far.
pub(super) fn note_renamed(run: &Run, shelf: &Shelf, renamed: &Renamed) {
    if run.keeps && !renamed.is_empty() {
        let note: String = renamed.iter().map(|line| format!("{line}\n")).collect();
        // Where it cannot be noted, what keeps the shelf from being written is said already.
        let _ = shelf.note_changes(RENAMED, &note);
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
        if told.get(&key).is_some_and(|day| *day < today) && !sheet.holds_back() {
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

#[cfg(test)]
mod tests {
    use super::tab_series;

    #[test]
    fn a_month_is_a_whole_word_of_a_tabs_name() {
        for (one, next) in
            [("Dec", "January"), ("Mar", "Sept"), ("QC May", "QC Jun"), ("Mar26", "Apr26"), ("2025", "2026")]
        {
            assert!(tab_series(one).is_some(), "{one}");
            assert_eq!(tab_series(one), tab_series(next), "{one} {next}");
        }
        for word in ["Declined", "Marked", "Maybe", "Junk", "Decem"] {
            assert_eq!(tab_series(word), None, "{word}");
        }
    }
}
