//! The settings in force: those of `tickover.toml`, or, while that cannot be read, the last ones that could.

use std::fs;

use super::{YardFolder, put};
use crate::problem::{Place, Problem, Severity};
use crate::settings::{self, Settings};

/// The file's name, as problems tell it.
const NAME: &str = "tickover.toml";

/// The settings in force, and what is wrong with them. A copy of a file without a fault is kept where `keeps` says so,
/// so that a slip in it later silences nobody, after a restart neither.
///
/// # Errors
/// What is wrong with a file that cannot be read at all, where no earlier one was kept.
pub fn settings_in_force(folder: &YardFolder, keeps: bool) -> Result<(Settings, Vec<Problem>), Vec<Problem>> {
    let (settings, mut problems) = settings::load(&folder.settings(), NAME);
    let copy = folder.last_settings();
    // A file that was there and is gone is no new yard's: its account and its receivers would be forgotten.
    let lost = lost(folder);
    let is_lost = lost.is_some();
    if let Some(problem) = lost {
        problems = vec![problem];
    }
    if let Some(settings) = settings.filter(|_| !is_lost) {
        if keeps && !problems.iter().any(is_error) {
            // A disk that takes no copy is told of by the ledger.
            let _ = keep_copy(folder);
        }
        return Ok((settings, problems));
    }
    let (Some(settings), true) = (settings::load(&copy, NAME).0, copy.is_file()) else {
        return Err(problems);
    };
    problems.insert(
        0,
        Problem::error(
            Place::file(NAME),
            "the settings cannot be read, so the last ones that could stay in force",
            "Correct what is said of the file.",
        ),
    );
    Ok((settings, problems))
}

/// What is wrong with a file that is gone, or of which only the beginning is left: a full disk or a power cut while it
/// was saved leaves that, and it may well be read, without the account and the receivers that stood further down.
fn lost(folder: &YardFolder) -> Option<Problem> {
    let kept = fs::read_to_string(folder.last_settings()).ok()?;
    if !folder.settings().exists() {
        return Some(Problem::error(
            Place::file(NAME),
            "the settings file is gone",
            "Put it back; what was last kept of it lies in kept/tickover.toml.",
        ));
    }
    let text = fs::read_to_string(folder.settings()).ok()?;
    let (rest, kept) = (text.trim_end(), kept.trim_end());
    let is_cut = rest.len() < kept.len() && kept.starts_with(rest);
    is_cut.then(|| {
        let what = if rest.is_empty() { "is empty" } else { "ends before what it held last" };
        Problem::error(
            Place::file(NAME),
            format!("the settings file {what}"),
            "Put back what is missing: it lies in kept/tickover.toml. If its end was taken out on purpose, write the \
             line `# this is all` at the end.",
        )
    })
}

/// Keeps a copy of the settings file where it differs from the one that is kept and has no fault itself.
fn keep_copy(folder: &YardFolder) -> Result<(), Problem> {
    let Ok(text) = fs::read_to_string(folder.settings()) else { return Ok(()) };
    if fs::read_to_string(folder.last_settings()).is_ok_and(|kept| kept == text) {
        return Ok(());
    }
    let (settings, problems) = settings::parse(&text, NAME);
    if settings.is_none() || problems.iter().any(is_error) {
        return Ok(());
    }
    put(&folder.last_settings(), text.as_bytes())
}

fn is_error(problem: &Problem) -> bool {
    problem.severity == Severity::Error
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::settings_in_force;
    use crate::round::YardFolder;

    #[test]
    fn a_broken_settings_file_leaves_the_last_good_one_in_force_and_says_so() {
        let yard = tempfile::tempdir().unwrap();
        let folder = YardFolder::at(yard.path());
        fs::create_dir(folder.kept()).unwrap();
        let write = |text: &str| fs::write(folder.settings(), text).unwrap();
        let shop = |keeps| {
            settings_in_force(&folder, keeps).map(|(settings, problems)| (settings.shop, problems.len()))
        };

        write("[shop\n");
        assert_eq!(settings_in_force(&folder, true).unwrap_err().len(), 1, "nothing was kept yet");
        write("[shop]\nname = \"Hill Street Motorcycles\"\n");
        assert_eq!(shop(false).unwrap(), ("Hill Street Motorcycles".to_owned(), 0));
        assert!(!folder.last_settings().exists(), "a run that keeps nothing keeps no copy");
        assert_eq!(shop(true).unwrap(), ("Hill Street Motorcycles".to_owned(), 0));

        write("[shop]\nname = \"Mill Lane Motorcycles\n");
        let (settings, problems) = settings_in_force(&folder, true).unwrap();
        assert_eq!(settings.shop, "Hill Street Motorcycles");
        let said: Vec<&str> = problems.iter().map(|problem| problem.what.as_str()).collect();
        assert_eq!(said[0], "the settings cannot be read, so the last ones that could stay in force");
        assert_eq!(said.len(), 2, "and what is wrong with the file: {said:?}");

        // One of which only the beginning is left, or nothing, is not believed, and does not take the copy's place.
        let whole = "[shop]\nname = \"Mill Lane Motorcycles\"\n\n[letter]\nto = [\"desk@shop.example\"]\n";
        write(whole);
        assert_eq!(shop(true).unwrap(), ("Mill Lane Motorcycles".to_owned(), 0));
        for (text, what) in [
            ("", "the settings file is empty"),
            ("\n \n", "the settings file is empty"),
            (&whole[..whole.find("[letter]").unwrap()], "the settings file ends before what it held last"),
            ("[shop]\nname = \"Mill", "the settings file ends before what it held last"),
        ] {
            write(text);
            let (settings, problems) = settings_in_force(&folder, true).unwrap();
            assert_eq!(settings.to, ["desk@shop.example"], "{text}");
            assert_eq!(problems[1].what, what, "{text}");
            assert_eq!(fs::read_to_string(folder.last_settings()).unwrap(), whole);
        }
        write("[shop]\nname = \"Hill Street Motorcycles\"\n# this is all\n");
        assert_eq!(shop(true).unwrap(), ("Hill Street Motorcycles".to_owned(), 0));

        // One with a fault in one key counts as far as it goes, and is not what a later slip falls back to.
        write("[shop]\nname = \"Mill Lane Motorcycles\"\nnane = \"x\"\n");
        assert_eq!(shop(true).unwrap(), ("Mill Lane Motorcycles".to_owned(), 1));
        write("[shop\n");
        assert_eq!(shop(true).unwrap().0, "Hill Street Motorcycles");
    }
}
