//! Onboarding: looks at a shop's own exports, proposes which column is what with the evidence, and writes it down.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::{YardFolder, intake, put, zone_of};
use crate::problem::{Place, Problem, Severity};
use crate::settings::{self, Settings, SheetNotes};
use crate::sheets::{self, Reader, Table};
use crate::watch::{Shelf, Whole};
use crate::yard::{self, Field, ReadAs};

/// What a setup found and did.
#[derive(Debug, Default)]
pub struct Setup {
    /// For a person: every sheet with its columns, the evidence, and what was left out.
    pub text: String,
    /// What could not be read or recognised.
    pub problems: Vec<Problem>,
    /// How many sheets were recognised that the settings did not know.
    pub recognised: usize,
    /// How many sheets the settings knew already; they stay as they were agreed.
    pub agreed_before: usize,
    /// Whether the settings were written.
    pub written: bool,
    /// The new sheets as they stand in the settings.
    blocks: String,
}

impl Setup {
    /// Whether a sheet was not read or not recognised.
    pub fn needs_a_person(&self) -> bool {
        self.problems.iter().any(|problem| problem.severity == Severity::Error)
    }
}

/// Looks at the exports (without any, at everything in the yard's folders), proposes, and where that is accepted adds
/// what is sure to the settings. What stands in the settings already is the owner's and stays as it is.
///
/// # Errors
/// Settings that are no TOML, or that cannot be written.
pub fn set_up(
    folder: &YardFolder,
    files: &[PathBuf],
    accept: bool,
    reader: &Reader,
) -> Result<Setup, Vec<Problem>> {
    let mut settings = Settings::default();
    let mut text = None;
    if folder.settings().is_file() {
        let (kept, problems) = settings::load(&folder.settings(), "tickover.toml");
        settings = kept.ok_or(problems)?;
        text = Some(fs::read_to_string(folder.settings()).map_err(|cause| {
            let help = "Check that it may be read, and that it is a text file in UTF-8.";
            vec![Problem::error(Place::file("tickover.toml"), format!("cannot be read: {cause}"), help)]
        })?);
    }
    let mut setup = Setup::default();
    let added = places(folder, &settings, files, &mut setup.problems);
    settings.folders.extend(added.iter().cloned());
    look(folder, &settings, files, reader, &mut setup);
    if accept && setup.recognised > 0 {
        let path = folder.settings();
        let text: String = match text {
            None => settings::render(&settings),
            Some(text) => with_folders(text, &settings, &added, &mut setup.problems),
        };
        put(&path, format!("{text}{}", setup.blocks).as_bytes()).map_err(|problem| vec![problem])?;
        setup.written = true;
        keep_what_was_agreed(folder, &settings);
    }
    Ok(setup)
}

/// Keeps a copy of each export that has none yet, so that the first round can tell what has changed since it was agreed.
/// Where that cannot be, the first round has nothing to compare with, and says itself what keeps copies from being made.
fn keep_what_was_agreed(folder: &YardFolder, settings: &Settings) {
    let mut shelf = Shelf::at(folder.shelf(), true);
    let (found, _) = sheets::find(folder.root(), &settings.folders, &zone_of(settings), &settings.limits);
    for export in found.iter().filter(|export| !shelf.holds(&export.name)).collect::<Vec<_>>() {
        let known = fs::metadata(&export.path).ok().filter(|known| known.len() <= settings.limits.file_bytes);
        let modified = known.and_then(|known| Timestamp::try_from(known.modified().ok()?).ok());
        let Some(modified) = modified else { continue };
        if let Ok(bytes) = fs::read(&export.path) {
            let _ = shelf.put(&export.name, &Whole { bytes, modified });
        }
    }
}

/// Looks at every export that was named.
fn look(folder: &YardFolder, settings: &Settings, files: &[PathBuf], reader: &Reader, setup: &mut Setup) {
    let (found, problems) =
        sheets::find(folder.root(), &settings.folders, &zone_of(settings), &settings.limits);
    setup.problems.extend(problems);
    let named = |path: &Path| {
        files.is_empty()
            || files.iter().any(|file| same_place(file, path) || (file.is_dir() && holds(file, path)))
    };
    for export in found.iter().filter(|found| named(&found.path)) {
        let read = sheets::read(&export.path, &export.name, &settings.limits, reader);
        setup.problems.extend(read.problems);
        for table in &read.tables {
            look_at_table(table, settings, setup);
        }
    }
}

fn look_at_table(table: &Table, settings: &Settings, setup: &mut Setup) {
    let read_as = intake::recognise(table, settings);
    setup.problems.extend(read_as.problems.iter().cloned());
    setup.text.push_str(&yard::proposal(table, &read_as));
    if settings.sheets.iter().any(|agreed| agreed.is_for(&table.name)) {
        setup.text.push_str("  as agreed in tickover.toml, which stays as it is\n");
        setup.agreed_before += 1;
    } else if read_as.kind.is_some() {
        setup.recognised += 1;
        setup.blocks.push_str(&block(table, &read_as));
    }
    setup.text.push('\n');
}

/// A sheet as it stands in the settings, with what was left out and what a column can be.
fn block(table: &Table, read_as: &ReadAs) -> String {
    let fields = read_as.kind.map(|kind| Field::of(kind).map(|field| field.name()).collect());
    let notes = SheetNotes { fields: fields.unwrap_or_default(), left_out: yard::not_agreed(read_as) };
    settings::render_sheet(&yard::agreed(table, read_as), &notes)
}

/// The places to be read that the settings do not name yet: a file that lies elsewhere, or a whole folder where one
/// was given.
fn places(
    folder: &YardFolder,
    settings: &Settings,
    files: &[PathBuf],
    problems: &mut Vec<Problem>,
) -> Vec<String> {
    let mut added: Vec<String> = Vec::new();
    let sheets = folder.sheets().canonicalize().unwrap_or_else(|_| folder.sheets());
    for file in files {
        let Ok(place) = file.canonicalize() else {
            problems.push(Problem::error(
                Place::file(file.to_string_lossy()),
                "there is no such file or folder",
                "Check how it is written.",
            ));
            continue;
        };
        let is_known = settings.folders.iter().any(|known| {
            folder.root().join(known).canonicalize().is_ok_and(|known| {
                known == place
                    || place.parent() == Some(&known)
                    || (known == sheets && place.starts_with(&known))
            })
        });
        let written = as_people_write(&place);
        if !is_known && !added.contains(&written) {
            added.push(written);
        }
    }
    added
}

/// A whole path without the `\\?\` that Windows puts before one.
fn as_people_write(path: &Path) -> String {
    let text = path.to_string_lossy();
    match text.strip_prefix(r"\\?\UNC\") {
        Some(share) => format!(r"\\{share}"),
        None => text.strip_prefix(r"\\?\").unwrap_or(&text).to_owned(),
    }
}

/// The owner's settings with more places in the list of folders, all else as it was written.
fn with_folders(text: String, settings: &Settings, added: &[String], problems: &mut Vec<Problem>) -> String {
    if added.is_empty() {
        return text;
    }
    let key = |line: &str| {
        line.trim_start().strip_prefix("folders").is_some_and(|rest| rest.trim_start().starts_with('='))
    };
    let rendered = settings::render(settings);
    let wanted = rendered.lines().find(|line| key(line)).unwrap_or_default();
    // Only above the first heading is it the key that is meant.
    let mut at = 0;
    let mut found = None;
    for line in text.split_inclusive('\n').take_while(|line| !line.trim_start().starts_with('[')) {
        if key(line) && line.trim_end().ends_with(']') {
            found = Some(at..at + line.trim_end().len());
        }
        at += line.len();
    }
    match found {
        Some(place) => format!("{}{wanted}{}", &text[..place.start], &text[place.end..]),
        None => {
            problems.push(Problem::error(
                Place::file("tickover.toml"),
                format!("the key `folders` does not name {} yet", added.join(", ")),
                format!("Write it at the top of the file: {wanted}"),
            ));
            text
        }
    }
}

fn same_place(left: &Path, right: &Path) -> bool {
    matches!((left.canonicalize(), right.canonicalize()), (Ok(left), Ok(right)) if left == right)
}

fn holds(folder: &Path, file: &Path) -> bool {
    matches!((folder.canonicalize(), file.canonicalize()), (Ok(folder), Ok(file)) if file.starts_with(&folder))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_whole_path_is_written_as_people_write_it() {
        // Microsoft, 'Naming Files, Paths, and Namespaces', of what canonical paths begin with there.
        let cases = [
            (r"\\?\C:\exports\fuel.csv", r"C:\exports\fuel.csv"),
            (r"\\?\UNC\PC\exports\fuel.csv", r"\\PC\exports\fuel.csv"),
            ("/srv/exports/fuel.csv", "/srv/exports/fuel.csv"),
        ];
        for (path, written) in cases {
            assert_eq!(as_people_write(Path::new(path)), written);
        }
    }
}
