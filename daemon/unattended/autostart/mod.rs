//! Starting with the PC: the system's own service manager is told which yard folder to keep.

#[cfg(any(target_os = "linux", windows))]
mod mail_password;
#[cfg(target_os = "linux")]
mod systemd;
#[cfg(all(test, target_os = "linux"))]
mod systemd_tests;
#[cfg(target_os = "linux")]
mod systemd_unit;
#[cfg(windows)]
mod windows;
#[cfg(windows)]
mod windows_run;

use std::path::{Path, PathBuf};

use crate::post::PASSWORD_VARIABLE;
use crate::problem::{Place, Problem, Severity};
use crate::round::{self, YardFolder};
use crate::settings::Settings;

#[cfg(windows)]
pub use windows_run::{SUBCOMMAND, serve};

/// What was done or found, in words, and what a person should know of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Report {
    /// Sentences about what was done or found.
    pub said: Vec<String>,
    /// What is not as it should be; an error among them needs a person.
    pub problems: Vec<Problem>,
}

impl Report {
    /// Whether something is left for a person to do.
    pub fn needs_a_person(&self) -> bool {
        self.problems.iter().any(|problem| problem.severity == Severity::Error)
    }
}

/// Has a yard folder kept from now on, and whenever the PC starts. `program` is this program.
///
/// # Errors
/// Why nothing was installed.
pub fn install(yard: &YardFolder, program: &Path) -> Result<Report, Problem> {
    if !yard.is_laid_out() {
        return Err(Problem::error(
            Place::file(yard.root().to_string_lossy()),
            "this is no yard folder",
            "Make one with `tickover setup --yard DIR`, or name the right one.",
        ));
    }
    let (settings, problems) = settings_of(yard);
    let wanted = Wanted {
        yard: absolute(yard.root())?,
        program: absolute(program)?,
        settings,
        password_here: std::env::var_os(PASSWORD_VARIABLE).is_some(),
    };
    let mut report = manager()?.install(&wanted)?;
    report.problems.extend(problems);
    Ok(report)
}

/// The settings as each round takes them, with what is wrong with the file. That stops nobody from installing: each
/// letter says it, too, and a round takes the file into force once it is put right.
fn settings_of(yard: &YardFolder) -> (Settings, Vec<Problem>) {
    round::settings_in_force(yard, false).unwrap_or_else(|problems| (Settings::default(), problems))
}

/// Undoes what [`install`] did; the yard folder stays as it is.
///
/// # Errors
/// Why it could not be undone.
pub fn remove() -> Result<Report, Problem> {
    manager()?.remove()
}

/// Whether a yard folder is kept, and since when.
///
/// # Errors
/// Why that cannot be told.
pub fn status() -> Result<Report, Problem> {
    manager()?.status()
}

/// What is to be started.
struct Wanted {
    /// The yard folder, absolute.
    yard: PathBuf,
    /// This program, absolute.
    program: PathBuf,
    /// The yard folder's settings in force; the usual ones where none could ever be read.
    settings: Settings,
    /// Whether the terminal that asks has the mail password, as what is started will not.
    password_here: bool,
}

fn absolute(path: &Path) -> Result<PathBuf, Problem> {
    std::path::absolute(path).map_err(|cause| {
        Problem::error(
            Place::file(path.to_string_lossy()),
            format!("the whole path cannot be told: {cause}"),
            "Name the folder by its whole path.",
        )
    })
}

#[cfg(target_os = "linux")]
fn manager() -> Result<systemd::Systemd, Problem> {
    systemd::Systemd::of_this_pc()
}

#[cfg(windows)]
fn manager() -> Result<windows::Manager, Problem> {
    Ok(windows::Manager)
}

/// A service manager that this program knows nothing of.
#[cfg(not(any(target_os = "linux", windows)))]
enum Nobody {}

#[cfg(not(any(target_os = "linux", windows)))]
impl Nobody {
    fn install(&self, _: &Wanted) -> Result<Report, Problem> {
        match *self {}
    }
    fn remove(&self) -> Result<Report, Problem> {
        match *self {}
    }
    fn status(&self) -> Result<Report, Problem> {
        match *self {}
    }
}

#[cfg(not(any(target_os = "linux", windows)))]
fn manager() -> Result<Nobody, Problem> {
    Err(Problem::error(
        Place::file("autostart"),
        "this system's way of starting programs is not known",
        "Have it start `tickover run --yard DIR` by its own means.",
    ))
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn what_is_wrong_with_the_settings_is_said_and_the_last_good_ones_count() {
        let place = tempfile::tempdir().expect("a folder of its own");
        let yard = YardFolder::at(place.path());
        fs::create_dir(yard.kept()).expect("it is made");
        let settings = |shop: &str| format!("[shop]\nname = \"{shop}\"\n");
        let shown = || {
            let (settings, problems) = settings_of(&yard);
            (settings.shop, problems.first().map(|problem| problem.what.clone()))
        };
        fs::write(yard.settings(), "[shop\n").expect("it is written");
        let (shop, said) = shown();
        assert_eq!(shop, Settings::default().shop, "nothing was kept yet");
        assert!(said.is_some_and(|what| what.starts_with("this line cannot be read as TOML")));

        fs::write(yard.kept().join("tickover.toml"), settings("Mill Lane")).expect("it is written");
        let broken = "the settings cannot be read, so the last ones that could stay in force";
        assert_eq!(shown(), ("Mill Lane".to_owned(), Some(broken.to_owned())));
        fs::remove_file(yard.settings()).expect("it is gone");
        assert_eq!(shown(), ("Mill Lane".to_owned(), Some(broken.to_owned())));
        fs::write(yard.settings(), settings("Hill Street")).expect("it is written");
        assert_eq!(shown(), ("Hill Street".to_owned(), None));
    }
}
