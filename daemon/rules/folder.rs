//! The folder of rules: which of the files that lie in it are read.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::files::{ENDING, shown_as};
use super::misnamed::Misnamed;
use super::sandbox::{ENTRIES, FILES, FOLDER_BYTES};
use super::{RuleFile, is_known};
use crate::problem::{Place, Problem};

/// What lies in the folder.
struct Found {
    /// The files that are rules by their names, in their order.
    rules: Vec<PathBuf>,
    /// Those that are meant as rules and are none by their names.
    misnamed: Misnamed,
    /// Whether all that lies there was looked at.
    whole: bool,
}

impl RuleFile {
    /// The rule files of a folder by name; one whose name begins with a dot is none. Where there are more than are
    /// read, those that were accepted before come first: what somebody drops there puts no rule out of force.
    pub fn of_folder(
        folder: &Path,
        shown: &str,
        accepted: &BTreeMap<String, String>,
    ) -> (Vec<RuleFile>, Vec<Problem>) {
        of_folder(folder, shown, accepted, ENTRIES)
    }
}

/// The same, of which so many entries are looked at.
pub(super) fn of_folder(
    folder: &Path,
    shown: &str,
    accepted: &BTreeMap<String, String>,
    entries: usize,
) -> (Vec<RuleFile>, Vec<Problem>) {
    let found = match find(folder, shown, entries) {
        Ok(found) => found,
        Err(error) => {
            let what = format!("the folder of rules cannot be read: {error}");
            let help = "look whether it is there, and whether it may be read";
            return (Vec::new(), vec![Problem::error(Place::file(shown), what, help)]);
        }
    };
    let mut problems = Vec::new();
    let mut paths: BTreeSet<PathBuf> = found.rules.into_iter().collect();
    if !found.whole {
        let what = format!("not all that lies in it could be looked at: {entries} files at most are");
        problems.push(Problem::error(Place::file(shown), what, "move all that is no rule away"));
        // Of a rule in force it is known how its file is called.
        let known = accepted.keys().map(|name| folder.join(format!("{name}.{ENDING}")));
        paths.extend(known.filter(|path| lies_there(path)));
    }
    problems.extend(found.misnamed.told(shown));
    let count = paths.len();
    let is_known = |path: &PathBuf| {
        let name = path.file_stem().and_then(OsStr::to_str).unwrap_or_default();
        is_known(name, accepted)
    };
    let (known, new): (Vec<PathBuf>, Vec<PathBuf>) = paths.into_iter().partition(is_known);
    if count > FILES {
        let what =
            format!("there are {count} rule files, and only {FILES} are read: those in force go first");
        problems.push(Problem::error(Place::file(shown), what, "move all that is no rule away"));
    }
    let known_count = known.len();
    let in_turn = known.into_iter().chain(new).take(FILES).enumerate();
    let in_turn = in_turn.map(|(place, path)| (RuleFile::read_in(folder, &path, shown), place < known_count));
    let (mut files, left_out) = with_room(in_turn, shown);
    files.sort_by(|left, right| left.name.cmp(&right.name));
    problems.extend(left_out);
    (files, problems)
}

/// The files for which there is room, in their turn; what is left out is told. Of one that was in force the last good
/// version goes on.
fn with_room(files: impl Iterator<Item = (RuleFile, bool)>, shown: &str) -> (Vec<RuleFile>, Option<Problem>) {
    /// The most that are named.
    const NAMED: usize = 5;
    /// The bytes of a KiB.
    const KIB: usize = 1024;
    const HELP: &str = "take out what is no part of a rule, or move away the rules that nobody needs";
    let room =
        format!("all rule files together may have {} KiB, and those in force go first", FOLDER_BYTES / KIB);
    let (mut kept, mut left_out, mut bytes) = (Vec::new(), Vec::new(), 0);
    for (mut file, is_known) in files {
        let size = file.text.as_ref().map_or(0, String::len);
        if bytes + size <= FOLDER_BYTES {
            bytes += size;
        } else if is_known {
            let what = format!("there is no room for this file: {room}");
            file.text = Err(Problem::error(Place::file(shown_as(&file.name, shown)), what, HELP));
        } else {
            left_out.push(format!("`{}`", file.name));
            continue;
        }
        kept.push(file);
    }
    let problem = (!left_out.is_empty()).then(|| {
        let more = left_out.len().saturating_sub(NAMED);
        left_out.truncate(NAMED);
        let more = if more == 0 { String::new() } else { format!(" and {more} more") };
        let what = format!("there is no room for {}{more}: {room}", left_out.join(", "));
        Problem::error(Place::file(shown), what, HELP)
    });
    (kept, problem)
}

/// Looks through the folder.
fn find(folder: &Path, shown: &str, most: usize) -> io::Result<Found> {
    let mut found = Found { rules: Vec::new(), misnamed: Misnamed::default(), whole: true };
    for (count, entry) in fs::read_dir(folder)?.enumerate() {
        let Some(path) = entry.ok().filter(|_| count < most).map(|entry| entry.path()) else {
            found.whole = false;
            break;
        };
        if is_hidden(&path) {
            continue;
        }
        if path.extension().is_some_and(|ending| ending == ENDING) {
            found.rules.push(path);
        } else {
            found.misnamed.note(folder, &path, shown);
        }
    }
    Ok(found)
}

/// Whether a file is there, as far as anybody can tell: one that may not be looked at is not gone.
fn lies_there(path: &Path) -> bool {
    !matches!(fs::symlink_metadata(path), Err(error) if error.kind() == io::ErrorKind::NotFound)
}

/// Editors and sync programs keep such files beside the real ones.
fn is_hidden(path: &Path) -> bool {
    path.file_name().is_some_and(|name| {
        let name = name.to_string_lossy();
        // A word processor keeps `~$name` there while it has the file open.
        name.starts_with('.') || name.starts_with("~$")
    })
}
