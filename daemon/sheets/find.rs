//! The files that lie in the folders which exports are dropped in.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::problem::{Place, Problem, counted};
use crate::settings::{AgreedSheet, Limits};

/// The most entries of one folder that are looked at, so that a folder full of something else cannot stall a round.
const ENTRIES_MAX: usize = 100_000;

/// A file that may be a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundFile {
    /// Where it lies.
    pub path: PathBuf,
    /// Its name as messages give it: below the yard folder, with forward slashes; the whole path if it lies elsewhere.
    pub name: String,
    /// The day on which it was last changed.
    pub modified: Date,
}

/// The files in the folders, sorted by name; of folders below the yard those in their sub-folders too, one level down.
///
/// `folders` are named below `yard`, or absolute. Files that programs keep beside a document while it is open, and
/// half-written downloads, are passed over, but for those that are `agreed` under that very name.
pub fn find(
    yard: &Path,
    folders: &[String],
    agreed: &[AgreedSheet],
    zone: &TimeZone,
    limits: &Limits,
) -> (Vec<FoundFile>, Vec<Problem>) {
    find_within(yard, (folders, agreed), zone, limits.files, ENTRIES_MAX)
}

/// The same with the most files and entries of one folder.
pub(super) fn find_within(
    yard: &Path,
    (folders, agreed): (&[String], &[AgreedSheet]),
    zone: &TimeZone,
    files_max: usize,
    entries_max: usize,
) -> (Vec<FoundFile>, Vec<Problem>) {
    let mut search =
        Search { yard, agreed, zone, files_max, entries_max, found: BTreeMap::new(), problems: Vec::new() };
    for folder in folders {
        search.look(&yard.join(folder), folder);
    }
    (search.found.into_values().collect(), search.problems)
}

/// A search under way.
struct Search<'a> {
    yard: &'a Path,
    agreed: &'a [AgreedSheet],
    zone: &'a TimeZone,
    files_max: usize,
    entries_max: usize,
    found: BTreeMap<String, FoundFile>,
    problems: Vec<Problem>,
}

impl Search<'_> {
    /// Looks through one folder of the settings, `written` as it stands there.
    fn look(&mut self, folder: &Path, written: &str) {
        if folder.is_file() {
            let file = self.file(folder.to_owned());
            self.found.extend(file.into_iter().map(|file| (file.name.clone(), file)));
            return;
        }
        // A folder of somebody's own elsewhere may hold anything below; one in the yard is there for sheets.
        let is_in_yard = !Path::new(written).is_absolute() && !written.contains("..");
        let mut files = Vec::new();
        for (path, is_folder) in self.entries(folder, written) {
            if is_folder && (!is_in_yard || self.is_kept_by_the_yard(&path)) {
                continue;
            }
            if is_folder {
                let name = self.name(&path);
                files.extend(self.entries(&path, &name).into_iter().filter(|(_, is_folder)| !is_folder));
            } else {
                files.push((path, false));
            }
        }
        let mut files: Vec<FoundFile> = files.into_iter().filter_map(|(path, _)| self.file(path)).collect();
        self.pass_over_copies(&mut files);
        if files.len() > self.files_max {
            // The newest are the ones that matter.
            files.sort_by(|one, other| {
                other.modified.cmp(&one.modified).then_with(|| one.name.cmp(&other.name))
            });
            let what = format!(
                "the folder holds {}; only the newest {} were read",
                counted(files.len(), "file"),
                self.files_max
            );
            files.truncate(self.files_max);
            let help = "Move old exports elsewhere, or raise the limit under [limits] in tickover.toml.";
            self.problems.push(Problem::error(Place::file(written), what, help));
        }
        self.found.extend(files.into_iter().map(|file| (file.name.clone(), file)));
    }

    /// Passes over a copy that somebody made of a sheet which lies beside it: what it says is the sheet's of some day.
    fn pass_over_copies(&mut self, files: &mut Vec<FoundFile>) {
        let paths: BTreeSet<PathBuf> = files.iter().map(|file| file.path.clone()).collect();
        files.retain(|file| {
            if self.is_agreed(&file.path) {
                return true;
            }
            let original = file.path.file_name().and_then(|name| copied_from(&name.to_string_lossy()));
            let Some(original) = original.filter(|name| paths.contains(&file.path.with_file_name(name)))
            else {
                return true;
            };
            let what = format!("this file is a copy of {original} by its name, and is not read");
            let help = "If it is a sheet of its own, give it another name. Otherwise keep copies elsewhere.";
            self.problems.push(Problem::note(Place::file(file.name.clone()), what, help));
            false
        });
    }

    /// What lies in a folder, each with whether it is a folder itself.
    fn entries(&mut self, folder: &Path, written: &str) -> Vec<(PathBuf, bool)> {
        let entries = match fs::read_dir(folder) {
            Ok(entries) => entries,
            Err(error) => {
                let (what, help) = match error.kind() {
                    std::io::ErrorKind::NotFound => (
                        "the folder is not there".to_owned(),
                        "Make it, connect the share it lies on, or correct `folders` in the settings.",
                    ),
                    _ => (
                        format!("the folder could not be read ({error})"),
                        "Give the account that runs this program the right to read it.",
                    ),
                };
                self.problems.push(Problem::error(Place::file(written), what, help));
                return Vec::new();
            }
        };
        let mut entries: Vec<_> = entries.take(self.entries_max + 1).collect();
        if entries.len() > self.entries_max {
            entries.truncate(self.entries_max);
            let what = format!(
                "the folder holds more than {} entries; the others were not looked at",
                self.entries_max
            );
            let help = "Keep only the sheets in it, or name a folder in the settings that holds only them.";
            self.problems.push(Problem::error(Place::file(written), what, help));
        }
        entries
            .into_iter()
            .filter_map(Result::ok)
            .filter(|entry| {
                let name = entry.file_name();
                (!is_passed_over(&name) || self.is_agreed(&entry.path()))
                    && !is_no_sheet(&name.to_string_lossy().to_lowercase())
            })
            .map(|entry| {
                let path = entry.path();
                let is_folder = path.is_dir();
                (path, is_folder)
            })
            .collect()
    }

    /// A file with its name and day; `None` for one that has gone in the meantime, or is no ordinary file.
    fn file(&self, path: PathBuf) -> Option<FoundFile> {
        let metadata = fs::metadata(&path).ok().filter(fs::Metadata::is_file)?;
        let modified = jiff::Timestamp::try_from(metadata.modified().ok()?).ok()?;
        let modified = modified.to_zoned_datetime(self.zone.clone()).date();
        let name = self.name(&path);
        Some(FoundFile { path, name, modified })
    }

    /// Whether the settings name this very file; a series with a * does not name its copies.
    fn is_agreed(&self, path: &Path) -> bool {
        let (name, file_name) = (self.name(path), path.file_name().map(OsStr::to_string_lossy));
        self.agreed.iter().any(|agreed| {
            agreed.file == name || file_name.as_ref().is_some_and(|file_name| agreed.file == **file_name)
        })
    }

    /// Whether a folder is one of the yard's own that hold no sheets.
    fn is_kept_by_the_yard(&self, path: &Path) -> bool {
        path.parent() == Some(self.yard)
            && path
                .file_name()
                .is_some_and(|name| ["rules", "handbook", "digests", "kept"].iter().any(|own| name == *own))
    }

    fn name(&self, path: &Path) -> String {
        let below = path.strip_prefix(self.yard).unwrap_or(path);
        let name = below.to_string_lossy();
        if cfg!(windows) { name.replace('\\', "/") } else { name.into_owned() }
    }
}

/// The name of the file of which this one is a copy, as systems name one that is made beside it: by hand, by packing it,
/// or where it was changed on two machines at once.
fn copied_from(name: &str) -> Option<String> {
    if let Some(packed) = name.strip_suffix(".gz") {
        return Some(packed.to_owned());
    }
    let (stem, ending) = name.rsplit_once('.')?;
    let of_conflict = || {
        let in_brackets =
            || stem.strip_suffix(')')?.rsplit_once(" (").filter(|(_, of)| of.contains("conflicted copy"));
        let behind = || [".sync-conflict-", "_conflict-"].iter().find_map(|mark| stem.split_once(mark));
        in_brackets().or_else(behind).map(|(original, _)| original)
    };
    let original = stem
        .strip_prefix("Copy of ")
        .or_else(|| [" - Copy", " (copy)", " copy"].iter().find_map(|mark| stem.strip_suffix(mark)))
        .or_else(of_conflict)?;
    Some(format!("{original}.{ending}"))
}

/// Whether a name is that of a lock, a temporary file, an editor's backup, a download under way or a system's own file.
pub fn is_passed_over(name: &OsStr) -> bool {
    let name = name.to_string_lossy().to_lowercase();
    name.starts_with('.')
        || name.starts_with("~$")
        || name.starts_with("~syncthing~")
        || [".tmp", ".crdownload", ".part", "~", ".bak", ".old", ".orig"]
            .iter()
            .any(|ending| name.ends_with(ending))
        || ["desktop.ini", "thumbs.db"].contains(&name.as_str())
}

/// Whether a lower-case name says that the file is no sheet, and was never meant to be one. What a sheet is, its bytes
/// decide; but a folder may hold a letter or a picture, too, and nobody wants to hear of it each morning.
fn is_no_sheet(name: &str) -> bool {
    const OTHERS: [&str; 27] = [
        "toml", "rhai", "md", "pdf", "png", "jpg", "jpeg", "gif", "heic", "doc", "docx", "odt", "rtf", "exe",
        "msi", "eml", "msg", "json", "py", "js", "log", "lnk", "ini", "ics", "vcf", "mp4", "sqlite3",
    ];
    name.rsplit_once('.').is_some_and(|(_, ending)| OTHERS.contains(&ending))
}
