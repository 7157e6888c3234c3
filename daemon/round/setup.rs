//! Onboarding: looks at a shop's own exports, proposes which column is what with the evidence, and writes it down.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;

use super::{YardFolder, cannot_write, intake, zone_of};
use crate::problem::{Problem, Severity};
use crate::settings::{self, AgreedSheet, Settings};
use crate::sheets::{self, Reader};
use crate::yard;

/// What setup makes of the exports.
#[derive(Debug, Default)]
pub struct Proposal {
    /// For a person: every sheet with its columns, the evidence, and what was left out.
    pub text: String,
    /// The sheets as they would be agreed.
    pub agreed: Vec<AgreedSheet>,
    /// What could not be read or recognised.
    pub problems: Vec<Problem>,
}

impl Proposal {
    /// Whether a sheet was not read or not recognised.
    pub fn needs_a_person(&self) -> bool {
        self.problems.iter().any(|problem| problem.severity == Severity::Error)
    }
}

/// What a setup did.
#[derive(Debug)]
pub struct Setup {
    /// What it proposes.
    pub proposal: Proposal,
    /// Whether the settings were written.
    pub written: bool,
}

/// Looks at the exports (without any, at everything in the yard's folders), proposes, and writes what is sure into
/// the settings where that is accepted. Sheets that were agreed before are agreed anew; everything else in the
/// settings stays as it is.
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
    if folder.settings().is_file() {
        let (kept, problems) = settings::load(&folder.settings(), "tickover.toml");
        settings = kept.ok_or(problems)?;
    }
    let (named, mut problems) = exports(folder, &mut settings, files);
    let mut proposal = propose(&named, &settings, reader);
    problems.append(&mut proposal.problems);
    proposal.problems = problems;
    let written = accept && !proposal.agreed.is_empty();
    if written {
        for agreed in &proposal.agreed {
            settings.sheets.retain(|kept| kept.file != agreed.file || kept.sheet != agreed.sheet);
        }
        settings.sheets.extend(proposal.agreed.iter().cloned());
        let path = folder.settings();
        fs::write(&path, settings::render(&settings)).map_err(|cause| vec![cannot_write(&path, &cause)])?;
    }
    Ok(Setup { proposal, written })
}

/// The exports with the name that messages call each by. A folder outside the yard is added to the settings, so that
/// the morning reads from there, too.
fn exports(
    folder: &YardFolder,
    settings: &mut Settings,
    files: &[PathBuf],
) -> (Vec<(PathBuf, String)>, Vec<Problem>) {
    for file in files {
        let outside = if file.is_dir() { Some(file.as_path()) } else { file.parent() };
        let outside =
            outside.map(|outside| if outside.as_os_str().is_empty() { Path::new(".") } else { outside });
        if let Some(written) = outside.and_then(|outside| as_setting(folder, outside))
            && !settings.folders.contains(&written)
        {
            settings.folders.push(written);
        }
    }
    let zone: TimeZone = zone_of(settings);
    let (found, problems) = sheets::find(folder.root(), &settings.folders, &zone, &settings.limits);
    let named = |path: &Path| {
        files.is_empty()
            || files.iter().any(|file| same_place(file, path) || (file.is_dir() && holds(file, path)))
    };
    let exports = found.into_iter().filter(|found| named(&found.path)).map(|found| (found.path, found.name));
    (exports.collect(), problems)
}

/// How the settings write a folder: below the yard where it lies there, else in full; `None` for one that is not
/// there.
fn as_setting(folder: &YardFolder, outside: &Path) -> Option<String> {
    let outside = outside.canonicalize().ok()?;
    let root = folder.root().canonicalize().ok()?;
    let shown = outside.strip_prefix(&root).unwrap_or(&outside);
    // Folders one level below a named one are read with it.
    let inside = shown.parent().filter(|parent| *parent == Path::new("sheets")).unwrap_or(shown);
    Some(inside.to_string_lossy().replace('\\', "/"))
}

fn same_place(left: &Path, right: &Path) -> bool {
    matches!((left.canonicalize(), right.canonicalize()), (Ok(left), Ok(right)) if left == right)
}

fn holds(folder: &Path, file: &Path) -> bool {
    matches!((folder.canonicalize(), file.canonicalize()), (Ok(folder), Ok(file)) if file.starts_with(&folder))
}

/// Looks at exports, each given with the name that messages call it by, and proposes.
fn propose(files: &[(PathBuf, String)], settings: &Settings, reader: &Reader) -> Proposal {
    let mut proposal = Proposal::default();
    for (path, name) in files {
        let read = sheets::read(path, name, &settings.limits, reader);
        proposal.problems.extend(read.problems);
        for table in &read.tables {
            // What was agreed before does not bind: the sheet may have changed, and the owner asked to look anew.
            let read_as = intake::recognise_anew(table, settings);
            proposal.problems.extend(read_as.problems.iter().cloned());
            proposal.text.push_str(&yard::proposal(table, &read_as));
            proposal.text.push('\n');
            if read_as.kind.is_some() {
                proposal.agreed.push(yard::agreed(table, &read_as));
            }
        }
    }
    proposal
}
