//! Files that are gone: their last copies stand in for them for a while, and it is said.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::Path;

use jiff::civil::Date;

use super::exports::{Export, Exports, Gone, day_in_words};
use super::intake::{SheetRead, is_for, recognise};
use super::new_sheets::{Beside, NewSheet, Renamed};
use crate::ledger;
use crate::problem::{Place, Problem, counted};
use crate::settings::Settings;
use crate::sheets;
use crate::watch::Content;
use crate::yard::{self, Records};

/// So many files that are gone from one folder are said one by one; more are said of the folder, which is mostly what
/// is wrong.
const ONE_BY_ONE: usize = 3;

/// What the sheets that are there say.
type Said = BTreeSet<ledger::Content>;

/// What is known of the files that are there.
pub(super) struct Present<'a> {
    pub(super) root: &'a Path,
    pub(super) settings: &'a Settings,
    pub(super) today: Date,
    /// The names of those that were found.
    pub(super) names: BTreeSet<&'a str>,
    /// What they hold.
    pub(super) contents: &'a BTreeSet<Content>,
    /// What was read from them.
    pub(super) sheets: &'a [SheetRead],
    /// What they say.
    pub(super) records: &'a Records,
}

/// Reads the copies of the sheets that are gone and that no other sheet replaces. `kinds` says what kinds of rows
/// tables give.
pub(super) fn read(
    present: &Present<'_>,
    exports: &mut Exports<'_>,
    kinds: impl Fn(&Export) -> BTreeSet<&'static str>,
) -> Vec<(String, Gone)> {
    let mut counting = Vec::new();
    let said = OnceCell::new();
    for name in exports.shelf.names() {
        if present.names.contains(name.as_str()) || name.starts_with("handbook/") {
            continue;
        }
        let path = present.root.join(&name);
        let is_named = present.folder_of(&name).is_some();
        // A file beyond the limits, or among those that are no sheets by their names, is still there.
        if is_named && path.is_file() {
            continue;
        }
        let Some(gone) = exports.read_gone(&name) else { continue };
        if !is_named {
            continue;
        }
        let is_renamed = present.contents.contains(&gone.content);
        let kinds = kinds(&gone.export);
        if is_renamed
            || present.counts_without(&gone.export, &name, &said)
            || kinds.iter().all(|kind| present.replaces(&name, kind, &exports.first_seen))
        {
            exports.take_down(&name);
        } else {
            counting.push((name, gone));
        }
    }
    counting
}

impl Present<'_> {
    /// The folder of the settings, as written there, that a file lies in.
    fn folder_of(&self, name: &str) -> Option<&str> {
        let path = self.root.join(name);
        let mut folders = self.settings.folders.iter();
        folders.find(|folder| path.starts_with(self.root.join(folder))).map(String::as_str)
    }

    /// Whether nothing is lost with a file that nobody had agreed on, where others are: what it said was held back, or is
    /// said by those that are there.
    ///
    /// `said` is what those say, once it has been asked for.
    fn counts_without(&self, export: &Export, name: &str, said: &OnceCell<Said>) -> bool {
        let agreed = &self.settings.sheets;
        if agreed.is_empty() || agreed.iter().any(|agreed| is_for(agreed, name)) {
            return false;
        }
        let mut was_held_back = false;
        let says: Vec<ledger::Content> = export
            .read
            .tables
            .iter()
            .flat_map(|table| {
                let read_as = recognise(table, self.settings);
                let day = export.modified.unwrap_or(self.today).min(self.today);
                let (mut records, _) = yard::records(table, &read_as, day);
                let beside = Beside { tables: &export.read.tables, earlier: &[], settings: self.settings };
                let new = NewSheet::of(table, (&read_as, &records), &beside, &mut Renamed::new());
                if let Some(new) = new.filter(NewSheet::holds_back) {
                    was_held_back = true;
                    new.hold_back(&read_as, &mut records);
                }
                ledger::contents(&records).map(|(content, _)| content).collect::<Vec<_>>()
            })
            .collect();
        let said =
            || said.get_or_init(|| ledger::contents(self.records).map(|(content, _)| content).collect());
        was_held_back && says.iter().all(|content| said().contains(content))
    }

    /// Whether a sheet that is there gives a kind of rows in the place of one that is gone: the next of a dated series,
    /// another that was agreed together with it, or one that came as it went; one without rows replaces nothing.
    fn replaces(&self, gone: &str, kind: &str, first_seen: &BTreeSet<String>) -> bool {
        self.sheets.iter().filter(|sheet| sheet.read_as == kind && sheet.records > 0).any(|sheet| {
            without_figures(&sheet.name.file) == without_figures(gone)
                || self
                    .settings
                    .sheets
                    .iter()
                    .any(|agreed| is_for(agreed, &sheet.name.file) && is_for(agreed, gone))
                || first_seen.contains(&sheet.name.file)
        })
    }
}

/// A name without its figures, which is the same for all of a dated series.
pub(super) fn without_figures(name: &str) -> String {
    name.chars().filter(|letter| !letter.is_ascii_digit()).collect()
}

/// Where files that are gone are said.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Loss {
    /// A folder that is gone with them.
    Folder(String),
    /// A folder that is there, and into which no look is allowed.
    Shut(String),
    /// A file that the settings name itself.
    NamedFile(String),
    /// A folder that is there still.
    From(String),
}

/// Says of the files whose copies were read that they are gone, in the place of what was said of their folders when
/// sheets were looked for.
pub(super) fn say(present: &Present<'_>, gone: &[(String, Gone)], problems: &mut Vec<Problem>) {
    let mut losses: BTreeMap<Loss, Vec<&(String, Gone)>> = BTreeMap::new();
    for file in gone {
        losses.entry(present.loss_of(&file.0)).or_default().push(file);
    }
    for (loss, files) in losses {
        match &loss {
            Loss::Folder(place) | Loss::Shut(place) | Loss::NamedFile(place) => {
                problems.retain(|it| it.place.file != *place)
            }
            Loss::From(_) => {}
        }
        match &loss {
            Loss::Folder(folder) => problems.push(of_vanished_folder(folder, &files, present.today)),
            Loss::Shut(folder) => problems.push(of_shut_folder(folder, &files, present.today)),
            Loss::From(folder) if files.len() > ONE_BY_ONE => {
                problems.push(of_emptied_folder(folder, &files, present.today));
            }
            Loss::NamedFile(named) => {
                let beside = beside(&present.root.join(named));
                problems.extend(files.iter().map(|(name, gone)| {
                    let problem = of_file(name, gone, in_place_of(&present.root.join(name)), present.today);
                    match &beside {
                        Some(other) => and_not_the_other(problem, named, other),
                        None => problem,
                    }
                }));
            }
            Loss::From(_) => {
                problems.extend(files.iter().map(|(name, gone)| {
                    of_file(name, gone, in_place_of(&present.root.join(name)), present.today)
                }));
            }
        }
    }
}

impl Present<'_> {
    /// Where a file that is gone is said: the outermost folder that is gone with it, else the folder that it lay in.
    fn loss_of(&self, name: &str) -> Loss {
        let named = self.folder_of(name).unwrap_or_default();
        if self.root.join(named) == self.root.join(name) {
            return Loss::NamedFile(named.to_owned());
        }
        let parent = name.rsplit_once('/').map_or(".", |(parent, _)| parent);
        if is_shut_away(&self.root.join(name)) {
            let is_shut = |folder: &&str| fs::read_dir(self.root.join(folder)).is_err();
            return Loss::Shut([named, parent].into_iter().find(is_shut).unwrap_or(parent).to_owned());
        }
        for folder in [named, parent] {
            if !self.root.join(folder).is_dir() {
                return Loss::Folder(folder.to_owned());
            }
        }
        Loss::From(parent.to_owned())
    }
}

/// What to say of one file that is gone and whose copy was read; `instead` is what stands in its place.
pub(super) fn of_file(name: &str, gone: &Gone, instead: Option<&str>, today: Date) -> Problem {
    let (stands, take_away) = match instead {
        Some(instead) => (format!(", and {instead} stands in its place"), "Take away what stands there. "),
        None => (String::new(), ""),
    };
    let what =
        format!("this file {}{stands}; its copy of {} was read", since(gone.since, today), gone.copied);
    Problem::error(Place::file(name), what, format!("{take_away}{}", what_to_do(gone.until, today)))
}

/// The name of a file of the same name but for its ending, as one has that a program saved anew in another form.
fn beside(path: &Path) -> Option<String> {
    let of_stem = |path: &Path| path.file_stem().map(|stem| stem.to_string_lossy().to_lowercase());
    let there = fs::read_dir(path.parent()?).ok()?.flatten().map(|entry| entry.path());
    let mut others: Vec<String> = there
        .filter(|other| other.is_file() && of_stem(other) == of_stem(path))
        .filter(|other| other.file_name().is_some_and(|name| !sheets::is_passed_over(name)))
        .filter_map(|other| Some(other.file_name()?.to_string_lossy().into_owned()))
        .collect();
    others.sort_unstable();
    others.into_iter().next()
}

/// That another file lies beside one that the settings name and that is gone.
fn and_not_the_other(problem: Problem, named: &str, other: &str) -> Problem {
    let what = format!("{}; `{other}`, which lies beside it, is not read", problem.what);
    let help = format!(
        "If that is the same sheet in a new form, write its name in the place of `{named}` under `folders` in tickover.toml, or \
         name the folder there. {}",
        problem.help
    );
    Problem { what, help, ..problem }
}

/// Whether nobody can know if a file is there, since no look is allowed. It is not said to be gone then.
pub(super) fn is_shut_away(path: &Path) -> bool {
    fs::metadata(path).is_err_and(|cause| cause.kind() == io::ErrorKind::PermissionDenied)
}

/// What stands in the place of a file; `None` where there is a file, or nothing.
pub(super) fn in_place_of(path: &Path) -> Option<&'static str> {
    match fs::metadata(path) {
        Ok(there) if there.is_dir() => Some("a folder"),
        Ok(there) if !there.is_file() => Some("something that is no file"),
        Ok(_) => None,
        Err(_) => path.is_symlink().then_some("a link that leads nowhere"),
    }
}

fn of_vanished_folder(folder: &str, files: &[&(String, Gone)], today: Date) -> Problem {
    let (first, until) = span_of(files, today);
    let help = format!("Connect the share it lies on. {}", what_to_do(until, today));
    let what = format!("this folder {}; {}", since(first, today), copies_read(files));
    Problem::error(Place::file(folder), what, help)
}

fn of_shut_folder(folder: &str, files: &[&(String, Gone)], today: Date) -> Problem {
    let (_, until) = span_of(files, today);
    let help = format!(
        "Give the account that runs this program the right to read it. What was copied counts until {}.",
        day_in_words(until, today)
    );
    Problem::error(Place::file(folder), format!("this folder may not be read; {}", copies_read(files)), help)
}

fn copies_read(files: &[&(String, Gone)]) -> String {
    match files {
        [_] => "the copy of its 1 file was read".to_owned(),
        files => format!("the copies of its {} were read", counted(files.len(), "file")),
    }
}

fn of_emptied_folder(folder: &str, files: &[&(String, Gone)], today: Date) -> Problem {
    let (first, until) = span_of(files, today);
    let what = format!(
        "{} of this folder are gone, the first of them ({}) since {}; their copies were read",
        counted(files.len(), "file"),
        files[0].0,
        day_in_words(first, today)
    );
    Problem::error(Place::file(folder), what, what_to_do(until, today))
}

/// The first day on which one of the files was missed, and the last on which one's copy counts.
fn span_of(files: &[&(String, Gone)], today: Date) -> (Date, Date) {
    let first = files.iter().map(|(_, gone)| gone.since).min().unwrap_or(today);
    (first, files.iter().map(|(_, gone)| gone.until).max().unwrap_or(today))
}

fn since(since: Date, today: Date) -> String {
    if since == today {
        return "is gone".to_owned();
    }
    format!("has been gone since {}", day_in_words(since, today))
}

fn what_to_do(until: Date, today: Date) -> String {
    let until = day_in_words(until, today);
    format!("Put it back. If that is as it should be, do nothing: what was copied counts until {until}.")
}
