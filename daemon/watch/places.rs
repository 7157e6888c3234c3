//! The places of a yard in which a change matters, and what a look at them sees.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;

use super::signature::Signature;
use crate::settings::{AgreedSheet, Limits};
use crate::sheets;

/// The folders of the yard, beside those of the sheets, whose files decide what a round says.
const OWN_FOLDERS: [&str; 3] = ["rules", "handbook", "answers"];

/// The most entries of one such folder that are looked at: ours hold a few, and a change beyond them is found by the
/// next round.
const ENTRIES_MAX: usize = 10_000;

/// The most folders that the system is asked for events of, which it gives to a limited number only; what lies in
/// others is found by looking.
const FOLDERS_MAX: usize = 200;

/// Where a change matters: the settings, the rules, the handbook, the answers, and wherever the settings say that
/// sheets are dropped.
#[derive(Debug, Clone)]
pub struct Places {
    /// The yard folder.
    pub yard: PathBuf,
    /// The folders and single files of the sheets, as the settings write them.
    pub folders: Vec<String>,
    /// The sheets that somebody has agreed on.
    pub agreed: Vec<AgreedSheet>,
    /// The limits within which sheets are looked for.
    pub limits: Limits,
}

/// The files in all places, each as it was when it was looked at.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct View {
    files: BTreeMap<PathBuf, Signature>,
}

impl View {
    /// Looks at all places.
    pub(super) fn of(places: &Places) -> View {
        let (sheets, _) =
            sheets::find(&places.yard, &places.folders, &places.agreed, &TimeZone::UTC, &places.limits);
        let own = OWN_FOLDERS.iter().flat_map(|folder| files_in(&places.yard.join(folder)));
        let all = sheets.into_iter().map(|sheet| sheet.path).chain(own).chain([places.settings()]);
        let files = all.filter_map(|path| {
            let metadata = fs::metadata(&path).ok().filter(fs::Metadata::is_file)?;
            Some((path, Signature::of(&metadata)))
        });
        View { files: files.collect() }
    }

    /// The folders to have events of: those in which something was seen, and those in which something may appear.
    pub(super) fn folders(&self, places: &Places) -> BTreeSet<PathBuf> {
        let own = OWN_FOLDERS.iter().map(|folder| places.yard.join(folder)).chain([places.yard.clone()]);
        let named = places.folders.iter().map(|folder| places.yard.join(folder));
        let seen = self.files.keys().filter_map(|file| Some(file.parent()?.to_owned()));
        own.chain(named).chain(seen).filter(|folder| folder.is_dir()).take(FOLDERS_MAX).collect()
    }
}

impl Places {
    fn settings(&self) -> PathBuf {
        self.yard.join("tickover.toml")
    }
}

/// The files of a folder, but for those that programs keep beside a document.
fn files_in(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).into_iter().flatten().take(ENTRIES_MAX).filter_map(Result::ok);
    entries.filter(|entry| !sheets::is_passed_over(&entry.file_name())).map(|entry| entry.path()).collect()
}
