//! Files in the folder of rules that are meant as rules and are none by their names.

use std::path::Path;

use super::files::{ENDING, read_in};
use crate::problem::{Place, Problem, nearest};

/// The endings that programs for writing put behind a name by themselves.
const OF_EDITORS: [&str; 8] = ["txt", "text", "rtf", "doc", "docx", "odt", "htm", "html"];
/// Those of them that are no plain text, so that nobody can look into them for a rule.
const NOT_PLAIN: [&str; 4] = ["rtf", "doc", "docx", "odt"];
/// The most files that are looked into.
const LOOKS: usize = 100;
/// The most that are told of by name: the letter has room for what to do first.
const TOLD: usize = 10;
/// What only a rule has.
const OF_A_RULE: &str = "fn judge(";

/// The misnamed files of a folder.
#[derive(Default)]
pub(super) struct Misnamed {
    told: Vec<Problem>,
    more: usize,
    looks: usize,
}

impl Misnamed {
    /// Notes a file whose name does not end as a rule's does, if it is meant as one.
    pub(super) fn note(&mut self, within: &Path, path: &Path, folder: &str) {
        let beside = beside(path);
        let Some(meant) = beside.clone().or_else(|| self.meant(within, path)) else { return };
        if self.told.len() == TOLD {
            self.more += 1;
            return;
        }
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let shown = if folder.is_empty() { name } else { format!("{folder}/{name}") };
        let what = format!("this file is not read, since its name does not end in `.{ENDING}`");
        let help = match beside {
            Some(rule) => format!(
                "save what you changed in it as plain text, over `{rule}.{ENDING}`; then move it out of the folder"
            ),
            None => format!("name it `{meant}.{ENDING}` if it is a rule, or move it out of the folder"),
        };
        self.told.push(Problem::error(Place::file(shown), what, help));
    }

    /// What is said of them, in the order of their names.
    pub(super) fn told(mut self, folder: &str) -> Vec<Problem> {
        self.told.sort_by(|left, right| left.place.file.cmp(&right.place.file));
        if self.more > 0 {
            let what = format!(
                "{} more files in it are not read, since their names do not end in `.{ENDING}`",
                self.more
            );
            let help = "name them so if they are rules, or move them out of the folder";
            self.told.push(Problem::error(Place::file(folder), what, help));
        }
        self.told
    }

    /// The name that was meant: an editor has put its own ending behind it, it is written in capitals or misspelt, or
    /// it has no ending at all. What is set aside on purpose (`.off`, `.bak`, `~`) is nobody's slip.
    fn meant(&mut self, folder: &Path, path: &Path) -> Option<String> {
        let name = path.file_name()?.to_string_lossy().into_owned();
        let (stem, written) = name.rsplit_once('.').unwrap_or((name.as_str(), ""));
        let ending = written.to_lowercase();
        let of_editor = OF_EDITORS.contains(&ending.as_str());
        if ending == ENDING {
            return Some(stem.to_owned());
        }
        if of_editor && stem.to_lowercase().ends_with(&format!(".{ENDING}")) {
            return Some(stem[..stem.len() - ENDING.len() - 1].to_owned());
        }
        if let Some(behind) = ending.strip_prefix(ENDING) {
            // `mot-due.rhai - Copy`
            let is_copy = behind.starts_with(' ') && written.is_ascii();
            return is_copy.then(|| format!("{stem}{}", &written[ENDING.len()..]));
        }
        if nearest(&ending, [ENDING]).is_some() {
            return Some(stem.to_owned());
        }
        if (of_editor || ending.is_empty()) && self.looks < LOOKS {
            self.looks += 1;
            let is_rule = read_in(folder, path).is_ok_and(|text| text.contains(OF_A_RULE));
            return is_rule.then(|| stem.to_owned());
        }
        None
    }
}

/// The rule beside which a file of a word processor lies under the rule's own name: most likely it was saved as that.
fn beside(path: &Path) -> Option<String> {
    let ending = path.extension()?.to_str()?.to_lowercase();
    let stem = path.file_stem()?.to_str()?;
    let rule = stem.strip_suffix(&format!(".{ENDING}")).unwrap_or(stem);
    let lies_there = || path.with_file_name(format!("{rule}.{ENDING}")).symlink_metadata().is_ok();
    (NOT_PLAIN.contains(&ending.as_str()) && lies_there()).then(|| rule.to_owned())
}
